//! `carpotempo caseload`.

use clap::Args;
use jiff::civil::Date;
use rayon::prelude::*;

use super::demo::quoted;
use super::exit::say;
use super::store::StoreOption;
use crate::pipeline::summary::stored_briefs;
use crate::recording::Store;
use crate::review::{Caseload, CaseloadLine, caseload, caseload_line, caseload_terminal};

/// Arguments.
#[derive(Debug, Args)]
pub struct CaseloadArguments {
    #[command(flatten)]
    store: StoreOption,
    /// Print one JSON object on standard output and nothing else
    #[arg(long)]
    json: bool,
    /// The day of the look, such as 2026-03-01; later sessions are left out [default: today]
    #[arg(long, value_name = "DATE")]
    on: Option<Date>,
}

/// Runs the command.
pub fn run(arguments: &CaseloadArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let on = arguments
        .on
        .unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let all = read(&store, on)?;
    if arguments.json {
        return say(&format!("{}\n", serde_json::to_string(&all)?));
    }
    if all.lines.is_empty() && all.warnings.is_empty() {
        return say(&format!("No patients in {}.\n", store.root().display()));
    }
    say(&caseload_terminal(&all))
}

/// The caseload of a store, patient by patient: of each only its line is kept.
fn read(store: &Store, on: Date) -> anyhow::Result<Caseload> {
    let read: Vec<Result<CaseloadLine, String>> = store
        .patients()?
        .par_iter()
        .map(|patient| {
            let briefs = stored_briefs(store, patient).map_err(|error| error.to_string())?;
            Ok(caseload_line(patient, &briefs, on))
        })
        .collect();
    let mut lines = Vec::with_capacity(read.len());
    let mut warnings = Vec::new();
    for one in read {
        match one {
            Ok(line) => lines.push(line),
            Err(warning) => warnings.push(warning),
        }
    }
    let mut all = caseload(lines, on);
    all.warnings = warnings;
    if all.stale_count + all.missing_count > 0 {
        let root = quoted(&store.root().display().to_string());
        all.refresh = Some(format!("carpotempo refresh --store {root}"));
    }
    Ok(all)
}
