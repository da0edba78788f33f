//! What a guided session begins with.

use jiff::civil::Date;

use super::limits::Hands;
use crate::movement::{Movement, Posture, Side};
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

/// Which sets are compared with each other: a range belongs to its posture, and to whether there is
/// a weight in the hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetKey {
    /// The movement.
    pub movement: Movement,
    /// Which hand.
    pub side: Side,
    /// How the arm is held.
    pub posture: Posture,
    /// There is a weight in the hand; `None` is unknown.
    pub is_loaded: Option<bool>,
}

impl SetKey {
    /// Of an announced set or an item of a routine.
    pub fn new(movement: Movement, side: Side, posture: Posture, load_kg: Option<f64>) -> SetKey {
        SetKey {
            movement,
            side,
            posture,
            is_loaded: load_kg.map(|kg| kg > 0.0),
        }
    }
}
