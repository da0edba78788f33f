//! How the sensor sits on the hand, from a still neutral pose and one known movement.
//!
//! Ours: two directions fix the hand's frame in the sensor: the axis of a movement whose lift is
//! known ("lift first"), and up in a pose whose posture is known. The axis is kept as it is, since
//! ranges are measured about it; up only turns the frame about that axis. (The two-vector method:
//! H. D. Black, "A passive system for determining the attitude of a satellite", AIAA J 2:1350-1351,
//! 1964.) A calibration that cannot be trusted is refused with its reason.

use nalgebra::{Matrix3, Rotation3, UnitQuaternion, Vector3};
use thiserror::Error;

use super::axis::{AxisParams, main_axis};
use super::frames::{lift_axis_in_hand, up_in_hand, world_from_forearm};
use crate::movement::{Movement, Posture, Side};
use crate::orientation::Oriented;

/// When the pose and the movement of a calibration took place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalibrationWindows {
    /// Which hand.
    pub side: Side,
    /// The known movement.
    pub movement: Movement,
    /// The posture of the neutral pose.
    pub posture: Posture,
    /// Start of the still pose, seconds.
    pub still_start_s: f64,
    /// Its end, seconds.
    pub still_end_s: f64,
    /// Start of the movement, seconds.
    pub move_start_s: f64,
    /// Its end, seconds.
    pub move_end_s: f64,
}

/// What a calibration has to reach.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationParams {
    /// Shortest still pose, seconds (0.8).
    pub least_still_s: f64,
    /// Greatest turning in the still pose, degrees (3): more is not a pose.
    pub most_still_turn_deg: f64,
    /// Least travel of the movement, degrees (15): an axis from less is guesswork.
    pub least_travel_deg: f64,
    /// Least share of the turning about one axis (0.7): less is more than one movement.
    pub least_share_ratio: f64,
    /// Least angle between the axis and the vertical in the neutral pose, degrees (25): nearer,
    /// up says nothing about the turn around the axis.
    pub least_from_vertical_deg: f64,
}

impl Default for CalibrationParams {
    fn default() -> Self {
        CalibrationParams {
            least_still_s: 0.8,
            most_still_turn_deg: 3.0,
            least_travel_deg: 15.0,
            least_share_ratio: 0.7,
            least_from_vertical_deg: 25.0,
        }
    }
}

/// Why a calibration is refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CalibrationFault {
    /// The windows hold too few samples.
    #[error(
        "the still pose lasts {found_s:.1} s in the record, {needed_s:.1} s are needed: hold still again"
    )]
    TooShort {
        /// Length found, seconds.
        found_s: f64,
        /// Length needed, seconds.
        needed_s: f64,
    },
    /// The hand moved in the still pose.
    #[error("the hand turned by {turned_deg:.0} degrees in the still pose: hold still again")]
    NotStill {
        /// Greatest turn away from the mean pose, degrees.
        turned_deg: f64,
    },
    /// The movement was too small.
    #[error("the movement went {travel_deg:.0} degrees, and {needed_deg:.0} are needed")]
    TooSmall {
        /// Travel found, degrees.
        travel_deg: f64,
        /// Travel needed, degrees.
        needed_deg: f64,
    },
    /// The movement turned about more than one axis.
    #[error(
        "only {share_percent:.0} % of the movement turned about one axis: move in one direction and back"
    )]
    NotOneAxis {
        /// Share about the main axis, percent.
        share_percent: f64,
    },
    /// The axis of the movement stands upright.
    #[error(
        "the movement turned about the vertical ({from_vertical_deg:.0} degrees from it): in this posture it cannot show how the sensor sits; use another movement or posture"
    )]
    AlongGravity {
        /// Angle between axis and vertical, degrees.
        from_vertical_deg: f64,
    },
    /// A movement without a joint axis.
    #[error("{0} cannot align the sensor: use a movement of the wrist")]
    NoJointAxis(&'static str),
}

/// The sensor on the hand, and the neutral pose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alignment {
    /// Which hand.
    pub side: Side,
    /// Takes a vector from the hand's frame to the sensor's.
    pub sensor_from_hand: UnitQuaternion<f64>,
    /// The hand in its neutral pose.
    pub world_from_neutral_hand: UnitQuaternion<f64>,
    /// Travel of the calibration movement, degrees.
    pub travel_deg: f64,
}

/// Aligns sensor and hand from the samples of a calibration.
///
/// # Errors
/// A [`CalibrationFault`] that says what was wrong and what to do.
pub fn align(
    oriented: &[Oriented],
    windows: &CalibrationWindows,
    params: &CalibrationParams,
) -> Result<Alignment, CalibrationFault> {
    let axis_in_hand = lift_axis_in_hand(windows.movement, windows.side)
        .ok_or(CalibrationFault::NoJointAxis(windows.movement.name()))?;
    let still = between(oriented, windows.still_start_s, windows.still_end_s);
    let world_from_still = still_pose(still, params)?;
    let moved = between(oriented, windows.move_start_s, windows.move_end_s);
    let lift = lift_axis(moved, &world_from_still, params)?;
    let up_in_sensor = world_from_still.inverse() * Vector3::z();
    let from_vertical_deg = {
        let angle_deg = lift.axis_in_sensor.angle(&up_in_sensor).to_degrees();
        angle_deg.min(180.0 - angle_deg)
    };
    if from_vertical_deg < params.least_from_vertical_deg {
        return Err(CalibrationFault::AlongGravity { from_vertical_deg });
    }
    let up_in_hand = up_in_hand(&windows.posture, windows.side);
    let in_sensor = frame_of(&lift.axis_in_sensor, &up_in_sensor);
    let in_hand = frame_of(&axis_in_hand, &up_in_hand);
    let (Some(in_sensor), Some(in_hand)) = (in_sensor, in_hand) else {
        return Err(CalibrationFault::AlongGravity {
            from_vertical_deg: 0.0,
        });
    };
    let sensor_from_hand = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(
        in_sensor * in_hand.transpose(),
    ));
    Ok(Alignment {
        side: windows.side,
        sensor_from_hand,
        world_from_neutral_hand: world_from_still * sensor_from_hand,
        travel_deg: lift.travel_deg,
    })
}

impl Alignment {
    /// The same sensor on the same hand, with the forearm held in another posture than in the
    /// neutral pose.
    pub fn at_posture(self, from: &Posture, to: &Posture) -> Alignment {
        let turn =
            world_from_forearm(from, self.side).inverse() * world_from_forearm(to, self.side);
        Alignment {
            world_from_neutral_hand: self.world_from_neutral_hand * turn,
            ..self
        }
    }

    /// The same with the forearm pointing where it points now, the hand being near its neutral
    /// pose: heading is not known by a 6-axis sensor and not kept by a person. A movement about
    /// the vertical therefore has its zero where the set begins.
    pub fn facing(self, now: &Oriented) -> Alignment {
        let world_from_hand = now.world_from_sensor * self.sensor_from_hand;
        let turned = world_from_hand * self.world_from_neutral_hand.inverse();
        let heading_rad = 2.0 * turned.k.atan2(turned.w);
        let heading = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
        Alignment {
            world_from_neutral_hand: heading * self.world_from_neutral_hand,
            ..self
        }
    }
}

/// Samples between two times.
fn between(oriented: &[Oriented], from_s: f64, to_s: f64) -> &[Oriented] {
    let from = oriented.partition_point(|o| o.t_s < from_s);
    let to = oriented.partition_point(|o| o.t_s <= to_s);
    oriented.get(from..to.max(from)).unwrap_or(&[])
}

fn still_pose(
    still: &[Oriented],
    params: &CalibrationParams,
) -> Result<UnitQuaternion<f64>, CalibrationFault> {
    let found_s = match (still.first(), still.last()) {
        (Some(first), Some(last)) => last.t_s - first.t_s,
        _ => 0.0,
    };
    let too_short = CalibrationFault::TooShort {
        found_s,
        needed_s: params.least_still_s,
    };
    if found_s < params.least_still_s {
        return Err(too_short);
    }
    let mean = mean_pose(still).ok_or(too_short)?;
    let turned_deg = still
        .iter()
        .map(|o| mean.angle_to(&o.world_from_sensor).to_degrees())
        .fold(0.0, f64::max);
    if turned_deg > params.most_still_turn_deg {
        return Err(CalibrationFault::NotStill { turned_deg });
    }
    Ok(mean)
}

/// Mean of orientations that lie close together.
pub fn mean_pose(still: &[Oriented]) -> Option<UnitQuaternion<f64>> {
    let first = still.first()?.world_from_sensor;
    let sum: Vector3<f64> = still
        .iter()
        .map(|o| (first.inverse() * o.world_from_sensor).scaled_axis())
        .sum();
    Some(first * UnitQuaternion::from_scaled_axis(sum / still.len() as f64))
}

struct Lift {
    axis_in_sensor: Vector3<f64>,
    travel_deg: f64,
}

/// Axis and sense of the first travel away from the still pose.
fn lift_axis(
    moved: &[Oriented],
    world_from_still: &UnitQuaternion<f64>,
    params: &CalibrationParams,
) -> Result<Lift, CalibrationFault> {
    let too_small = |travel_deg| CalibrationFault::TooSmall {
        travel_deg,
        needed_deg: params.least_travel_deg,
    };
    let main = main_axis(&[moved], &AxisParams::default()).ok_or(too_small(0.0))?;
    let mut axis_in_sensor = main.axis_in_sensor.into_inner();
    let turns_deg: Vec<f64> = moved
        .iter()
        .map(|o| {
            let turned = (world_from_still.inverse() * o.world_from_sensor).scaled_axis();
            turned.dot(&axis_in_sensor).to_degrees()
        })
        .collect();
    let greatest_deg = turns_deg.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    if greatest_deg < params.least_travel_deg {
        return Err(too_small(greatest_deg));
    }
    if main.share_ratio < params.least_share_ratio {
        return Err(CalibrationFault::NotOneAxis {
            share_percent: 100.0 * main.share_ratio,
        });
    }
    // Lift first: the first travel of more than half the greatest one tells the sense.
    let first_deg = turns_deg
        .iter()
        .find(|turn_deg| turn_deg.abs() > 0.5 * greatest_deg)
        .copied()
        .unwrap_or(greatest_deg);
    if first_deg < 0.0 {
        axis_in_sensor = -axis_in_sensor;
    }
    let travel_deg = turns_deg
        .iter()
        .map(|turn_deg| turn_deg * first_deg.signum())
        .fold(0.0, f64::max);
    Ok(Lift {
        axis_in_sensor,
        travel_deg,
    })
}

/// Three directions at right angles from two: the first as it is, the second made square to it.
pub(super) fn frame_of(first: &Vector3<f64>, second: &Vector3<f64>) -> Option<Matrix3<f64>> {
    let x = first.try_normalize(1e-9)?;
    let y = (second - x * x.dot(second)).try_normalize(1e-6)?;
    Some(Matrix3::from_columns(&[x, y, x.cross(&y)]))
}
