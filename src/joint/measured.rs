//! The measured angle of each sample: by the ISB component where the hand's frame is known, else
//! by the turn about the movement's own axis.
//!
//! Ours: the turn about an axis is the twist of the swing-twist decomposition of the rotation
//! since the reference pose; it is carried on past a half turn, so that circles can be counted.
//! Where the rest of the rotation, the swing, grows large (an arm that turned elsewhere, a heading
//! that drifts), the twist loses its meaning: the reference is then moved along, at the same twist
//! and without the swing. The swing that is reported goes on from where it was.

use nalgebra::{Quaternion, Unit, UnitQuaternion, Vector3};

use super::alignment::Alignment;
use super::frames::{IsbAngles, wrist_angles};
use crate::movement::JointAxis;
use crate::orientation::Oriented;

/// Swing beyond which the reference pose is moved along, degrees.
const MOST_SWING_DEG: f64 = 70.0;

/// What the angle is measured by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measure {
    /// The hand's frame is known: a component of the wrist's ISB angles against the neutral pose.
    Joint {
        /// Sensor-to-hand alignment and neutral pose.
        alignment: Alignment,
        /// Which component.
        axis: JointAxis,
        /// +1 where the lift raises the component, else −1.
        sign: f64,
    },
    /// Only an axis is known: the turn about it, against a reference pose.
    Turn {
        /// The pose of angle zero.
        world_from_reference: UnitQuaternion<f64>,
        /// The axis in the sensor's frame, right-handed in the direction of the lift.
        axis_in_sensor: Unit<Vector3<f64>>,
    },
}

/// One sample's measured angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnglePoint {
    /// Time, seconds.
    pub t_s: f64,
    /// Measured angle, degrees, positive in the direction of the lift.
    pub measured_deg: f64,
    /// Rotation that is not about the measured axis, degrees, as two components across it.
    pub across_deg: [f64; 2],
    /// Up, seen from the sensor: which way the hand is held, whatever the heading.
    pub up_in_sensor: Vector3<f64>,
    /// The three wrist angles, where the hand's frame is known; flexion as of a wrist that does not
    /// turn about the forearm's length.
    pub isb: Option<IsbAngles>,
}

/// Follows the measured angle from sample to sample.
#[derive(Debug, Clone)]
pub struct AngleTracker {
    measure: Measure,
    /// Two directions across the axis, where only an axis is known.
    across: [Vector3<f64>; 2],
    /// The rest of the rotation that was left behind where the reference was moved along, degrees.
    left_behind_deg: [f64; 2],
    latest_deg: Option<f64>,
}

impl AngleTracker {
    /// Measures so, from the next sample on.
    pub fn new(measure: Measure) -> AngleTracker {
        AngleTracker {
            across: match &measure {
                Measure::Turn { axis_in_sensor, .. } => across(axis_in_sensor),
                Measure::Joint { .. } => [Vector3::zeros(); 2],
            },
            measure,
            left_behind_deg: [0.0; 2],
            latest_deg: None,
        }
    }

    /// From the next sample on, measures about another axis, where only an axis is known.
    pub fn turn_about(&mut self, axis: Unit<Vector3<f64>>) {
        if let Measure::Turn { axis_in_sensor, .. } = &mut self.measure {
            *axis_in_sensor = axis;
            self.across = across(&axis);
        }
    }

    /// The angle of the next sample.
    pub fn push(&mut self, oriented: &Oriented) -> AnglePoint {
        let (angle_deg, across_deg, isb) = match &mut self.measure {
            Measure::Joint {
                alignment,
                axis,
                sign,
            } => {
                let angles = match axis {
                    // The forearm itself turns.
                    JointAxis::Rotation => alignment.angles(oriented),
                    _ => alignment.angles(oriented).of_a_wrist(),
                };
                let (measured, across) = match axis {
                    JointAxis::Flexion => (
                        angles.flexion_deg,
                        [angles.deviation_deg, angles.rotation_deg],
                    ),
                    JointAxis::Deviation => (
                        angles.deviation_deg,
                        [angles.flexion_deg, angles.rotation_deg],
                    ),
                    JointAxis::Rotation => (
                        angles.rotation_deg,
                        [angles.flexion_deg, angles.deviation_deg],
                    ),
                };
                (*sign * measured, across, Some(angles))
            }
            Measure::Turn {
                world_from_reference,
                axis_in_sensor,
            } => {
                let turned = world_from_reference.inverse() * oriented.world_from_sensor;
                let (twist_deg, across_deg) =
                    swing_and_twist(&turned, axis_in_sensor, &self.across);
                let [first, second] = across_deg;
                let [first_behind, second_behind] = self.left_behind_deg;
                let carried_on_deg = [first_behind + first, second_behind + second];
                if first * first + second * second > MOST_SWING_DEG * MOST_SWING_DEG {
                    let back =
                        UnitQuaternion::from_axis_angle(axis_in_sensor, -twist_deg.to_radians());
                    *world_from_reference = oriented.world_from_sensor * back;
                    // What is compared across this moment must not see the reference jump.
                    self.left_behind_deg = carried_on_deg;
                }
                (twist_deg, carried_on_deg, None)
            }
        };
        let measured_deg = self.carried_on(angle_deg);
        self.latest_deg = Some(measured_deg);
        AnglePoint {
            t_s: oriented.t_s,
            measured_deg,
            across_deg,
            up_in_sensor: oriented.world_from_sensor.inverse() * Vector3::z(),
            isb,
        }
    }

    /// The same angle, by whole turns nearest to the one before.
    fn carried_on(&self, angle_deg: f64) -> f64 {
        let Some(latest_deg) = self.latest_deg else {
            return angle_deg;
        };
        angle_deg + 360.0 * ((latest_deg - angle_deg) / 360.0).round()
    }
}

/// Twist about the axis in degrees (−180 to 180) and the rest of the rotation as two components
/// across the axis, degrees.
fn swing_and_twist(
    turned: &UnitQuaternion<f64>,
    axis: &Unit<Vector3<f64>>,
    [first, second]: &[Vector3<f64>; 2],
) -> (f64, [f64; 2]) {
    let along = turned.imag().dot(axis);
    let mut twist_deg = 2.0 * along.atan2(turned.w).to_degrees();
    if twist_deg > 180.0 {
        twist_deg -= 360.0;
    } else if twist_deg < -180.0 {
        twist_deg += 360.0;
    }
    let twist = Quaternion::from_parts(turned.w, axis.into_inner() * along);
    let twist = UnitQuaternion::try_new(twist, 1e-9).unwrap_or_else(UnitQuaternion::identity);
    let swing = (turned * twist.inverse()).scaled_axis();
    let across_deg = [swing.dot(first), swing.dot(second)].map(f64::to_degrees);
    (twist_deg, across_deg)
}

/// Two directions at right angles to the axis and to each other.
fn across(axis: &Unit<Vector3<f64>>) -> [Vector3<f64>; 2] {
    let smallest = axis.iamin();
    let mut other = Vector3::zeros();
    if let Some(entry) = other.get_mut(smallest) {
        *entry = 1.0;
    }
    let first = axis
        .cross(&other)
        .try_normalize(1e-12)
        .unwrap_or_else(Vector3::x);
    [first, axis.cross(&first)]
}

impl Alignment {
    /// Wrist angles of a sample: the hand against its neutral pose.
    pub fn angles(&self, oriented: &Oriented) -> IsbAngles {
        let world_from_hand = oriented.world_from_sensor * self.sensor_from_hand;
        let neutral_from_hand = self.world_from_neutral_hand.inverse() * world_from_hand;
        wrist_angles(&neutral_from_hand, self.side)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_drift_makes_no_jump_where_the_reference_is_moved_along() {
        let axis = Unit::new_normalize(Vector3::new(0.3, -0.7, 0.5));
        let mut tracker = AngleTracker::new(Measure::Turn {
            world_from_reference: UnitQuaternion::identity(),
            axis_in_sensor: axis,
        });
        let mut before: Option<AnglePoint> = None;
        for step in 0..2400 {
            let t_s = f64::from(step) * 0.05;
            let lifted_rad = 0.3 * (1.0 - (0.8 * t_s).cos());
            let drift_rad = (1.3 * t_s).to_radians();
            let point = tracker.push(&Oriented {
                t_s,
                world_from_sensor: UnitQuaternion::from_axis_angle(&Vector3::z_axis(), drift_rad)
                    * UnitQuaternion::from_axis_angle(&axis, lifted_rad),
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: Vector3::zeros(),
            });
            if let Some(before) = before {
                assert!(
                    (point.measured_deg - before.measured_deg).abs() < 2.0,
                    "{t_s} s"
                );
                for (now, then) in point.across_deg.iter().zip(before.across_deg) {
                    assert!((now - then).abs() < 2.0, "{t_s} s: {then} to {now}");
                }
            }
            before = Some(point);
        }
    }

    #[test]
    fn a_turn_about_a_tilted_axis_is_followed_past_three_whole_turns() {
        let axis = Unit::new_normalize(Vector3::new(0.3, -0.7, 0.5));
        let world_from_reference = UnitQuaternion::from_euler_angles(0.4, -1.0, 2.0);
        let mut tracker = AngleTracker::new(Measure::Turn {
            world_from_reference,
            axis_in_sensor: axis,
        });
        for step in 0..1200 {
            let true_deg = step as f64;
            let turn = UnitQuaternion::from_axis_angle(&axis, true_deg.to_radians());
            let point = tracker.push(&Oriented {
                t_s: step as f64 * 0.01,
                world_from_sensor: world_from_reference * turn,
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: Vector3::zeros(),
            });
            assert!((point.measured_deg - true_deg).abs() < 1e-6, "{step}");
            assert!(point.across_deg[0].hypot(point.across_deg[1]) < 1e-6);
        }
    }
}
