//! From samples to the orientation of the sensor against the world.

use nalgebra::{UnitQuaternion, Vector3};

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
