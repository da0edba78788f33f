//! The gyroscope bias of a whole recording, from both of its ends.
//!
//! Source: D. Laidig, T. Seel, Information Fusion 91:187-204, 2023,
//! doi:10.1016/j.inffus.2022.10.014, the offline variant: the real-time filter runs over the samples
//! and over the samples in reverse, and the two estimates are combined by their covariances. Ours:
//! the accelerometer's part runs on means of about a twenty-fifth of a second, formed in the almost
//! inertial frame, because the bias is slow; and the passes are repeated about their own result
//! where it departs far from where they began, because the filter limits its estimate.

use nalgebra::{Matrix3, Vector3};

use super::smoother::Timeline;
use super::timing::{part, turn_through_gap_rad};
use super::turn::{level, turned};
use super::vqf::Vqf;
use super::{OrientationFilter, still_spans};

/// Accelerometer updates a second in the two passes, at least (the low pass cuts off at 0.08 Hz).
const UPDATE_HZ: f64 = 25.0;

/// Most repetitions of the two passes.
const MOST_PASSES: usize = 4;

/// A result this far, deg/s, from where the passes began is reached better from nearer by: half of
/// the filter's limit.
const FAR_DEG_S: f64 = 1.0;

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
pub(crate) fn bias_along(line: &Timeline<'_>) -> BiasLine {
    // The longest stillness is the surest place to begin.
    let spans = still_spans(line.samples, &line.params.still);
    let longest = spans
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
    let count = line.samples.len();
    let mut forward: Vec<(Vector3<f64>, Matrix3<f64>)> = Vec::with_capacity(count / every + 1);
    let mut pass = Pass::new(line, every, offset, 1.0);
    for index in 0..count {
        if index > 0 {
            pass.step_to(index, index - 1);
        }
        if index % every == 0 {
            forward.push(pass.estimate());
        }
    }
    let mut knots = vec![Vector3::zeros(); forward.len()];
    let mut pass = Pass::new(line, every, -offset, -1.0);
    for index in (0..count).rev() {
        if index + 1 < count {
            pass.step_to(index, index + 1);
        }
        if index % every == 0
            && let (Some(knot), Some(ahead)) =
                (knots.get_mut(index / every), forward.get(index / every))
        {
            let (bias, covariance) = pass.estimate();
            *knot = combined(ahead, &(-bias, covariance));
        }
    }
    BiasLine { every, knots }
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
struct Pass<'a> {
    line: &'a Timeline<'a>,
    filter: Vqf,
    /// 1 forwards, −1 backwards: the sign of the rate.
    sign: f64,
    ticks: u32,
    sum_in_inertial: Vector3<f64>,
    summed: u32,
}

impl<'a> Pass<'a> {
    fn new(line: &'a Timeline<'a>, every: usize, offset: Vector3<f64>, sign: f64) -> Self {
        let ticks = u32::try_from(every).unwrap_or(1);
        let mut filter = Vqf::with_accel_every(line.rate_hz, ticks, line.params.tau_acc_s);
        filter.set_bias(offset);
        let first = if sign > 0.0 {
            line.samples.first()
        } else {
            line.samples.last()
        };
        if let Some(first) = first {
            filter.restart(level(&first.accel_m_s2));
        }
        Self {
            line,
            filter,
            sign,
            ticks,
            sum_in_inertial: Vector3::zeros(),
            summed: 0,
        }
    }

    fn estimate(&self) -> (Vector3<f64>, Matrix3<f64>) {
        (
            self.filter.bias_in_sensor_rad_s(),
            self.filter.bias_covariance(),
        )
    }

    /// Goes on to sample `to` from its neighbour `from`.
    fn step_to(&mut self, to: usize, from: usize) {
        let (Some(a), Some(b)) = (
            self.line.samples.get(to.min(from)),
            self.line.samples.get(to.max(from)),
        ) else {
            return;
        };
        let meaning = self.line.params.rate_meaning;
        let Some((dt_s, count)) = self.line.ticks_before(to.max(from)) else {
            let (last, next) = if self.sign > 0.0 { (a, b) } else { (b, a) };
            let bias = self.filter.bias_in_sensor_rad_s();
            let before = last.gyro_rad_s * self.sign - bias;
            let after = next.gyro_rad_s * self.sign - bias;
            let turn_rad = turn_through_gap_rad(&before, &after, (b.t_s - a.t_s).max(0.0));
            self.filter
                .restart(turned(&self.filter.world_from_sensor(), &turn_rad, 1.0));
            self.sum_in_inertial = Vector3::zeros();
            self.summed = 0;
            self.take_accel(&next.accel_m_s2);
            return;
        };
        if count == 0 {
            self.filter
                .turn(&(part(a, b, 1, 0, meaning).rate_rad_s * self.sign), dt_s);
            return;
        }
        let part_s = dt_s / f64::from(count);
        for tick in 1..=count {
            let (index, ending) = if self.sign > 0.0 {
                (tick, tick)
            } else {
                (count + 1 - tick, count - tick)
            };
            let rate_rad_s = part(a, b, index, count, meaning).rate_rad_s * self.sign;
            self.filter.turn(&rate_rad_s, part_s);
            self.take_accel(&part(a, b, ending, count, meaning).accel_m_s2);
        }
    }

    fn take_accel(&mut self, accel_m_s2: &Vector3<f64>) {
        let inertial_from_sensor = self.filter.inertial_from_sensor();
        self.sum_in_inertial += inertial_from_sensor * accel_m_s2;
        self.summed += 1;
        if self.summed >= self.ticks {
            let mean_in_inertial = self.sum_in_inertial / f64::from(self.summed);
            self.filter
                .correct(&inertial_from_sensor.inverse_transform_vector(&mean_in_inertial));
            self.sum_in_inertial = Vector3::zeros();
            self.summed = 0;
        }
    }
}
