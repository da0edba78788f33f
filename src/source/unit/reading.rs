//! A reading in LSB made into a sample in m/s² and rad/s.

use nalgebra::Vector3;

use super::packet::RawReading;
use super::profile::Description;
use crate::sample::{GRAVITY_M_S2, Sample};

/// Values are rounded to this share of m/s² and rad/s: far under a step of any part, and short in
/// a recording.
const DECIMALS: f64 = 1e6;
/// As the doubts have it: within this share of the range a reading is at its end.
const AT_RANGE_RATIO: f64 = 0.998;

/// The sample of a reading by the unit's scales.
pub(super) fn sample(raw: &RawReading, description: &Description, t_s: f64) -> Sample {
    let scaled = |values: [i16; 3], scale: f64| {
        Vector3::from(values).map(|value| (f64::from(value) * scale * DECIMALS).round() / DECIMALS)
    };
    Sample {
        t_s,
        accel_m_s2: scaled(raw.accel, description.accel_scale_m_s2()),
        gyro_rad_s: scaled(raw.gyro, description.gyro_scale_rad_s()),
    }
}

/// Whether an axis is at the end of its 16 bits or of its range.
pub(super) fn is_saturated(raw: &RawReading, sample: &Sample, description: &Description) -> bool {
    let accel_m_s2 = f64::from(description.accel_range_g) * GRAVITY_M_S2;
    let gyro_rad_s = f64::from(description.gyro_range_deg_s).to_radians();
    raw.is_at_limit()
        || sample.accel_m_s2.amax() >= AT_RANGE_RATIO * accel_m_s2
        || sample.gyro_rad_s.amax() >= AT_RANGE_RATIO * gyro_rad_s
}
