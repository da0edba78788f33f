//! What is compared of a repetition: its phases' lengths and its four times.

use serde::Serialize;

use crate::recording::Mark;

/// A length or a time of a repetition, seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// Length of the lift.
    Lift,
    /// Length of the hold.
    Hold,
    /// Length of the lowering.
    Lower,
    /// When the lift starts.
    LiftStart,
    /// When it ends.
    LiftEnd,
    /// When the lowering starts.
    LowerStart,
    /// When it ends.
    LowerEnd,
}

impl Measured {
    /// Lengths first, then times.
    pub const ALL: [Measured; 7] = [
        Measured::Lift,
        Measured::Hold,
        Measured::Lower,
        Measured::LiftStart,
        Measured::LiftEnd,
        Measured::LowerStart,
        Measured::LowerEnd,
    ];

    /// The lengths alone.
    pub const LENGTHS: [Measured; 3] = [Measured::Lift, Measured::Hold, Measured::Lower];

    /// Its name in words.
    pub fn words(self) -> &'static str {
        match self {
            Measured::Lift => "lift",
            Measured::Hold => "hold",
            Measured::Lower => "lowering",
            Measured::LiftStart => "lift starts",
            Measured::LiftEnd => "lift ends",
            Measured::LowerStart => "lowering starts",
            Measured::LowerEnd => "lowering ends",
        }
    }

    /// Whether it is a length: of times the place in the recording is no size.
    pub fn is_length(self) -> bool {
        Measured::LENGTHS.contains(&self)
    }

    /// Its value of a repetition, seconds; `None` where what it needs was not marked.
    pub fn of(self, mark: &Mark) -> Option<f64> {
        match self {
            Measured::Lift => Some(mark.lift_end_s? - mark.lift_start_s?),
            Measured::Hold => Some(mark.lower_start_s? - mark.lift_end_s?),
            Measured::Lower => Some(mark.lower_end_s? - mark.lower_start_s?),
            Measured::LiftStart => mark.lift_start_s,
            Measured::LiftEnd => mark.lift_end_s,
            Measured::LowerStart => mark.lower_start_s,
            Measured::LowerEnd => mark.lower_end_s,
        }
    }
}

/// One number for each of [`Measured::ALL`], seconds; `None` is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct EachMeasured {
    /// Length of the lift.
    pub lift_s: Option<f64>,
    /// Length of the hold.
    pub hold_s: Option<f64>,
    /// Length of the lowering.
    pub lower_s: Option<f64>,
    /// Start of the lift.
    pub lift_start_s: Option<f64>,
    /// End of the lift.
    pub lift_end_s: Option<f64>,
    /// Start of the lowering.
    pub lower_start_s: Option<f64>,
    /// End of the lowering.
    pub lower_end_s: Option<f64>,
}

impl EachMeasured {
    /// Each by a rule.
    pub fn by(rule: impl Fn(Measured) -> Option<f64>) -> EachMeasured {
        EachMeasured {
            lift_s: rule(Measured::Lift),
            hold_s: rule(Measured::Hold),
            lower_s: rule(Measured::Lower),
            lift_start_s: rule(Measured::LiftStart),
            lift_end_s: rule(Measured::LiftEnd),
            lower_start_s: rule(Measured::LowerStart),
            lower_end_s: rule(Measured::LowerEnd),
        }
    }

    /// One of them, seconds.
    pub fn get(&self, measured: Measured) -> Option<f64> {
        match measured {
            Measured::Lift => self.lift_s,
            Measured::Hold => self.hold_s,
            Measured::Lower => self.lower_s,
            Measured::LiftStart => self.lift_start_s,
            Measured::LiftEnd => self.lift_end_s,
            Measured::LowerStart => self.lower_start_s,
            Measured::LowerEnd => self.lower_end_s,
        }
    }
}
