//! A rigid forearm and hand with a sensor on the back of the hand: pose, angular velocity and
//! specific force at any time.
//!
//! Ours: plain rigid-body kinematics. Frames follow Wu et al., J Biomech 38:981-992, 2005:
//! X volar, Y proximal, Z radial on the right arm; on the left X volar, Y proximal, Z ulnar.

use nalgebra::{UnitQuaternion, Vector3};

use super::timeline::Timeline;
use crate::joint::{IsbAngles, world_from_forearm, wrist_rotation};
use crate::movement::{JointAxis, Movement, Posture, Side};
use crate::sample::GRAVITY_M_S2;

/// Half the step of the numerical derivatives, seconds: far below any rate simulated.
const STEP_S: f64 = 5e-4;

/// The arm, and how the sensor sits on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// What is done.
    pub movement: Movement,
    /// With which hand.
    pub side: Side,
    /// How the forearm is held.
    pub posture: Posture,
    /// Elbow to wrist, metres.
    pub forearm_m: f64,
    /// Wrist to sensor along the third metacarpal, metres.
    pub lever_m: f64,
    /// Height of the sensor over the middle of the hand, metres.
    pub height_m: f64,
    /// Rotation from the sensor's frame to the hand's frame.
    pub hand_from_sensor: UnitQuaternion<f64>,
}

/// What an ideal sensor reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// True orientation, world z up.
    pub world_from_sensor: UnitQuaternion<f64>,
    /// Angular velocity in the sensor frame, rad/s.
    pub gyro_rad_s: Vector3<f64>,
    /// Specific force in the sensor frame, m/s².
    pub accel_m_s2: Vector3<f64>,
}

impl Body {
    /// Angles of the wrist when the measured angle has this value.
    pub fn wrist_angles(&self, measured_deg: f64) -> IsbAngles {
        let signed_deg = self.movement.isb_sign() * measured_deg;
        let mut angles = IsbAngles::default();
        match self.movement.joint_axis() {
            Some(JointAxis::Flexion) => angles.flexion_deg = signed_deg,
            Some(JointAxis::Deviation) => angles.deviation_deg = signed_deg,
            Some(JointAxis::Rotation) => angles.rotation_deg = signed_deg,
            None => {}
        }
        angles
    }

    /// A timeline's turn (about the measured axis, and about two axes across it) in the forearm's
    /// frame.
    fn in_forearm(&self, turn_rad: Vector3<f64>) -> Vector3<f64> {
        let [x, y, z]: [f64; 3] = turn_rad.into();
        match self.movement.joint_axis() {
            Some(JointAxis::Flexion) => Vector3::new(y, z, x),
            Some(JointAxis::Deviation) => Vector3::new(x, y, z),
            Some(JointAxis::Rotation) | None => Vector3::new(z, x, y),
        }
    }

    /// Orientation of the hand and position of the sensor at a time.
    fn pose(&self, timeline: &Timeline, t_s: f64) -> (UnitQuaternion<f64>, Vector3<f64>) {
        let measured_deg = timeline.moved_angle_deg(t_s);
        let mut forearm = world_from_forearm(&self.posture, self.side)
            * UnitQuaternion::from_scaled_axis(self.in_forearm(timeline.forearm_turn_rad(t_s)));
        if self.movement == Movement::ArmCircles {
            // The straight arm circles about the shoulder's side-to-side axis.
            forearm =
                UnitQuaternion::from_axis_angle(&Vector3::y_axis(), measured_deg.to_radians())
                    * forearm;
        }
        let hand = forearm * wrist_rotation(&self.wrist_angles(measured_deg), self.side);
        let position = forearm * Vector3::new(0.0, -self.forearm_m, 0.0)
            + hand * Vector3::new(-self.height_m, -self.lever_m, 0.0);
        (hand, position)
    }

    /// What an ideal sensor reads at a time.
    pub fn read(&self, timeline: &Timeline, t_s: f64) -> Reading {
        let (before, position_before) = self.pose(timeline, t_s - STEP_S);
        let (now, position_now) = self.pose(timeline, t_s);
        let (after, position_after) = self.pose(timeline, t_s + STEP_S);
        let gyro_in_hand = (before.inverse() * after).scaled_axis() / (2.0 * STEP_S);
        let acceleration =
            (position_after - 2.0 * position_now + position_before) / (STEP_S * STEP_S);
        let world_from_sensor = now * self.hand_from_sensor;
        let sensor_from_hand = self.hand_from_sensor.inverse();
        Reading {
            world_from_sensor,
            gyro_rad_s: sensor_from_hand * gyro_in_hand,
            accel_m_s2: world_from_sensor.inverse()
                * (acceleration + Vector3::new(0.0, 0.0, GRAVITY_M_S2)),
        }
    }
}
