//! Arm circles: counted by whole turns.
//!
//! Ours: the turn about the main axis is carried on past a half turn; each whole turn further than
//! ever before counts. A turn's first half is reported as its lift and its second half as its
//! lowering, for want of a start level; neither is eccentric.

use super::curve::{Curve, STEP_S};

/// Degrees of a whole turn.
const TURN_DEG: f64 = 360.0;
/// A turn counts when this much of it is done: people close a circle a little short.
const DONE_RATIO: f64 = 0.97;

/// One whole turn, as times in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WholeTurn {
    /// When it starts.
    pub start_s: f64,
    /// When half of it is done.
    pub half_s: f64,
    /// When it is done.
    pub end_s: f64,
}

/// Whole turns of a curve of the turned angle, in whichever sense more was turned, and whether
/// half a turn or more was left over at the end.
pub fn whole_turns(curve: &Curve) -> (Vec<WholeTurn>, bool) {
    let first_deg = curve.angle(0);
    let farthest_deg = |sign: f64| {
        curve
            .angle_deg
            .iter()
            .map(|angle| sign * (angle - first_deg))
            .fold(0.0, f64::max)
    };
    let sign = if farthest_deg(1.0) >= farthest_deg(-1.0) {
        1.0
    } else {
        -1.0
    };
    let mut turns = Vec::new();
    let (mut from_deg, mut half_s, mut farthest) = (0.0, None, 0.0_f64);
    let mut start_s = None;
    for (index, angle_deg) in curve.angle_deg.iter().enumerate() {
        let turned_deg = sign * (angle_deg - first_deg) - from_deg;
        let t_s = curve.start_s + index as f64 * STEP_S;
        farthest = farthest.max(turned_deg);
        if turned_deg >= 0.02 * TURN_DEG && start_s.is_none() {
            start_s = Some(t_s);
        }
        if turned_deg >= 0.5 * TURN_DEG && half_s.is_none() {
            half_s = Some(t_s);
        }
        if turned_deg >= DONE_RATIO * TURN_DEG {
            turns.push(WholeTurn {
                start_s: start_s.unwrap_or(t_s),
                half_s: half_s.unwrap_or(t_s),
                end_s: t_s,
            });
            from_deg += TURN_DEG;
            (start_s, half_s, farthest) = (None, None, 0.0);
        }
    }
    (turns, farthest >= 0.5 * TURN_DEG)
}
