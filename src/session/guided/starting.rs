//! Whether a hand waits in its start posture, and whether what it does next is a lift.
//!
//! Ours. A shaken hand goes up and comes down within a third of a second, a lift stays up. An arm
//! that goes to scratch or to drink turns the hand as a lift may, but it carries the hand: a wrist
//! moves the sensor up or down by its distance from the joint, an arm by that of the elbow. The way
//! up is the vertical acceleration summed twice from the stillness before it; over a good
//! second a cheap sensor tells it to a few centimetres, afterwards it is not looked at. And a
//! lift turns the hand about the movement's axis, an arm on its way turns it about others as well.
//! A hand that comes to rest elsewhere without a lift had not been in its start posture before.

use nalgebra::{UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};

use crate::orientation::{GAP_S, Oriented};

/// Settings of a set's start.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct StartingParams {
    /// A hand that turns by no more is still, degrees (2.5). Small values keep a trembling hand
    /// waiting, large ones take the end of the way to the posture for stillness.
    pub still_deg: f64,
    /// Stillness that makes ready, seconds (1).
    pub still_s: f64,
    /// Travel that begins the set, degrees (8),
    pub begins_deg: f64,
    /// where it lasts for so long, seconds (0.5): a shaken hand is back by then.
    pub begins_s: f64,
    /// A hand that goes up or down by more is carried by the arm, metres (0.14): no wrist moves a
    /// sensor so far, and no swaying forearm.
    pub carried_m: f64,
    /// The way up is looked at for so long after the stillness, seconds (1.5).
    pub looks_s: f64,
    /// A hand turns by at most so many times the travel of its lift (1.25): the wrist's own axis is
    /// oblique,
    pub turn_ratio: f64,
    /// and so much besides, degrees (8).
    pub turn_deg: f64,
    /// A hand that is still elsewhere by more than this begins anew from there, degrees (8).
    pub elsewhere_deg: f64,
}

impl Default for StartingParams {
    fn default() -> Self {
        StartingParams {
            still_deg: 2.5,
            still_s: 1.0,
            begins_deg: 8.0,
            begins_s: 0.5,
            carried_m: 0.14,
            looks_s: 1.5,
            turn_ratio: 1.25,
            turn_deg: 8.0,
            elsewhere_deg: 8.0,
        }
    }
}

/// A hand before its set, followed sample by sample.
#[derive(Debug, Clone)]
pub struct Starting {
    params: StartingParams,
    /// Where the stillness began, and when.
    still: Option<(UnitQuaternion<f64>, f64)>,
    latest_s: f64,
    /// Vertical acceleration of the stillness: gravity and the sensor's own error, m/s².
    quiet_m_s2: f64,
    /// Speed upwards, m/s, and height, metres, against the stillness,
    speed_m_s: f64,
    height_m: f64,
    /// which was left then, seconds.
    away_since_s: Option<f64>,
    /// The hand when the set was announced, and now.
    announced: Option<UnitQuaternion<f64>>,
    pose: UnitQuaternion<f64>,
    lifted_since_s: Option<f64>,
}

impl Starting {
    /// With nothing seen.
    pub fn new(params: StartingParams) -> Starting {
        Starting {
            params,
            still: None,
            latest_s: f64::NEG_INFINITY,
            quiet_m_s2: crate::sample::GRAVITY_M_S2,
            speed_m_s: 0.0,
            height_m: 0.0,
            away_since_s: None,
            announced: None,
            pose: UnitQuaternion::identity(),
            lifted_since_s: None,
        }
    }

    /// Takes the next orientation.
    pub fn push(&mut self, now: &Oriented) {
        let dt_s = now.t_s - self.latest_s;
        if !(0.0..=GAP_S).contains(&dt_s) {
            *self = Starting {
                announced: self.announced,
                quiet_m_s2: self.quiet_m_s2,
                latest_s: now.t_s,
                ..Starting::new(self.params)
            };
            return;
        }
        self.latest_s = now.t_s;
        let pose = now.world_from_sensor;
        self.pose = pose;
        let (at, since_s) = *self.still.get_or_insert((pose, now.t_s));
        if at.angle_to(&pose).to_degrees() > self.params.still_deg {
            self.still = Some((pose, now.t_s));
        }
        let up_m_s2 = (pose * now.accel_in_sensor_m_s2).dot(&Vector3::z());
        self.speed_m_s += dt_s * (up_m_s2 - self.quiet_m_s2);
        self.height_m += dt_s * self.speed_m_s;
        if self.still_for_s() >= QUIET_S {
            let settled_s = (now.t_s - since_s).min(1.0);
            // The beginning of a motion is no error of the sensor.
            let error_m_s2 = (up_m_s2 - self.quiet_m_s2).clamp(-ERROR_M_S2, ERROR_M_S2);
            self.quiet_m_s2 += dt_s / settled_s.max(dt_s) * error_m_s2;
            // What is not motion fades; the beginning of one is not lost. What was summed on the way
            // here is worth nothing.
            let arrives = self.away_since_s.is_some();
            let kept = if arrives {
                0.0
            } else {
                (-dt_s / QUIET_S).exp()
            };
            self.speed_m_s *= kept;
            self.height_m *= kept;
            self.away_since_s = None;
        } else {
            self.away_since_s.get_or_insert(now.t_s);
        }
    }

    /// For how long the hand has been still, seconds.
    pub fn still_for_s(&self) -> f64 {
        self.still
            .map_or(0.0, |(_, since_s)| self.latest_s - since_s)
    }

    /// Whether it has been still for long enough.
    pub fn is_still(&self) -> bool {
        self.still_for_s() >= self.params.still_s
    }

    /// Whether the arm carries the hand away from where it was still.
    pub fn is_carried(&self) -> bool {
        self.away_since_s.is_some_and(|since_s| {
            self.latest_s - since_s <= self.params.looks_s
                && self.height_m.abs() > self.params.carried_m
        })
    }

    /// The set is announced for a hand as it is now.
    pub fn announced(&mut self) {
        self.announced = Some(self.pose);
        self.lifted_since_s = None;
    }

    fn turned_deg(&self) -> f64 {
        self.turned_to_deg(&self.pose)
    }

    /// How far a hand that is held so has turned since the announcement, about whichever axis,
    /// degrees.
    pub fn turned_to_deg(&self, now: &UnitQuaternion<f64>) -> f64 {
        self.announced
            .map_or(0.0, |pose| pose.angle_to(now).to_degrees())
    }

    /// Whether the hand, lifted by that much since the announcement, degrees, has come to rest
    /// elsewhere without a lift.
    pub fn is_elsewhere(&self, travel_deg: f64) -> bool {
        travel_deg < self.params.begins_deg
            && self.is_still()
            && self.turned_deg() > self.params.elsewhere_deg
    }

    /// Whether the hand has been lifted so far, degrees, for long enough to begin the set.
    pub fn lifts(&mut self, travel_deg: f64) -> bool {
        let most_deg = self.params.turn_ratio * travel_deg + self.params.turn_deg;
        if travel_deg < self.params.begins_deg || self.turned_deg() > most_deg {
            self.lifted_since_s = None;
            return false;
        }
        let since_s = *self.lifted_since_s.get_or_insert(self.latest_s);
        self.latest_s - since_s >= self.params.begins_s
    }
}

/// A step towards the vertical acceleration of the stillness is for no more than this, m/s²: more is
/// motion.
const ERROR_M_S2: f64 = 0.2;

/// Stillness from which on speed and height fade, and the time in which they do, seconds.
const QUIET_S: f64 = 0.5;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::GRAVITY_M_S2;

    /// Whether a hand is told to be carried that is still for 2 s and then raised in a second, along a
    /// minimum-jerk way, by a sensor with that error.
    fn raised_m(height_m: f64, error_m_s2: f64) -> bool {
        let mut starting = Starting::new(StartingParams::default());
        let mut carried = false;
        for index in 0..350 {
            let t_s = f64::from(index) / 100.0;
            let u = (t_s - 2.0).clamp(0.0, 1.0);
            // The second derivative of u^3 (10 - 15 u + 6 u^2).
            let rises_m_s2 = height_m * (60.0 * u - 180.0 * u * u + 120.0 * u * u * u);
            let turned_rad = 60_f64.to_radians() * u * u * u * (10.0 + u * (6.0 * u - 15.0));
            let pose = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), turned_rad);
            let force = Vector3::z() * (GRAVITY_M_S2 + rises_m_s2 + error_m_s2);
            starting.push(&Oriented {
                t_s,
                world_from_sensor: pose,
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: pose.inverse() * force,
            });
            carried |= starting.is_carried();
        }
        carried
    }

    #[test]
    fn an_arm_carries_the_hand_and_a_wrist_does_not() {
        for error_m_s2 in [-0.1, 0.0, 0.1] {
            // A forearm of 26 cm raised by 60 degrees; a wrist's 9 cm.
            assert!(raised_m(0.26 * 60_f64.to_radians().sin(), error_m_s2));
            assert!(raised_m(-0.2, error_m_s2), "{error_m_s2}");
            assert!(!raised_m(0.09 * 60_f64.to_radians().sin(), error_m_s2));
        }
    }

    #[test]
    fn what_is_up_for_a_third_of_a_second_is_no_lift() {
        let mut starting = Starting::new(StartingParams::default());
        let mut lifted_s = None;
        for index in 0..300 {
            let t_s = f64::from(index) / 100.0;
            let up = (1.0..1.3).contains(&t_s) || t_s >= 2.0;
            let angle_deg = if up { 20.0_f64 } else { 0.0 };
            starting.push(&Oriented {
                t_s,
                world_from_sensor: UnitQuaternion::from_axis_angle(
                    &Vector3::x_axis(),
                    angle_deg.to_radians(),
                ),
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: Vector3::z() * GRAVITY_M_S2,
            });
            if index == 50 {
                starting.announced();
            }
            if starting.lifts(angle_deg) {
                lifted_s.get_or_insert(t_s);
            }
        }
        assert_eq!(lifted_s, Some(2.5));
    }
}
