//! The recording on a page in the browser.

use std::sync::mpsc::channel;

use anyhow::Context;
use clap::Args;

use crate::cli::browser;
use crate::cli::exit::say;
use crate::page::ReplayPage;
use crate::pipeline::Detail;
use crate::recording::Recording;

/// What is asked of the page.
#[derive(Debug, Args)]
#[command(next_help_heading = "For the page")]
pub struct PageArguments {
    /// Show the recording on a page in the browser, to be played and stepped through, until Ctrl-C
    #[arg(long, conflicts_with_all = ["json", "online", "speed"])]
    pub page: bool,
    /// Print the page's address only; open no browser (with --page)
    #[arg(long, requires = "page")]
    no_browser: bool,
    /// Port of the page on this computer; 0 is any free one (with --page)
    #[arg(long, value_name = "N", default_value_t = 0, requires = "page")]
    port: u16,
}

/// Serves the page until the end is asked for.
pub fn show(
    arguments: &PageArguments,
    recording: Recording,
    detail: Detail,
    table: &str,
) -> anyhow::Result<()> {
    let (end, ended) = channel();
    ctrlc::set_handler(move || {
        let _nobody_waits = end.send(());
    })
    .context("listening for Ctrl-C")?;
    let page = ReplayPage::serve(arguments.port, &recording, &detail)?;
    drop((recording, detail));
    let opens = !arguments.no_browser && browser::open(&page.url());
    let how = if opens {
        "The page opens in the browser. If it does not, open this address, all of it:"
    } else {
        "Open this address in the browser, all of it:"
    };
    say(&format!(
        "{table}\n{how}\n  {}\nCtrl-C ends it.\n",
        page.url()
    ))?;
    // An error is the handler gone, which is the end too.
    let _asked = ended.recv();
    drop(page);
    Ok(())
}
