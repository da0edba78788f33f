//! One reading of the motion sensor, and where that sensor sits.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

/// Standard gravity, m/s² (exact by definition: 3rd CGPM, 1901).
pub const GRAVITY_M_S2: f64 = 9.80665;

/// Where a sensor is worn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// Back of the hand, over the middle of the third metacarpal.
    Hand,
    /// Back of the forearm, close to the wrist.
    Forearm,
}

impl Place {
    /// The word used in recordings.
    pub fn name(self) -> &'static str {
        match self {
            Place::Hand => "hand",
            Place::Forearm => "forearm",
        }
    }
}

/// One reading of a 6-axis sensor, in the sensor's own frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Seconds on the recording's time line; within one sensor never decreasing.
    pub t_s: f64,
    /// Specific force in m/s²: at rest +9.81 along the axis that points up.
    pub accel_m_s2: Vector3<f64>,
    /// Angular velocity in rad/s, right-handed about each axis.
    pub gyro_rad_s: Vector3<f64>,
}
