//! The limits of the check, each with its reason. Where no source is named, they are ours, from what
//! the figure costs in an angle or in a time.

use super::Limit;

/// Nominal rate and measured rate differ: the times are stamped, so that only a wrong description or
/// a slow part shows. Parts without trimming are within some per cent (from memory, check).
pub(super) const RATE_OFF_RATIO: Limit = Limit {
    ok: 0.05,
    look: 0.15,
};
/// Samples a second that the phases' times are promised for, and below which they are doubted.
pub(super) const RATE_OK_HZ: f64 = 50.0;
pub(super) const RATE_LOOK_HZ: f64 = 25.0;
/// A stamp that is 0.5 ms off costs 0.1 degrees at 200 deg/s, 2 ms 0.4 degrees.
pub(super) const JITTER_S: Limit = Limit {
    ok: 0.5e-3,
    look: 2e-3,
};
/// One in a hundred lost makes most repetitions of 6 s at 100 Hz lose some.
pub(super) const LOST_RATIO: Limit = Limit {
    ok: 0.001,
    look: 0.01,
};
/// A packet holds 50 ms at most, the radio adds an interval or two; a picture that follows the hand
/// within a tenth of a second is seen as following at once ("common practice, no source").
pub(super) const LATENCY_MEDIAN_S: Limit = Limit {
    ok: 0.06,
    look: 0.15,
};
/// One in twenty may be slower.
pub(super) const LATENCY_P95_S: Limit = Limit {
    ok: 0.1,
    look: 0.25,
};
/// What is left lasts a session, or may not.
pub(super) const BATTERY_OK_PERCENT: f64 = 20.0;
pub(super) const BATTERY_LOOK_PERCENT: f64 = 10.0;
/// White noise of density N turns the angle by N √(T / 2) in T: 0.02 deg/s/√Hz is 0.1 degrees in a
/// minute without gravity's help, 0.1 is 0.5 degrees.
pub(super) const GYRO_DENSITY_DEG_S_RTHZ: Limit = Limit {
    ok: 0.02,
    look: 0.1,
};
/// The stillness test takes 2 deg/s on three axes together for movement; half of that and less
/// leaves room.
pub(super) const GYRO_RMS_DEG_S: Limit = Limit { ok: 0.3, look: 0.8 };
/// A still start removes it; above 10 deg/s it is no longer told from movement.
pub(super) const GYRO_BIAS_DEG_S: Limit = Limit {
    ok: 3.0,
    look: 10.0,
};
/// Tilt noise within 1 Hz: 400 micro-g/√Hz are 0.02 degrees, 2000 are 0.1.
pub(super) const ACCEL_DENSITY_MICRO_G_RTHZ: Limit = Limit {
    ok: 400.0,
    look: 2000.0,
};
/// The stillness test allows 0.4 m/s² on three axes together.
pub(super) const ACCEL_RMS_M_S2: Limit = Limit {
    ok: 0.06,
    look: 0.18,
};
/// An accelerometer that is off by 0.2 m/s² is off by up to 1.2 degrees of tilt, by 0.5 m/s² up to
/// 2.9.
pub(super) const ACCEL_OFF_M_S2: Limit = Limit { ok: 0.2, look: 0.5 };
/// A crystal is within 100 ppm, which an hour's recording feels as 0.4 s between answers and
/// samples; a resistor and capacitor are within some thousands.
pub(super) const CLOCK_PPM: Limit = Limit {
    ok: 100.0,
    look: 1000.0,
};
/// A unit that sends every reading twice samples at half of its rate.
pub(super) const SAME_RATIO: Limit = Limit {
    ok: 0.05,
    look: 0.3,
};
