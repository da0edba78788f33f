//! A rigid forearm and hand with a sensor on the back of the hand: pose, angular velocity and
//! specific force at any time.
//!
//! Ours: plain rigid-body kinematics. Frames follow Wu et al., J Biomech 38:981-992, 2005:
//! X volar, Y proximal, Z radial on the right arm; on the left X volar, Y proximal, Z ulnar.

use nalgebra::{UnitQuaternion, Vector3};

use super::timeline::Timeline;
use crate::joint::{IsbAngles, lift_axis_in_hand, world_from_forearm, wrist_rotation};
use crate::movement::{JointAxis, Movement, Posture, Side};
use crate::sample::GRAVITY_M_S2;

/// Half the step of the numerical derivatives, seconds: far below any rate simulated.
const STEP_S: f64 = 5e-4;
/// Shoulder to elbow, metres; only arm circles turn about the shoulder.
const UPPER_ARM_M: f64 = 0.30;
/// Half the opening of the cone that a circling arm draws, degrees, where nothing else is said.
const CIRCLE_HALF_ANGLE_DEG: f64 = 25.0;
/// How far the wrist is held back while the arm circles, degrees of extension.
const HELD_BACK_DEG: f64 = 45.0;

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

/// Where forearm and hand are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmPose {
    /// The elbow in the world, metres: x forward, y left, z up.
    pub elbow_m: Vector3<f64>,
    /// Orientation of the forearm.
    pub world_from_forearm: UnitQuaternion<f64>,
    /// Angles of the wrist.
    pub wrist: IsbAngles,
}

/// How a sensor sits on an arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worn {
    /// On which hand.
    pub side: Side,
    /// Elbow to wrist, metres.
    pub forearm_m: f64,
    /// Wrist to sensor along the third metacarpal, metres.
    pub lever_m: f64,
    /// Height of the sensor over the middle of the hand, metres.
    pub height_m: f64,
    /// Rotation from the sensor's frame to the hand's frame.
    pub hand_from_sensor: UnitQuaternion<f64>,
}

/// Where a sensor is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SensorPose {
    /// Orientation, world z up.
    pub world_from_sensor: UnitQuaternion<f64>,
    /// Position in the world, metres.
    pub position_m: Vector3<f64>,
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

impl Worn {
    /// Where the sensor is when the arm is there.
    pub fn sensor(&self, arm: &ArmPose) -> SensorPose {
        let forearm = arm.world_from_forearm;
        let hand = forearm * wrist_rotation(&arm.wrist, self.side);
        SensorPose {
            world_from_sensor: hand * self.hand_from_sensor,
            position_m: arm.elbow_m
                + forearm * Vector3::new(0.0, -self.forearm_m, 0.0)
                + hand * Vector3::new(-self.height_m, -self.lever_m, 0.0),
        }
    }
}

/// What an ideal sensor reads at a time on its way; the way must be smooth.
pub fn read(pose_at: impl Fn(f64) -> SensorPose, t_s: f64) -> Reading {
    let [before, now, after] = [t_s - STEP_S, t_s, t_s + STEP_S].map(pose_at);
    let turned = before.world_from_sensor.inverse() * after.world_from_sensor;
    let acceleration =
        (after.position_m - 2.0 * now.position_m + before.position_m) / (STEP_S * STEP_S);
    let specific_force = acceleration + Vector3::new(0.0, 0.0, GRAVITY_M_S2);
    Reading {
        world_from_sensor: now.world_from_sensor,
        gyro_rad_s: turned.scaled_axis() / (2.0 * STEP_S),
        accel_m_s2: now.world_from_sensor.inverse() * specific_force,
    }
}

impl Body {
    /// How the sensor sits on this body.
    pub fn worn(&self) -> Worn {
        Worn {
            side: self.side,
            forearm_m: self.forearm_m,
            lever_m: self.lever_m,
            height_m: self.height_m,
            hand_from_sensor: self.hand_from_sensor,
        }
    }

    /// Angles of the wrist when the measured angle has this value.
    pub fn wrist_angles(&self, measured_deg: f64) -> IsbAngles {
        let signed_deg = self.movement.isb_sign() * measured_deg;
        let mut angles = IsbAngles::default();
        match self.movement.joint_axis() {
            Some(JointAxis::Flexion) => angles.flexion_deg = signed_deg,
            Some(JointAxis::Deviation) => angles.deviation_deg = signed_deg,
            Some(JointAxis::Rotation) => angles.rotation_deg = signed_deg,
            None => angles.flexion_deg = -HELD_BACK_DEG,
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

    /// The arm at a time. In arm circles the shoulder rests at the origin, else the elbow.
    pub fn arm(&self, timeline: &Timeline, t_s: f64) -> ArmPose {
        let measured_deg = timeline.moved_angle_deg(t_s);
        let sway =
            UnitQuaternion::from_scaled_axis(self.in_forearm(timeline.forearm_turn_rad(t_s)));
        let circles = self.movement == Movement::ArmCircles;
        let world_from_forearm = if circles {
            let half_angle_deg = timeline
                .circle_half_angle_deg
                .unwrap_or(CIRCLE_HALF_ANGLE_DEG);
            self.circling(measured_deg, half_angle_deg) * sway
        } else {
            world_from_forearm(&self.posture, self.side) * sway
        };
        let elbow_deg = timeline.elbow_deg(t_s);
        let lift_axis_in_hand = lift_axis_in_hand(self.movement, self.side);
        let (world_from_forearm, measured_deg) = match lift_axis_in_hand {
            Some(axis) if timeline.elbow.is_some() => (
                world_from_forearm
                    * UnitQuaternion::from_scaled_axis(axis * elbow_deg.to_radians()),
                measured_deg - elbow_deg,
            ),
            _ => (world_from_forearm, measured_deg),
        };
        let elbow_m = if circles {
            world_from_forearm * Vector3::new(0.0, -UPPER_ARM_M, 0.0)
        } else {
            Vector3::zeros()
        };
        let mut wrist = self.wrist_angles(measured_deg);
        wrist.deviation_deg += timeline.oblique_ratio * wrist.flexion_deg;
        ArmPose {
            elbow_m,
            world_from_forearm,
            wrist,
        }
    }

    /// The straight arm, stretched out sideways, on a cone about the line through both shoulders:
    /// at phase 0 at its lowest, then forward, up and back. It swings without spinning about its
    /// own length: each orientation is the shortest turn away from the middle of the cone.
    fn circling(&self, phase_deg: f64, half_angle_deg: f64) -> UnitQuaternion<f64> {
        let (outward, facing_rad) = match self.side {
            Side::Right => (-Vector3::y(), -std::f64::consts::FRAC_PI_2),
            Side::Left => (Vector3::y(), std::f64::consts::FRAC_PI_2),
        };
        let sideways = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), facing_rad)
            * world_from_forearm(&self.posture, self.side);
        let (forward, down) = phase_deg.to_radians().sin_cos();
        let towards = Vector3::x() * forward - Vector3::z() * down;
        let tilt = outward.cross(&towards) * half_angle_deg.to_radians();
        UnitQuaternion::from_scaled_axis(tilt) * sideways
    }

    /// What an ideal sensor reads at a time.
    pub fn read(&self, timeline: &Timeline, t_s: f64) -> Reading {
        let worn = self.worn();
        read(|t_s| worn.sensor(&self.arm(timeline, t_s)), t_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::simulator::timeline::{Piece, Shape};

    /// Turns the arm circles' phase at a steady 120 degrees a second.
    fn steady_circles() -> Timeline {
        Timeline {
            duration_s: 30.0,
            pieces: vec![Piece {
                start_s: -10.0,
                end_s: 50.0,
                from_deg: -1200.0,
                to_deg: 6000.0,
                shape: Shape::Steady { ramp_ratio: 1e-9 },
            }],
            circle_half_angle_deg: Some(30.0),
            ..Timeline::default()
        }
    }

    fn arm(side: Side) -> Body {
        Body {
            movement: Movement::ArmCircles,
            side,
            posture: Movement::ArmCircles.usual_posture(),
            forearm_m: 0.26,
            lever_m: 0.07,
            height_m: 0.0,
            hand_from_sensor: UnitQuaternion::identity(),
        }
    }

    /// Closed form: a rod on a cone of half angle a that turns with w and does not spin has the
    /// angular velocity 2 w sin(a / 2) (a swing by a about a turning horizontal axis).
    #[test]
    fn a_circling_arm_swings_on_its_cone_and_does_not_spin() {
        let timeline = steady_circles();
        let expected_rad_s = 2.0 * 120_f64.to_radians() * 15_f64.to_radians().sin();
        for side in [Side::Left, Side::Right] {
            let body = arm(side);
            for step in 0..30 {
                let t_s = 0.1 * f64::from(step);
                let pose = body.arm(&timeline, t_s);
                let pointing = pose.world_from_forearm * -Vector3::y();
                let outward = if side == Side::Right { -1.0 } else { 1.0 };
                assert!((pointing.y * outward - 30_f64.to_radians().cos()).abs() < 1e-9);
                let turning_rad_s = body.read(&timeline, t_s).gyro_rad_s.norm();
                assert!(
                    (turning_rad_s - expected_rad_s).abs() < 1e-5,
                    "{turning_rad_s}"
                );
            }
            let [from, to] = [0.0, 3.0].map(|t_s| body.arm(&timeline, t_s).world_from_forearm);
            assert!(
                from.angle_to(&to) < 1e-6,
                "a whole turn ends where it began"
            );
        }
    }
}
