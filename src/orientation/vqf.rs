//! VQF, a real-time filter with gyroscope bias estimation at rest and in motion.
//!
//! Source: D. Laidig, T. Seel, "VQF: Highly accurate IMU orientation estimation with bias
//! estimation and magnetic disturbance rejection", Information Fusion 91:187-204, 2023,
//! doi:10.1016/j.inffus.2022.10.014, through the crate `vqf-rs`, with the published settings and
//! no magnetometer. Changed: a known bias of any size is taken off before the filter, and the
//! filter is centred anew where its own estimate comes near its limit of 2 deg/s.

use nalgebra::{Matrix3, Quaternion, UnitQuaternion, Vector3};
use vqf_rs::{Params, Quaternion as Raw, VQF};

use super::OrientationFilter;
use super::turn::levelled;

/// Published time constant of the accelerometer's low pass, s (table 2: 3 s).
pub const TAU_ACC_S: f64 = 3.0;

/// Published limit of the bias estimate, deg/s, on each axis.
pub(crate) const BIAS_CLIP_DEG_S: f64 = 2.0;

/// Ours: the share of the limit at which the filter is centred anew.
const RECENTRE_RATIO: f64 = 0.75;

/// VQF behind our own type.
pub struct Vqf {
    inner: VQF,
    /// Bias taken off before the filter, rad/s.
    offset: Vector3<f64>,
    /// Set by `restart`: the next accelerometer reading gives the inclination.
    fresh: bool,
}

impl Vqf {
    /// A filter for samples `rate_hz` a second, with an accelerometer time constant of `tau_acc_s`.
    ///
    /// A rate that is not between 1 and 10,000 Hz is taken as the nearer of the two, a time constant
    /// below 0.01 s as 0.01 s.
    pub fn new(rate_hz: f64, tau_acc_s: f64) -> Self {
        let ts_s = 1.0 / super::timing::sane_rate_hz(rate_hz);
        let tau_acc_s = if tau_acc_s >= 0.01 { tau_acc_s } else { 0.01 };
        let params = Params {
            tau_acc: tau_acc_s,
            ..Params::default()
        };
        Self {
            inner: VQF::new(ts_s, None, None, Some(params)),
            offset: Vector3::zeros(),
            fresh: false,
        }
    }

    /// Takes a specific force into account, at the present orientation.
    pub(crate) fn correct(&mut self, accel_in_sensor_m_s2: &Vector3<f64>) {
        if self.fresh {
            // After a restart the inclination is that of the reading, exactly, however far off
            // the prediction is. The low pass then starts level.
            self.fresh = false;
            let levelled = levelled(&to_ours(self.inner.quat_3d()), accel_in_sensor_m_s2);
            self.inner.state_mut().gyr_quat = to_raw(&levelled);
        }
        self.inner.update_acc((*accel_in_sensor_m_s2).into());
        self.recentre_near_the_limit();
    }

    /// The covariance of the bias estimate, in the filter's unit (0.01 deg/s)².
    pub(crate) fn bias_covariance(&self) -> Matrix3<f64> {
        let [r0, r1, r2] = self.inner.state().bias_p.0;
        Matrix3::new(
            r0[0], r0[1], r0[2], r1[0], r1[1], r1[2], r2[0], r2[1], r2[2],
        )
    }

    /// Moves the filter's own bias estimate into the offset, leaving their sum as it is.
    fn recentre_near_the_limit(&mut self) {
        let bias = Vector3::from(self.inner.state().bias);
        let limit_rad_s = (RECENTRE_RATIO * BIAS_CLIP_DEG_S).to_radians();
        let state = self.inner.state();
        let averaging = state.motion_bias_est_rlp_state[0][0].is_nan();
        if averaging || bias.amax() <= limit_rad_s {
            return;
        }
        self.offset += bias;
        let state = self.inner.state_mut();
        state.bias = [0.0; 3];
        // The low pass of R·bias is linear: taking off the low pass of R times the shift is the
        // same as having filtered the smaller bias all along.
        for (row, low_passed) in state.motion_bias_est_bias_lp_state.iter_mut().enumerate() {
            for (column, shift) in bias.iter().enumerate() {
                if let Some(r) = state.motion_bias_est_rlp_state.get(3 * row + column) {
                    low_passed[0] -= r[0] * shift;
                    low_passed[1] -= r[1] * shift;
                }
            }
        }
        // Rest is judged anew on the shifted rate.
        state.rest_detected = false;
        state.rest_t = 0.0;
        state.rest_last_gyr_lp = [0.0; 3];
        state.rest_gyr_lp_state = [[f64::NAN; 2]; 3];
    }
}

impl OrientationFilter for Vqf {
    fn update(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
    ) -> UnitQuaternion<f64> {
        let dt_s = self.inner.coeffs().gyr_ts;
        self.update_over(gyro_in_sensor_rad_s, accel_in_sensor_m_s2, dt_s)
    }

    fn update_over(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
        dt_s: f64,
    ) -> UnitQuaternion<f64> {
        self.inner
            .update_gyr_with_ts((gyro_in_sensor_rad_s - self.offset).into(), dt_s);
        self.correct(accel_in_sensor_m_s2);
        self.world_from_sensor()
    }

    fn turn(&mut self, gyro_in_sensor_rad_s: &Vector3<f64>, dt_s: f64) -> UnitQuaternion<f64> {
        self.inner
            .update_gyr_with_ts((gyro_in_sensor_rad_s - self.offset).into(), dt_s);
        self.world_from_sensor()
    }

    fn world_from_sensor(&self) -> UnitQuaternion<f64> {
        to_ours(self.inner.quat_6d())
    }

    fn bias_in_sensor_rad_s(&self) -> Vector3<f64> {
        self.offset + Vector3::from(self.inner.state().bias)
    }

    fn set_bias(&mut self, bias_in_sensor_rad_s: Vector3<f64>) {
        self.offset = bias_in_sensor_rad_s;
        self.inner.state_mut().bias = [0.0; 3];
    }

    fn restart(&mut self, world_from_sensor: UnitQuaternion<f64>) {
        let (bias, bias_p) = (self.inner.state().bias, self.inner.state().bias_p);
        self.inner.reset_state();
        let state = self.inner.state_mut();
        state.bias = bias;
        state.bias_p = bias_p;
        state.gyr_quat = to_raw(&world_from_sensor);
        self.fresh = true;
    }

    fn reset(&mut self) {
        self.inner.reset_state();
        self.offset = Vector3::zeros();
        self.fresh = false;
    }
}

fn to_ours(q: Raw) -> UnitQuaternion<f64> {
    UnitQuaternion::new_unchecked(Quaternion::new(q.0, q.1, q.2, q.3))
}

fn to_raw(q: &UnitQuaternion<f64>) -> Raw {
    Raw(q.w, q.i, q.j, q.k)
}
