//! `carpotempo review`.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;

use anyhow::Context;
use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};
use jiff::civil::Date;

use super::store::StoreOption;
use crate::pipeline::summary::{Progress, Summaries, fresh_summaries};
use crate::recording::{PatientCode, RecordingError, Store};
use crate::report::{self, ReportOptions};
use crate::review::{Person, Review, ReviewOptions, Sex, review_on, terminal};

/// Arguments.
#[derive(Debug, Args)]
pub struct ReviewArguments {
    /// The patient's code
    patient: PatientCode,
    #[command(flatten)]
    store: StoreOption,
    /// Print one JSON object on standard output and nothing else; without --out no report is
    /// written
    #[arg(long)]
    json: bool,
    /// Folder of the report [default: carpotempo-review-PATIENT in the current folder]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Only sessions of this day and later, such as 2026-03-01
    #[arg(long, value_name = "DATE")]
    since: Option<Date>,
    /// Age in years, for published norms; it is kept nowhere
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(u32).range(1..=120))]
    age: Option<u32>,
    /// Sex, for published norms; it is kept nowhere
    #[arg(long)]
    sex: Option<SexName>,
}

/// The sex that a norm is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum SexName {
    /// Female
    Female,
    /// Male
    Male,
}

impl SexName {
    fn sex(self) -> Sex {
        match self {
            SexName::Female => Sex::Female,
            SexName::Male => Sex::Male,
        }
    }
}

/// Runs the command.
pub fn run(arguments: &ReviewArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let summaries = with_progress(&store, &arguments.patient)?;
    let options = ReviewOptions {
        since: arguments.since,
    };
    let today = jiff::ZonedDateTime::now().date();
    let review = review_on(&arguments.patient, &summaries, &options, Some(today));
    let report = match (&arguments.out, arguments.json) {
        (Some(folder), _) => Some(folder.clone()),
        (None, true) => None,
        (None, false) => Some(PathBuf::from(format!(
            "carpotempo-review-{}",
            arguments.patient
        ))),
    };
    if let Some(folder) = &report {
        let options = ReportOptions {
            invented: false,
            made_on: Some(today),
            person: Person {
                age_years: arguments.age,
                sex: arguments.sex.map(SexName::sex),
            },
        };
        report::write(folder, &review, &options).context("writing the report")?;
    }
    let mut out = std::io::stdout().lock();
    if arguments.json {
        writeln!(out, "{}", serde_json::to_string(&review)?)?;
    } else {
        write!(out, "{}", terminal(&review))?;
        if let Some(folder) = &report {
            writeln!(out, "\n{}", whereabouts(folder, &review))?;
        }
    }
    Ok(())
}

fn whereabouts(folder: &std::path::Path, review: &Review) -> String {
    let page = folder.join(report::PAGE_FILE);
    let page = std::path::absolute(&page).unwrap_or(page);
    if review.series.is_empty() {
        return format!("Report: {}", page.display());
    }
    format!(
        "Report: {}\nCharts as single SVG and PNG files beside it, in {}",
        page.display(),
        report::CHARTS_FOLDER
    )
}

/// The summaries; those to be made anew under a progress bar, where somebody looks.
pub(super) fn with_progress(
    store: &Store,
    patient: &PatientCode,
) -> Result<Summaries, RecordingError> {
    let bar = std::io::stderr().is_terminal().then(|| {
        let bar = ProgressBar::hidden();
        if let Ok(style) =
            ProgressStyle::with_template("reading sessions {bar:30} {pos} of {len}, {eta} left")
        {
            bar.set_style(style);
        }
        bar
    });
    let show = |progress: Progress| {
        let Some(bar) = &bar else { return };
        if progress.done == 0 {
            bar.set_length(progress.of as u64);
            bar.set_draw_target(indicatif::ProgressDrawTarget::stderr());
        }
        // Threads may tell out of order.
        bar.set_position(bar.position().max(progress.done as u64));
    };
    let summaries = fresh_summaries(store, patient, &show);
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    summaries
}
