//! Looks at the joint, and where the search for the heading begins.
//!
//! Ours: see [`super::rates`]. The part of the record in which the forearm turns most tells most; all
//! headings and clock offsets are tried on it.

use std::ops::Range;

use nalgebra::{UnitQuaternion, Vector3};

use super::heading::{Bout, HeadingParams};
use super::rates::{Moment, Moments};
use super::track::ForearmTrack;

/// One look at the joint.
pub(super) struct Look {
    pub(super) t_s: f64,
    pub(super) bout: usize,
    pub(super) world_from_hand: UnitQuaternion<f64>,
}

/// Headings tried from all around.
const TRIED_COUNT: usize = 72;
/// The first guess is taken from so much of the record, seconds: in longer, headings drift.
const HOME_S: f64 = 45.0;
/// Clock offsets tried first lie so far apart, seconds.
const OFFSET_STEP_S: f64 = 0.02;
/// Headings all around from which the fit begins besides the likeliest.
const AROUND_COUNT: usize = 6;

pub(super) fn looks(bouts: &[Bout], params: &HeadingParams) -> Vec<Look> {
    let mut looks = Vec::new();
    for (bout, own) in bouts.iter().enumerate() {
        let mut due_s = f64::NEG_INFINITY;
        for oriented in own.hand {
            if oriented.t_s < due_s {
                continue;
            }
            due_s = (due_s + params.step_s).max(oriented.t_s + 0.5 * params.step_s);
            looks.push(Look {
                t_s: oriented.t_s,
                bout,
                world_from_hand: oriented.world_from_sensor,
            });
        }
    }
    looks
}

/// Headings to begin with on these looks, the likeliest first, and the clock offset that goes with them.
pub(super) fn starts(
    track: &ForearmTrack,
    looks: &[Look],
    params: &HeadingParams,
) -> Option<(Vec<f64>, f64)> {
    let turned = moments(track, looks, 0.0, params)?;
    let mut best = (off_axis_all(&turned), 0.0);
    let tried = (params.most_offset_s / OFFSET_STEP_S).round() as i32;
    for step in -tried..=tried {
        let offset_s = f64::from(step) * OFFSET_STEP_S;
        let Some(moments) = moments(track, looks, offset_s, params) else {
            continue;
        };
        let costs = off_axis_all(&moments);
        if least(&costs) < least(&best.0) {
            best = (costs, offset_s);
        }
    }
    let (costs, offset_s) = best;
    let count = costs.len();
    let cost = |index: usize| costs.get(index % count).copied().unwrap_or(f64::INFINITY);
    let mut lows: Vec<usize> = (0..count)
        .filter(|&i| cost(i) <= cost(i + count - 1) && cost(i) <= cost(i + 1))
        .collect();
    lows.sort_by(|a, b| cost(*a).total_cmp(&cost(*b)));
    lows.truncate(2);
    let around = (0..AROUND_COUNT).map(|index| index * TRIED_COUNT / AROUND_COUNT);
    let starts = lows.into_iter().chain(around).map(heading_tried).collect();
    Some((starts, offset_s))
}

fn heading_tried(index: usize) -> f64 {
    std::f64::consts::TAU * index as f64 / TRIED_COUNT as f64
}

fn off_axis_all(moments: &[Moments]) -> Vec<f64> {
    (0..TRIED_COUNT)
        .map(|index| {
            moments
                .iter()
                .map(|own| own.off_axis(heading_tried(index)).0)
                .sum()
        })
        .collect()
}

fn least(costs: &[f64]) -> f64 {
    costs.iter().copied().fold(f64::INFINITY, f64::min)
}

/// The part of the record in which the forearm turns most.
pub(super) fn home(track: &ForearmTrack, looks: &[Look], params: &HeadingParams) -> Range<usize> {
    let turns: Vec<f64> = looks
        .windows(2)
        .map(|pair| match pair {
            [a, b] if b.t_s - a.t_s < 3.0 * params.step_s => {
                match (track.at(a.t_s), track.at(b.t_s)) {
                    (Some(a), Some(b)) => a.world_from_sensor.angle_to(&b.world_from_sensor),
                    _ => 0.0,
                }
            }
            _ => 0.0,
        })
        .collect();
    let (mut from, mut turned, mut most, mut found) = (0, 0.0, -1.0, 0..looks.len());
    for (to, turn) in turns.iter().enumerate() {
        turned += turn;
        while let (Some(first), Some(last)) = (looks.get(from), looks.get(to))
            && last.t_s - first.t_s > HOME_S
        {
            turned -= turns.get(from).copied().unwrap_or(0.0);
            from += 1;
        }
        if turned > most {
            (most, found) = (turned, from..to + 2);
        }
    }
    found.start..found.end.min(looks.len())
}

/// Second moments of the turns of each bout that the looks belong to.
pub(super) fn moments(
    track: &ForearmTrack,
    looks: &[Look],
    offset_s: f64,
    params: &HeadingParams,
) -> Option<Vec<Moments>> {
    let mut all: Vec<(usize, Moments)> = Vec::new();
    for pair in looks.windows(2) {
        let [a, b] = pair else { continue };
        if a.bout != b.bout || b.t_s - a.t_s > 3.0 * params.step_s {
            continue;
        }
        let poses = (track.at(a.t_s - offset_s), track.at(b.t_s - offset_s));
        let (Some(from), Some(to)) = poses else {
            continue;
        };
        let middle = from.world_from_sensor.slerp(&to.world_from_sensor, 0.5);
        let moment = Moment {
            hand_in_world_rad: turned_in_world(&a.world_from_hand, &b.world_from_hand),
            forearm_in_world_rad: turned_in_world(&from.world_from_sensor, &to.world_from_sensor),
            sensor_from_world: middle.inverse().to_rotation_matrix().into_inner(),
        };
        match all.last_mut().filter(|(bout, _)| *bout == a.bout) {
            Some((_, moments)) => moments.add(&moment),
            None => {
                let mut moments = Moments::default();
                moments.add(&moment);
                all.push((a.bout, moments));
            }
        }
    }
    (!all.is_empty()).then(|| all.into_iter().map(|(_, moments)| moments).collect())
}

fn turned_in_world(from: &UnitQuaternion<f64>, to: &UnitQuaternion<f64>) -> Vector3<f64> {
    (to * from.inverse()).scaled_axis()
}
