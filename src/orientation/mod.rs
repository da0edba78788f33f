//! From samples to the orientation of the sensor against the world.
//!
//! Two ways lead there: [`RealTime`] follows a stream, one result for each sample, and
//! [`smooth`] looks at a whole recording from both ends. Both take their gyroscope bias from
//! stillness where there is any, both handle irregular time stamps, lost packets and gaps in the
//! same manner, and both leave the heading arbitrary: a 6-axis sensor cannot know it.
//!
//! World frame: z up, heading that of the first sample. Sensor frame: the sensor's own axes.

mod bias;
mod decimate;
mod low_pass;
mod madgwick;
mod real_time;
mod smoother;
mod stillness;
mod timing;
mod turn;
mod vqf;

use nalgebra::{UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};

pub use decimate::{DecimateRates, decimate_by_mean};
pub use madgwick::{MADGWICK_BETA_RAD_S, Madgwick};
pub use real_time::{RealTime, RealTimeParams};
pub use smoother::{SMOOTHER_TAU_ACC_S, SmootherParams, smooth};
pub use stillness::{StillParams, StillSpan, StillState, Stillness, still_spans};
pub use timing::{GAP_S, nominal_rate_hz};
pub use turn::level;
pub use vqf::{TAU_ACC_S, Vqf};

/// One sample's orientation, with the readings it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Oriented {
    /// The sample's own time, s.
    pub t_s: f64,
    /// Takes a vector from the sensor frame to the world frame (z up, heading arbitrary).
    pub world_from_sensor: UnitQuaternion<f64>,
    /// The sample's angular velocity less the estimated gyroscope bias, rad/s.
    pub gyro_in_sensor_rad_s: Vector3<f64>,
    /// The sample's specific force, m/s², as it was read.
    pub accel_in_sensor_m_s2: Vector3<f64>,
}

/// An orientation filter that is fed at an even spacing.
///
/// What is uneven in a recording (jitter, losses, gaps) is dealt with before it, in [`RealTime`].
pub trait OrientationFilter {
    /// Takes the rate over the nominal spacing and the specific force at its end.
    fn update(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
    ) -> UnitQuaternion<f64>;

    /// As [`update`](Self::update), with the true time since the sample before, s.
    fn update_over(
        &mut self,
        gyro_in_sensor_rad_s: &Vector3<f64>,
        accel_in_sensor_m_s2: &Vector3<f64>,
        dt_s: f64,
    ) -> UnitQuaternion<f64>;

    /// Turns by a rate over `dt_s` seconds, without looking at the accelerometer.
    fn turn(&mut self, gyro_in_sensor_rad_s: &Vector3<f64>, dt_s: f64) -> UnitQuaternion<f64>;

    /// The present orientation.
    fn world_from_sensor(&self) -> UnitQuaternion<f64>;

    /// The gyroscope bias that is being taken off, rad/s.
    fn bias_in_sensor_rad_s(&self) -> Vector3<f64>;

    /// Sets the gyroscope bias, rad/s, of any size.
    fn set_bias(&mut self, bias_in_sensor_rad_s: Vector3<f64>);

    /// Starts the inclination afresh from the next accelerometer reading, with the heading of the
    /// orientation given. The bias stays.
    fn restart(&mut self, world_from_sensor: UnitQuaternion<f64>);

    /// Forgets everything, the bias too.
    fn reset(&mut self);
}

/// Which filter follows the stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum FilterKind {
    /// VQF, the default.
    #[default]
    Vqf,
    /// Madgwick's gradient descent, for comparison and teaching.
    Madgwick,
}

/// What a gyroscope reading says about the time around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RateMeaning {
    /// The mean rate since the sample before, as a sensor that averages gives it, and
    /// [`decimate_by_mean`] too. The default, and what VQF takes it for. A reading that is in
    /// truth the rate at its own instant then puts every orientation half a spacing early.
    #[default]
    SincePrevious,
    /// The rate at the very instant of the time stamp, as a computed signal gives it.
    AtInstant,
}
