//! Repetitions marked by hand: what a person saw, on the recording's own clock, as a CSV file.
//!
//! Ours. A cell that is empty was not marked. What a spreadsheet makes of such a file is read as it is
//! meant: a byte-order mark, semicolons or tabs, decimal commas, columns in any order, further columns.

mod error;
mod reading;

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::error::RecordingError;
use super::new_file::NewFile;

pub use error::{MarksError, MarksFault};

/// The columns of a file of marks, in the order in which they are written; the first may be missing.
pub const MARKS_COLUMNS: [&str; 5] = [
    "rep",
    "lift_start_s",
    "lift_end_s",
    "lower_start_s",
    "lower_end_s",
];

/// One repetition as marked, seconds on the recording's own clock; `None` is not marked.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Mark {
    /// Its number, from 1, as its maker counts: several sets may each begin anew.
    pub rep: u32,
    /// Start of the lift.
    pub lift_start_s: Option<f64>,
    /// End of the lift.
    pub lift_end_s: Option<f64>,
    /// Start of the lowering.
    pub lower_start_s: Option<f64>,
    /// End of the lowering.
    pub lower_end_s: Option<f64>,
}

impl Mark {
    /// The four times in order: lift start and end, lowering start and end.
    pub fn times_s(&self) -> [Option<f64>; 4] {
        [
            self.lift_start_s,
            self.lift_end_s,
            self.lower_start_s,
            self.lower_end_s,
        ]
    }

    /// The earliest and the latest time that are marked; `None` where none is.
    pub fn span_s(&self) -> Option<(f64, f64)> {
        let times = self.times_s();
        let mut known = times.iter().flatten();
        let first = known.next()?;
        Some((*first, *known.next_back().unwrap_or(first)))
    }
}

/// The marks of one person in one recording, in order of time.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
#[serde(transparent)]
pub struct Marks {
    marks: Vec<Mark>,
}

impl Marks {
    /// Takes marks that are in order: within a repetition, and from one to the next, which has
    /// another number.
    /// Repetitions without any time are left out.
    ///
    /// # Errors
    /// The first that is not, by its place from 0.
    pub fn new(marks: Vec<Mark>) -> Result<Marks, (usize, MarksFault)> {
        for (place, mark) in marks.iter().enumerate() {
            let earlier = marks.get(..place).unwrap_or_default();
            fault(mark, earlier).map_or(Ok(()), |fault| Err((place, fault)))?;
        }
        Ok(Marks {
            marks: marks
                .into_iter()
                .filter(|mark| mark.span_s().is_some())
                .collect(),
        })
    }

    /// Reads a file.
    ///
    /// # Errors
    /// [`MarksError`], with line and column.
    pub fn read(path: &Path) -> Result<Marks, MarksError> {
        reading::read(path)
    }

    /// Reads the text of a file; the path is for messages alone.
    ///
    /// # Errors
    /// [`MarksError`], with line and column.
    pub fn parse(path: &Path, text: &[u8]) -> Result<Marks, MarksError> {
        reading::parse(path, text)
    }

    /// Whether a file's first line names columns of marks: a recording's does not.
    pub fn looks_like(path: &Path) -> bool {
        reading::looks_like(path)
    }

    /// The repetitions, in order of time, each with at least one time.
    pub fn reps(&self) -> &[Mark] {
        &self.marks
    }

    /// The text of a file.
    pub fn text(&self) -> String {
        let mut text = MARKS_COLUMNS.join(",") + "\n";
        for mark in &self.marks {
            text += &mark.rep.to_string();
            for time_s in mark.times_s() {
                text.push(',');
                text += &time_s.map_or(String::new(), |time_s| time_s.to_string());
            }
            text.push('\n');
        }
        text
    }

    /// Writes a file, whole or not at all, and never over another: earlier marks are somebody's work.
    ///
    /// # Errors
    /// [`RecordingError::Exists`]; the errors of writing.
    pub fn write(&self, path: &Path) -> Result<(), RecordingError> {
        use std::io::Write;

        let mut file = NewFile::begin(path)?;
        file.write_all(self.text().as_bytes())
            .map_err(|error| RecordingError::writing(path, error))?;
        file.finish()
    }
}

/// What is wrong with a mark, after the ones before it.
fn fault(mark: &Mark, earlier: &[Mark]) -> Option<MarksFault> {
    let names = MARKS_COLUMNS.iter().skip(1);
    let mut before: Option<(&'static str, f64)> = None;
    for (column, time_s) in names.zip(mark.times_s()) {
        let Some(time_s) = time_s else { continue };
        if !time_s.is_finite() {
            return Some(MarksFault::NotFinite { column });
        }
        if let Some((after, before_s)) = before.filter(|(_, before_s)| *before_s > time_s) {
            return Some(MarksFault::Order {
                column,
                time_s,
                after,
                before_s,
            });
        }
        before = Some((column, time_s));
    }
    let (start_s, _) = mark.span_s()?;
    if earlier.last().is_some_and(|other| other.rep == mark.rep) {
        return Some(MarksFault::Twice { rep: mark.rep });
    }
    let last = earlier.iter().rev().find_map(|other| {
        let (_, end_s) = other.span_s()?;
        Some((other.rep, end_s))
    });
    let (other_rep, end_s) = last.filter(|(_, end_s)| *end_s > start_s)?;
    Some(MarksFault::Overlap {
        rep: mark.rep,
        start_s,
        other_rep,
        end_s,
    })
}

#[cfg(test)]
mod tests;
