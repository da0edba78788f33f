//! Strange wear of an invented unit: slipping on the hand, and sitting on the forearm.
//!
//! Ours. A unit upside down, on the other hand or left lying needs nothing of its own: it is another
//! mounting, another side, or a unit in nobody's strap. What the wrist does to a unit on the forearm
//! was not found in print; a share of 2 to 8 % of its angle is assumed, and 85 % of the forearm's
//! own turn near the wrist.

use nalgebra::{UnitQuaternion, Vector3};

use super::body::{ArmPose, SensorPose, Worn};
use super::timeline::Shape;
use crate::joint::{IsbAngles, wrist_rotation};

/// Share of the forearm's turn that its skin near the wrist follows.
const ROTATION_RATIO: f64 = 0.85;
/// Distance of a unit on the forearm from the wrist, metres.
const FROM_WRIST_M: f64 = 0.04;

/// How a unit is worn.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Wear {
    /// Firmly on the back of the hand.
    #[default]
    Firm,
    /// It turns on the hand, once.
    Slips {
        /// When it begins, seconds.
        at_s: f64,
        /// How long it takes, seconds.
        lasting_s: f64,
        /// The turn, seen from the hand, radians.
        turn_rad: Vector3<f64>,
    },
    /// On the back of the forearm.
    OnForearm {
        /// Share of the wrist's angle by which the muscles tip it.
        tip_ratio: f64,
    },
}

impl Wear {
    /// Where the sensor is when the arm is there.
    pub fn sensor(&self, worn: &Worn, arm: &ArmPose, t_s: f64) -> SensorPose {
        match *self {
            Wear::Firm => worn.sensor(arm),
            Wear::Slips {
                at_s,
                lasting_s,
                turn_rad,
            } => {
                let done_ratio = Shape::MinimumJerk.progress((t_s - at_s) / lasting_s);
                let turn = UnitQuaternion::from_scaled_axis(turn_rad * done_ratio);
                Worn {
                    hand_from_sensor: turn * worn.hand_from_sensor,
                    ..*worn
                }
                .sensor(arm)
            }
            Wear::OnForearm { tip_ratio } => {
                let tipped = IsbAngles {
                    flexion_deg: tip_ratio * arm.wrist.flexion_deg,
                    deviation_deg: tip_ratio * arm.wrist.deviation_deg,
                    rotation_deg: ROTATION_RATIO * arm.wrist.rotation_deg,
                };
                let forearm = arm.world_from_forearm;
                let along_m = -(worn.forearm_m - FROM_WRIST_M);
                SensorPose {
                    world_from_sensor: forearm
                        * wrist_rotation(&tipped, worn.side)
                        * worn.hand_from_sensor,
                    position_m: arm.elbow_m + forearm * Vector3::new(-worn.height_m, along_m, 0.0),
                }
            }
        }
    }
}
