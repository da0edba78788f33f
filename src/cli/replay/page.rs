//! The recording on a page in the browser: played, or marked by hand first; and judging by eye.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::cli::browser;
use crate::cli::compare::truth;
use crate::page::{DrillPage, MarksPlace, ReplayPage};
use crate::pipeline::Detail;
use crate::recording::{Marks, Recording};

/// What is asked of the page.
#[derive(Debug, Args)]
#[command(next_help_heading = "For the page")]
pub struct PageArguments {
    /// Show the recording on a page in the browser, to be played and stepped through, until Ctrl-C
    #[arg(long, group = "shown", conflicts_with_all = ["json", "online", "speed"])]
    pub page: bool,
    /// Mark the repetitions by hand on a page, and only then see what the program marked
    #[arg(long, group = "shown", conflicts_with_all = ["json", "online", "speed", "trace", "charts"])]
    pub mark: bool,
    /// Judge invented sets by eye on a page: no recording is needed
    #[arg(
        long,
        group = "shown",
        conflicts_with_all = ["recording", "exercise", "side", "tempo", "json", "online", "speed", "trace", "charts"]
    )]
    pub drill: bool,
    /// Folder for the marks, RECORDING-marks-1.csv and so on, never one over another (with --mark)
    #[arg(long, value_name = "DIR", default_value = "marks", requires = "mark", conflicts_with_all = ["page", "drill"])]
    marks: PathBuf,
    /// Print the page's address only; open no browser (with --page, --mark or --drill)
    #[arg(long, requires = "shown")]
    no_browser: bool,
    /// Port of the page on this computer; 0 is any free one (with --page, --mark or --drill)
    #[arg(long, value_name = "N", default_value_t = 0, requires = "shown")]
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

/// Serves the page for marking until the end is asked for; nothing that was counted is printed. The
/// truth beside an invented recording is shown with the program's marks.
pub fn mark(
    arguments: &PageArguments,
    path: &Path,
    recording: Recording,
    detail: Detail,
) -> anyhow::Result<()> {
    let mut place = MarksPlace::new(arguments.marks.clone(), &recording);
    let mut warnings = Vec::new();
    if let Some(own) = truth::beside(path, &recording.name, &mut warnings)
        && let Ok(marks) = Marks::new(own.reps)
    {
        place = place.with_truth(marks, own.words);
    }
    for warning in warnings {
        eprintln!("Note: {warning}");
    }
    let before = format!(
        "{}: to be marked by hand. What the program marked is shown once your marks are saved,\nas {} (or the next number that is free).\n\n",
        recording.name,
        place.file(1).display()
    );
    let page = ReplayPage::serve_to_mark(arguments.port, &recording, &detail, place)?;
    drop((recording, detail));
    browser::until_the_end(&page.url(), !arguments.no_browser, &before)
}

/// Serves judging by eye until the end is asked for.
pub fn drill(arguments: &PageArguments) -> anyhow::Result<()> {
    let page = DrillPage::serve(arguments.port)?;
    let before = "Judging by eye: a drawn hand does one invented set, you say what you saw.\n\n";
    browser::until_the_end(&page.url(), !arguments.no_browser, before)
}
