//! A stream of samples to a stream of orientations, one for each, with no delay.
//!
//! Source of the filters: see [`Vqf`] and [`Madgwick`]. Ours is what stands around them: the
//! gyroscope bias from a still start, ticks for uneven stamps, and a fresh inclination after a gap
//! (heading from the turn expected through it, bias kept).

use nalgebra::{UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};

use super::timing::{Step, Ticker, part, turn_through_gap_rad};
use super::turn::{level, turned};
use super::{
    FilterKind, GAP_S, MADGWICK_BETA_RAD_S, Madgwick, OrientationFilter, Oriented, RateMeaning,
    StillParams, Stillness, TAU_ACC_S, Vqf,
};
use crate::sample::Sample;

/// Settings of the real-time orientation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RealTimeParams {
    /// Which filter.
    pub kind: FilterKind,
    /// Nominal rate of the samples, Hz; 1 to 10,000, default 100. A few percent off does no harm; at
    /// half the true rate half of the accelerometer's readings go unused.
    pub rate_hz: f64,
    /// What a gyroscope reading means; default: the mean since the sample before.
    pub rate_meaning: RateMeaning,
    /// Time constant of VQF's accelerometer low pass, s. Small values trust the accelerometer, large
    /// ones the gyroscope. 0.5 to 10, default 3 as published.
    pub tau_acc_s: f64,
    /// Gain of Madgwick's filter, rad/s; see [`MADGWICK_BETA_RAD_S`], default 0.033.
    pub madgwick_beta_rad_s: f64,
    /// Longest step that is interpolated, s; what is longer is a gap. 0.05 to 1, default 0.2.
    pub gap_s: f64,
    /// What counts as a still start.
    pub still: StillParams,
}

impl Default for RealTimeParams {
    fn default() -> Self {
        Self {
            kind: FilterKind::Vqf,
            rate_hz: 100.0,
            rate_meaning: RateMeaning::SincePrevious,
            tau_acc_s: TAU_ACC_S,
            madgwick_beta_rad_s: MADGWICK_BETA_RAD_S,
            gap_s: GAP_S,
            still: StillParams::default(),
        }
    }
}

/// Shortest still start, as a share of the window, that a bias is taken from.
const SHORT_START_RATIO: f64 = 0.5;

/// How long a movement that begins slowly passes for stillness, s, at most.
const ONSET_S: f64 = 0.2;

/// Time in which a stillness still is a start, s: a hand may need to settle.
const START_S: f64 = 5.0;

/// How long a stillness that is not a start must last beyond the window before the bias is taken
/// from it, s: within a movement about the vertical the rate is steady for a second, hardly for two.
const LATE_STILL_S: f64 = 1.0;

/// Where the gyroscope bias stands.
#[derive(Debug, Clone, Copy)]
enum Start {
    /// Still since the first sample; the bias as the window has it so far.
    Still { bias: Vector3<f64>, span_s: f64 },
    /// Moved before a bias was known; the time since which it is still now.
    Moving { still_since_s: Option<f64> },
    /// The bias is known; the filter's own estimate goes on from it.
    Known,
}

/// Orientation as the samples come.
pub struct RealTime {
    params: RealTimeParams,
    filter: Filter,
    ticker: Ticker,
    stillness: Stillness,
    start: Start,
    first_s: f64,
    last: Option<Sample>,
}

#[expect(
    clippy::large_enum_variant,
    reason = "one for a stream; most are the large one"
)]
enum Filter {
    Vqf(Vqf),
    Madgwick(Madgwick),
}

impl Filter {
    fn get(&mut self) -> &mut dyn OrientationFilter {
        match self {
            Filter::Vqf(filter) => filter,
            Filter::Madgwick(filter) => filter,
        }
    }
}

impl RealTime {
    /// A filter that has seen nothing yet.
    pub fn new(params: RealTimeParams) -> Self {
        let filter = match params.kind {
            FilterKind::Vqf => Filter::Vqf(Vqf::new(params.rate_hz, params.tau_acc_s)),
            FilterKind::Madgwick => {
                Filter::Madgwick(Madgwick::new(params.rate_hz, params.madgwick_beta_rad_s))
            }
        };
        Self {
            params,
            filter,
            ticker: Ticker::new(params.rate_hz, params.gap_s),
            stillness: Stillness::new(params.still),
            start: START,
            first_s: 0.0,
            last: None,
        }
    }

    /// Takes one sample and gives its orientation. The same samples give the same results, to the
    /// bit.
    ///
    /// A repeated time stamp gives the orientation of the sample before. For the first second of a
    /// still start the orientation is that of the mean specific force.
    pub fn push(&mut self, sample: &Sample) -> Oriented {
        match self.start {
            Start::Known => self.follow(sample),
            Start::Still { bias, span_s } => self.push_at_start(sample, bias, span_s),
            Start::Moving { still_since_s } => self.push_without_bias(sample, still_since_s),
        }
    }

    /// The gyroscope bias that is being taken off, rad/s.
    pub fn bias_in_sensor_rad_s(&self) -> Vector3<f64> {
        match &self.filter {
            Filter::Vqf(filter) => filter.bias_in_sensor_rad_s(),
            Filter::Madgwick(filter) => filter.bias_in_sensor_rad_s(),
        }
    }

    /// Whether the bias came from stillness; without it, it is the filter's own estimate.
    pub fn bias_is_from_stillness(&self) -> bool {
        matches!(self.start, Start::Known)
    }

    /// Forgets everything but the settings.
    pub fn reset(&mut self) {
        self.filter.get().reset();
        self.ticker.reset();
        self.stillness.reset();
        self.start = START;
        self.last = None;
    }

    fn push_at_start(&mut self, sample: &Sample, bias: Vector3<f64>, span_s: f64) -> Oriented {
        let state = self.stillness.push(sample);
        if state.still {
            return self.follow_window_again(state.mean_gyro_in_sensor_rad_s, sample);
        }
        if state.still_so_far && state.span_s >= span_s {
            self.start = Start::Still {
                bias: state.mean_gyro_in_sensor_rad_s,
                span_s: state.span_s,
            };
            let followed = self.follow(sample);
            return Oriented {
                world_from_sensor: level(&state.mean_accel_in_sensor_m_s2),
                gyro_in_sensor_rad_s: sample.gyro_rad_s - state.mean_gyro_in_sensor_rad_s,
                ..followed
            };
        }
        if span_s >= SHORT_START_RATIO * self.params.still.window_s && state.span_s > span_s {
            let bias = self.bias_before_moving(sample.t_s).unwrap_or(bias);
            return self.follow_window_again(bias, sample);
        }
        self.start = Start::Moving {
            still_since_s: None,
        };
        self.follow(sample)
    }

    /// The mean rate of the window without its end, where the movement has begun.
    fn bias_before_moving(&self, now_s: f64) -> Option<Vector3<f64>> {
        let (mut sum, mut count) = (Vector3::zeros(), 0.0);
        for sample in self
            .stillness
            .window()
            .take_while(|s| s.t_s <= now_s - ONSET_S)
        {
            sum += sample.gyro_rad_s;
            count += 1.0;
        }
        (count > 0.0).then(|| sum / count)
    }

    /// Goes through the samples since the start again, now that the bias is known.
    fn follow_window_again(&mut self, bias: Vector3<f64>, sample: &Sample) -> Oriented {
        self.start = Start::Known;
        self.filter.get().reset();
        self.filter.get().set_bias(bias);
        self.ticker.reset();
        self.last = None;
        let stillness = std::mem::replace(&mut self.stillness, Stillness::new(self.params.still));
        let mut oriented = None;
        for earlier in stillness.window() {
            oriented = Some(self.follow(earlier));
        }
        match oriented {
            Some(oriented) => oriented,
            None => self.follow(sample),
        }
    }

    fn push_without_bias(&mut self, sample: &Sample, still_since_s: Option<f64>) -> Oriented {
        let state = self.stillness.push(sample);
        let followed = self.follow(sample);
        if !state.still {
            self.start = Start::Moving {
                still_since_s: None,
            };
            return followed;
        }
        let since_s = still_since_s.unwrap_or(sample.t_s);
        let late = sample.t_s - self.first_s > START_S;
        if late && sample.t_s - since_s < LATE_STILL_S {
            self.start = Start::Moving {
                still_since_s: Some(since_s),
            };
            return followed;
        }
        self.start = Start::Known;
        let filter = self.filter.get();
        filter.set_bias(state.mean_gyro_in_sensor_rad_s);
        filter.restart(followed.world_from_sensor);
        let world_from_sensor =
            filter.update_over(&sample.gyro_rad_s, &state.mean_accel_in_sensor_m_s2, 0.0);
        self.oriented(sample, world_from_sensor)
    }

    /// One sample through the filter.
    fn follow(&mut self, sample: &Sample) -> Oriented {
        let meaning = self.params.rate_meaning;
        let (gyro, accel) = (&sample.gyro_rad_s, &sample.accel_m_s2);
        let filter = self.filter.get();
        let Some(last) = self.last.replace(*sample) else {
            self.first_s = sample.t_s;
            // Level from the first reading, so that the filter's first step is not a leap from
            // the identity that its bias estimate would take for a rate.
            filter.restart(level(accel));
            let world_from_sensor = filter.update_over(gyro, accel, 0.0);
            return self.oriented(sample, world_from_sensor);
        };
        let mut world_from_sensor = filter.world_from_sensor();
        match self.ticker.step(sample.t_s - last.t_s) {
            Step::Ticks { dt_s, count: 0 } => {
                if dt_s > 0.0 {
                    let rate = part(&last, sample, 1, 0, meaning).rate_rad_s;
                    world_from_sensor = filter.turn(&rate, dt_s);
                }
            }
            Step::Ticks { dt_s, count } => {
                let part_s = dt_s / f64::from(count);
                for index in 1..=count {
                    let part = part(&last, sample, index, count, meaning);
                    world_from_sensor =
                        filter.update_over(&part.rate_rad_s, &part.accel_m_s2, part_s);
                }
            }
            Step::Gap { gap_s } => {
                let bias = filter.bias_in_sensor_rad_s();
                let before = last.gyro_rad_s - bias;
                let turn_rad = turn_through_gap_rad(&before, &(gyro - bias), gap_s);
                filter.restart(turned(&world_from_sensor, &turn_rad, 1.0));
                world_from_sensor = filter.update_over(gyro, accel, 0.0);
            }
        }
        self.oriented(sample, world_from_sensor)
    }

    fn oriented(&self, sample: &Sample, world_from_sensor: UnitQuaternion<f64>) -> Oriented {
        Oriented {
            t_s: sample.t_s,
            world_from_sensor,
            gyro_in_sensor_rad_s: sample.gyro_rad_s - self.bias_in_sensor_rad_s(),
            accel_in_sensor_m_s2: sample.accel_m_s2,
        }
    }
}

const START: Start = Start::Still {
    bias: Vector3::new(0.0, 0.0, 0.0),
    span_s: 0.0,
};
