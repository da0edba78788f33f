//! `carpotempo refresh`.

use std::fmt::Write as _;

use clap::Args;

use super::exit::say;
use super::review::with_progress;
use super::store::StoreOption;
use crate::pipeline::summary::keep_briefs;
use crate::recording::PatientCode;
use crate::review::plural;

/// Arguments.
#[derive(Debug, Args)]
pub struct RefreshArguments {
    /// The codes of the patients [default: all of the store]
    patients: Vec<PatientCode>,
    #[command(flatten)]
    store: StoreOption,
}

/// Runs the command: one patient after the other, so that memory holds one.
pub fn run(arguments: &RefreshArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let all = if arguments.patients.is_empty() {
        store.patients()?
    } else {
        arguments.patients.clone()
    };
    let (mut made, mut sessions) = (0, 0);
    let mut text = String::new();
    for patient in &all {
        let summaries = with_progress(&store, patient)?;
        keep_briefs(&summaries);
        made += summaries.recomputed_count;
        sessions += summaries.sessions.len();
        for warning in &summaries.warnings {
            let _ = writeln!(text, "{patient}: {warning}");
        }
    }
    let _ = writeln!(
        text,
        "{}, {}: {} made anew.",
        plural(all.len(), "patient"),
        plural(sessions, "session"),
        if made == 1 {
            "1 summary".to_owned()
        } else {
            format!("{made} summaries")
        }
    );
    say(&text)
}
