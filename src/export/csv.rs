//! Three CSV files: sessions.csv, sets.csv, repetitions.csv.
//!
//! RFC 4180 with a comma, a decimal point and one header line; names of numbers end in their unit;
//! an empty cell is unknown.

use std::path::Path;

use super::place::NewFolder;
use super::rows::{repetitions, sets};
use super::table::{Cell, Column};
use super::{
    ExportError, Totals, repetition_columns, session_columns, set_table_columns, sets::SetFigures,
};
use crate::pipeline::summary::Summaries;
use crate::recording::PatientCode;
use crate::review::{ReviewOptions, review};

/// The files, in the order in which they are written.
pub const CSV_FILES: [&str; 3] = ["sessions.csv", "sets.csv", "repetitions.csv"];

/// Writes the three files of a patient into a new or empty folder.
///
/// # Errors
/// [`ExportError::Taken`], [`ExportError::Unwritable`].
pub fn write_csv(
    folder: &Path,
    patient: &PatientCode,
    summaries: &Summaries,
    options: &ReviewOptions,
) -> Result<Totals, ExportError> {
    let review = review(patient, summaries, options);
    let within = |day| options.since.is_none_or(|since| day >= since);
    let sessions = || {
        let all = summaries.sessions.iter();
        all.filter(move |session| within(session.summary.day()))
    };
    let all_sets = || sessions().flat_map(sets);
    let folder = NewFolder::begin(folder)?;
    let [of_sessions, of_sets, of_reps] = CSV_FILES;
    let totals = Totals {
        session_count: table(
            &folder,
            of_sessions,
            patient,
            &session_columns(),
            review.sessions.iter(),
        )?,
        set_count: table(
            &folder,
            of_sets,
            patient,
            &set_table_columns(),
            all_sets().map(SetFigures::of),
        )?,
        repetition_count: table(
            &folder,
            of_reps,
            patient,
            &repetition_columns(),
            all_sets().flat_map(repetitions),
        )?,
        warnings: summaries.warnings.clone(),
    };
    folder.finish()?;
    Ok(totals)
}

/// Writes one table; gives the number of its rows.
fn table<'a, R>(
    folder: &NewFolder,
    name: &str,
    patient: &PatientCode,
    columns: &[Column<'a, R>],
    rows: impl Iterator<Item = R>,
) -> Result<usize, ExportError> {
    let (path, file) = folder.file(Path::new(name))?;
    let failed = |source: csv::Error| ExportError::Unwritable {
        path: path.clone(),
        source: source.into(),
    };
    let mut writer = csv::Writer::from_writer(file);
    let names = columns.iter().map(|column| column.name.as_ref());
    writer
        .write_record(std::iter::once("patient").chain(names))
        .map_err(failed)?;
    let mut count = 0;
    for row in rows {
        writer.write_field(patient.as_str()).map_err(failed)?;
        for column in columns {
            writer
                .write_field(text(column.cell(&row)))
                .map_err(failed)?;
        }
        writer.write_record(None::<&[u8]>).map_err(failed)?;
        count += 1;
    }
    let file = writer
        .into_inner()
        .map_err(|error| ExportError::Unwritable {
            path: path.clone(),
            source: error.into_error(),
        })?;
    file.sync_all().map_err(super::place::unwritable(&path))?;
    Ok(count)
}

/// A cell as text; numbers are the shortest decimals that read back to the same value.
fn text(cell: Cell<'_>) -> String {
    if let Some(moment) = cell.rfc_3339() {
        return moment;
    }
    match cell {
        Cell::Unknown | Cell::Moment { .. } => String::new(),
        Cell::Word(word) => word.into_owned(),
        Cell::Said(words) => harmless(words),
        Cell::Whole(value) => value.to_string(),
        Cell::Number(value) => value.to_string(),
        Cell::Flag(value) => value.to_string(),
        Cell::Day(day) => day.to_string(),
    }
}

/// Words that a spreadsheet would take for a formula get an apostrophe before them: what a patient
/// typed must not be computed on a clinic's machine.
fn harmless(words: String) -> String {
    if words.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        return format!("'{words}");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_no_formula() {
        for words in ["=1+1", "+1", "-1", "@SUM(A1)"] {
            assert_eq!(text(Cell::Said(words.to_owned())), format!("'{words}"));
        }
        assert_eq!(text(Cell::Said("a = b".to_owned())), "a = b");
        assert_eq!(text(Cell::Number(-1.5)), "-1.5");
        assert_eq!(text(Cell::Unknown), "");
    }
}
