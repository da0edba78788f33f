//! Where the forearm's unit was at a moment of the hand's unit.
//!
//! Ours: between two samples the shortest turn, beyond the last one its own rate, and nothing where
//! the unit was not heard for longer than [`FORWARD_S`].

use nalgebra::{UnitQuaternion, Vector3};

use crate::orientation::Oriented;

/// The orientation is carried on by its own rate, or across a hole, for at most so long, seconds.
pub const FORWARD_S: f64 = 0.25;

/// The forearm's unit at a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForearmPose {
    /// Takes a vector from the unit's frame to its own world: z up, heading its own.
    pub world_from_sensor: UnitQuaternion<f64>,
    /// Angular velocity in the unit's frame, rad/s.
    pub gyro_in_sensor_rad_s: Vector3<f64>,
}

/// The way of the forearm's unit.
#[derive(Debug, Clone, Copy)]
pub struct ForearmTrack<'a> {
    oriented: &'a [Oriented],
}

impl<'a> ForearmTrack<'a> {
    /// Orientations of the unit, in order of time.
    pub fn new(oriented: &'a [Oriented]) -> ForearmTrack<'a> {
        ForearmTrack { oriented }
    }

    /// The pose at a time of the unit's own stamps; `None` where it is not known.
    pub fn at(&self, t_s: f64) -> Option<ForearmPose> {
        let after = self.oriented.partition_point(|o| o.t_s <= t_s);
        let before = self.oriented.get(after.checked_sub(1)?)?;
        match self.oriented.get(after) {
            Some(next) if next.t_s - before.t_s <= FORWARD_S => Some(between(before, next, t_s)),
            _ => carried_on(before, t_s),
        }
    }
}

fn between(before: &Oriented, next: &Oriented, t_s: f64) -> ForearmPose {
    let span_s = next.t_s - before.t_s;
    let part = if span_s > 0.0 {
        (t_s - before.t_s) / span_s
    } else {
        0.0
    };
    let turn = (before.world_from_sensor.inverse() * next.world_from_sensor).scaled_axis();
    ForearmPose {
        world_from_sensor: before.world_from_sensor * UnitQuaternion::from_scaled_axis(turn * part),
        gyro_in_sensor_rad_s: before
            .gyro_in_sensor_rad_s
            .lerp(&next.gyro_in_sensor_rad_s, part),
    }
}

/// The pose of one sample carried on by its rate; `None` where it is too old.
pub fn carried_on(last: &Oriented, t_s: f64) -> Option<ForearmPose> {
    let since_s = t_s - last.t_s;
    (0.0..=FORWARD_S).contains(&since_s).then(|| ForearmPose {
        world_from_sensor: last.world_from_sensor
            * UnitQuaternion::from_scaled_axis(last.gyro_in_sensor_rad_s * since_s),
        gyro_in_sensor_rad_s: last.gyro_in_sensor_rad_s,
    })
}
