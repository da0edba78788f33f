//! What a guided session begins with.

use jiff::civil::Date;

use super::limits::Hands;
use crate::movement::{Movement, Side};
use crate::routine::Routine;

/// What a guided session begins with.
#[derive(Debug, Clone, PartialEq)]
pub struct GuidedPlan {
    /// The prescription.
    pub routine: Routine,
    /// The day.
    pub today: Date,
    /// No session was ever done under this code.
    pub first_time: bool,
    /// The night and the morning were asked about today already.
    pub night_asked: bool,
    /// What the hands felt when the last session began: the morning after is held against it.
    pub last_start: Option<Hands>,
    /// Ranges of the last session, in the order of [`SetKey`]: what this one is compared with.
    pub last_ranges_deg: Vec<(SetKey, f64)>,
    /// Days of the week before today on which there was work.
    pub worked_on: Vec<Date>,
    /// Items of the course that an unfinished session has already done,
    pub already_done: usize,
    /// and repetitions of the one that it did not end.
    pub already_counted: u32,
    /// A unit is to be worn on the forearm too.
    pub forearm: bool,
    /// Whether an invented person plays.
    pub simulated: bool,
    /// The session was set up for a clinic.
    pub clinic: bool,
}

impl GuidedPlan {
    /// A session of that routine on that day, of somebody who has done one before and of whom
    /// nothing more is known.
    pub fn new(routine: Routine, today: Date) -> GuidedPlan {
        GuidedPlan {
            routine,
            today,
            first_time: false,
            night_asked: false,
            last_start: None,
            last_ranges_deg: Vec::new(),
            worked_on: Vec::new(),
            already_done: 0,
            already_counted: 0,
            forearm: false,
            simulated: false,
            clinic: false,
        }
    }

    /// Whether there is an unfinished session to go on with.
    pub fn unfinished(&self) -> bool {
        self.already_done > 0 || self.already_counted > 0
    }
}

/// Which sets are compared with each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetKey {
    /// The movement.
    pub movement: Movement,
    /// Which hand.
    pub side: Side,
}
