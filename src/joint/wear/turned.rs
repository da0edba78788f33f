//! Whether the unit sits as it was fitted, by up at the still start and the axis of the lift.
//!
//! Ours. The calibration and the posture say where both should be; both are compared with where
//! they would be on the other hand, and on the same hand with the unit turned by a quarter or a
//! half. Only what is far from the first and near one of the others is told: a sloppy posture or an
//! oblique movement is near none of them.

use nalgebra::{UnitQuaternion, Vector3};

use super::axes::{Piece, mean_line};
use super::pose::{Poses, quantile, rises};
use super::{WearFinding, WearKind};
use crate::joint::alignment::frame_of;
use crate::joint::{Alignment, lift_axis_in_hand, up_in_hand};
use crate::movement::{JointAxis, Movement, Posture, Side};

/// A calibration: how the unit sat, and what was done to find that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// How it sat.
    pub alignment: Alignment,
    /// The known movement.
    pub movement: Movement,
    /// The posture of the neutral pose.
    pub posture: Posture,
    /// When, seconds.
    pub at_s: f64,
}

/// When a unit sits otherwise than it was fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnedParams {
    /// Up to this angle the axis is where it should be, degrees (55): the natural axis is oblique
    /// by 27 and more (Crisco et al., JBJS-A 93:169-177, 2011).
    pub axis_deg: f64,
    /// Up to this angle up is where it should be, degrees (65): weights hang low at the start.
    pub up_deg: f64,
    /// Within this angle of where another seat puts it, the axis tells of that seat, degrees (35).
    pub near_axis_deg: f64,
    /// The same of up, degrees (50).
    pub near_up_deg: f64,
    /// Least turn that is a lift, degrees (8).
    pub least_deg: f64,
    /// Lifts after which it is told (2); at the end of the set one is enough.
    pub least_count: usize,
    /// From this angle of the unit's +z to the way out of the hand on it is face down, degrees (145).
    pub face_deg: f64,
}

impl Default for TurnedParams {
    fn default() -> Self {
        TurnedParams {
            axis_deg: 55.0,
            up_deg: 65.0,
            near_axis_deg: 35.0,
            near_up_deg: 50.0,
            least_deg: 8.0,
            least_count: 2,
            face_deg: 145.0,
        }
    }
}

/// What a set should look like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// The movement.
    pub movement: Movement,
    /// How the arm is held.
    pub posture: Posture,
}

/// Angles between where two directions are and where they should be, degrees.
#[derive(Debug, Clone, Copy)]
struct Off {
    axis_deg: f64,
    up_deg: f64,
}

impl Off {
    fn within(&self, axis_deg: f64, up_deg: f64) -> bool {
        self.axis_deg <= axis_deg && self.up_deg <= up_deg
    }
}

/// What was seen of a set.
#[derive(Debug, Clone, Copy)]
struct Seen {
    lift_axis_in_sensor: Vector3<f64>,
    up_in_sensor: Vector3<f64>,
}

impl Seen {
    fn off(
        &self,
        sensor_from_hand: &UnitQuaternion<f64>,
        side: Side,
        asked: &Asked,
    ) -> Option<Off> {
        let axis = sensor_from_hand * lift_axis_in_hand(asked.movement, side)?;
        let up = sensor_from_hand * up_in_hand(&asked.posture, side);
        Some(Off {
            axis_deg: axis.angle(&self.lift_axis_in_sensor).to_degrees(),
            up_deg: up.angle(&self.up_in_sensor).to_degrees(),
        })
    }
}

/// Whether the set contradicts the calibration; `None` where it does not, or cannot be told.
pub fn turned(
    fitted: &Fitted,
    asked: &Asked,
    poses: &Poses,
    pieces: &[Piece],
    least_count: usize,
    params: &TurnedParams,
) -> Option<WearFinding> {
    let seen = seen(poses, pieces, least_count, params)?;
    let side = fitted.alignment.side;
    let sits = fitted.alignment.sensor_from_hand;
    let off = seen.off(&sits, side, asked)?;
    if off.within(params.axis_deg, params.up_deg) {
        return None;
    }
    let near = |off: Off| off.within(params.near_axis_deg, params.near_up_deg);
    let told = |kind, or| WearFinding {
        kind,
        or,
        since_s: fitted.at_s,
        evidence_deg: Some(off.axis_deg.max(off.up_deg)),
        evidence_s: None,
    };
    let other = other(side);
    if let Some(on_other) = sensor_from_other_hand(fitted)
        && seen.off(&on_other, other, asked).is_some_and(near)
    {
        return Some(told(WearKind::OtherHand, Some(WearKind::Turned)));
    }
    seats()
        .iter()
        .any(|seat| seen.off(&(sits * seat), side, asked).is_some_and(near))
        .then(|| told(WearKind::Turned, None))
}

/// Whether the set's start agrees with the calibration.
pub fn agrees(
    fitted: &Fitted,
    asked: &Asked,
    poses: &Poses,
    pieces: &[Piece],
    params: &TurnedParams,
) -> bool {
    seen(poses, pieces, 1, params)
        .and_then(|seen| {
            seen.off(
                &fitted.alignment.sensor_from_hand,
                fitted.alignment.side,
                asked,
            )
        })
        .is_some_and(|off| off.within(params.axis_deg, params.up_deg))
}

/// Whether the upper side lay on the skin when the unit was fitted. A movement to the thumb turns
/// the other way round on the other hand, and so does one with the unit turned over.
pub fn face_down(fitted: &Fitted, params: &TurnedParams) -> Option<WearFinding> {
    let out_of_hand = fitted.alignment.sensor_from_hand * -Vector3::x();
    let off_deg = out_of_hand.angle(&Vector3::z()).to_degrees();
    let or =
        (fitted.movement.joint_axis() == Some(JointAxis::Deviation)).then_some(WearKind::OtherHand);
    (off_deg >= params.face_deg).then_some(WearFinding {
        kind: WearKind::FaceDown,
        or,
        since_s: fitted.at_s,
        evidence_deg: Some(off_deg),
        evidence_s: None,
    })
}

fn seen(
    poses: &Poses,
    pieces: &[Piece],
    least_count: usize,
    params: &TurnedParams,
) -> Option<Seen> {
    let line = mean_line(
        pieces
            .iter()
            .filter(|piece| piece.clean)
            .map(|piece| piece.axis_in_sensor),
    )?;
    let along_deg: Vec<f64> = poses.turns_deg().iter().map(|t| t.dot(&line)).collect();
    let sense = along_deg.iter().sum::<f64>().signum();
    let lifted_deg: Vec<f64> = along_deg.iter().map(|deg| sense * deg).collect();
    let highest_deg = quantile(&lifted_deg, 0.95)?;
    let lowest_deg = quantile(&lifted_deg, 0.05)?;
    let count = rises(
        lifted_deg.iter().copied(),
        0.35 * highest_deg,
        0.65 * highest_deg,
    );
    // What goes as far one way as the other has no sense.
    let one_sided = highest_deg >= params.least_deg && -lowest_deg <= 0.5 * highest_deg;
    (one_sided && count >= least_count).then_some(Seen {
        lift_axis_in_sensor: sense * line,
        up_in_sensor: poses.start_up_in_sensor()?,
    })
}

/// The hand that it is not.
pub fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}

/// How the unit sits if the calibration was done with the other hand.
fn sensor_from_other_hand(fitted: &Fitted) -> Option<UnitQuaternion<f64>> {
    let in_hand = |side| {
        frame_of(
            &lift_axis_in_hand(fitted.movement, side)?,
            &up_in_hand(&fitted.posture, side),
        )
    };
    let side = fitted.alignment.side;
    let turn = in_hand(side)? * in_hand(other(side))?.transpose();
    let turn = nalgebra::Rotation3::from_matrix_unchecked(turn);
    Some(fitted.alignment.sensor_from_hand * UnitQuaternion::from_rotation_matrix(&turn))
}

/// Halves about the hand's axes and quarters about the way out of it.
fn seats() -> [UnitQuaternion<f64>; 5] {
    let half = std::f64::consts::PI;
    [
        Vector3::x() * half,
        Vector3::y() * half,
        Vector3::z() * half,
        Vector3::x() * (0.5 * half),
        Vector3::x() * (-0.5 * half),
    ]
    .map(UnitQuaternion::from_scaled_axis)
}
