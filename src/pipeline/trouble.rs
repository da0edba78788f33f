//! What makes samples doubtful: saturation and too low a rate.

use nalgebra::Vector3;

use crate::recording::{EventKind, Recording};
use crate::reps::{Doubt, Repetition};
use crate::sample::{GRAVITY_M_S2, Place, Sample};

/// A reading within this share of the range is taken for the end of the range.
const AT_RANGE_RATIO: f64 = 0.998;
/// Where no range is known: so many equal readings in a row at the greatest value are saturation,
const FLAT_COUNT: usize = 3;
/// if the value is at least this, rad/s (slower gyroscope ranges are not made),
const FLAT_GYRO_RAD_S: f64 = 120.0 / 180.0 * std::f64::consts::PI;
/// or this, m/s².
const FLAT_ACCEL_M_S2: f64 = 1.9 * GRAVITY_M_S2;
/// Samples a second that the promised times need.
const LEAST_RATE_HZ: f64 = 25.0;
/// A rate this much below is not doubted: packets get lost.
const RATE_SLACK_RATIO: f64 = 0.85;

/// Ranges of the hand sensor by the recording's events.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ranges {
    /// Accelerometer, m/s².
    pub accel_m_s2: Option<f64>,
    /// Gyroscope, rad/s.
    pub gyro_rad_s: Option<f64>,
}

impl Ranges {
    /// The ranges last announced for the hand sensor.
    pub fn of(recording: &Recording) -> Ranges {
        let mut ranges = Ranges::default();
        for event in &recording.events {
            ranges.take(&event.kind);
        }
        ranges
    }

    /// Takes a sensor event.
    pub fn take(&mut self, kind: &EventKind) {
        if let EventKind::Sensor(sensor) = kind
            && sensor.place != Some(Place::Forearm)
        {
            self.accel_m_s2 = sensor.accel_range_g.map(|g| g * GRAVITY_M_S2);
            self.gyro_rad_s = sensor.gyro_range_deg_s.map(f64::to_radians);
        }
    }

    fn reached_by(&self, sample: &Sample) -> bool {
        let reaches = |value: &Vector3<f64>, range: Option<f64>| {
            range.is_some_and(|range| value.amax() >= AT_RANGE_RATIO * range)
        };
        reaches(&sample.accel_m_s2, self.accel_m_s2) || reaches(&sample.gyro_rad_s, self.gyro_rad_s)
    }
}

/// Adds to each repetition the doubts that its samples give.
pub fn doubt_samples(samples: &[Sample], ranges: &Ranges, reps: &mut [Repetition]) {
    for repetition in reps {
        let from = samples.partition_point(|s| s.t_s < repetition.lift_start_s);
        let to = samples.partition_point(|s| s.t_s <= repetition.lower_end_s);
        let own = samples.get(from..to).unwrap_or(&[]);
        let known = ranges.accel_m_s2.is_some() || ranges.gyro_rad_s.is_some();
        let saturated = if known {
            own.iter().any(|sample| ranges.reached_by(sample))
        } else {
            flat_topped(own)
        };
        if saturated {
            repetition.doubt(Doubt::Saturated);
        }
        let lasting_s = repetition.lower_end_s - repetition.lift_start_s;
        let needed = RATE_SLACK_RATIO * LEAST_RATE_HZ * lasting_s;
        let has_gap = repetition.doubts.contains(&Doubt::Gap);
        if !has_gap && (own.len() as f64) < needed {
            repetition.doubt(Doubt::LowRate);
        }
    }
}

/// Whether one axis stays at its greatest value for several samples.
fn flat_topped(samples: &[Sample]) -> bool {
    (0..3).any(|axis| {
        let flat = |value: fn(&Sample) -> &Vector3<f64>, least: f64| {
            let greatest = samples
                .iter()
                .map(|s| value(s)[axis].abs())
                .fold(0.0, f64::max);
            let mut run = 0;
            greatest >= least
                && samples.iter().any(|s| {
                    run = if value(s)[axis].abs() == greatest {
                        run + 1
                    } else {
                        0
                    };
                    run >= FLAT_COUNT
                })
        };
        flat(|s| &s.gyro_rad_s, FLAT_GYRO_RAD_S) || flat(|s| &s.accel_m_s2, FLAT_ACCEL_M_S2)
    })
}
