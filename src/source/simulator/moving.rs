//! A second unit on the forearm, close to the wrist, and a forearm that does not keep still.
//!
//! Ours. The unit rides on the forearm's distal end, so it turns along with pronation and
//! supination, as the skin over the two bones does near the wrist.

use nalgebra::{UnitQuaternion, Vector3};

use super::body::{ArmPose, Body, Reading, SensorPose, read};
use super::random::Random;
use super::timeline::{ArmMove, ArmMoveKind, Intended, Shape, Timeline, Wave};
use crate::movement::JointAxis;

/// Size of the single moves over what they come to together.
const MOVE_RATIO: f64 = 0.36;

/// How a unit sits on the forearm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForearmWorn {
    /// Elbow to wrist, metres.
    pub forearm_m: f64,
    /// Wrist to unit along the forearm, metres.
    pub proximal_m: f64,
    /// Height of the unit over the middle of the forearm, metres.
    pub height_m: f64,
    /// Rotation from the sensor's frame to the forearm's frame.
    pub forearm_from_sensor: UnitQuaternion<f64>,
}

impl ForearmWorn {
    /// Four centimetres from the wrist, on the back of the forearm, mounted at any angle.
    pub fn near_wrist(forearm_m: f64, random: &mut Random) -> ForearmWorn {
        ForearmWorn {
            forearm_m,
            proximal_m: 0.04,
            height_m: 0.03,
            forearm_from_sensor: random.rotation(),
        }
    }

    /// Where the unit is when the arm is there.
    pub fn sensor(&self, arm: &ArmPose) -> SensorPose {
        let forearm = arm.world_from_forearm;
        let along_m = self.forearm_m - self.proximal_m;
        SensorPose {
            world_from_sensor: forearm * self.forearm_from_sensor,
            position_m: arm.elbow_m + forearm * Vector3::new(-self.height_m, -along_m, 0.0),
        }
    }

    /// What an ideal unit there reads at a time.
    pub fn read(&self, body: &Body, timeline: &Timeline, t_s: f64) -> Reading {
        read(|t_s| self.sensor(&body.arm(timeline, t_s)), t_s)
    }
}

/// A wrist that does not turn about one axis alone.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Play {
    /// When it begins, seconds; it comes within a second.
    pub from_s: f64,
    /// Degrees of deviation for each degree of flexion, or the other way round: the oblique curl.
    pub oblique_ratio: f64,
    /// The same again for the square of the measured angle, for each 100 degrees: a bent path.
    pub bent_ratio: f64,
    /// Slow wandering of the other angle.
    pub wandering: Vec<Wave>,
    /// Rotation between hand and forearm that no muscle makes.
    pub loose: Vec<Wave>,
}

impl Play {
    /// The arm with what its wrist does besides.
    pub fn with(&self, body: &Body, timeline: &Timeline, t_s: f64) -> ArmPose {
        let mut arm = body.arm(timeline, t_s);
        let measured_deg = timeline.moved_angle_deg(t_s);
        let sum = |waves: &[Wave]| -> f64 { waves.iter().map(|wave| wave.value_deg(t_s)).sum() };
        let amount_ratio = Shape::MinimumJerk.progress(t_s - self.from_s);
        let across_deg = amount_ratio
            * (self.oblique_ratio * measured_deg
                + self.bent_ratio * measured_deg * measured_deg / 100.0
                + sum(&self.wandering));
        match body.movement.joint_axis() {
            Some(JointAxis::Deviation) => arm.wrist.flexion_deg += across_deg,
            _ => arm.wrist.deviation_deg += across_deg,
        }
        arm.wrist.rotation_deg += amount_ratio * sum(&self.loose);
        arm
    }
}

/// Makes the forearm of a set move from `from_s` on: a slow sway about changing axes, and a move in
/// step with each lift, together by about `travel_deg` from end to end.
pub fn moving_forearm(timeline: &mut Timeline, from_s: f64, travel_deg: f64, random: &mut Random) {
    let mut start_s = from_s;
    while start_s < timeline.duration_s - 3.0 {
        let stroke_s = random.between(1.2, 4.0);
        let stay_s = random.between(0.0, 1.0);
        timeline.arm_moves.push(ArmMove {
            start_s,
            stroke_s,
            stay_s,
            turn_rad: random.direction() * (MOVE_RATIO * travel_deg).to_radians(),
            kind: ArmMoveKind::OutAndBack,
        });
        start_s += random.between(1.0, 1.6) * stroke_s + stay_s;
    }
    let direction = random.direction();
    let own = |intended: &&Intended| intended.lift_from_s >= from_s;
    for intended in timeline.intended.iter().filter(own) {
        let stroke_s = (intended.lift_to_s - intended.lift_from_s)
            .min(intended.lower_to_s - intended.lower_from_s)
            .max(0.3);
        timeline.arm_moves.push(ArmMove {
            start_s: intended.lift_from_s,
            stroke_s,
            stay_s: (intended.lower_from_s - intended.lift_from_s - stroke_s).max(0.0),
            turn_rad: direction * (MOVE_RATIO * travel_deg).to_radians(),
            kind: ArmMoveKind::OutAndBack,
        });
    }
}
