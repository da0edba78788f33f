//! A change of range held against the error of its measurement.
//!
//! Source of the errors: Reissner et al., J Orthop Surg Res 2019 (20 healthy people, optical
//! capture, fingers and wrist pooled): borrowed, and named as borrowed wherever shown, until a
//! person's own error is known from two fittings on one day.

use jiff::civil::Date;
use serde::Serialize;

use crate::movement::Movement;

/// An error taken over from a publication about other people and another instrument.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BorrowedError {
    /// Smallest change that is likely to be none of the measurement's error, degrees.
    pub error_deg: f64,
    /// Where it comes from.
    pub source: &'static str,
}

const REISSNER: &str = "borrowed: Reissner et al., J Orthop Surg Res 2019";

/// Whether a change says anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judgement {
    /// Unknown, or within the borrowed error.
    UnknownOrWithinBorrowedError,
    /// Beyond the borrowed error.
    BeyondBorrowedError,
}

/// The first session of a period against the last.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Change {
    /// Day of the first session with a range.
    pub first_date: Date,
    /// Its median range, degrees.
    pub first_deg: f64,
    /// Day of the last session with a range.
    pub last_date: Date,
    /// Its median range, degrees.
    pub last_deg: f64,
    /// Last less first, degrees.
    pub change_deg: f64,
    /// What it is held against; `None` where no error is known.
    pub error: Option<BorrowedError>,
    /// What that gives.
    pub judgement: Judgement,
}

impl Change {
    /// Holds a change against an error.
    pub fn new(first: (Date, f64), last: (Date, f64), error: Option<BorrowedError>) -> Change {
        let change_deg = last.1 - first.1;
        let beyond = error.is_some_and(|error| change_deg.abs() > error.error_deg);
        Change {
            first_date: first.0,
            first_deg: first.1,
            last_date: last.0,
            last_deg: last.1,
            change_deg,
            error,
            judgement: if beyond {
                Judgement::BeyondBorrowedError
            } else {
                Judgement::UnknownOrWithinBorrowedError
            },
        }
    }

    /// "12 degrees more", "3 degrees less", "the same": the difference of the whole degrees that
    /// stand beside it, so that a reader can check it. The judgement rests on the exact one.
    pub fn words(&self) -> String {
        // As they are written: a half is rounded to even there.
        let whole_deg = self.last_deg.round_ties_even() - self.first_deg.round_ties_even();
        if whole_deg == 0.0 {
            return "the same".to_owned();
        }
        let way = if whole_deg > 0.0 { "more" } else { "less" };
        format!("{} {way}", super::degrees(whole_deg))
    }

    /// "beyond 8" and the like, for tables whose heading says what of.
    pub fn short_judgement(&self) -> String {
        match (self.error, self.judgement) {
            (None, _) => "unknown".to_owned(),
            (Some(error), Judgement::BeyondBorrowedError) => {
                format!("beyond {:.0}", error.error_deg)
            }
            (Some(error), Judgement::UnknownOrWithinBorrowedError) => {
                format!("unknown or within {:.0}", error.error_deg)
            }
        }
    }

    /// "beyond the borrowed error of 8 degrees" and the like.
    pub fn judgement_words(&self) -> String {
        match (self.error, self.judgement) {
            (None, _) => "unknown whether beyond error: none is known for this movement".to_owned(),
            (Some(error), Judgement::BeyondBorrowedError) => {
                format!(
                    "beyond the borrowed error of {}",
                    super::degrees(error.error_deg)
                )
            }
            (Some(error), Judgement::UnknownOrWithinBorrowedError) => format!(
                "unknown or within the borrowed error of {}",
                super::degrees(error.error_deg)
            ),
        }
    }
}

/// The error borrowed for a movement's range. `from_neutral` says that the movement starts at the
/// person's own neutral pose, so that its range is that of one direction; else it is an arc.
/// Deviation, rotation and circles have none.
pub fn borrowed_error(movement: Movement, from_neutral: bool) -> Option<BorrowedError> {
    let error_deg = match (movement, from_neutral) {
        (Movement::WristFlexion, true) => 11.0,
        (Movement::WristExtension, true) => 8.0,
        (Movement::WristFlexion | Movement::WristExtension, false) => 18.0,
        _ => return None,
    };
    Some(BorrowedError {
        error_deg,
        source: REISSNER,
    })
}
