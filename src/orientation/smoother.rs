//! The orientation along a whole recording, from both of its ends.
//!
//! Source: D. Laidig, T. Seel, "VQF: Highly accurate IMU orientation estimation with bias estimation
//! and magnetic disturbance rejection", Information Fusion 91:187-204, 2023,
//! doi:10.1016/j.inffus.2022.10.014, the offline variant: gyroscope bias from a forward and a
//! backward pass ([`super::bias`]), strap-down integration with the corrected rate, a zero-phase low
//! pass of the specific force in the almost inertial frame, and the inclination correction that
//! follows it. Ours: uneven stamps, losses and gaps as in real time, the low pass at both ends of a
//! run, and its time constant.

use nalgebra::{UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};

use super::bias::{BiasLine, bias_along};
use super::low_pass::LowPass;
use super::timing::{Step, Ticker, mix, part, sane_rate_hz, turn_through_gap_rad};
use super::turn::{level, levelled, turned, upright};
use super::{GAP_S, Oriented, RateMeaning, StillSpan, nominal_rate_hz};
use crate::sample::Sample;

/// Time constant of the smoother's low pass, s.
///
/// Ours; published for both variants is 3 s. Run both ways the low pass has no lag and lets a steady
/// drift through unchanged, so it may be slower than the one that only looks back. On the six trials
/// of BROAD that the tests read, the mean error is flat from 4 to 8 s; slow rotations favour 4.
pub const SMOOTHER_TAU_ACC_S: f64 = 4.0;

/// Settings of the smoother.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SmootherParams {
    /// Nominal rate of the samples, Hz; `None`, the default: read from the stamps.
    pub rate_hz: Option<f64>,
    /// What a gyroscope reading means; default: the mean since the sample before.
    pub rate_meaning: RateMeaning,
    /// Time constant of the low pass of the specific force, s, run forwards and backwards. Small
    /// values trust the accelerometer, large ones the gyroscope. 0.5 to 10, default
    /// [`SMOOTHER_TAU_ACC_S`].
    pub tau_acc_s: f64,
    /// Longest step that is interpolated, s; what is longer is a gap. 0.05 to 1, default 0.2.
    pub gap_s: f64,
}

impl Default for SmootherParams {
    fn default() -> Self {
        Self {
            rate_hz: None,
            rate_meaning: RateMeaning::SincePrevious,
            tau_acc_s: SMOOTHER_TAU_ACC_S,
            gap_s: GAP_S,
        }
    }
}

/// How far the mirror image at either end of a run reaches, in time constants: what lies further off
/// weighs less than a hundredth.
const MIRRORED_TAUS: f64 = 4.0;

/// Marks a gap among the tick counts.
const GAP: u8 = u8::MAX;

/// A recording with its ticks counted.
pub(crate) struct Timeline<'a> {
    pub(crate) samples: &'a [Sample],
    pub(crate) params: &'a SmootherParams,
    pub(crate) rate_hz: f64,
    /// Ticks of the step that ends at each sample, or [`GAP`].
    counts: Vec<u8>,
}

impl<'a> Timeline<'a> {
    fn new(samples: &'a [Sample], params: &'a SmootherParams) -> Self {
        let rate_hz = params.rate_hz.or_else(|| nominal_rate_hz(samples));
        let rate_hz = sane_rate_hz(rate_hz.unwrap_or(f64::NAN));
        let mut ticker = Ticker::new(rate_hz, params.gap_s);
        let mut last_s = f64::NAN;
        let counts = samples
            .iter()
            .map(|sample| {
                let step = ticker.step(sample.t_s - last_s);
                last_s = sample.t_s;
                match step {
                    Step::Ticks { count, .. } => count.min(GAP - 1),
                    Step::Gap { .. } => GAP,
                }
            })
            .collect();
        Self {
            samples,
            params,
            rate_hz,
            counts,
        }
    }

    /// Length in s and ticks of the step that ends at a sample; `None` for a gap.
    pub(crate) fn ticks_before(&self, index: usize) -> Option<(f64, u8)> {
        let count = self
            .counts
            .get(index)
            .copied()
            .filter(|count| *count != GAP)?;
        let last = self.samples.get(index.checked_sub(1)?)?;
        Some(((self.samples.get(index)?.t_s - last.t_s).max(0.0), count))
    }

    /// How many samples make up `1 / hz` seconds at most, at least one.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number between 1 and a few thousand"
    )]
    pub(crate) fn samples_an_update(&self, hz: f64) -> usize {
        (self.rate_hz / hz).floor().max(1.0) as usize
    }
}

/// Orients every sample of a recording with all of it in view: one result for each sample, in order.
///
/// `still` are the recording's [`still_spans`](super::still_spans): the passes for the bias begin
/// with the longest. Each stretch between gaps has its inclination from its own readings; the heading goes on through
/// a gap by the turn expected from the rates on both sides. The work grows with the number of samples
/// alone, memory by about 40 bytes for each beside the result.
pub fn smooth(samples: &[Sample], still: &[StillSpan], params: &SmootherParams) -> Vec<Oriented> {
    let line = Timeline::new(samples, params);
    let bias = bias_along(&line, still);
    let mut oriented: Vec<Oriented> = Vec::with_capacity(samples.len());
    let mut accel_in_inertial: Vec<Vector3<f64>> = Vec::new();
    let mut start = 0;
    while start < samples.len() {
        let length = line
            .counts
            .iter()
            .skip(start + 1)
            .take_while(|count| **count != GAP)
            .count();
        let end = start + 1 + length;
        let first = first_orientation(&line, &bias, start, oriented.last());
        strap_down(
            &line,
            &bias,
            start..end,
            first,
            &mut oriented,
            &mut accel_in_inertial,
        );
        low_pass_both_ways(&line, start, &mut accel_in_inertial);
        if let Some(run) = oriented.get_mut(start..) {
            correct_inclination(run, &accel_in_inertial);
        }
        start = end;
    }
    oriented
}

/// The orientation that a run's strap-down begins with.
fn first_orientation(
    line: &Timeline<'_>,
    bias: &BiasLine,
    start: usize,
    last: Option<&Oriented>,
) -> UnitQuaternion<f64> {
    let Some(sample) = line.samples.get(start) else {
        return UnitQuaternion::identity();
    };
    let Some(last) = last else {
        return level(&sample.accel_m_s2);
    };
    let after = sample.gyro_rad_s - bias.at(start);
    let gap_s = (sample.t_s - last.t_s).max(0.0);
    let turn_rad = turn_through_gap_rad(&last.gyro_in_sensor_rad_s, &after, gap_s);
    levelled(
        &turned(&last.world_from_sensor, &turn_rad, 1.0),
        &sample.accel_m_s2,
    )
}

/// Integrates the corrected rate along a run and turns its specific forces into the inertial frame.
fn strap_down(
    line: &Timeline<'_>,
    bias: &BiasLine,
    run: std::ops::Range<usize>,
    first: UnitQuaternion<f64>,
    oriented: &mut Vec<Oriented>,
    accel_in_inertial: &mut Vec<Vector3<f64>>,
) {
    accel_in_inertial.clear();
    accel_in_inertial.reserve(run.len());
    let meaning = line.params.rate_meaning;
    let mut inertial_from_sensor = first;
    let mut last: Option<&Sample> = None;
    for (index, sample) in line
        .samples
        .iter()
        .enumerate()
        .take(run.end)
        .skip(run.start)
    {
        let bias = bias.at(index);
        if let (Some(last), Some((dt_s, count))) = (last, line.ticks_before(index)) {
            let parts = count.max(1);
            let part_s = dt_s / f64::from(parts);
            for tick in 1..=parts {
                let rate = part(last, sample, tick, count, meaning).rate_rad_s - bias;
                inertial_from_sensor = turned(&inertial_from_sensor, &rate, part_s);
            }
        }
        last = Some(sample);
        accel_in_inertial.push(inertial_from_sensor * sample.accel_m_s2);
        oriented.push(Oriented {
            t_s: sample.t_s,
            world_from_sensor: inertial_from_sensor,
            gyro_in_sensor_rad_s: sample.gyro_rad_s - bias,
            accel_in_sensor_m_s2: sample.accel_m_s2,
        });
    }
}

/// Low passes a run's values forwards and then backwards, in place.
///
/// Beyond either end the run is continued by its mirror image for some time constants: in this frame
/// gravity stands still, so the ends are judged by the readings nearest to them.
fn low_pass_both_ways(line: &Timeline<'_>, start: usize, values: &mut [Vector3<f64>]) {
    let tau_s = if line.params.tau_acc_s >= 0.01 {
        line.params.tau_acc_s
    } else {
        0.01
    };
    let Some(final_index) = values.len().checked_sub(1) else {
        return;
    };
    let mirrored = line
        .samples_an_update(1.0 / (MIRRORED_TAUS * tau_s))
        .min(final_index);
    let mean = |some: &[Vector3<f64>]| some.iter().sum::<Vector3<f64>>() / some.len().max(1) as f64;
    let head = mean(values.get(..=mirrored).unwrap_or_default());
    let tail = values
        .get(final_index - mirrored..)
        .unwrap_or_default()
        .to_vec();
    // Ticks between a value and the next.
    let counts = line.counts.get(start + 1..).unwrap_or_default();
    let mut low_pass = LowPass::new(tau_s, 1.0 / line.rate_hz);

    low_pass.settle(&head);
    let mut raw: Option<Vector3<f64>> = None;
    for (index, value) in values.iter().enumerate().take(mirrored + 1).skip(1).rev() {
        ticks(
            &mut low_pass,
            raw.replace(*value).as_ref(),
            value,
            counts.get(index).copied(),
        );
    }
    for (index, value) in values.iter_mut().enumerate() {
        let last = raw.replace(*value);
        // The first value follows its mirror image's second.
        let count = counts.get(index.saturating_sub(1)).copied();
        *value = ticks(&mut low_pass, last.as_ref(), value, count);
    }
    let mut beyond = tail.clone();
    for (index, value) in beyond.iter_mut().enumerate().rev().skip(1) {
        let count = counts.get(final_index - mirrored + index).copied();
        let last = raw.replace(*value);
        *value = ticks(&mut low_pass, last.as_ref(), value, count);
    }

    low_pass.settle(&mean(&tail));
    let mut filtered: Option<Vector3<f64>> = None;
    for (index, value) in beyond.iter().enumerate().take(mirrored) {
        let count = index
            .checked_sub(1)
            .and_then(|i| counts.get(final_index - mirrored + i));
        let last = filtered.replace(*value);
        ticks(&mut low_pass, last.as_ref(), value, count.copied());
    }
    for (index, value) in values.iter_mut().enumerate().rev() {
        // The last value follows its mirror image's second.
        let count = counts
            .get(index.min(final_index.saturating_sub(1)))
            .copied();
        let last = filtered.replace(*value);
        *value = ticks(&mut low_pass, last.as_ref(), value, count);
    }
}

/// Feeds a low pass the ticks from one value to the next.
fn ticks(
    low_pass: &mut LowPass,
    last: Option<&Vector3<f64>>,
    value: &Vector3<f64>,
    count: Option<u8>,
) -> Vector3<f64> {
    let (Some(last), Some(count)) = (last, count) else {
        return low_pass.push(value);
    };
    for tick in 1..=count {
        low_pass.push(&mix(last, value, f64::from(tick) / f64::from(count)));
    }
    low_pass.last()
}

/// Turns each orientation so that its filtered specific force points up, in steps about horizontal
/// axes: so the heading is left alone.
fn correct_inclination(run: &mut [Oriented], accel_in_inertial: &[Vector3<f64>]) {
    let mut world_from_inertial = UnitQuaternion::identity();
    for (oriented, accel) in run.iter_mut().zip(accel_in_inertial) {
        let accel_in_world = world_from_inertial * accel;
        world_from_inertial = UnitQuaternion::new_normalize(
            (upright(&accel_in_world) * world_from_inertial).into_inner(),
        );
        oriented.world_from_sensor = UnitQuaternion::new_normalize(
            (world_from_inertial * oriented.world_from_sensor).into_inner(),
        );
    }
}
