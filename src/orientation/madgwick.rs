//! Madgwick's gradient descent filter, for comparison and teaching.
//!
//! Source: S. Madgwick, A. Harrison, R. Vaidyanathan, "Estimation of IMU and MARG orientation using
//! a gradient descent algorithm", IEEE ICORR 2011, doi:10.1109/ICORR.2011.5975346, through the
//! crate `ahrs`, without a magnetometer. Changed: it starts level with the first accelerometer
//! reading instead of at the identity, and it has no bias estimate of its own: what is set stays.

use ahrs::{Ahrs, Madgwick as Inner};
use nalgebra::{UnitQuaternion, Vector3};

use super::OrientationFilter;
use super::turn::levelled;

/// Default gain, rad/s. The paper's optimum for an IMU without magnetometer (figure 8: 0.033).
///
/// Small values trust the gyroscope (a bias is left standing), large ones the accelerometer (every
/// acceleration of the hand tilts the result). Useful range 0.01 to 0.3.
pub const MADGWICK_BETA_RAD_S: f64 = 0.033;

/// Madgwick's filter behind our own type.
pub struct Madgwick {
    inner: Inner<f64>,
    ts_s: f64,
    bias: Vector3<f64>,
    fresh: bool,
}

impl Madgwick {
    /// A filter for samples `rate_hz` a second with the gain `beta_rad_s`.
    ///
    /// A rate that is not between 1 and 10,000 Hz is taken as the nearer of the two.
    pub fn new(rate_hz: f64, beta_rad_s: f64) -> Self {
        let ts_s = 1.0 / super::timing::sane_rate_hz(rate_hz);
        Self {
            inner: Inner::new(ts_s, beta_rad_s),
            ts_s,
            bias: Vector3::zeros(),
            fresh: true,
        }
    }
}

impl OrientationFilter for Madgwick {
    fn update(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
    ) -> UnitQuaternion<f64> {
        self.update_over(gyro_in_sensor_rad_s, accel_in_sensor_m_s2, self.ts_s)
    }

    fn update_over(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
        dt_s: f64,
    ) -> UnitQuaternion<f64> {
        if self.fresh {
            self.fresh = false;
            let level = levelled(&self.inner.quat(), accel_in_sensor_m_s2);
            *self.inner.quat_mut() = level;
            return level;
        }
        let rate = gyro_in_sensor_rad_s - self.bias;
        *self.inner.sample_period_mut() = dt_s;
        match self.inner.update_imu(&rate, accel_in_sensor_m_s2) {
            Ok(q) => *q,
            // A specific force of zero says nothing about the vertical.
            Err(_) => *self.inner.update_gyro(&rate),
        }
    }

    fn turn(&mut self, gyro_in_sensor_rad_s: &Vector3<f64>, dt_s: f64) -> UnitQuaternion<f64> {
        *self.inner.sample_period_mut() = dt_s;
        *self.inner.update_gyro(&(gyro_in_sensor_rad_s - self.bias))
    }

    fn world_from_sensor(&self) -> UnitQuaternion<f64> {
        self.inner.quat()
    }

    fn bias_in_sensor_rad_s(&self) -> Vector3<f64> {
        self.bias
    }

    fn set_bias(&mut self, bias_in_sensor_rad_s: Vector3<f64>) {
        self.bias = bias_in_sensor_rad_s;
    }

    fn restart(&mut self, world_from_sensor: UnitQuaternion<f64>) {
        *self.inner.quat_mut() = world_from_sensor;
        self.fresh = true;
    }

    fn reset(&mut self) {
        self.restart(UnitQuaternion::identity());
        self.bias = Vector3::zeros();
    }
}
