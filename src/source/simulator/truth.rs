//! The true repetitions of an invented set: the phase definition, applied to the noise-free angle.
//!
//! Ours, and on purpose naive: it walks the angle in steps of a millisecond, knows the levels from
//! the plan, and shares no code with the segmenter that it judges.

use super::timeline::{Intended, Timeline};

/// Step of the walk, seconds.
const STEP_S: f64 = 1e-3;
/// Within this share of the travel the hand counts as still at the level.
const LEVEL_RATIO: f64 = 0.10;
/// A phase ends where the speed falls under this share of its peak,
const SPEED_RATIO: f64 = 0.05;
/// or under this speed, whichever is the greater.
const SPEED_FLOOR_DEG_S: f64 = 1.5;

/// One repetition as it truly was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueRepetition {
    /// Start of the lift, seconds.
    pub lift_start_s: f64,
    /// End of the lift, seconds.
    pub lift_end_s: f64,
    /// Start of the lowering, seconds.
    pub lower_start_s: f64,
    /// End of the lowering, seconds.
    pub lower_end_s: f64,
    /// Range, degrees.
    pub range_deg: f64,
}

/// The true repetitions of a timeline, in order.
pub fn true_repetitions(timeline: &Timeline) -> Vec<TrueRepetition> {
    timeline
        .intended
        .iter()
        .filter_map(|intended| true_repetition(timeline, intended))
        .collect()
}

/// The true whole turns of arm circles, in order: the first half as lift, the second as lowering.
pub fn true_turns(timeline: &Timeline) -> Vec<TrueRepetition> {
    let mut turns = Vec::new();
    let mut times = walk(0.0, timeline.duration_s);
    // When the phase first goes beyond a number of degrees.
    let mut beyond = |phase_deg: f64| times.find(|&t_s| timeline.angle_deg(t_s).abs() > phase_deg);
    let mut started_s = beyond(0.0);
    while let Some(start_s) = started_s {
        let closed_deg = 360.0 * (turns.len() + 1) as f64;
        let half_s = beyond(closed_deg - 180.0);
        // The last turn comes to rest on its closing point and never goes beyond it.
        let end_s = beyond(closed_deg - 1e-6);
        if let (Some(half_s), Some(end_s)) = (half_s, end_s) {
            turns.push(TrueRepetition {
                lift_start_s: start_s,
                lift_end_s: half_s,
                lower_start_s: half_s,
                lower_end_s: end_s,
                range_deg: 360.0,
            });
        }
        started_s = end_s;
    }
    turns
}

fn true_repetition(timeline: &Timeline, intended: &Intended) -> Option<TrueRepetition> {
    let [lift_start_s, lift_end_s] =
        moving_phase(timeline, intended.lift_from_s, intended.lift_to_s)?;
    let [lower_start_s, lower_end_s] =
        moving_phase(timeline, intended.lower_from_s, intended.lower_to_s)?;
    let highest_deg = walk(lift_start_s, lower_end_s)
        .map(|t_s| timeline.angle_deg(t_s))
        .fold(f64::NEG_INFINITY, f64::max);
    let lowest_deg = timeline
        .angle_deg(lift_start_s)
        .min(timeline.angle_deg(lower_end_s));
    Some(TrueRepetition {
        lift_start_s,
        lift_end_s,
        lower_start_s,
        lower_end_s,
        range_deg: highest_deg - lowest_deg,
    })
}

fn walk(from_s: f64, to_s: f64) -> impl DoubleEndedIterator<Item = f64> {
    let steps = ((to_s - from_s) / STEP_S).ceil().max(0.0) as usize;
    (0..=steps).map(move |step| (from_s + step as f64 * STEP_S).min(to_s))
}

/// Start and end of the moving phase that the plan put between two times.
fn moving_phase(timeline: &Timeline, from_s: f64, to_s: f64) -> Option<[f64; 2]> {
    let leaves_deg = timeline.angle_deg(from_s);
    let travel_deg = timeline.angle_deg(to_s) - leaves_deg;
    let progress = |t_s: f64| (timeline.angle_deg(t_s) - leaves_deg) / travel_deg;
    let speed_deg_s = |t_s: f64| {
        let rise_deg = timeline.angle_deg(t_s + STEP_S) - timeline.angle_deg(t_s - STEP_S);
        rise_deg / (2.0 * STEP_S) * travel_deg.signum()
    };
    let core_end_s = walk(from_s, to_s).find(|&t_s| progress(t_s) >= 1.0 - LEVEL_RATIO)?;
    let core_start_s = walk(from_s, core_end_s)
        .rev()
        .find(|&t_s| progress(t_s) <= LEVEL_RATIO)?;
    let peak_deg_s = walk(core_start_s, core_end_s)
        .map(speed_deg_s)
        .fold(0.0, f64::max);
    let threshold_deg_s = (SPEED_RATIO * peak_deg_s).max(SPEED_FLOOR_DEG_S);
    let start_s = walk(from_s, core_start_s)
        .rev()
        .find(|&t_s| speed_deg_s(t_s) < threshold_deg_s)
        .unwrap_or(from_s);
    let end_s = walk(core_end_s, to_s)
        .find(|&t_s| speed_deg_s(t_s) < threshold_deg_s)
        .unwrap_or(to_s);
    Some([start_s, end_s])
}
