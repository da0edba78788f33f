//! The errors of a cheap 6-axis unit and of its link.
//!
//! Ours; sizes are those of common consumer parts after a factory calibration (datasheet class:
//! noise 0.005 deg/s/sqrt(Hz) and 120 micro-g/sqrt(Hz), sensitivity within 1 %), marked "common
//! practice, no source".

use nalgebra::{Matrix3, Vector3};

use super::body::{Body, Reading};
use super::random::Random;
use super::timeline::Timeline;
use crate::sample::Sample;

/// What the unit and its link do to the ideal reading.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitErrors {
    /// Samples a second.
    pub rate_hz: f64,
    /// Constant gyroscope bias, rad/s.
    pub gyro_bias_rad_s: Vector3<f64>,
    /// Gyroscope noise density, rad/s/√Hz.
    pub gyro_noise_rad_s_rthz: f64,
    /// Gyroscope scale and misalignment error, dimensionless, added to the identity.
    pub gyro_scale_ratio: Matrix3<f64>,
    /// Constant accelerometer bias, m/s².
    pub accel_bias_m_s2: Vector3<f64>,
    /// Accelerometer noise density, m/s²/√Hz.
    pub accel_noise_m_s2_rthz: f64,
    /// Step of the accelerometer's numbers, m/s²; 0 is none.
    pub accel_step_m_s2: f64,
    /// Step of the gyroscope's numbers, rad/s; 0 is none.
    pub gyro_step_rad_s: f64,
    /// Standard deviation of the time stamps' jitter, seconds.
    pub jitter_s: f64,
    /// Share of samples lost at random.
    pub lost_ratio: f64,
    /// Stretches in which nothing arrives: start and length, seconds.
    pub gaps_s: Vec<[f64; 2]>,
    /// The unit's clock runs fast by this many parts in a million.
    pub clock_ppm: f64,
}

impl UnitErrors {
    /// A perfect unit at that rate.
    pub fn none(rate_hz: f64) -> UnitErrors {
        UnitErrors {
            rate_hz,
            gyro_bias_rad_s: Vector3::zeros(),
            gyro_noise_rad_s_rthz: 0.0,
            gyro_scale_ratio: Matrix3::zeros(),
            accel_bias_m_s2: Vector3::zeros(),
            accel_noise_m_s2_rthz: 0.0,
            accel_step_m_s2: 0.0,
            gyro_step_rad_s: 0.0,
            jitter_s: 0.0,
            lost_ratio: 0.0,
            gaps_s: Vec::new(),
            clock_ppm: 0.0,
        }
    }

    /// A common consumer part, drawn at random.
    pub fn consumer(rate_hz: f64, random: &mut Random) -> UnitErrors {
        let mut scale = Matrix3::zeros();
        for entry in scale.iter_mut() {
            *entry = 0.003 * random.normal();
        }
        UnitErrors {
            gyro_bias_rad_s: random.normal_vector(0.6_f64.to_radians()),
            gyro_noise_rad_s_rthz: 0.005_f64.to_radians(),
            gyro_scale_ratio: scale,
            accel_bias_m_s2: random.normal_vector(0.04),
            accel_noise_m_s2_rthz: 120e-6 * 9.81,
            accel_step_m_s2: 8.0 * 9.80665 / 32768.0,
            gyro_step_rad_s: (0.07_f64).to_radians(),
            clock_ppm: 20.0 * random.normal(),
            ..UnitErrors::none(rate_hz)
        }
    }

    /// What such a unit on that body delivers, with the time of each sample on the unit's clock.
    pub fn sample(&self, body: &Body, timeline: &Timeline, random: &mut Random) -> Vec<Sample> {
        self.sample_way(timeline.duration_s, |t_s| body.read(timeline, t_s), random)
    }

    /// What such a unit delivers on a way that lasts so long and gives these ideal readings, with
    /// the time of each sample on the unit's clock.
    pub fn sample_way(
        &self,
        duration_s: f64,
        ideal_at: impl Fn(f64) -> Reading,
        random: &mut Random,
    ) -> Vec<Sample> {
        let interval_s = 1.0 / self.rate_hz;
        // White noise of density d sampled at rate f has deviation d * sqrt(f / 2).
        let bandwidth_rthz = (self.rate_hz / 2.0).sqrt();
        let count = (duration_s * self.rate_hz).floor() as usize;
        let mut samples = Vec::with_capacity(count);
        let mut latest_s = f64::NEG_INFINITY;
        for index in 0..count {
            let true_s = index as f64 * interval_s;
            let gyro_noise = random.normal_vector(self.gyro_noise_rad_s_rthz * bandwidth_rthz);
            let accel_noise = random.normal_vector(self.accel_noise_m_s2_rthz * bandwidth_rthz);
            let jitter_s = self.jitter_s * random.normal();
            let lost = random.chance(self.lost_ratio)
                || self
                    .gaps_s
                    .iter()
                    .any(|[start_s, length_s]| (*start_s..start_s + length_s).contains(&true_s));
            if lost {
                continue;
            }
            let ideal = ideal_at(true_s);
            let gyro = ideal.gyro_rad_s
                + self.gyro_scale_ratio * ideal.gyro_rad_s
                + self.gyro_bias_rad_s
                + gyro_noise;
            let accel = ideal.accel_m_s2 + self.accel_bias_m_s2 + accel_noise;
            let stamp_s = true_s * (1.0 + 1e-6 * self.clock_ppm) + jitter_s;
            latest_s = stamp_s.max(latest_s).max(0.0);
            samples.push(Sample {
                t_s: (latest_s * 1e6).round() / 1e6,
                accel_m_s2: accel.map(|value| quantised(value, self.accel_step_m_s2)),
                gyro_rad_s: gyro.map(|value| quantised(value, self.gyro_step_rad_s)),
            });
        }
        samples
    }
}

fn quantised(value: f64, step: f64) -> f64 {
    if step > 0.0 {
        (value / step).round() * step
    } else {
        value
    }
}
