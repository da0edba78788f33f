//! Settings of a guided set.

use serde::{Deserialize, Serialize};

use crate::session::guided::resting::RestingParams;
use crate::session::guided::starting::StartingParams;

/// Settings of a guided set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WorkingParams {
    /// Tilt that the movement cannot explain, up to which a still hand is in the start posture,
    /// degrees (35). Small values keep people waiting, large ones let a resting hand begin.
    pub start_off_deg: f64,
    /// Turn about the movement's axis from the neutral pose up to which it is, degrees (60).
    pub start_turn_deg: f64,
    /// The same where the forearm is turned (45): a hand that rests on the table is little more
    /// from thumb up.
    pub start_roll_deg: f64,
    /// Turn of the hand that is taking up a weight, degrees (15): until then a still hand is not
    /// ready, it has the way to the weight and back before it,
    pub taken_up_deg: f64,
    /// unless it is still in the start posture for so long, seconds (6).
    pub ready_anyway_s: f64,
    /// How a set begins.
    pub starting: StartingParams,
    /// What rest is.
    pub resting: RestingParams,
    /// Rest outside a hold that stops the set, seconds (3). The pause that the tempo asks for is
    /// added,
    pub stop_still_s: f64,
    /// this many times (1.25): nobody counts seconds exactly;
    pub pause_ratio: f64,
    /// and this share of the slowest stroke (0.1): so much of its end goes on hardly seen.
    pub slow_end_ratio: f64,
    /// A hand that sways is never at rest. Staying within this share of the usual travel (0.12),
    pub sway_ratio: f64,
    /// but from 3 to 6 degrees,
    pub sway_deg: [f64; 2],
    /// for longer by this share of the slowest stroke (0.5), is taken for rest as well.
    pub sway_time_ratio: f64,
    /// Tilt that the movement cannot explain, beyond which no pause is prescribed, degrees (20): the
    /// hand is not where the exercise holds it.
    pub no_pause_off_deg: f64,
    /// Tilt that the movement cannot explain that is leaving the posture, degrees (45),
    pub left_off_deg: f64,
    /// for so long, seconds (0.7).
    pub left_s: f64,
    /// Repetitions of the set whose median range the form rule compares with (3).
    pub first_count: usize,
}

impl Default for WorkingParams {
    fn default() -> Self {
        WorkingParams {
            start_off_deg: 35.0,
            start_turn_deg: 60.0,
            start_roll_deg: 45.0,
            taken_up_deg: 15.0,
            ready_anyway_s: 6.0,
            starting: StartingParams::default(),
            resting: RestingParams::default(),
            stop_still_s: 3.0,
            pause_ratio: 1.25,
            slow_end_ratio: 0.1,
            sway_ratio: 0.12,
            sway_deg: [3.0, 6.0],
            sway_time_ratio: 0.5,
            no_pause_off_deg: 20.0,
            left_off_deg: 45.0,
            left_s: 0.7,
            first_count: 3,
        }
    }
}
