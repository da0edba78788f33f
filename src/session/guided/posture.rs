//! Whether the arm is where an exercise holds it, by gravity alone.
//!
//! Ours. A movement turns the hand about its axis, so up, seen from the hand, may wander about that
//! axis but not along it. How far it wandered along is the arm's own doing: it was raised, dropped
//! or turned. The heading says nothing, a 6-axis sensor does not know it.

use nalgebra::{Unit, Vector3};

use crate::joint::{Alignment, lift_axis_in_hand, up_in_hand};
use crate::movement::{Movement, Posture};
use crate::orientation::Oriented;

/// How an exercise holds the arm, seen from the sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    axis_in_sensor: Unit<Vector3<f64>>,
    up_in_sensor: Unit<Vector3<f64>>,
}

/// How far the arm is from how it should be held, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Off {
    /// Tilt that the movement cannot explain, 0 to 180.
    pub along_deg: f64,
    /// Turn about the movement's axis from the neutral pose, -180 to 180, positive in the direction
    /// of the lift; 0 where the axis is upright and gravity cannot tell.
    pub about_deg: f64,
}

impl Held {
    /// As this movement in this posture holds it, for a sensor that sits so; `None` for a movement
    /// without a joint axis.
    pub fn of(alignment: &Alignment, movement: Movement, posture: &Posture) -> Option<Held> {
        let axis_in_hand = lift_axis_in_hand(movement, alignment.side)?;
        let up_in_hand = up_in_hand(posture, alignment.side);
        Some(Held {
            axis_in_sensor: Unit::new_normalize(alignment.sensor_from_hand * axis_in_hand),
            up_in_sensor: Unit::new_normalize(alignment.sensor_from_hand * up_in_hand),
        })
    }

    /// Whether the hand is upside down against it, as far as gravity tells.
    pub fn is_reversed(&self, now: &Oriented) -> bool {
        let up = now.world_from_sensor.inverse() * Vector3::z();
        up.angle(&self.up_in_sensor).to_degrees() > REVERSED_DEG
    }

    /// How far the arm is from it.
    pub fn off(&self, now: &Oriented) -> Off {
        let up = now.world_from_sensor.inverse() * Vector3::z();
        let axis = self.axis_in_sensor.as_ref();
        let elevation_deg = |v: &Vector3<f64>| v.dot(axis).clamp(-1.0, 1.0).asin().to_degrees();
        let along_deg = (elevation_deg(&up) - elevation_deg(&self.up_in_sensor)).abs();
        let across = |v: &Vector3<f64>| v - axis * v.dot(axis);
        let (held, is) = (across(&self.up_in_sensor), across(&up));
        let about_deg = if held.norm() < LEAST_ACROSS || is.norm() < LEAST_ACROSS {
            0.0
        } else {
            // The hand turns one way about its axis, so up turns the other way in the hand.
            let sine = is.cross(&held).dot(axis);
            sine.atan2(held.dot(&is)).to_degrees()
        };
        Off {
            along_deg,
            about_deg,
        }
    }
}

/// From this angle between up as it is and as it should be on a hand is upside down, degrees.
const REVERSED_DEG: f64 = 120.0;

/// Sine of the angle between axis and vertical under which gravity cannot tell a turn about it.
const LEAST_ACROSS: f64 = 0.35;

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use nalgebra::UnitQuaternion;

    use super::*;
    use crate::joint::world_from_forearm;
    use crate::movement::Side;

    fn alignment(side: Side, posture: &Posture) -> Alignment {
        Alignment {
            side,
            sensor_from_hand: UnitQuaternion::from_euler_angles(0.4, -1.1, 2.0),
            world_from_neutral_hand: world_from_forearm(posture, side),
            travel_deg: 40.0,
        }
    }

    /// The sensor on a hand that is turned by `lift_deg` about its axis and by `arm_deg` by the arm.
    fn oriented(
        alignment: &Alignment,
        movement: Movement,
        posture: &Posture,
        lift_deg: f64,
        arm: UnitQuaternion<f64>,
    ) -> Oriented {
        let axis = lift_axis_in_hand(movement, alignment.side).unwrap();
        let lift = UnitQuaternion::from_scaled_axis(axis * lift_deg.to_radians());
        let world_from_hand = arm * world_from_forearm(posture, alignment.side) * lift;
        Oriented {
            t_s: 0.0,
            world_from_sensor: world_from_hand * alignment.sensor_from_hand.inverse(),
            gyro_in_sensor_rad_s: Vector3::zeros(),
            accel_in_sensor_m_s2: Vector3::zeros(),
        }
    }

    #[test]
    fn a_lift_is_about_the_axis_and_a_moved_arm_along_it() {
        for side in [Side::Left, Side::Right] {
            for movement in [
                Movement::WristExtension,
                Movement::WristFlexion,
                Movement::RadialDeviation,
            ] {
                let posture = movement.usual_posture();
                let alignment = alignment(side, &posture);
                let held = Held::of(&alignment, movement, &posture).unwrap();
                for heading_deg in [0.0_f64, 70.0, -150.0] {
                    let heading = UnitQuaternion::from_axis_angle(
                        &Vector3::z_axis(),
                        heading_deg.to_radians(),
                    );
                    for lift_deg in [-30.0, 0.0, 25.0, 60.0] {
                        let now = oriented(&alignment, movement, &posture, lift_deg, heading);
                        let off = held.off(&now);
                        assert!(off.along_deg < 1e-6, "{movement:?} {side:?}");
                        assert!(
                            (off.about_deg - lift_deg).abs() < 1e-6,
                            "{movement:?} {side:?}"
                        );
                    }
                    // The forearm turned about its own length by 50 degrees.
                    let now = oriented(&alignment, movement, &posture, 0.0, heading);
                    let long = world_from_forearm(&posture, side) * Vector3::y();
                    let rolled = UnitQuaternion::from_axis_angle(
                        &Unit::new_normalize(heading * long),
                        50.0_f64.to_radians(),
                    );
                    let rolled = Oriented {
                        world_from_sensor: rolled * now.world_from_sensor,
                        ..now
                    };
                    assert!((held.off(&rolled).along_deg - 50.0).abs() < 1e-6);
                }
            }
        }
    }
}
