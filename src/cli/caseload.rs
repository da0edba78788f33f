//! `carpotempo caseload`.

use clap::Args;
use jiff::civil::Date;

use super::demo::quoted;
use super::exit::say;
use super::store::StoreOption;
use crate::clinic::people;
use crate::recording::Store;
use crate::review::{Caseload, caseload_within};

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
    let columns = console::Term::stdout().size_checked();
    let width = columns.map(|(_, columns)| usize::from(columns));
    say(&caseload_within(&all, width))
}

/// The caseload with the command that makes summaries anew.
fn read(store: &Store, on: Date) -> anyhow::Result<Caseload> {
    let mut all = people(store, on)?;
    if all.stale_count + all.missing_count > 0 {
        let root = quoted(&store.root().display().to_string());
        all.refresh = Some(format!("carpotempo refresh --store {root}"));
    }
    Ok(all)
}
