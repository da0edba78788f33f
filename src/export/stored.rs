//! The sessions of a patient, a few at a time, so that a long history needs no more memory than a
//! short one.

use jiff::civil::Date;

use super::ExportError;
use crate::pipeline::summary::{Summarised, summaries_of};
use crate::recording::{PatientCode, Store};

/// Sessions in memory at a time.
const AT_A_TIME: usize = 64;

/// Gives the summarised sessions of a patient from a day on to `take`, by their start. Gives back
/// the warnings.
///
/// # Errors
/// Those of the store and of `take`.
pub(super) fn in_order(
    store: &Store,
    patient: &PatientCode,
    since: Option<Date>,
    take: &mut dyn FnMut(&[Summarised]) -> Result<(), ExportError>,
) -> Result<Vec<String>, ExportError> {
    let listed = store.sessions(patient)?;
    let mut warnings: Vec<String> = listed
        .broken
        .iter()
        .map(|error| format!("a session is left out: {error}"))
        .collect();
    let sessions: Vec<_> = listed
        .sessions
        .into_iter()
        .filter(|session| since.is_none_or(|since| session.started_at.date() >= since))
        .collect();
    for some in sessions.chunks(AT_A_TIME) {
        let summaries = summaries_of(some, &|_| ());
        warnings.extend(summaries.warnings);
        take(&summaries.sessions)?;
    }
    Ok(warnings)
}
