//! A set of live use as the forearm sees it.
//!
//! Ours. The heading between the two units shows itself while the set goes on, and is found a little
//! otherwise each time it is sought. While nothing is followed yet, all that is kept is seen anew with
//! it; once the angle is followed, what is taken off goes over to the new heading within a second or
//! two, so that no jump passes for a movement.

use nalgebra::{UnitQuaternion, Vector3};

use super::forearm::{AngleBy, ForearmPart, OneSensorWhy, STILL_DEG, angle_sd_deg, blind_to};
use super::set::total_s;
use super::sets::SetSpec;
use crate::joint::two::{Anew, ForearmPose, ForearmTrack, Heading, in_hand_world};
use crate::orientation::Oriented;

/// What is left of a jump after so long is a third of it, seconds.
const GOES_OVER_S: f64 = 1.0;
/// A jump that is gone over to by so much is as good as over, degrees.
const SETTLED_DEG: f64 = 2.0;
/// Time between two poses that the travel is taken from, seconds,
const TRAVEL_EVERY_S: f64 = 0.5;
/// which lie no farther apart than this: what the unit's own heading drifts is no travel.
const TRAVEL_WITHIN_S: f64 = 30.0;

/// Both units at one moment: the hand, and the forearm where it is known.
pub type Both = (Oriented, Option<ForearmPose>);

/// The forearm at a moment of the hand, and what is known between the two.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'a> {
    /// The forearm's unit; `None` where it is not known.
    pub pose: Option<ForearmPose>,
    /// The heading between the units; `None` where it is not known.
    pub heading: Option<&'a Heading>,
    /// The heading was found anew at this moment.
    pub anew: Option<Anew>,
    /// By how much the forearm's clock is set on in all, seconds.
    pub clock_s: f64,
    /// The forearm's way, by its own clock.
    pub track: ForearmTrack<'a>,
}

/// The sight of a set.
#[derive(Debug, Clone)]
pub struct LiveSight {
    /// Why one sensor has to do, for this movement.
    pub blind: Option<OneSensorWhy>,
    /// The pose that angles are against, and its time.
    reference: Option<(f64, ForearmPose)>,
    /// The forearm as it was heard last.
    held: Option<(f64, ForearmPose)>,
    /// The turn taken off last, and what is left of a jump.
    turn: UnitQuaternion<f64>,
    left: UnitQuaternion<f64>,
    latest_s: f64,
    used_from_s: Option<f64>,
    /// First and last time of each stretch in which the forearm was not heard.
    pub unheard_s: Vec<[f64; 2]>,
    unheard: bool,
    poses: Vec<(f64, UnitQuaternion<f64>)>,
    farthest_deg: f64,
    sd_deg: Option<f64>,
    drift_sd_deg: f64,
    upright_ratio: f64,
    clock_s: f64,
    /// Whether the forearm's turn is taken off at the moment.
    takes_off: bool,
}

impl LiveSight {
    /// The sight of a set that begins, against a neutral pose where there is one.
    pub fn new(spec: &SetSpec, neutral: Option<(f64, ForearmPose)>) -> LiveSight {
        LiveSight {
            blind: blind_to(spec.movement),
            reference: neutral,
            held: None,
            turn: UnitQuaternion::identity(),
            left: UnitQuaternion::identity(),
            latest_s: f64::NEG_INFINITY,
            used_from_s: None,
            unheard_s: Vec::new(),
            unheard: false,
            poses: Vec::new(),
            farthest_deg: 0.0,
            sd_deg: None,
            drift_sd_deg: 180.0,
            upright_ratio: 1.0,
            clock_s: 0.0,
            takes_off: false,
        }
    }

    /// The hand as the forearm sees it. While `followed` no jump is made.
    pub fn see(&mut self, hand: &Oriented, beside: &Beside, followed: bool) -> Oriented {
        let heard_again = self.hear(hand.t_s, beside);
        self.clock_s = beside.clock_s;
        if let Some(heading) = beside.heading.filter(|_| beside.anew.is_some()) {
            self.take_told(heading);
        }
        let target = self.turn_of(self.held, beside.heading);
        self.takes_off = target.is_some();
        let jumps = beside.anew.is_some() || heard_again;
        self.left = if !followed {
            UnitQuaternion::identity()
        } else if jumps {
            target.unwrap_or_default().inverse() * self.turn
        } else {
            let passed_s = (hand.t_s - self.latest_s).max(0.0);
            let part = (-passed_s / GOES_OVER_S).exp();
            UnitQuaternion::from_scaled_axis(self.left.scaled_axis() * part)
        };
        self.latest_s = hand.t_s;
        self.turn = target.unwrap_or_default() * self.left;
        let mut seen = Oriented {
            world_from_sensor: self.turn.inverse() * hand.world_from_sensor,
            ..*hand
        };
        if let (Some(_), Some(pose), Some(heading)) = (target, beside.pose, beside.heading) {
            self.used_from_s.get_or_insert(hand.t_s);
            let world_from_forearm = in_hand_world(&pose, heading.at_rad(hand.t_s));
            seen.gyro_in_sensor_rad_s -=
                hand.world_from_sensor.inverse() * (world_from_forearm * pose.gyro_in_sensor_rad_s);
        }
        seen
    }

    /// All of it anew with a heading that is known now.
    pub fn see_again(&self, kept: &[Both], heading: Option<&Heading>) -> Vec<Oriented> {
        let mut held = None;
        kept.iter()
            .map(|(hand, pose)| {
                held = pose.map(|pose| (hand.t_s, pose)).or(held);
                let turn = self.turn_of(held, heading).unwrap_or_default();
                Oriented {
                    world_from_sensor: turn.inverse() * hand.world_from_sensor,
                    ..*hand
                }
            })
            .collect()
    }

    /// Hears the forearm, or does not; tells whether it is heard again.
    fn hear(&mut self, t_s: f64, beside: &Beside) -> bool {
        let Some(pose) = beside.pose else {
            // Nothing is missed where nothing is taken off.
            if self.used() {
                match self.unheard_s.last_mut().filter(|_| self.unheard) {
                    Some([_, end_s]) => *end_s = t_s,
                    None => self.unheard_s.push([t_s, t_s]),
                }
            }
            self.unheard = true;
            return false;
        };
        let again = std::mem::take(&mut self.unheard) && self.held.is_some();
        self.held = Some((t_s, pose));
        self.reference.get_or_insert((t_s, pose));
        let due = self
            .poses
            .last()
            .is_none_or(|(last_s, _)| t_s - last_s >= TRAVEL_EVERY_S);
        if due {
            let own = pose.world_from_sensor;
            self.poses
                .retain(|(other_s, _)| t_s - other_s <= TRAVEL_WITHIN_S);
            for (_, other) in &self.poses {
                self.farthest_deg = self.farthest_deg.max(own.angle_to(other).to_degrees());
            }
            self.poses.push((t_s, own));
        }
        again
    }

    /// The forearm's turn since the reference pose, in the hand's world.
    fn turn_of(
        &self,
        held: Option<(f64, ForearmPose)>,
        heading: Option<&Heading>,
    ) -> Option<UnitQuaternion<f64>> {
        let (heading, None) = (heading?, self.blind) else {
            return None;
        };
        let (t_s, pose) = held?;
        let (reference_s, reference) = self.reference?;
        let now = in_hand_world(&pose, heading.at_rad(t_s));
        Some(now * in_hand_world(&reference, heading.at_rad(reference_s)).inverse())
    }

    fn take_told(&mut self, heading: &Heading) {
        let (Some(told), Some(hinge)) = (heading.bouts.last(), heading.hinges.last()) else {
            return;
        };
        self.sd_deg = Some(told.sd_deg);
        self.drift_sd_deg = told.drift_sd_deg;
        if let Some((_, pose)) = self.held {
            let axis_in_world = pose.world_from_sensor * hinge.axis_in_forearm_sensor;
            self.upright_ratio = axis_in_world.dot(&Vector3::z()).abs();
        }
    }

    /// Whether the forearm's turn is taken off, and not still going over to another heading.
    pub fn settled(&self) -> bool {
        self.takes_off && self.left.angle() <= SETTLED_DEG.to_radians()
    }

    /// Whether angles are those of the hand against the forearm.
    pub fn used(&self) -> bool {
        self.blind.is_none() && self.used_from_s.is_some()
    }

    /// What is said of the forearm at the set's end.
    pub fn part(&self) -> ForearmPart {
        let why = match (self.blind, self.used_from_s) {
            (Some(why), _) => Some(why),
            _ if self.held.is_none() => Some(OneSensorWhy::NotHeard),
            (None, Some(_)) => None,
            (None, None) if self.farthest_deg < STILL_DEG => Some(OneSensorWhy::ForearmStill),
            (None, None) => Some(OneSensorWhy::HeadingUnknown),
        };
        let travel_deg = self.held.map(|_| self.farthest_deg);
        let unheard_s = total_s(self.unheard_s.iter().map(|[from, to]| to - from));
        let part = match why {
            Some(why) => ForearmPart::one_sensor(why),
            None => ForearmPart {
                angle_by: AngleBy::TwoSensors,
                why: None,
                used_from_s: self.used_from_s,
                angle_sd_deg: self.sd_deg.map(|sd_deg| {
                    angle_sd_deg(
                        self.farthest_deg,
                        sd_deg,
                        self.upright_ratio,
                        self.drift_sd_deg,
                    )
                }),
                ..ForearmPart::one_sensor(OneSensorWhy::NotHeard)
            },
        };
        ForearmPart {
            travel_deg,
            heading_sd_deg: self.sd_deg,
            clock_offset_s: (self.clock_s != 0.0).then_some(self.clock_s),
            unheard_s,
            ..part
        }
    }
}
