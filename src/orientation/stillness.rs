//! Whether the unit lies or is held still, with a gyroscope bias of any likely size.
//!
//! Ours, because the usual test (a small rate) takes a bias for movement: still is when the readings
//! of a trailing window scatter little about their own means and gravity does not turn in the
//! sensor. A constant bias changes neither. What remains hidden: a steady slow turn about the
//! vertical gives the same readings as a bias; only a bias known from elsewhere tells them apart
//! ([`Stillness::expect_bias`], and [`still_spans`] by the agreement of its spans).

use std::collections::VecDeque;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use crate::sample::Sample;

/// Settings of the stillness test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct StillParams {
    /// Length of the window, s. Short windows take a slow reversal for stillness and give a noisy
    /// bias, long ones miss short rests. 0.3 to 5, default 1.
    pub window_s: f64,
    /// Largest standard deviation of the rate within the window, all three axes together, deg/s.
    /// Small values demand a unit on a table, large ones let slow movement through. 0.5 to 5,
    /// default 2.
    pub gyro_sd_deg_s: f64,
    /// Largest standard deviation of the specific force, all three axes together, m/s². 0.05 to 1,
    /// default 0.4.
    pub accel_sd_m_s2: f64,
    /// Largest turn of gravity in the sensor, deg/s, by a straight line through the window. Small
    /// values are at the mercy of accelerometer noise, large ones take a slow curl for stillness.
    /// 0.5 to 3, default 1.
    pub gravity_turn_deg_s: f64,
    /// Largest mean rate that can be a bias, deg/s. 3 to 20, default 10.
    pub max_bias_deg_s: f64,
    /// Largest distance of the mean rate from a bias that is known, deg/s. 0.5 to 3, default 1.5.
    pub bias_agreement_deg_s: f64,
}

impl Default for StillParams {
    fn default() -> Self {
        Self {
            window_s: 1.0,
            gyro_sd_deg_s: 2.0,
            accel_sd_m_s2: 0.4,
            gravity_turn_deg_s: 1.0,
            max_bias_deg_s: 10.0,
            bias_agreement_deg_s: 1.5,
        }
    }
}

/// What the trailing window says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StillState {
    /// The whole window was still.
    pub still: bool,
    /// What there is of the window was still; `still` as soon as the window is full.
    pub still_so_far: bool,
    /// Time from the window's first sample to its last, s; at most a spacing over `window_s`.
    pub span_s: f64,
    /// Mean specific force of the window, sensor frame, m/s².
    pub mean_accel_in_sensor_m_s2: Vector3<f64>,
    /// Mean rate of the window, sensor frame, rad/s: the gyroscope bias where it was still.
    pub mean_gyro_in_sensor_rad_s: Vector3<f64>,
}

/// Sums over the window.
#[derive(Debug, Clone, Copy)]
struct Sums {
    count: f64,
    gyro: Vector3<f64>,
    gyro_squared: f64,
    accel: Vector3<f64>,
    accel_squared: f64,
    /// Of the time since `origin_s`, its square, and its product with the specific force.
    time: f64,
    time_squared: f64,
    time_accel: Vector3<f64>,
}

impl Sums {
    const ZERO: Self = Self {
        count: 0.0,
        gyro: Vector3::new(0.0, 0.0, 0.0),
        gyro_squared: 0.0,
        accel: Vector3::new(0.0, 0.0, 0.0),
        accel_squared: 0.0,
        time: 0.0,
        time_squared: 0.0,
        time_accel: Vector3::new(0.0, 0.0, 0.0),
    };

    fn add(&mut self, sample: &Sample, origin_s: f64, sign: f64) {
        let t_s = sample.t_s - origin_s;
        self.count += sign;
        self.gyro += sample.gyro_rad_s * sign;
        self.gyro_squared += sample.gyro_rad_s.norm_squared() * sign;
        self.accel += sample.accel_m_s2 * sign;
        self.accel_squared += sample.accel_m_s2.norm_squared() * sign;
        self.time += t_s * sign;
        self.time_squared += t_s * t_s * sign;
        self.time_accel += sample.accel_m_s2 * (t_s * sign);
    }
}

/// A stream's stillness; a few sums for each sample, whatever the window.
#[derive(Debug, Clone)]
pub struct Stillness {
    params: StillParams,
    window: VecDeque<Sample>,
    sums: Sums,
    origin_s: f64,
    pushes_since_summed: usize,
    bias: Option<Vector3<f64>>,
}

impl Stillness {
    /// A test with an empty window.
    pub fn new(params: StillParams) -> Self {
        Self {
            params,
            window: VecDeque::new(),
            sums: Sums::ZERO,
            origin_s: 0.0,
            pushes_since_summed: 0,
            bias: None,
        }
    }

    /// From now on a mean rate must also be near this bias, rad/s: so a slow steady turn about the
    /// vertical is no longer taken for stillness.
    pub fn expect_bias(&mut self, bias_in_sensor_rad_s: Vector3<f64>) {
        self.bias = Some(bias_in_sensor_rad_s);
    }

    /// Takes one sample and judges the window that ends with it. A gap or a clock set back empties
    /// the window.
    pub fn push(&mut self, sample: &Sample) -> StillState {
        if let Some(last) = self.window.back() {
            let dt_s = sample.t_s - last.t_s;
            if !(0.0..=super::GAP_S).contains(&dt_s) {
                self.clear();
            }
        }
        // The sums are made anew once a window, so that no rounding piles up.
        if self.pushes_since_summed >= self.window.len() {
            self.sum_anew(sample.t_s);
        }
        self.pushes_since_summed += 1;
        self.window.push_back(*sample);
        self.sums.add(sample, self.origin_s, 1.0);
        // The window keeps one sample at or beyond its length.
        let start_s = sample.t_s - self.params.window_s + 1e-9;
        while let Some(second) = self.window.get(1)
            && second.t_s <= start_s
        {
            if let Some(first) = self.window.pop_front() {
                self.sums.add(&first, self.origin_s, -1.0);
            }
        }
        self.judge(start_s)
    }

    /// The samples of the window, oldest first.
    pub fn window(&self) -> impl Iterator<Item = &Sample> {
        self.window.iter()
    }

    /// Empties the window and forgets the expected bias.
    pub fn reset(&mut self) {
        self.clear();
        self.bias = None;
    }

    fn clear(&mut self) {
        self.window.clear();
        self.sums = Sums::ZERO;
        self.pushes_since_summed = 0;
    }

    fn sum_anew(&mut self, origin_s: f64) {
        self.origin_s = origin_s;
        self.pushes_since_summed = 0;
        self.sums = Sums::ZERO;
        for sample in &self.window {
            self.sums.add(sample, origin_s, 1.0);
        }
    }

    fn judge(&self, start_s: f64) -> StillState {
        let (p, s) = (&self.params, &self.sums);
        let mean_gyro = s.gyro / s.count;
        let mean_accel = s.accel / s.count;
        let gyro_var = s.gyro_squared / s.count - mean_gyro.norm_squared();
        let accel_var = s.accel_squared / s.count - mean_accel.norm_squared();
        let time_var = s.time_squared / s.count - (s.time / s.count).powi(2);
        let slope = if time_var > 0.0 {
            (s.time_accel / s.count - mean_accel * (s.time / s.count)) / time_var
        } else {
            Vector3::zeros()
        };
        let accel_squared = mean_accel.norm_squared();
        let gravity_turn_rad_s = if accel_squared > 0.0 {
            slope.cross(&mean_accel).norm() / accel_squared
        } else {
            f64::INFINITY
        };
        let (first_s, last_s) = match (self.window.front(), self.window.back()) {
            (Some(first), Some(last)) => (first.t_s, last.t_s),
            _ => (0.0, 0.0),
        };
        let span_s = last_s - first_s;
        // Through a part of the window a straight line is less sure: its error goes with the span
        // to the power of -1.5, and through a quarter of it it says nothing.
        let part = (span_s / p.window_s).min(1.0);
        let slack = if part < 1.0 { part.powf(-1.5) } else { 1.0 };
        let turns = part > 0.25 && gravity_turn_rad_s > p.gravity_turn_deg_s.to_radians() * slack;
        let near_bias = match &self.bias {
            Some(bias) => (mean_gyro - bias).norm() <= p.bias_agreement_deg_s.to_radians(),
            None => mean_gyro.norm() <= p.max_bias_deg_s.to_radians(),
        };
        let still_so_far = gyro_var <= p.gyro_sd_deg_s.to_radians().powi(2)
            && accel_var <= p.accel_sd_m_s2.powi(2)
            && !turns
            && near_bias;
        StillState {
            still: still_so_far && first_s <= start_s && s.count >= 5.0,
            still_so_far,
            span_s,
            mean_accel_in_sensor_m_s2: mean_accel,
            mean_gyro_in_sensor_rad_s: mean_gyro,
        }
    }
}

/// A stretch of stillness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StillSpan {
    /// Time of its first sample, s.
    pub start_s: f64,
    /// Time of its last sample, s.
    pub end_s: f64,
    /// Mean specific force without the span's edges, sensor frame, m/s².
    pub mean_accel_in_sensor_m_s2: Vector3<f64>,
    /// Mean rate without the span's edges, sensor frame, rad/s: the gyroscope bias.
    pub mean_gyro_in_sensor_rad_s: Vector3<f64>,
}

/// The edge of a span that its means leave out where it can be spared, s: a movement's first tenth
/// of a second passes the test.
const EDGE_S: f64 = 0.15;

/// All stretches of a recording that are still for at least the window, in order of time.
///
/// Where spans disagree about the bias by more than `bias_agreement_deg_s`, those are kept that most
/// of the still time agrees with: the others were slow turns about the vertical.
pub fn still_spans(samples: &[Sample], params: &StillParams) -> Vec<StillSpan> {
    let mut stillness = Stillness::new(*params);
    let mut windows: Vec<(f64, f64)> = Vec::new();
    for sample in samples {
        let state = stillness.push(sample);
        if !state.still {
            continue;
        }
        match windows.last_mut() {
            Some((_, end_s)) if sample.t_s - state.span_s <= *end_s => *end_s = sample.t_s,
            _ => windows.push((sample.t_s - state.span_s, sample.t_s)),
        }
    }
    let spans: Vec<StillSpan> = windows
        .iter()
        .filter_map(|&(start_s, end_s)| span(samples, start_s, end_s))
        .collect();
    let agrees = |a: &StillSpan, b: &StillSpan| {
        (a.mean_gyro_in_sensor_rad_s - b.mean_gyro_in_sensor_rad_s).norm()
            <= params.bias_agreement_deg_s.to_radians()
    };
    let seconds_agreeing = |a: &StillSpan| -> f64 {
        spans
            .iter()
            .filter(|b| agrees(a, b))
            .map(|b| b.end_s - b.start_s)
            .sum()
    };
    // Ties go to the earlier span.
    let mut best: Option<(f64, StillSpan)> = None;
    for candidate in &spans {
        let seconds = seconds_agreeing(candidate);
        if best.is_none_or(|(most, _)| seconds > most + 1e-9) {
            best = Some((seconds, *candidate));
        }
    }
    match best {
        Some((_, best)) => spans.into_iter().filter(|a| agrees(a, &best)).collect(),
        None => spans,
    }
}

fn span(samples: &[Sample], start_s: f64, end_s: f64) -> Option<StillSpan> {
    let edge_s = EDGE_S.min((end_s - start_s) / 4.0);
    let from = samples.partition_point(|s| s.t_s < start_s + edge_s);
    let to = samples.partition_point(|s| s.t_s <= end_s - edge_s);
    let inner = samples.get(from..to).filter(|inner| !inner.is_empty())?;
    let count = inner.len() as f64;
    Some(StillSpan {
        start_s,
        end_s,
        mean_accel_in_sensor_m_s2: inner.iter().map(|s| s.accel_m_s2).sum::<Vector3<f64>>() / count,
        mean_gyro_in_sensor_rad_s: inner.iter().map(|s| s.gyro_rad_s).sum::<Vector3<f64>>() / count,
    })
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test says what is wrong by failing"
    )]

    use nalgebra::{Rotation3, Unit};

    use super::*;

    /// A unit that turns at `turn_deg_s` about `axis` (world), with a bias and a little noise, every
    /// 10 ms for `seconds`.
    fn turning(
        axis: Vector3<f64>,
        turn_deg_s: f64,
        bias_deg_s: Vector3<f64>,
        seconds: f64,
        from_s: f64,
    ) -> Vec<Sample> {
        let axis = Unit::new_normalize(axis);
        let mut noise = 1_u64;
        let mut random = move || {
            noise = noise
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (noise >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
        };
        (0..(seconds * 100.0) as usize)
            .map(|i| {
                let t_s = i as f64 / 100.0;
                let turn = Rotation3::from_axis_angle(&axis, (turn_deg_s * t_s).to_radians());
                Sample {
                    t_s: from_s + t_s,
                    accel_m_s2: turn.inverse() * Vector3::new(0.0, 0.0, 9.81)
                        + Vector3::from_fn(|_, _| 0.08 * random()),
                    gyro_rad_s: (axis.into_inner() * turn_deg_s + bias_deg_s).map(f64::to_radians)
                        + Vector3::from_fn(|_, _| 0.3_f64.to_radians() * random()),
                }
            })
            .collect()
    }

    const NO_BIAS: Vector3<f64> = Vector3::new(0.0, 0.0, 0.0);

    #[test]
    fn a_bias_of_5_deg_s_does_not_hide_stillness() {
        let bias_deg_s = Vector3::new(3.0, -3.2, 2.4);
        let samples = turning(Vector3::x(), 0.0, bias_deg_s, 4.0, 10.0);
        let mut stillness = Stillness::new(StillParams::default());
        for sample in &samples {
            let state = stillness.push(sample);
            assert!(state.still_so_far, "at {} s", sample.t_s);
            assert_eq!(state.still, sample.t_s > 10.995);
        }
        let spans = still_spans(&samples, &StillParams::default());
        assert_eq!(spans.len(), 1);
        assert!((spans[0].start_s - 10.0).abs() < 1e-9 && (spans[0].end_s - 13.99).abs() < 1e-9);
        let found_deg_s = spans[0].mean_gyro_in_sensor_rad_s.map(f64::to_degrees);
        assert!((found_deg_s - bias_deg_s).norm() < 0.05);
        assert!((spans[0].mean_accel_in_sensor_m_s2 - Vector3::new(0.0, 0.0, 9.81)).norm() < 0.02);
    }

    #[test]
    fn a_turn_of_3_deg_s_about_a_horizontal_axis_is_not_still() {
        for axis in [Vector3::x(), Vector3::y(), Vector3::new(1.0, -1.0, 0.3)] {
            let samples = turning(axis, 3.0, NO_BIAS, 6.0, 0.0);
            assert_eq!(still_spans(&samples, &StillParams::default()), []);
        }
    }

    #[test]
    fn a_turn_about_the_vertical_looks_still_unless_the_bias_is_known() {
        let rest = turning(Vector3::z(), 0.0, NO_BIAS, 3.0, 0.0);
        let turn = turning(Vector3::z(), 4.0, NO_BIAS, 2.0, 10.0);
        assert_eq!(still_spans(&turn, &StillParams::default()).len(), 1);
        // The longer rest knows better.
        let both: Vec<Sample> = rest.iter().chain(&turn).copied().collect();
        let spans = still_spans(&both, &StillParams::default());
        assert_eq!(spans.len(), 1);
        assert!(spans[0].end_s < 3.0);
        let mut stillness = Stillness::new(StillParams::default());
        stillness.expect_bias(Vector3::zeros());
        assert!(turn.iter().all(|sample| !stillness.push(sample).still));
    }

    #[test]
    fn movement_tremor_and_gaps_are_not_still() {
        let params = StillParams::default();
        // Tremor of ±0.6 deg at 9 Hz.
        let mut tremor = turning(Vector3::x(), 0.0, NO_BIAS, 3.0, 0.0);
        for sample in &mut tremor {
            let w = std::f64::consts::TAU * 9.0;
            sample.gyro_rad_s.x += 0.6_f64.to_radians() * w * (w * sample.t_s).cos();
        }
        assert_eq!(still_spans(&tremor, &params), []);
        // Two rests of 0.8 s with a gap between them do not make one of 1 s.
        let mut rests = turning(Vector3::x(), 0.0, NO_BIAS, 0.8, 0.0);
        rests.extend(turning(Vector3::x(), 0.0, NO_BIAS, 0.8, 1.5));
        assert_eq!(still_spans(&rests, &params), []);
    }

    #[test]
    fn the_running_sums_are_those_of_the_window() {
        // Against the textbook: mean and standard deviation made anew for each window.
        let mut samples = turning(Vector3::x(), 200.0, NO_BIAS, 5.0, 0.0);
        samples.extend(turning(
            Vector3::x(),
            0.0,
            Vector3::new(1.0, 2.0, 3.0),
            5.0,
            5.0,
        ));
        let mut stillness = Stillness::new(StillParams::default());
        for (i, sample) in samples.iter().enumerate() {
            let state = stillness.push(sample);
            let window: Vec<&Sample> = samples[..=i]
                .iter()
                .filter(|s| s.t_s > sample.t_s - 1.0 - 1e-9)
                .collect();
            let mean =
                window.iter().map(|s| s.gyro_rad_s).sum::<Vector3<f64>>() / window.len() as f64;
            assert_eq!(stillness.window().count(), window.len());
            assert!((state.mean_gyro_in_sensor_rad_s - mean).norm() < 1e-12);
        }
        assert!(
            stillness
                .push(&Sample {
                    t_s: 10.0,
                    ..samples[999]
                })
                .still
        );
    }
}
