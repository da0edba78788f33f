//! The way of a sensor through a whole session: sets, moves of the arm between them, and the hands
//! that carry the sensor while the strap is changed.
//!
//! Ours. Each leg of the way begins and ends at rest, with no acceleration, so that the whole is as
//! smooth as one body's motion; the small sway and tremor of a living arm go on throughout.

use nalgebra::{UnitQuaternion, Vector3};

use super::body::{ArmPose, Body, Reading, SensorPose, Worn, read};
use super::timeline::{Shape, Timeline, Wave};
use super::wear::Wear;
use crate::joint::IsbAngles;

/// Where a whole arm is set down: turned about the elbow (in arm circles the shoulder) and moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Turn in the world.
    pub turn: UnitQuaternion<f64>,
    /// Shift in the world, metres.
    pub shift_m: Vector3<f64>,
}

impl Stand {
    /// An arm, set down here.
    pub fn arm(&self, arm: &ArmPose) -> ArmPose {
        ArmPose {
            elbow_m: self.shift_m + self.turn * arm.elbow_m,
            world_from_forearm: self.turn * arm.world_from_forearm,
            wrist: arm.wrist,
        }
    }
}

/// Where a leg of the way begins or ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Anchor {
    /// The sensor in nobody's strap.
    Free(SensorPose),
    /// The sensor on an arm.
    Arm {
        /// Where the arm is.
        arm: ArmPose,
        /// How the sensor sits on it.
        worn: Worn,
    },
}

/// One leg of the way.
#[derive(Debug, Clone, PartialEq)]
pub enum Leg {
    /// From one place to another, or a stay where the two are the same.
    Move {
        /// From here.
        from: Anchor,
        /// To here.
        to: Anchor,
    },
    /// An exercise.
    Exercise {
        /// Whose.
        body: Box<Body>,
        /// What is done.
        timeline: Timeline,
        /// Where.
        stand: Stand,
    },
}

/// What a living arm does all the time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Unrest {
    /// Sway of the forearm about its three axes.
    pub sway: [Vec<Wave>; 3],
    /// Tremor of flexion.
    pub tremor: Option<Wave>,
}

/// The whole way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Way {
    /// Length, seconds.
    pub duration_s: f64,
    /// Start of each leg in seconds, and the leg; without holes.
    pub legs: Vec<(f64, f64, Leg)>,
    /// Sway and tremor.
    pub unrest: Unrest,
    /// How the sensor is worn.
    pub wear: Wear,
}

impl Unrest {
    fn of(&self, arm: &ArmPose, t_s: f64) -> ArmPose {
        let sum_rad = |waves: &Vec<Wave>| -> f64 {
            waves
                .iter()
                .map(|wave| wave.value_deg(t_s).to_radians())
                .sum()
        };
        let sway_rad = Vector3::from(self.sway.each_ref().map(sum_rad));
        let tremor_deg = self.tremor.map_or(0.0, |wave| wave.value_deg(t_s));
        ArmPose {
            elbow_m: arm.elbow_m,
            world_from_forearm: arm.world_from_forearm * UnitQuaternion::from_scaled_axis(sway_rad),
            wrist: IsbAngles {
                flexion_deg: arm.wrist.flexion_deg + tremor_deg,
                ..arm.wrist
            },
        }
    }

    fn sensor(&self, unit: &impl Carried, anchor: &Anchor, t_s: f64) -> SensorPose {
        match anchor {
            Anchor::Free(pose) => unit.free(pose),
            Anchor::Arm { arm, worn } => unit.on(&self.of(arm, t_s), worn),
        }
    }
}

/// A sensor that goes along.
pub(super) trait Carried {
    /// Where it is on an arm on which the hand's sensor is worn so.
    fn on(&self, arm: &ArmPose, worn: &Worn) -> SensorPose;

    /// Where it is while the hand's sensor is in nobody's strap.
    fn free(&self, hand: &SensorPose) -> SensorPose;
}

/// The hand's sensor, worn in this way at this time.
struct OnHand<'a> {
    wear: &'a Wear,
    t_s: f64,
}

impl Carried for OnHand<'_> {
    fn on(&self, arm: &ArmPose, worn: &Worn) -> SensorPose {
        self.wear.sensor(worn, arm, self.t_s)
    }

    fn free(&self, hand: &SensorPose) -> SensorPose {
        *hand
    }
}

impl Way {
    /// Where the hand's sensor is at a time.
    pub fn sensor(&self, t_s: f64) -> SensorPose {
        let wear = &self.wear;
        self.of(&OnHand { wear, t_s }, t_s)
    }

    /// Where a sensor that goes along is at a time.
    pub(super) fn of(&self, unit: &impl Carried, t_s: f64) -> SensorPose {
        let after = self.legs.partition_point(|(start_s, ..)| *start_s <= t_s);
        let Some((start_s, end_s, leg)) = self.legs.get(after.saturating_sub(1)) else {
            return SensorPose {
                world_from_sensor: UnitQuaternion::identity(),
                position_m: Vector3::zeros(),
            };
        };
        match leg {
            Leg::Exercise {
                body,
                timeline,
                stand,
            } => {
                let arm = stand.arm(&body.arm(timeline, t_s - start_s));
                unit.on(&self.unrest.of(&arm, t_s), &body.worn())
            }
            Leg::Move { from, to } => {
                let share = (t_s - start_s) / (end_s - start_s).max(1e-9);
                let done_ratio = Shape::MinimumJerk.progress(share);
                match (from, to) {
                    (
                        Anchor::Arm { arm: a, worn },
                        Anchor::Arm {
                            arm: b,
                            worn: other,
                        },
                    ) if worn == other => {
                        let arm = between_arms(a, b, done_ratio);
                        unit.on(&self.unrest.of(&arm, t_s), worn)
                    }
                    _ => between_sensors(
                        &self.unrest.sensor(unit, from, t_s),
                        &self.unrest.sensor(unit, to, t_s),
                        done_ratio,
                    ),
                }
            }
        }
    }

    /// What an ideal sensor on the hand reads at a time.
    pub fn read(&self, t_s: f64) -> Reading {
        read(|t_s| self.sensor(t_s), t_s)
    }
}

/// The orientation so far on the shortest way from one to the other.
fn turned(
    a: &UnitQuaternion<f64>,
    b: &UnitQuaternion<f64>,
    done_ratio: f64,
) -> UnitQuaternion<f64> {
    let whole = (a.inverse() * b).scaled_axis();
    a * UnitQuaternion::from_scaled_axis(whole * done_ratio)
}

fn between_arms(a: &ArmPose, b: &ArmPose, done_ratio: f64) -> ArmPose {
    let mixed = |a: f64, b: f64| a + (b - a) * done_ratio;
    ArmPose {
        elbow_m: a.elbow_m + (b.elbow_m - a.elbow_m) * done_ratio,
        world_from_forearm: turned(&a.world_from_forearm, &b.world_from_forearm, done_ratio),
        wrist: IsbAngles {
            flexion_deg: mixed(a.wrist.flexion_deg, b.wrist.flexion_deg),
            deviation_deg: mixed(a.wrist.deviation_deg, b.wrist.deviation_deg),
            rotation_deg: mixed(a.wrist.rotation_deg, b.wrist.rotation_deg),
        },
    }
}

fn between_sensors(a: &SensorPose, b: &SensorPose, done_ratio: f64) -> SensorPose {
    SensorPose {
        world_from_sensor: turned(&a.world_from_sensor, &b.world_from_sensor, done_ratio),
        position_m: a.position_m + (b.position_m - a.position_m) * done_ratio,
    }
}
