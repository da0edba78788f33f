//! The hand as it is seen from the forearm.
//!
//! Ours. The forearm's turn since a reference pose is taken off the hand's orientation. What is left
//! is the orientation that the hand would have, had the forearm kept still in that pose: all that
//! follows (calibration, wrist angles, the turn about the movement's own axis) reads it as it reads
//! one unit's orientation. Where the forearm is not heard it is taken to stay where it was last.

use nalgebra::{UnitQuaternion, Vector3};

use super::heading::Heading;
use super::track::{ForearmPose, ForearmTrack};
use crate::orientation::Oriented;

/// Poses compared for the forearm's travel, at most.
const COMPARED_COUNT: usize = 120;

/// The hand seen from the forearm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seen {
    /// One for each orientation of the hand, in the hand's world at the reference pose; its rate is
    /// the relative one.
    pub oriented: Vec<Oriented>,
    /// First and last time of each stretch in which the forearm was not heard, seconds.
    pub unheard_s: Vec<[f64; 2]>,
    /// How far apart the forearm's poses lie at most, degrees; `None` where it was never heard.
    pub travel_deg: Option<f64>,
}

/// The forearm's unit in the hand's world.
pub fn in_hand_world(pose: &ForearmPose, heading_rad: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_axis_angle(&Vector3::z_axis(), -heading_rad) * pose.world_from_sensor
}

/// The hand's orientation less the forearm's turn since its reference pose.
pub fn seen_by(
    hand: &Oriented,
    pose: &ForearmPose,
    heading_rad: f64,
    world_from_reference: &UnitQuaternion<f64>,
) -> Oriented {
    let world_from_forearm = in_hand_world(pose, heading_rad);
    let turned = world_from_forearm * world_from_reference.inverse();
    let hand_from_forearm = hand.world_from_sensor.inverse() * world_from_forearm;
    Oriented {
        world_from_sensor: turned.inverse() * hand.world_from_sensor,
        gyro_in_sensor_rad_s: hand.gyro_in_sensor_rad_s
            - hand_from_forearm * pose.gyro_in_sensor_rad_s,
        ..*hand
    }
}

/// The forearm's unit in the hand's world at a time of the hand's unit.
pub fn pose_at(track: &ForearmTrack, heading: &Heading, t_s: f64) -> Option<UnitQuaternion<f64>> {
    let pose = track.at(t_s - heading.offset_s())?;
    Some(in_hand_world(&pose, heading.at_rad(t_s)))
}

/// All of a stretch of the hand's orientations, as the forearm sees it.
pub fn seen_from_forearm(
    hand: &[Oriented],
    track: &ForearmTrack,
    heading: &Heading,
    world_from_reference: &UnitQuaternion<f64>,
) -> Seen {
    let at = |t_s: f64| track.at(t_s - heading.offset_s());
    let first = hand
        .iter()
        .find_map(|o| at(o.t_s).map(|pose| (o.t_s, pose)));
    let Some((first_s, first_pose)) = first else {
        return Seen {
            oriented: hand.to_vec(),
            unheard_s: ends(hand).into_iter().collect(),
            travel_deg: None,
        };
    };
    let mut seen = Seen::default();
    let mut held = (
        first_s,
        ForearmPose {
            gyro_in_sensor_rad_s: Vector3::zeros(),
            ..first_pose
        },
    );
    let mut poses = Vec::new();
    let mut heard_before = true;
    let every = (hand.len() / COMPARED_COUNT).max(1);
    for (index, own) in hand.iter().enumerate() {
        let heading_rad = match at(own.t_s) {
            Some(pose) => {
                heard_before = true;
                held = (
                    own.t_s,
                    ForearmPose {
                        gyro_in_sensor_rad_s: Vector3::zeros(),
                        ..pose
                    },
                );
                let heading_rad = heading.at_rad(own.t_s);
                if index % every == 0 {
                    poses.push(in_hand_world(&pose, heading_rad));
                }
                let seen_now = seen_by(own, &pose, heading_rad, world_from_reference);
                seen.oriented.push(seen_now);
                continue;
            }
            None => heading.at_rad(held.0),
        };
        match seen.unheard_s.last_mut().filter(|_| !heard_before) {
            Some([_, end_s]) => *end_s = own.t_s,
            None => seen.unheard_s.push([own.t_s, own.t_s]),
        }
        heard_before = false;
        let seen_now = seen_by(own, &held.1, heading_rad, world_from_reference);
        seen.oriented.push(seen_now);
    }
    seen.travel_deg = Some(farthest_deg(&poses));
    seen
}

fn ends(hand: &[Oriented]) -> Option<[f64; 2]> {
    Some([hand.first()?.t_s, hand.last()?.t_s])
}

fn farthest_deg(poses: &[UnitQuaternion<f64>]) -> f64 {
    let mut farthest_rad: f64 = 0.0;
    for (index, a) in poses.iter().enumerate() {
        for b in poses.iter().skip(index + 1) {
            farthest_rad = farthest_rad.max(a.angle_to(b));
        }
    }
    farthest_rad.to_degrees()
}
