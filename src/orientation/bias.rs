//! The gyroscope bias of a whole recording, from both of its ends.
//!
//! Source: D. Laidig, T. Seel, Information Fusion 91:187-204, 2023,
//! doi:10.1016/j.inffus.2022.10.014, the offline variant: the real-time filter runs over the samples
//! and over the samples in reverse, and the two estimates are combined by their covariances. Ours:
//! both passes run on blocks of about a twenty-fifth of a second, whose turns and mean specific
//! forces are formed from every sample, because the bias is slow; and the passes are repeated about
//! their own result where it departs far from where they began, because the filter limits its
//! estimate.

use nalgebra::{Matrix3, UnitQuaternion, Vector3};

use super::smoother::Timeline;
use super::timing::{part, turn_through_gap_rad};
use super::turn::{level, turned};
use super::{OrientationFilter, StillSpan, TAU_ACC_S, Vqf};
use crate::sample::Sample;

/// Blocks a second in the two passes, at least (the low pass cuts off at 0.08 Hz).
const UPDATE_HZ: f64 = 25.0;

/// Most repetitions of the two passes.
const MOST_PASSES: usize = 4;

/// A result this far, deg/s, from where the passes began is reached better from nearer by: it is
/// what the filter doubts its bias by at first.
const FAR_DEG_S: f64 = 0.5;

/// The bias at every `every`-th sample, rad/s, with straight lines between.
pub(crate) struct BiasLine {
    every: usize,
    knots: Vec<Vector3<f64>>,
}

impl BiasLine {
    /// The bias at sample `index`.
    pub(crate) fn at(&self, index: usize) -> Vector3<f64> {
        let (knot, rest) = (index / self.every, index % self.every);
        match (self.knots.get(knot), self.knots.get(knot + 1)) {
            (Some(a), Some(b)) => a + (b - a) * (rest as f64 / self.every as f64),
            (Some(a), None) => *a,
            _ => Vector3::zeros(),
        }
    }
}

/// Estimates the bias along a recording.
pub(crate) fn bias_along(line: &Timeline<'_>, still: &[StillSpan]) -> BiasLine {
    // The longest stillness is the surest place to begin.
    let longest = still
        .iter()
        .max_by(|a, b| (a.end_s - a.start_s).total_cmp(&(b.end_s - b.start_s)));
    let mut offset = longest.map_or_else(Vector3::zeros, |s| s.mean_gyro_in_sensor_rad_s);
    let mut passes = 1;
    loop {
        let bias = two_passes(line, offset);
        let far = bias
            .knots
            .iter()
            .any(|b| (b - offset).amax() > FAR_DEG_S.to_radians());
        if !far || passes >= MOST_PASSES {
            return bias;
        }
        passes += 1;
        offset = bias.knots.iter().sum::<Vector3<f64>>() / bias.knots.len().max(1) as f64;
    }
}

fn two_passes(line: &Timeline<'_>, offset: Vector3<f64>) -> BiasLine {
    let every = line.samples_an_update(UPDATE_HZ);
    let blocks = blocks(line, every, offset);
    let mut forward = Vec::with_capacity(blocks.len() + 1);
    let mut pass = Pass::new(line, every, line.samples.first());
    forward.push(pass.estimate());
    for block in &blocks {
        pass.take(
            block.gap_s,
            &block.turn_rad,
            block.dt_s,
            &block.accel_at_end_m_s2,
        );
        forward.push(pass.estimate());
    }
    let mut knots = vec![Vector3::zeros(); forward.len()];
    let mut pass = Pass::new(line, every, line.samples.last());
    for (index, ahead) in forward.iter().enumerate().rev() {
        if let Some(block) = blocks.get(index) {
            let accel = match block.gap_s {
                None => turned(&UnitQuaternion::identity(), &block.turn_rad, 1.0)
                    .transform_vector(&block.accel_at_end_m_s2),
                Some(_) => block.accel_at_start_m_s2,
            };
            pass.take(block.gap_s, &-block.turn_rad, block.dt_s, &accel);
        }
        let (bias, covariance) = pass.estimate();
        if let Some(knot) = knots.get_mut(index) {
            *knot = offset + combined(ahead, &(-bias, covariance));
        }
    }
    BiasLine { every, knots }
}

/// Some samples on from a knot, taken together.
struct Block {
    /// Time that the ticks take, s.
    dt_s: f64,
    /// Length of the gap within it.
    gap_s: Option<f64>,
    /// Rotation vector from the sensor at its end to the sensor at its start, rad.
    turn_rad: Vector3<f64>,
    /// Mean specific force in the sensor's axes at its end; after a gap, of what follows it.
    accel_at_end_m_s2: Vector3<f64>,
    /// Specific force of the sample it starts from.
    accel_at_start_m_s2: Vector3<f64>,
}

/// Cuts a recording into blocks of `every` samples; the last may be shorter.
fn blocks(line: &Timeline<'_>, every: usize, offset: Vector3<f64>) -> Vec<Block> {
    let meaning = line.params.rate_meaning;
    let mut blocks = Vec::with_capacity(line.samples.len() / every + 1);
    let mut start = 0;
    while start + 1 < line.samples.len() {
        let end = (start + every).min(line.samples.len() - 1);
        let mut start_from_sensor = UnitQuaternion::identity();
        let (mut sum_at_start, mut summed) = (Vector3::zeros(), 0.0);
        let (mut dt_s, mut gap_s) = (0.0, None);
        let mut accel_at_start_m_s2 = Vector3::zeros();
        for index in start + 1..=end {
            let (Some(a), Some(b)) = (line.samples.get(index - 1), line.samples.get(index)) else {
                continue;
            };
            if index == start + 1 {
                accel_at_start_m_s2 = a.accel_m_s2;
            }
            if let Some((step_s, count)) = line.ticks_before(index) {
                let parts = count.max(1);
                let part_s = step_s / f64::from(parts);
                for tick in 1..=parts {
                    let part = part(a, b, tick, count, meaning);
                    start_from_sensor =
                        turned(&start_from_sensor, &(part.rate_rad_s - offset), part_s);
                    sum_at_start += start_from_sensor * part.accel_m_s2;
                    summed += 1.0;
                }
                dt_s += step_s;
            } else {
                let gap = (b.t_s - a.t_s).max(0.0);
                let (before, after) = (a.gyro_rad_s - offset, b.gyro_rad_s - offset);
                let turn_rad = turn_through_gap_rad(&before, &after, gap);
                start_from_sensor = turned(&start_from_sensor, &turn_rad, 1.0);
                sum_at_start = start_from_sensor * b.accel_m_s2;
                summed = 1.0;
                gap_s = Some(gap);
            }
        }
        blocks.push(Block {
            dt_s,
            gap_s,
            turn_rad: start_from_sensor.scaled_axis(),
            accel_at_end_m_s2: start_from_sensor.inverse_transform_vector(&sum_at_start) / summed,
            accel_at_start_m_s2,
        });
        start = end;
    }
    blocks
}

/// The mean of two estimates by the inverse of their covariances.
fn combined(a: &(Vector3<f64>, Matrix3<f64>), b: &(Vector3<f64>, Matrix3<f64>)) -> Vector3<f64> {
    // (A⁻¹ + B⁻¹)⁻¹ (A⁻¹ a + B⁻¹ b) = a + A (A + B)⁻¹ (b − a)
    match (a.1 + b.1).try_inverse() {
        Some(inverse) => a.0 + a.1 * (inverse * (b.0 - a.0)),
        None => (a.0 + b.0) * 0.5,
    }
}

/// The real-time filter on its way through a recording, with time running either way.
struct Pass {
    filter: Vqf,
}

impl Pass {
    fn new(line: &Timeline<'_>, every: usize, first: Option<&Sample>) -> Self {
        let mut filter = Vqf::new(line.rate_hz / every as f64, TAU_ACC_S);
        if let Some(first) = first {
            filter.restart(level(&first.accel_m_s2));
        }
        Self { filter }
    }

    /// The bias beyond the offset, and its covariance.
    fn estimate(&self) -> (Vector3<f64>, Matrix3<f64>) {
        (
            self.filter.bias_in_sensor_rad_s(),
            self.filter.bias_covariance(),
        )
    }

    fn take(
        &mut self,
        gap_s: Option<f64>,
        turn_rad: &Vector3<f64>,
        dt_s: f64,
        accel_m_s2: &Vector3<f64>,
    ) {
        if gap_s.is_some() {
            self.filter
                .restart(turned(&self.filter.world_from_sensor(), turn_rad, 1.0));
            self.filter.correct(accel_m_s2);
        } else if dt_s > 0.0 {
            self.filter
                .update_over(&(turn_rad / dt_s), accel_m_s2, dt_s);
        }
    }
}
