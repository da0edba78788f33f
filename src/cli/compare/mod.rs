//! `carpotempo compare`: repetitions against marks made by hand.

mod charts;
mod given;
mod looked;
mod practice;
mod told;
pub(super) mod truth;

use std::path::PathBuf;

use anyhow::Context;
use clap::Args;
use serde::Serialize;

use super::exit::{WrongArguments, say};
use super::replay::{ForeignArguments, movement, side};
use crate::movement::{Movement, Side};
use crate::pipeline::Expectation;
use crate::review::agreement::Agreement;
use looked::Looked;

/// Arguments of `compare`.
#[derive(Debug, Args)]
#[command(after_help = "\
Marks are a CSV file with the columns rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s on the
recording's own clock; an empty cell is not marked. A file belongs to the recording that it is named
after, else to the one that it follows. Its name also says whose it is and which marking:
RECORDING-marks.csv and RECORDING-marks-1.csv are yours, RECORDING-marks-2.csv is you again, later;
RECORDING-marks-anna.csv is Anna's.

    carpotempo compare monday mine.csv
    carpotempo compare practice marks        # folders: every recording that has marks")]
pub struct CompareArguments {
    /// Recordings and files of marks, or folders of them
    #[arg(
        value_name = "RECORDING, MARKS.csv",
        required_unless_present = "practice"
    )]
    paths: Vec<PathBuf>,

    /// Print one JSON object and nothing else
    #[arg(long)]
    json: bool,
    /// Write charts of the differences to DIR, as SVG and PNG
    #[arg(long, value_name = "DIR")]
    charts: Option<PathBuf>,
    /// The movement, where a recording does not name it
    #[arg(long, value_name = "M", value_parser = movement)]
    exercise: Option<Movement>,
    /// Which hand, where a recording does not name it
    #[arg(long, value_name = "SIDE", value_parser = side)]
    side: Option<Side>,

    /// Write six invented recordings to learn to see by into DIR, a new folder, and the truth about
    /// them into a folder within it
    #[arg(long, value_name = "DIR", conflicts_with_all = ["paths", "json", "charts", "exercise", "side"])]
    practice: Option<PathBuf>,
    /// Which practice set: the same number gives the same one (with --practice)
    #[arg(long, value_name = "N", default_value_t = 1, requires = "practice")]
    seed: u64,

    #[command(flatten)]
    foreign: ForeignArguments,
}

/// What `--json` prints.
#[derive(Debug, Serialize)]
struct Whole<'a> {
    recordings: &'a [Looked],
    #[serde(flatten)]
    agreement: &'a Agreement,
    warnings: Vec<&'a str>,
}

/// Runs the command.
pub fn run(arguments: &CompareArguments) -> anyhow::Result<()> {
    if let Some(folder) = &arguments.practice {
        return practice::write(folder, arguments.seed);
    }
    let given = given::given(&arguments.paths)?;
    if arguments.foreign.given() && given.recordings.iter().all(|own| own.path.is_dir()) {
        return Err(WrongArguments(
            "the recordings are session folders, which are always in their own columns and units: leave --column, --accel-unit, --gyro-unit, --time-unit, --rate and --decimal-comma out"
                .to_owned(),
        )
        .into());
    }
    let expected = Expectation {
        movement: arguments.exercise,
        side: arguments.side,
        tempo: None,
    };
    let mut looked = Vec::new();
    for recording in &given.recordings {
        looked.push(looked::look(recording, &expected, &arguments.foreign)?);
    }
    let marked: Vec<_> = looked.iter().map(|own| own.marked.clone()).collect();
    let agreement = Agreement::of(&marked);
    if let Some(folder) = &arguments.charts {
        let written = charts::write(folder, &agreement)
            .with_context(|| format!("writing charts into {}", folder.display()))?;
        for path in written {
            eprintln!("wrote {}", path.display());
        }
    }
    let of_recordings = looked.iter().flat_map(|own| &own.warnings);
    let warnings: Vec<&str> = given
        .warnings
        .iter()
        .chain(of_recordings)
        .map(String::as_str)
        .collect();
    if arguments.json {
        let whole = Whole {
            recordings: &looked,
            agreement: &agreement,
            warnings,
        };
        let text = serde_json::to_string(&whole).context("writing the agreement as JSON")?;
        return say(&format!("{text}\n"));
    }
    say(&told::text(&looked, &agreement, &warnings))
}
