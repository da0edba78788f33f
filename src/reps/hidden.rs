//! The start level that a gap hides: between a fall into the gap and a rise out of it the hand was
//! at the bottom, though no sample says so.
//!
//! Ours. Across a gap the curve is a straight line, which joins the repetition before to the one
//! after. What both edges show is stronger: a hand that went down and then came up again has
//! turned round between. It is taken to have been at the level that the repetitions of the set
//! usually start from, if it could get there and back in the time; the repetitions on both sides
//! keep the doubt that a gap gives, for when it turned is not known.

use std::f64::consts::FRAC_PI_2;

use super::curve::{Curve, LOOK_AHEAD_COUNT, STEP_S};

/// The straight line in the gap bends the smoothed speed this near to it, in steps; the speed at an
/// edge is the mean over the steps from the kernel's reach to here.
const BENT_COUNT: usize = 8;
/// Less of the usual travel in a second is neither a fall nor a rise.
const LEAST_SPEED_RATIO: f64 = 0.1;
/// A difference of the edges of more than this share of the usual travel is a way down or up.
const WAY_RATIO: f64 = 0.3;
/// Time that there and back may need at the speeds of the edges, as a multiple of the gap: people
/// do not lift as slowly as they lower, and both speeds are those of one moment.
const MOST_HASTE_RATIO: f64 = 1.5;

/// The curve with the start level put where gaps hide it; `None` where they hide none. `start_deg`
/// is the level that repetitions usually start from, `usual_deg` their usual travel.
pub fn with_hidden_starts(curve: &Curve, start_deg: f64, usual_deg: f64) -> Option<Curve> {
    let mut amended: Option<Curve> = None;
    for [from, to] in curve.gaps() {
        if let Some(way) = hidden_way(curve, [from, to], start_deg, usual_deg) {
            amended
                .get_or_insert_with(|| curve.clone())
                .replace(from, &way);
        }
    }
    amended
}

/// Angles of the points of a gap, down to the start level and up again.
fn hidden_way(
    curve: &Curve,
    [from, to]: [usize; 2],
    start_deg: f64,
    usual_deg: f64,
) -> Option<Vec<f64>> {
    let inner = LOOK_AHEAD_COUNT - BENT_COUNT;
    let mean_speed = |low: usize, high: usize| {
        (curve.angle(high) - curve.angle(low)) / ((high - low).max(1) as f64 * STEP_S)
    };
    let falls_deg_s = -mean_speed(
        from.saturating_sub(LOOK_AHEAD_COUNT),
        from.saturating_sub(BENT_COUNT),
    );
    let rises_deg_s = mean_speed(to + BENT_COUNT, to + BENT_COUNT + inner);
    let (before_deg, after_deg) = (curve.angle(from), curve.angle(to));
    let least_deg_s = LEAST_SPEED_RATIO * usual_deg;
    let way_deg = WAY_RATIO * usual_deg;
    let (falls, rises) = (falls_deg_s > least_deg_s, rises_deg_s > least_deg_s);
    let down = before_deg - after_deg > way_deg;
    let up = after_deg - before_deg > way_deg;
    let turns = (falls && (rises || up)) || (down && rises);
    let (down_deg, up_deg) = (before_deg - start_deg, after_deg - start_deg);
    if !turns || down_deg <= 0.0 || up_deg <= 0.0 {
        return None;
    }
    // A quarter of a sine leaves the edge at its speed and arrives without any.
    let count = to.checked_sub(from).filter(|count| *count > 2)?;
    let gap_s = count as f64 * STEP_S;
    let usual_deg_s = usual_deg / gap_s;
    let needs_s = |way_deg: f64, speed_deg_s: f64, moves: bool| {
        FRAC_PI_2 * way_deg / if moves { speed_deg_s } else { usual_deg_s }
    };
    let down_s = needs_s(down_deg, falls_deg_s, falls);
    let up_s = needs_s(up_deg, rises_deg_s, rises);
    if down_s + up_s > MOST_HASTE_RATIO * FRAC_PI_2 * gap_s {
        return None;
    }
    let scale = (gap_s / (down_s + up_s)).min(1.0);
    let (down_s, up_s) = (scale * down_s, scale * up_s);
    let at = |index: usize| {
        let since_s = index as f64 * STEP_S;
        let left_s = gap_s - since_s;
        let part = |time_s: f64, lasting_s: f64| (time_s / lasting_s).clamp(0.0, 1.0);
        let fallen = (FRAC_PI_2 * part(since_s, down_s)).sin();
        let risen = (FRAC_PI_2 * part(left_s, up_s)).sin();
        if since_s <= down_s {
            before_deg - down_deg * fallen
        } else {
            after_deg - up_deg * risen
        }
    };
    Some((0..=count).map(at).collect())
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::*;
    use crate::joint::AnglePoint;
    use crate::reps::curve::Grid;
    use crate::reps::{CountParams, excursion, refined};

    /// Twelve repetitions of 50 degrees, 2 s up and 3 s down without a rest, with the samples of one
    /// span of time missing.
    fn curve_without(gap_s: std::ops::Range<f64>) -> Curve {
        let mut grid = Grid::new();
        for step in 0..6_200 {
            let t_s = f64::from(step) * 0.01;
            if gap_s.contains(&t_s) {
                continue;
            }
            let within_s = (t_s - 1.0).max(0.0) % 5.0;
            let wave = |part: f64| 0.5 - 0.5 * (std::f64::consts::PI * part.clamp(0.0, 1.0)).cos();
            let up = wave(within_s / 2.0) - wave((within_s - 2.0) / 3.0);
            grid.push(AnglePoint {
                t_s,
                measured_deg: 50.0 * up,
                across_deg: [0.0; 2],
                up_in_sensor: Vector3::z(),
                isb: None,
            });
        }
        grid.into_curve()
    }

    fn count(curve: &mut Curve) -> usize {
        refined::read(curve, &CountParams::default(), 0)
            .repetitions
            .len()
    }

    #[test]
    fn a_gap_of_2_5_s_anywhere_in_a_set_changes_no_count() {
        for tenth in 0..50 {
            let start_s = 24.0 + 0.1 * f64::from(tenth);
            let mut curve = curve_without(start_s..start_s + 2.5);
            assert_eq!(count(&mut curve), 12, "gap from {start_s} s");
        }
    }

    #[test]
    fn the_straight_line_alone_would_lose_one() {
        let curve = curve_without(24.6..27.1);
        let alone = excursion::find_all(&curve, &CountParams::default(), 0);
        assert_eq!(alone.repetitions.len(), 11);
    }

    #[test]
    fn a_gap_within_a_hold_or_a_stroke_hides_nothing() {
        for gap_s in [26.4..27.2, 28.5..29.5, 27.6..28.4] {
            let curve = curve_without(gap_s);
            assert!(with_hidden_starts(&curve, 0.0, 50.0).is_none());
        }
    }
}
