//! `carpotempo clinic`.

use std::path::PathBuf;

use clap::Args;

use super::browser;
use super::store::StoreOption;
use crate::page::ClinicPage;

/// The clinic's secret key lies in the store's own folder where no other place is given.
const KEY_FILE: &str = "clinic-secret-key.txt";

/// Arguments.
#[derive(Debug, Args)]
pub struct ClinicArguments {
    #[command(flatten)]
    store: StoreOption,
    /// The clinic's secret key file, for handing over; the page makes it where it is not there
    /// [default: clinic-secret-key.txt in the store]
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// Print the page's address only; open no browser
    #[arg(long)]
    no_browser: bool,
    /// Port of the page on this computer; 0 is any free one
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
}

/// Runs the command.
pub fn run(arguments: &ClinicArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let key = match &arguments.key {
        Some(key) => key.clone(),
        None => store.root().join(KEY_FILE),
    };
    let before = format!(
        "The clinic's desk over the store {}.\n",
        store.root().display()
    );
    let page = ClinicPage::serve(arguments.port, store, key)?;
    browser::until_the_end(&page.url(), !arguments.no_browser, &before)
}
