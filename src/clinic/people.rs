//! Everybody in the store, from the summaries that are there.

use jiff::civil::Date;
use rayon::prelude::*;

use crate::pipeline::summary::stored_briefs;
use crate::recording::{RecordingError, Store};
use crate::review::{Caseload, CaseloadLine, caseload, caseload_line};

/// The caseload of a store on a day, patient by patient: of each only its line is kept. It computes
/// nothing anew; `refresh` of the result is for whoever asked to fill in.
///
/// # Errors
/// The store cannot be read.
pub fn people(store: &Store, on: Date) -> Result<Caseload, RecordingError> {
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
    Ok(all)
}
