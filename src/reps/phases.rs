//! Where a moving phase starts and ends.
//!
//! Source: the phase definition of this project's plan (DEVELOPERS.md). Ours: the level that a
//! phase leaves or reaches is the angle at its own start or end, found by repeating the
//! definition until it agrees with itself. That way a slow sag in a hold, or a drift in a rest,
//! does not shift the level by which the stroke beside it is judged.

use super::curve::Curve;

/// Within this share of the travel the hand counts as still at the level.
pub const LEVEL_RATIO: f64 = 0.10;
/// A phase ends where the speed in its direction falls under this share of its peak,
pub const SPEED_RATIO: f64 = 0.05;
/// or under this speed, whichever is the greater (deg/s).
pub const SPEED_FLOOR_DEG_S: f64 = 1.5;
/// The definition is repeated at most so often.
const ROUNDS: usize = 12;

/// A moving phase on the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Point where it starts.
    pub start: usize,
    /// Point where it ends.
    pub end: usize,
    /// Greatest speed in its direction, deg/s.
    pub peak_speed_deg_s: f64,
    /// Speed under which it starts and ends, deg/s.
    pub threshold_deg_s: f64,
}

/// The stroke between two points; `direction` is +1 for rising, -1 for falling. `None` where the
/// angle does not travel that way.
pub fn stroke(curve: &Curve, from: usize, to: usize, direction: f64) -> Option<Stroke> {
    let mut leaves_deg = curve.angle(from);
    let mut reaches_deg = curve.angle(to);
    let mut found: Option<Stroke> = None;
    for _ in 0..ROUNDS {
        let next = once(curve, from, to, direction, leaves_deg, reaches_deg)?;
        if found == Some(next) {
            break;
        }
        leaves_deg = curve.angle(next.start);
        reaches_deg = curve.angle(next.end);
        found = Some(next);
    }
    found
}

fn once(
    curve: &Curve,
    from: usize,
    to: usize,
    direction: f64,
    leaves_deg: f64,
    reaches_deg: f64,
) -> Option<Stroke> {
    let travel_deg = direction * (reaches_deg - leaves_deg);
    if travel_deg <= 0.0 || from >= to {
        return None;
    }
    // Points counted from the first of the span.
    let angles_deg = curve.angle_deg.get(from..=to)?;
    let speeds_deg_s = curve.speed_deg_s.get(from..=to)?;
    let gone_deg = |angle_deg: &f64| direction * (angle_deg - leaves_deg);
    let near_deg = LEVEL_RATIO * travel_deg;
    let core_end = angles_deg
        .iter()
        .position(|angle| gone_deg(angle) >= travel_deg - near_deg)?;
    let core_start = angles_deg
        .get(..=core_end)?
        .iter()
        .rposition(|angle| gone_deg(angle) <= near_deg)?;
    let peak_speed_deg_s = speeds_deg_s
        .get(core_start..=core_end)?
        .iter()
        .map(|speed| direction * speed)
        .fold(0.0, f64::max);
    let threshold_deg_s = (SPEED_RATIO * peak_speed_deg_s).max(SPEED_FLOOR_DEG_S);
    let slow = |speed: &f64| direction * speed < threshold_deg_s;
    let start = speeds_deg_s.get(..=core_start)?.iter().rposition(slow);
    let end = speeds_deg_s.get(core_end..)?.iter().position(slow);
    Some(Stroke {
        start: from + start.unwrap_or(0),
        end: end.map_or(to, |after| from + core_end + after),
        peak_speed_deg_s,
        threshold_deg_s,
    })
}

/// The moment between two neighbouring points at which the speed crosses the stroke's threshold:
/// the end points read off the grid, refined to a fraction of a step, in points.
pub fn refined(curve: &Curve, stroke: &Stroke, direction: f64) -> [f64; 2] {
    let speed = |index: usize| direction * curve.speed(index);
    let crossing = |slow: usize, fast: usize| {
        let (below, above) = (speed(slow), speed(fast));
        if below < stroke.threshold_deg_s && above > stroke.threshold_deg_s {
            let share = (stroke.threshold_deg_s - below) / (above - below);
            slow as f64 + share * (fast as f64 - slow as f64)
        } else {
            slow as f64
        }
    };
    [
        crossing(stroke.start, (stroke.start + 1).min(stroke.end)),
        crossing(stroke.end, stroke.end.saturating_sub(1).max(stroke.start)),
    ]
}
