//! The recording on a page in the browser.

use clap::Args;

use crate::cli::browser;
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
    let page = ReplayPage::serve(arguments.port, &recording, &detail)?;
    drop((recording, detail));
    browser::until_the_end(&page.url(), !arguments.no_browser, &format!("{table}\n"))
}
