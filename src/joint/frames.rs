//! The frames of forearm and hand, and the wrist angles between them.
//!
//! Source: Wu et al., "ISB recommendation on definitions of joint coordinate systems - Part II",
//! J Biomech 38:981-992, 2005, doi:10.1016/j.jbiomech.2004.05.042. R = R_forearm^T R_hand =
//! Rz(flexion) Rx(ulnar deviation) Ry(pronation), intrinsic. Right arm: X volar, Y proximal, Z
//! radial. Left arm: the frame stays right-handed (X volar, Y proximal, Z ulnar) and the angles
//! are those of the mirrored rotation (w, -x, -y, z), so that both hands' signs are anatomical.

use nalgebra::{Matrix3, Quaternion, Rotation3, UnitQuaternion, Vector3};

use crate::movement::{ForearmDirection, ForearmRotation, JointAxis, Movement, Posture, Side};

/// Wrist angles in degrees, signs as ISB: flexion +, ulnar deviation +, pronation +.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct IsbAngles {
    /// Flexion (+) or extension (−).
    pub flexion_deg: f64,
    /// Ulnar (+) or radial (−) deviation.
    pub deviation_deg: f64,
    /// Pronation (+) or supination (−).
    pub rotation_deg: f64,
}

impl IsbAngles {
    /// The same with flexion as if the wrist did not turn about the forearm's length, which it hardly
    /// can: rotation is then the forearm that lies otherwise than is thought, or its heading, and as
    /// much of it as the hand is deviated was read as flexion.
    ///
    /// Ours. A small turn e of the forearm before flexion f, deviation d and rotation r is, about the
    /// axes of that chain, e = df z + dd x' + r y''; along z, about which the wrist flexes, y'' has the
    /// part sin d. What is left of e there is the same at all angles and in no range.
    pub fn of_a_wrist(self) -> IsbAngles {
        let aslant = self.deviation_deg.to_radians().sin();
        IsbAngles {
            flexion_deg: self.flexion_deg + aslant * self.rotation_deg,
            ..self
        }
    }

    /// The one component.
    pub fn component_deg(&self, axis: JointAxis) -> f64 {
        match axis {
            JointAxis::Flexion => self.flexion_deg,
            JointAxis::Deviation => self.deviation_deg,
            JointAxis::Rotation => self.rotation_deg,
        }
    }
}

/// The rotation of a left arm as the right arm's formulas want it, and back.
fn mirrored(rotation: &UnitQuaternion<f64>, side: Side) -> UnitQuaternion<f64> {
    match side {
        Side::Right => *rotation,
        Side::Left => UnitQuaternion::new_unchecked(Quaternion::new(
            rotation.w,
            -rotation.i,
            -rotation.j,
            rotation.k,
        )),
    }
}

/// Wrist angles of a hand turned so against its forearm. At ±90 degrees of deviation flexion and
/// rotation cannot be told apart; no wrist goes there.
pub fn wrist_angles(forearm_from_hand: &UnitQuaternion<f64>, side: Side) -> IsbAngles {
    let matrix = mirrored(forearm_from_hand, side).to_rotation_matrix();
    let m = |row: usize, column: usize| matrix[(row, column)];
    IsbAngles {
        flexion_deg: (-m(0, 1)).atan2(m(1, 1)).to_degrees(),
        deviation_deg: m(2, 1).clamp(-1.0, 1.0).asin().to_degrees(),
        rotation_deg: (-m(2, 0)).atan2(m(2, 2)).to_degrees(),
    }
}

/// The rotation that has these wrist angles: forearm from hand.
pub fn wrist_rotation(angles: &IsbAngles, side: Side) -> UnitQuaternion<f64> {
    let turn = UnitQuaternion::from_axis_angle;
    let right = turn(&Vector3::z_axis(), angles.flexion_deg.to_radians())
        * turn(&Vector3::x_axis(), angles.deviation_deg.to_radians())
        * turn(&Vector3::y_axis(), angles.rotation_deg.to_radians());
    mirrored(&right, side)
}

/// Orientation of the forearm in a posture: world x forward, y left, z up.
pub fn world_from_forearm(posture: &Posture, side: Side) -> UnitQuaternion<f64> {
    // Level, palm down, pointing forward: volar is down, proximal is backward.
    let palm_down = Matrix3::from_columns(&[-Vector3::z(), -Vector3::x(), Vector3::y()]);
    let base = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(palm_down));
    let pitch_rad = match posture.direction {
        ForearmDirection::Level => 0.0,
        // A positive turn about y (left) takes forward to down.
        ForearmDirection::Hanging => std::f64::consts::FRAC_PI_2,
        ForearmDirection::Upright => -std::f64::consts::FRAC_PI_2,
    };
    let rotation_deg = match posture.rotation {
        ForearmRotation::PalmDown => 0.0,
        ForearmRotation::ThumbUp => -90.0,
        ForearmRotation::PalmUp => -180.0,
        ForearmRotation::LittleFingerUp => 90.0,
    };
    let pronation = IsbAngles {
        rotation_deg,
        ..IsbAngles::default()
    };
    UnitQuaternion::from_axis_angle(&Vector3::y_axis(), pitch_rad)
        * base
        * wrist_rotation(&pronation, side)
}

/// Up, seen from the hand, with a straight wrist in a posture.
pub fn up_in_hand(posture: &Posture, side: Side) -> Vector3<f64> {
    world_from_forearm(posture, side).inverse() * Vector3::z()
}

/// The axis about which a movement's lift turns the hand (right-handed), in the hand's frame;
/// `None` for arm circles.
pub fn lift_axis_in_hand(movement: Movement, side: Side) -> Option<Vector3<f64>> {
    let sign = movement.isb_sign();
    let mirror = match side {
        Side::Right => 1.0,
        Side::Left => -1.0,
    };
    Some(match movement.joint_axis()? {
        JointAxis::Flexion => Vector3::z() * sign,
        JointAxis::Deviation => Vector3::x() * (sign * mirror),
        JointAxis::Rotation => Vector3::y() * (sign * mirror),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;

    #[test]
    fn angles_read_back_from_their_rotation_on_both_sides() {
        for side in [Side::Right, Side::Left] {
            for flexion_deg in [-70.0, 0.0, 35.0] {
                for deviation_deg in [-20.0, 0.0, 30.0] {
                    for rotation_deg in [-80.0, 10.0, 75.0] {
                        let angles = IsbAngles {
                            flexion_deg,
                            deviation_deg,
                            rotation_deg,
                        };
                        let back = wrist_angles(&wrist_rotation(&angles, side), side);
                        assert!((back.flexion_deg - flexion_deg).abs() < 1e-9);
                        assert!((back.deviation_deg - deviation_deg).abs() < 1e-9);
                        assert!((back.rotation_deg - rotation_deg).abs() < 1e-9);
                    }
                }
            }
        }
    }

    /// A forearm that lies otherwise by a few degrees, or points elsewhere, on an oblique curl: read as
    /// flexion it shifts the range by up to 3 degrees; as a wrist that does not turn, hardly.
    #[test]
    fn a_forearm_that_lies_otherwise_is_in_no_range_of_a_wrist() {
        for side in [Side::Right, Side::Left] {
            for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
                let lies = UnitQuaternion::from_scaled_axis(axis * 5_f64.to_radians());
                let at = |flexion_deg: f64| {
                    let true_angles = IsbAngles {
                        flexion_deg,
                        deviation_deg: 0.5 * flexion_deg,
                        rotation_deg: 0.0,
                    };
                    wrist_angles(&(lies * wrist_rotation(&true_angles, side)), side)
                };
                let (start, end) = (at(-10.0), at(50.0));
                let range_deg = end.of_a_wrist().flexion_deg - start.of_a_wrist().flexion_deg;
                assert!(
                    (range_deg - 60.0).abs() < 0.35,
                    "{side:?} {axis:?} {range_deg}"
                );
                if axis == Vector3::x() {
                    let read_deg = end.flexion_deg - start.flexion_deg;
                    assert!((read_deg - 60.0).abs() > 1.0, "{read_deg}");
                }
            }
        }
    }

    #[test]
    fn thumb_up_turns_the_thumb_up_on_both_hands() {
        let posture = Movement::RadialDeviation.usual_posture();
        // Radial is +Z on the right, -Z on the left.
        let right = up_in_hand(&posture, Side::Right);
        let left = up_in_hand(&posture, Side::Left);
        assert!((right - Vector3::z()).norm() < 1e-12, "{right}");
        assert!((left + Vector3::z()).norm() < 1e-12, "{left}");
    }

    #[test]
    fn a_lift_by_its_axis_raises_its_own_component_on_both_hands() {
        for side in [Side::Right, Side::Left] {
            for movement in Movement::ALL {
                let Some(axis) = lift_axis_in_hand(movement, side) else {
                    continue;
                };
                let turned = UnitQuaternion::from_scaled_axis(axis * 20_f64.to_radians());
                let component =
                    wrist_angles(&turned, side).component_deg(movement.joint_axis().unwrap());
                assert!((component * movement.isb_sign() - 20.0).abs() < 1e-9);
            }
        }
    }
}
