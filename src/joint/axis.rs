//! The axis that a movement turns about, from the movement itself, for any mounting.
//!
//! Ours. Turns over a tenth of a second, seen from the sensor, are rotation vectors; those of one
//! joint movement gather around one line, whatever the mounting. The line is sought as the one
//! with the most turning within 30 degrees of it, then refined as the main axis (largest
//! eigenvector) of the turns near it, each weighted by its size. Large moves about other axes,
//! before or after a set, lie outside the cone and do not pull at it.

use nalgebra::{Matrix3, SymmetricEigen, Unit, Vector3};

use crate::orientation::Oriented;

/// How the axis is sought.
#[derive(Debug, Clone, PartialEq)]
pub struct AxisParams {
    /// Time over which a turn is taken, seconds (0.1). Shorter lets noise and tremor in, longer
    /// bends with the path.
    pub span_s: f64,
    /// Turns slower than this say nothing, deg/s (2).
    pub least_speed_deg_s: f64,
    /// Half-angle of the cone around the axis, degrees (30).
    pub cone_deg: f64,
    /// Directions tried as a first guess (64).
    pub guesses_count: usize,
}

impl Default for AxisParams {
    fn default() -> Self {
        AxisParams {
            span_s: 0.1,
            least_speed_deg_s: 2.0,
            cone_deg: 30.0,
            guesses_count: 64,
        }
    }
}

/// An axis and how much of the movement it explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainAxis {
    /// The axis in the sensor's frame; its sign is not known yet.
    pub axis_in_sensor: Unit<Vector3<f64>>,
    /// Turning within the cone over all turning, 0 to 1.
    pub share_ratio: f64,
    /// All turning within the cone, degrees.
    pub turned_deg: f64,
}

/// The main axis of stretches of movement, in order of time; `None` where nothing turned.
pub fn main_axis(stretches: &[&[Oriented]], params: &AxisParams) -> Option<MainAxis> {
    let turns = turns(stretches, params);
    let largest = largest(&turns, params.guesses_count);
    let cosine = params.cone_deg.to_radians().cos();
    // How much of each turn has to lie along an axis to be within the cone.
    let least: Vec<f64> = turns.iter().map(|turn| cosine * turn.norm()).collect();
    let gathered = |axis: &Vector3<f64>| -> f64 {
        let along = |(turn, least): (&Vector3<f64>, &f64)| {
            let along = turn.dot(axis).abs();
            if along >= *least { along } else { 0.0 }
        };
        turns.iter().zip(&least).map(along).sum()
    };
    let (guess, _) = largest
        .iter()
        .filter_map(|turn| turn.try_normalize(1e-12))
        .map(|guess| (guess, gathered(&guess)))
        .max_by(|(_, a), (_, b)| a.total_cmp(b))?;
    let mut axis = guess;
    for _ in 0..5 {
        let Some(refined) = refine(&turns, &axis, cosine) else {
            break;
        };
        axis = refined;
    }
    let all: f64 = turns.iter().map(Vector3::norm).sum();
    let within = gathered(&axis);
    Some(MainAxis {
        axis_in_sensor: Unit::new_normalize(axis),
        share_ratio: within / all,
        turned_deg: within.to_degrees(),
    })
}

/// Rotation vectors over successive spans, radians, in the sensor's frame.
fn turns(stretches: &[&[Oriented]], params: &AxisParams) -> Vec<Vector3<f64>> {
    let mut turns = Vec::new();
    let mut oriented = stretches.iter().copied().flatten();
    let Some(mut from) = oriented.next() else {
        return turns;
    };
    for to in oriented {
        let span_s = to.t_s - from.t_s;
        if span_s < params.span_s {
            continue;
        }
        let turn = (from.world_from_sensor.inverse() * to.world_from_sensor).scaled_axis();
        let fast = turn.norm().to_degrees() >= params.least_speed_deg_s * span_s;
        // A turn across a hole in the record has no one axis.
        if fast && span_s < 3.0 * params.span_s {
            turns.push(turn);
        }
        from = to;
    }
    turns
}

/// Some of the largest turns, from all over the stretch.
fn largest(turns: &[Vector3<f64>], count: usize) -> Vec<Vector3<f64>> {
    let chunk = turns.len().div_ceil(count.max(1)).max(1);
    turns
        .chunks(chunk)
        .filter_map(|chunk| {
            chunk
                .iter()
                .copied()
                .max_by(|a, b| a.norm_squared().total_cmp(&b.norm_squared()))
        })
        .collect()
}

fn refine(turns: &[Vector3<f64>], axis: &Vector3<f64>, cosine: f64) -> Option<Vector3<f64>> {
    let mut scatter = Matrix3::zeros();
    for turn in turns {
        let size = turn.norm();
        if size > 0.0 && turn.dot(axis).abs() >= cosine * size {
            scatter += turn * turn.transpose() / size;
        }
    }
    let eigen = SymmetricEigen::new(scatter);
    let largest = eigen.eigenvalues.imax();
    let refined = eigen.eigenvectors.column(largest).into_owned();
    let refined = refined.try_normalize(1e-12)?;
    Some(if refined.dot(axis) < 0.0 {
        -refined
    } else {
        refined
    })
}
