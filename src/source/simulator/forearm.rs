//! A second sensor, on the forearm of the invented person.
//!
//! Ours. It sits two fingers' breadth above the wrist. Turning the palm turns the radius about the
//! ulna, and the skin above the wrist with it for most of the way: a unit there is no witness of the
//! forearm's rotation as the elbow sees it.

use nalgebra::{UnitQuaternion, Vector3};

use super::body::{ArmPose, Reading, SensorPose, Worn, read};
use super::random::Random;
use super::session::strapped;
use super::way::{Carried, Way};
use crate::joint::{IsbAngles, wrist_rotation};

/// Share of the forearm's rotation that a unit above the wrist turns along with (common practice,
/// no source).
const TURNS_ALONG_RATIO: f64 = 0.85;

/// How the sensor sits on the forearm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnForearm {
    /// Wrist to sensor, towards the elbow, metres.
    pub above_wrist_m: f64,
    /// Height of the sensor over the middle of the forearm, metres.
    pub height_m: f64,
    /// Rotation from the sensor's frame to the forearm's frame.
    pub forearm_from_sensor: UnitQuaternion<f64>,
}

impl OnForearm {
    /// As somebody straps it on: within some degrees of flat, in any quarter turn.
    pub fn strapped(random: &mut Random) -> OnForearm {
        OnForearm {
            above_wrist_m: random.between(0.03, 0.06),
            height_m: 0.025,
            forearm_from_sensor: strapped(random),
        }
    }
}

impl Carried for OnForearm {
    fn on(&self, arm: &ArmPose, worn: &Worn) -> SensorPose {
        let turned = IsbAngles {
            rotation_deg: TURNS_ALONG_RATIO * arm.wrist.rotation_deg,
            ..IsbAngles::default()
        };
        let forearm = arm.world_from_forearm * wrist_rotation(&turned, worn.side);
        let along_m = worn.forearm_m - self.above_wrist_m;
        SensorPose {
            world_from_sensor: forearm * self.forearm_from_sensor,
            position_m: arm.elbow_m + forearm * Vector3::new(-self.height_m, -along_m, 0.0),
        }
    }

    /// Beside the hand's.
    fn free(&self, hand: &SensorPose) -> SensorPose {
        SensorPose {
            world_from_sensor: hand.world_from_sensor * self.forearm_from_sensor,
            position_m: hand.position_m + Vector3::new(-0.08, 0.0, 0.0),
        }
    }
}

impl Way {
    /// What an ideal sensor on the forearm reads at a time.
    pub fn read_forearm(&self, unit: &OnForearm, t_s: f64) -> Reading {
        read(|t_s| self.of(unit, t_s), t_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::movement::{Movement, Side};
    use crate::sample::GRAVITY_M_S2;
    use crate::source::simulator::body::Body;
    use crate::source::simulator::patient::SetManner;
    use crate::source::simulator::stage::{Stage, stand};

    /// A wrist that bends 40 degrees: how far each sensor turns from where it began, degrees.
    fn turned_deg(movement: Movement, side: Side) -> [f64; 2] {
        let mut random = Random::new(3);
        let body = Body {
            movement,
            side,
            posture: movement.usual_posture(),
            forearm_m: 0.26,
            lever_m: 0.07,
            height_m: 0.02,
            hand_from_sensor: strapped(&mut random),
        };
        let unit = OnForearm::strapped(&mut random);
        let mut stage = Stage::new(&mut random);
        stage.wear(body.worn(), &mut random);
        let timeline = SetManner::ordinary(1, 40.0).timeline(&mut random);
        let place = stand(&mut random);
        let from_s = stage.exercise(body, timeline.clone(), place, &mut random);
        let way = stage.finish();
        let top_s = timeline
            .intended
            .first()
            .map_or(0.0, |intended| intended.lift_to_s + 0.1);
        let [hand, forearm] = [from_s, from_s + top_s].map(|t_s| {
            let forearm = way.read_forearm(&unit, t_s);
            let force_m_s2 = forearm.accel_m_s2.norm();
            assert!((force_m_s2 - GRAVITY_M_S2).abs() < 0.5, "{force_m_s2}");
            [way.read(t_s), forearm].map(|reading| reading.world_from_sensor)
        });
        std::array::from_fn(|at| {
            let pair = (hand.get(at), forearm.get(at));
            pair.0
                .zip(pair.1)
                .map_or(f64::NAN, |(a, b)| a.angle_to(b).to_degrees())
        })
    }

    #[test]
    fn the_wrist_bends_the_hand_and_the_palm_turns_both() {
        for side in [Side::Left, Side::Right] {
            let [hand, forearm] = turned_deg(Movement::WristExtension, side);
            assert!((35.0..46.0).contains(&hand), "{hand}");
            assert!(forearm < 3.0, "{forearm}");
            let [hand, forearm] = turned_deg(Movement::Supination, side);
            assert!((35.0..46.0).contains(&hand), "{hand}");
            assert!(
                (forearm - TURNS_ALONG_RATIO * hand).abs() < 3.0,
                "{forearm}"
            );
        }
    }
}
