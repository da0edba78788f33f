//! Circles: counted by whole turns.
//!
//! Ours. An arm that traces a cone does not spin about one axis: its turning direction, seen from
//! the sensor, goes round once in each circle. An arm that goes over the head and round turns about
//! one axis and on. Both are read as an angle that grows by 360 degrees a turn: the direction of
//! turning in the plane that holds most of it, or the turn about the main axis carried on. Each
//! turn's first half is reported as its lift and its second as its lowering, for want of a start
//! level; neither is eccentric.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use crate::orientation::Oriented;

/// Degrees of a whole turn.
const TURN_DEG: f64 = 360.0;
/// Time over which a turning direction is taken, seconds.
const SPAN_S: f64 = 0.12;
/// Slower than this the hand does not circle, deg/s.
const LEAST_SPEED_DEG_S: f64 = 8.0;
/// A turn that the end of the record cuts counts when so much of it is there, as so much of a
/// repetition has to come back.
const DONE_RATIO: f64 = 0.70;
/// A stop so long ends a run of circles, seconds.
const PAUSE_S: f64 = 0.5;
/// To be called circling without being named so: least share of going round that is not undone,
const LEAST_NET_RATIO: f64 = 0.80;
/// and least width of the ellipse of turning speeds, as a share of its length.
const LEAST_WIDTH_RATIO: f64 = 0.3;

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

/// The circles of a stretch of movement.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Circles {
    /// Whole turns, in order.
    pub turns: Vec<WholeTurn>,
    /// Whether a turn was begun and cut by the end.
    pub unfinished: bool,
    /// Whether the movement goes round by itself: nobody need have named it so.
    pub goes_round: bool,
}

/// A turn over a short span.
struct Turning {
    t_s: f64,
    turn_rad: Vector3<f64>,
}

/// Counts whole turns.
pub fn circles(oriented: &[Oriented]) -> Circles {
    let turnings = turnings(oriented);
    let mut scatter = Matrix3::zeros();
    for turning in &turnings {
        scatter += turning.turn_rad * turning.turn_rad.transpose();
    }
    let eigen = SymmetricEigen::new(scatter);
    let mut axes: Vec<(f64, Vector3<f64>)> = eigen
        .eigenvalues
        .iter()
        .zip(eigen.eigenvectors.column_iter())
        .map(|(value, vector)| (value.max(0.0).sqrt(), vector.into_owned()))
        .collect();
    axes.sort_by(|(a, _), (b, _)| b.total_cmp(a));
    let [(longest, first), (wide, second), ..] = axes.as_slice() else {
        return Circles::default();
    };

    let mut over_deg = carried_on(&turnings, first);
    let mut round = going_round(&turnings, first, second);
    if let (Some(begin), Some(end)) = (oriented.first(), oriented.last()) {
        reach_ends(&mut over_deg, begin.t_s, end.t_s);
        reach_ends(&mut round.path_deg, begin.t_s, end.t_s);
    }
    let net_deg = |path: &[(f64, f64)]| path.last().map_or(0.0, |(_, angle_deg)| angle_deg.abs());
    if net_deg(&over_deg) > net_deg(&round.path_deg) {
        return whole_turns(&over_deg, false);
    }
    let wide_enough = *wide >= LEAST_WIDTH_RATIO * longest;
    let goes_round = wide_enough
        && net_deg(&round.path_deg) >= 2.0 * TURN_DEG
        && net_deg(&round.path_deg) >= LEAST_NET_RATIO * round.all_deg;
    whole_turns(&round.path_deg, goes_round)
}

fn turnings(oriented: &[Oriented]) -> Vec<Turning> {
    let mut turnings = Vec::new();
    let Some(mut from) = oriented.first() else {
        return turnings;
    };
    for to in oriented {
        let span_s = to.t_s - from.t_s;
        if span_s < SPAN_S {
            continue;
        }
        let turn_rad = (from.world_from_sensor.inverse() * to.world_from_sensor).scaled_axis();
        if turn_rad.norm().to_degrees() >= LEAST_SPEED_DEG_S * span_s {
            turnings.push(Turning {
                t_s: 0.5 * (from.t_s + to.t_s),
                turn_rad,
            });
        }
        from = to;
    }
    turnings
}

/// The turn about an axis, summed up: time and degrees.
fn carried_on(turnings: &[Turning], axis: &Vector3<f64>) -> Vec<(f64, f64)> {
    let mut sum_deg = 0.0;
    turnings
        .iter()
        .map(|turning| {
            sum_deg += turning.turn_rad.dot(axis).to_degrees();
            (turning.t_s, sum_deg)
        })
        .collect()
}

/// Carries a path on to the record's own ends at its mean rate: a turning direction is that of the
/// middle of its span, and half a span at either end, and what did not fill one, was turned too.
fn reach_ends(path_deg: &mut Vec<(f64, f64)>, begin_s: f64, end_s: f64) {
    let (Some(&(first_s, first_deg)), Some(&(last_s, last_deg))) =
        (path_deg.first(), path_deg.last())
    else {
        return;
    };
    if last_s <= first_s {
        return;
    }
    let rate_deg_s = (last_deg - first_deg) / (last_s - first_s);
    let missing = |span_s: f64| span_s > 0.0 && span_s < 2.0 * SPAN_S;
    if missing(first_s - begin_s) {
        path_deg.insert(0, (begin_s, first_deg - rate_deg_s * (first_s - begin_s)));
    }
    if missing(end_s - last_s) {
        path_deg.push((end_s, last_deg + rate_deg_s * (end_s - last_s)));
    }
}

struct Round {
    /// Time and the direction of turning, degrees, carried on past whole turns.
    path_deg: Vec<(f64, f64)>,
    /// All changes of direction, whichever way, degrees.
    all_deg: f64,
}

fn going_round(turnings: &[Turning], first: &Vector3<f64>, second: &Vector3<f64>) -> Round {
    let mut path_deg: Vec<(f64, f64)> = Vec::new();
    let mut all_deg = 0.0;
    let mut latest: Option<f64> = None;
    let mut sum_deg = 0.0;
    for turning in turnings {
        let along = turning.turn_rad.dot(first);
        let aside = turning.turn_rad.dot(second);
        let direction_deg = aside.atan2(along).to_degrees();
        if let Some(latest_deg) = latest {
            let change_deg = direction_deg - latest_deg;
            let change_deg = change_deg - TURN_DEG * (change_deg / TURN_DEG).round();
            sum_deg += change_deg;
            all_deg += change_deg.abs();
        }
        latest = Some(direction_deg);
        path_deg.push((turning.t_s, sum_deg));
    }
    Round { path_deg, all_deg }
}

/// Whole turns of an angle that grows, in whichever sense it ends up having gone. After a pause a
/// circle begins anew: an arm that is first moved into place has not yet begun one.
fn whole_turns(path_deg: &[(f64, f64)], goes_round: bool) -> Circles {
    let sign = path_deg.last().map_or(1.0, |(_, end_deg)| end_deg.signum());
    let mut circles = Circles {
        goes_round,
        ..Circles::default()
    };
    for run in path_deg.chunk_by(|(before_s, _), (after_s, _)| after_s - before_s < PAUSE_S) {
        let (Some((_, from_deg)), Some((_, to_deg))) = (run.first(), run.last()) else {
            continue;
        };
        if sign * (to_deg - from_deg) > 0.0 {
            turns_of_run(run, sign, &mut circles);
        }
    }
    circles
}

fn turns_of_run(path_deg: &[(f64, f64)], sign: f64, circles: &mut Circles) {
    let first_deg = path_deg
        .first()
        .map_or(0.0, |(_, angle_deg)| sign * angle_deg);
    let mut start_s = path_deg.first().map_or(0.0, |(t_s, _)| *t_s);
    let mut half_s = None;
    let (mut from_deg, mut farthest_deg, mut farthest_s) = (first_deg, 0.0, start_s);
    let mut before = (start_s, first_deg);
    for (t_s, angle_deg) in path_deg {
        let turned_deg = sign * angle_deg - from_deg;
        // The moment at which a part of the turn was done, between this point and the one before.
        let moment_s = |part_deg: f64| {
            let (before_s, before_deg) = before;
            let before_deg = before_deg - from_deg;
            let rise_deg = turned_deg - before_deg;
            if rise_deg > 0.0 {
                before_s + (t_s - before_s) * ((part_deg - before_deg) / rise_deg).clamp(0.0, 1.0)
            } else {
                *t_s
            }
        };
        if turned_deg > farthest_deg {
            (farthest_deg, farthest_s) = (turned_deg, *t_s);
        }
        if turned_deg >= 0.5 * TURN_DEG && half_s.is_none() {
            half_s = Some(moment_s(0.5 * TURN_DEG));
        }
        if turned_deg >= TURN_DEG {
            let end_s = moment_s(TURN_DEG);
            circles.turns.push(WholeTurn {
                start_s,
                half_s: half_s.unwrap_or(end_s),
                end_s,
            });
            from_deg += TURN_DEG;
            start_s = end_s;
            half_s = None;
            (farthest_deg, farthest_s) = (0.0, end_s);
        }
        before = (*t_s, sign * angle_deg);
    }
    if farthest_deg >= DONE_RATIO * TURN_DEG {
        circles.turns.push(WholeTurn {
            start_s,
            half_s: half_s.unwrap_or(farthest_s),
            end_s: farthest_s,
        });
    } else {
        circles.unfinished = farthest_deg >= 0.35 * TURN_DEG;
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]

    use nalgebra::UnitQuaternion;

    use super::*;

    fn at(t_s: f64, world_from_sensor: UnitQuaternion<f64>) -> Oriented {
        Oriented {
            t_s,
            world_from_sensor,
            gyro_in_sensor_rad_s: Vector3::zeros(),
            accel_in_sensor_m_s2: Vector3::zeros(),
        }
    }

    /// An arm along y that traces a cone of 25 degrees, once in two seconds.
    fn cone(lasting_s: f64) -> Vec<Oriented> {
        (0..(lasting_s * 50.0) as usize)
            .map(|step| {
                let t_s = step as f64 / 50.0;
                let phase = std::f64::consts::TAU * t_s / 2.0;
                let swing = Vector3::new(phase.cos(), 0.0, phase.sin()) * 25_f64.to_radians();
                at(t_s, UnitQuaternion::from_scaled_axis(swing))
            })
            .collect()
    }

    #[test]
    fn an_arm_that_traces_a_cone_turns_whole_turns() {
        let circles = circles(&cone(10.5));
        assert_eq!(circles.turns.len(), 5);
        assert!(circles.goes_round);
        for turn in &circles.turns {
            assert!((turn.end_s - turn.start_s - 2.0).abs() < 0.02, "{turn:?}");
        }
    }

    /// 0.72 of a turn left over is done, 0.68 is not, though the directions of turning themselves
    /// end half a span short of the record at either end.
    #[test]
    fn what_is_left_over_is_measured_to_the_ends_of_the_record() {
        assert_eq!(circles(&cone(2.0 * 5.72)).turns.len(), 6);
        let short = circles(&cone(2.0 * 5.68));
        assert_eq!(short.turns.len(), 5);
        assert!(short.unfinished);
    }

    #[test]
    fn an_arm_that_goes_over_the_head_turns_whole_turns() {
        let oriented: Vec<Oriented> = (0..500)
            .map(|step| {
                let t_s = step as f64 / 50.0;
                let turn = Vector3::new(0.6, 0.0, 0.8) * (std::f64::consts::TAU * t_s / 3.0);
                at(t_s, UnitQuaternion::from_scaled_axis(turn))
            })
            .collect();
        let circles = circles(&oriented);
        assert_eq!(circles.turns.len(), 3);
    }

    #[test]
    fn going_to_and_fro_is_not_going_round() {
        let oriented: Vec<Oriented> = (0..1000)
            .map(|step| {
                let t_s = step as f64 / 50.0;
                let swing = (std::f64::consts::TAU * t_s / 2.0).sin();
                let turn = Vector3::new(0.9, 0.3, 0.0) * swing;
                at(t_s, UnitQuaternion::from_scaled_axis(turn))
            })
            .collect();
        assert!(!circles(&oriented).goes_round);
    }
}
