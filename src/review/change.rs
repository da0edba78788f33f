//! A change of range held against the error of its measurement.
//!
//! Source of the borrowed errors: Reissner et al., J Orthop Surg Res 2019 (20 healthy people,
//! optical capture, fingers and wrist pooled): named as borrowed wherever shown. The person's own
//! error comes from sessions on one day, each with its own fitting of the sensor: the standard
//! deviation within the person of pairs is the root of the sum of squared differences over twice
//! their number (Bland & Altman, BMJ 313:744, 1996, from memory), and the smallest change that
//! counts 1.96 * sqrt(2) times that.

use jiff::civil::Date;
use serde::Serialize;

use crate::movement::Movement;
use crate::reps::stated::NORMAL_95;

/// Where an error comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ErrorFrom {
    /// A publication about other people and another instrument.
    Borrowed,
    /// The person's own fittings on one day.
    Own,
}

/// The smallest change that is likely to be none of the measurement's error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RangeError {
    /// That change, degrees.
    pub error_deg: f64,
    /// Whose error it is.
    pub from: ErrorFrom,
    /// Its source.
    pub source: &'static str,
    /// Pairs of fittings on one day that are known of the person.
    pub own_pair_count: u32,
}

const REISSNER: &str = "borrowed: Reissner et al., J Orthop Surg Res 2019";

const OWN: &str = "own: two fittings on one day, MDC95 = 1.96 * sqrt(2) * SEM";

/// So many pairs of fittings give an error of the person's own to go by (ours: of five pairs that
/// share no fitting the true value is, in 95 of 100 cases, at most about twice the one found; where
/// three fittings of a day make two of the pairs, somewhat more; of one pair it may be many times as
/// large). With fewer, the larger of own and borrowed holds.
pub const OWN_PAIRS: usize = 5;

/// The smallest change likely to be none of the error, by the standard error of measurement.
///
/// Source: MDC95 = 1.96 * sqrt(2) * SEM, as in Reissner et al. 2019.
pub fn mdc95_deg(sem_deg: f64) -> f64 {
    NORMAL_95 * std::f64::consts::SQRT_2 * sem_deg
}

/// The person's own error by the differences of pairs of fittings, degrees; `None` of no pair.
pub fn own_error_deg(differences_deg: &[f64]) -> Option<f64> {
    if differences_deg.is_empty() {
        return None;
    }
    let squares: f64 = differences_deg.iter().map(|d| d * d).sum();
    let sem_deg = (squares / (2.0 * differences_deg.len() as f64)).sqrt();
    Some(mdc95_deg(sem_deg))
}

/// The error in force for a movement's range: the person's own from [`OWN_PAIRS`] pairs on, the
/// larger of own and borrowed before; `None` where neither is known well enough.
pub fn range_error(
    movement: Movement,
    from_neutral: bool,
    differences_deg: &[f64],
) -> Option<RangeError> {
    let own_pair_count = u32::try_from(differences_deg.len()).unwrap_or(u32::MAX);
    let own = own_error_deg(differences_deg).map(|error_deg| RangeError {
        error_deg,
        from: ErrorFrom::Own,
        source: OWN,
        own_pair_count,
    });
    let borrowed = borrowed_error_deg(movement, from_neutral).map(|error_deg| RangeError {
        error_deg,
        from: ErrorFrom::Borrowed,
        source: REISSNER,
        own_pair_count,
    });
    if differences_deg.len() >= OWN_PAIRS {
        return own;
    }
    let borrowed = borrowed?;
    Some(
        own.filter(|own| own.error_deg > borrowed.error_deg)
            .unwrap_or(borrowed),
    )
}

/// Differences between sessions that follow each other on one day, of days and values in order.
pub fn same_day_differences_deg(values: &[(Date, f64)]) -> Vec<f64> {
    values
        .iter()
        .zip(values.iter().skip(1))
        .filter(|(a, b)| a.0 == b.0)
        .map(|(a, b)| b.1 - a.1)
        .collect()
}

/// Whether a change says anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judgement {
    /// Unknown, or within the error.
    UnknownOrWithinError,
    /// Beyond the error.
    BeyondError,
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
    pub error: Option<RangeError>,
    /// What the sensor itself may be off in the difference of the two, degrees: the root of the sum of
    /// their squared stated errors; `None` is unknown.
    pub stated_deg: Option<f64>,
    /// What that gives.
    pub judgement: Judgement,
}

impl Change {
    /// Holds a change from the first value to the last against an error, and against what the sensor
    /// states of its own. Where no error is known the sensor's alone makes no change: how much a
    /// fitting of it shifts is not in it. Nor does a change that may be the sensor's, where that is
    /// unknown.
    pub fn new(
        [first, last]: [(Date, f64); 2],
        error: Option<RangeError>,
        stated_deg: Option<f64>,
    ) -> Change {
        let change_deg = last.1 - first.1;
        let beyond = error
            .zip(stated_deg)
            .is_some_and(|(error, stated_deg)| change_deg.abs() > error.error_deg.max(stated_deg));
        Change {
            first_date: first.0,
            first_deg: first.1,
            last_date: last.0,
            last_deg: last.1,
            change_deg,
            error,
            stated_deg,
            judgement: if beyond {
                Judgement::BeyondError
            } else {
                Judgement::UnknownOrWithinError
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

    /// The stated error, where it is larger than the error that the change is beyond, and so decides.
    fn stated_decides(&self) -> Option<f64> {
        let error = self.error?;
        let larger = self.stated_deg.filter(|stated| *stated > error.error_deg)?;
        (self.change_deg.abs() > error.error_deg && self.change_deg.abs() <= larger)
            .then_some(larger)
    }

    /// Whether the change is beyond the error, and only what the sensor itself may be off is unknown.
    fn stated_is_missing(&self) -> bool {
        let beyond = |error: RangeError| self.change_deg.abs() > error.error_deg;
        self.stated_deg.is_none() && self.error.is_some_and(beyond)
    }

    /// "beyond 8, borrowed" and the like, for tables whose heading says what of.
    pub fn short_judgement(&self) -> String {
        let Some(error) = self.error else {
            return "unknown".to_owned();
        };
        if let Some(stated_deg) = self.stated_decides() {
            return format!("unknown or within {stated_deg:.0}, the sensor's");
        }
        if self.stated_is_missing() {
            return "unknown, as the sensor's".to_owned();
        }
        let whose = match error.from {
            ErrorFrom::Borrowed => "borrowed",
            ErrorFrom::Own => "own",
        };
        match self.judgement {
            Judgement::BeyondError => format!("beyond {:.0}, {whose}", error.error_deg),
            Judgement::UnknownOrWithinError => {
                format!("unknown or within {:.0}, {whose}", error.error_deg)
            }
        }
    }

    /// "beyond the borrowed error of 8 degrees" and the like.
    pub fn judgement_words(&self) -> String {
        let Some(error) = self.error else {
            return "unknown whether beyond error: none is known for this movement".to_owned();
        };
        if let Some(stated_deg) = self.stated_decides() {
            let error = super::degrees(stated_deg);
            return format!("unknown or within the sensor's own stated error of {error}");
        }
        if self.stated_is_missing() {
            return "unknown whether beyond error: by how much the sensor itself was off is not known for one of the two sessions".to_owned();
        }
        match self.judgement {
            Judgement::BeyondError => format!("beyond {}", error.words()),
            Judgement::UnknownOrWithinError => format!("unknown or within {}", error.words()),
        }
    }
}

impl RangeError {
    /// "the borrowed error of 8 degrees", "the own error of 6 degrees (5 pairs of fittings)".
    pub fn words(&self) -> String {
        let error = super::degrees(self.error_deg);
        match self.from {
            ErrorFrom::Borrowed => format!("the borrowed error of {error}"),
            ErrorFrom::Own => {
                let pairs = super::plural(self.own_pair_count as usize, "pair");
                format!("the own error of {error} ({pairs} of fittings)")
            }
        }
    }
}

/// The error borrowed for a movement's range, degrees. `from_neutral` says that the movement starts
/// at the person's own neutral pose, so that its range is that of one direction; else it is an arc.
/// Deviation, rotation and circles have none.
fn borrowed_error_deg(movement: Movement, from_neutral: bool) -> Option<f64> {
    match (movement, from_neutral) {
        (Movement::WristFlexion, true) => Some(11.0),
        (Movement::WristExtension, true) => Some(8.0),
        (Movement::WristFlexion | Movement::WristExtension, false) => Some(18.0),
        _ => None,
    }
}
