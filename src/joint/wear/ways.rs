//! Which side of the hand is uppermost on the arm's ways between fitting and set.
//!
//! Ours. A forearm turns from palm down over thumb up to palm up, and hardly any further than palm
//! down the other way (pronation ends there: AAOS 1965 and Boone & Azen 1979 give 76 to 80 degrees
//! from thumb up). So on the ways of a day the thumb's side of the hand comes uppermost again and
//! again, the little finger's side rarely. A unit that was fitted with the palm down on the wrong
//! hand sees it the other way round.

use nalgebra::Vector3;

use super::Fitted;
use super::pose::mirror;
use crate::orientation::{GAP_S, Oriented};

/// When the ways tell the hand.
#[derive(Debug, Clone, PartialEq)]
pub struct WaysParams {
    /// A side counts as uppermost from this height of its direction on (0.6: 37 degrees up).
    pub upper_ratio: f64,
    /// Least time with the little finger's side up, seconds (0.5).
    pub least_s: f64,
    /// Least times as long as with the thumb's side up (8).
    pub times_ratio: f64,
}

impl Default for WaysParams {
    fn default() -> Self {
        WaysParams {
            upper_ratio: 0.6,
            least_s: 0.5,
            times_ratio: 8.0,
        }
    }
}

/// Times with one side of the hand or the other uppermost.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ways {
    /// The thumb's, seconds.
    pub thumb_s: f64,
    /// The little finger's, seconds.
    pub little_s: f64,
    latest_s: Option<f64>,
}

impl Ways {
    /// Takes the next orientation of a hand that is on no set.
    pub fn push(&mut self, fitted: &Fitted, now: &Oriented, params: &WaysParams) {
        let before_s = self.latest_s.replace(now.t_s);
        let dt_s = before_s.map_or(0.0, |before_s| now.t_s - before_s);
        if !(0.0..=GAP_S).contains(&dt_s) {
            return;
        }
        let up_in_sensor = now.world_from_sensor.inverse() * Vector3::z();
        let up_in_hand = fitted.alignment.sensor_from_hand.inverse() * up_in_sensor;
        let thumb_up_ratio = up_in_hand.z * mirror(fitted.alignment.side);
        if thumb_up_ratio > params.upper_ratio {
            self.thumb_s += dt_s;
        } else if thumb_up_ratio < -params.upper_ratio {
            self.little_s += dt_s;
        }
    }

    /// Whether these are the ways of the other hand.
    pub fn of_other_hand(&self, params: &WaysParams) -> bool {
        self.little_s >= params.least_s && self.little_s >= params.times_ratio * self.thumb_s
    }
}
