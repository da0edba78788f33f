//! What the unit on the forearm adds to a set, and where it cannot.
//!
//! Ours. With it the angle is that of the hand against the forearm, wherever the movement lies
//! between the two units. It does not in a turn of the forearm, since a unit close to the wrist
//! turns along, nor in circles of the arm: there the angle stays that of one unit, and the set says
//! so.

use serde::{Deserialize, Serialize};

use super::sets::SetSpec;
use crate::movement::{JointAxis, Movement};
use crate::orientation::Oriented;
use crate::reps::stated::NORMAL_95;
use crate::reps::turns::circles;
use crate::reps::{Doubt, Repetition};

/// A forearm that travels less keeps still, degrees.
pub const STILL_DEG: f64 = 3.0;
/// Angles that the heading may put off by more than this are spoken of, degrees.
const WORTH_SAYING_DEG: f64 = 2.5;
/// Silences of the forearm's unit are spoken of from here, seconds.
const UNHEARD_S: f64 = 0.5;
/// Clock offsets are spoken of from here, seconds.
const OFFSET_SAID_S: f64 = 0.05;
/// What the heading puts off in all angles of a set, a range meets of it so much, 1/(2 sqrt(3)): two
/// moments of a forearm that swings to and fro lie half of its travel apart (root mean square), and a
/// third of the square falls on the measured axis. A model of ours; the benchmark counts what it holds.
const OF_HEADING_RATIO: f64 = 0.289;
/// In a movement without a name, the hand's turning has to be this share against the forearm.
const OWN_RATIO: f64 = 0.35;

/// By what the angles of a set are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AngleBy {
    /// The hand against the forearm.
    TwoSensors,
    /// The hand alone.
    OneSensor,
}

impl AngleBy {
    /// The word used in traces and exports.
    pub fn name(self) -> &'static str {
        match self {
            AngleBy::TwoSensors => "two-sensors",
            AngleBy::OneSensor => "one-sensor",
        }
    }
}

/// Why the forearm's unit takes nothing off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OneSensorWhy {
    /// In a turn of the forearm its unit turns along.
    TurnsAlong,
    /// The arm goes round as a whole.
    Circles,
    /// The forearm did the movement; the wrist hardly moved.
    MovesAlong,
    /// It was not heard.
    NotHeard,
    /// The forearm kept still: there is nothing to take off.
    ForearmStill,
    /// The motion does not show how the two units lie to each other.
    HeadingUnknown,
    /// What the two units read is no motion of one wrist.
    NotOneJoint,
}

/// What the forearm's unit adds to a set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ForearmPart {
    /// By what the angles are.
    pub angle_by: AngleBy,
    /// Why by one sensor.
    pub why: Option<OneSensorWhy>,
    /// From when on by two, seconds; live the heading has to show itself first.
    pub used_from_s: Option<f64>,
    /// How far apart the forearm's poses within the set lie, degrees.
    pub travel_deg: Option<f64>,
    /// How well the heading between both units is known, degrees (standard deviation).
    pub heading_sd_deg: Option<f64>,
    /// By how much the heading may put the angles off, degrees (standard deviation).
    pub angle_sd_deg: Option<f64>,
    /// Added to the forearm's times, seconds; `None` where the motion does not show an offset.
    pub clock_offset_s: Option<f64>,
    /// So long the forearm's unit was not heard within the set, seconds.
    pub unheard_s: f64,
}

impl ForearmPart {
    /// One sensor, for this reason.
    pub fn one_sensor(why: OneSensorWhy) -> ForearmPart {
        ForearmPart {
            angle_by: AngleBy::OneSensor,
            why: Some(why),
            used_from_s: None,
            travel_deg: None,
            heading_sd_deg: None,
            angle_sd_deg: None,
            clock_offset_s: None,
            unheard_s: 0.0,
        }
    }

    /// Whether the angles are those of two sensors.
    pub fn two_sensors(&self) -> bool {
        self.angle_by == AngleBy::TwoSensors
    }

    /// The part in a sentence, for people.
    pub fn words(&self) -> String {
        let travel = self.travel_deg.map_or(String::new(), |deg| {
            format!("; the forearm itself travelled {deg:.0} deg")
        });
        let said = match self.why {
            None => {
                let off = self.angle_sd_deg.map_or(String::new(), |deg| {
                    format!(
                        "; the heading between them puts angles off by {deg:.1} deg (standard deviation)"
                    )
                });
                return format!("Two sensors: the hand against the forearm{travel}{off}.");
            }
            Some(OneSensorWhy::TurnsAlong) => {
                "the forearm's unit turns along with this movement and cannot measure it"
            }
            Some(OneSensorWhy::Circles) => "the arm goes round as a whole",
            Some(OneSensorWhy::MovesAlong) => {
                "the forearm did the movement, the wrist hardly moved"
            }
            Some(OneSensorWhy::NotHeard) => "the forearm's unit was not heard",
            Some(OneSensorWhy::ForearmStill) => {
                "the forearm kept still, there is nothing to take off"
            }
            Some(OneSensorWhy::HeadingUnknown) => {
                "the motion does not show how the two units lie to each other"
            }
            Some(OneSensorWhy::NotOneJoint) => "what the two units read is no motion of one wrist",
        };
        format!("One sensor's angles: {said}{travel}.")
    }
}

/// Why a movement cannot be seen between the two units, whatever they read.
pub fn blind_to(movement: Option<Movement>) -> Option<OneSensorWhy> {
    match movement {
        Some(Movement::ArmCircles) => Some(OneSensorWhy::Circles),
        Some(movement) if movement.joint_axis() == Some(JointAxis::Rotation) => {
            Some(OneSensorWhy::TurnsAlong)
        }
        _ => None,
    }
}

/// By how much the heading may put angles off, degrees: the forearm's travel is taken off about an
/// axis that is off by the heading's error; and what turns about the vertical drifts with it.
pub fn angle_sd_deg(travel_deg: f64, sd_deg: f64, upright_ratio: f64, drift_sd_deg: f64) -> f64 {
    let by_travel_deg = travel_deg * 2.0 * (0.5 * sd_deg.min(180.0)).to_radians().sin();
    by_travel_deg.hypot(upright_ratio * drift_sd_deg)
}

/// Why a movement without a name is none of the wrist.
pub fn unnamed(hand: &[Oriented], seen: &[Oriented]) -> Option<OneSensorWhy> {
    if circles(hand).goes_round {
        return Some(OneSensorWhy::Circles);
    }
    moves_along(hand, seen)
}

/// Whether hand and forearm move as one, and not as a wrist moves.
pub fn moves_along(hand: &[Oriented], seen: &[Oriented]) -> Option<OneSensorWhy> {
    (turned_rad(seen) < OWN_RATIO * turned_rad(hand)).then_some(OneSensorWhy::MovesAlong)
}

/// The way that is turned, in steps of a tenth of a second.
fn turned_rad(oriented: &[Oriented]) -> f64 {
    let mut sum = 0.0;
    let mut last: Option<&Oriented> = None;
    for own in oriented {
        match last {
            Some(before) if own.t_s - before.t_s < 0.1 => continue,
            Some(before) => sum += before.world_from_sensor.angle_to(&own.world_from_sensor),
            None => {}
        }
        last = Some(own);
    }
    sum
}

/// Doubts the repetitions in which the forearm's unit was not heard: how far they went is unknown.
pub fn doubt_unheard(unheard_s: &[[f64; 2]], reps: &mut [Repetition]) {
    for repetition in reps {
        let within = |[from_s, to_s]: &[f64; 2]| {
            *from_s <= repetition.lower_end_s && *to_s >= repetition.lift_start_s
        };
        if unheard_s.iter().any(within) {
            repetition.doubt(Doubt::ForearmUnheard);
            repetition.range_error_deg = None;
        }
    }
}

/// Ranges against the forearm may be off by what the heading between both units leaves, too: by
/// a share of what the set's angles are. Where the forearm was seen to move and cannot be
/// taken off, it is not known how much of a range is the wrist's.
pub fn widen_by_forearm(part: &ForearmPart, reps: &mut [Repetition]) {
    let sd_deg = match part.why {
        None => part.angle_sd_deg,
        Some(OneSensorWhy::HeadingUnknown | OneSensorWhy::NotOneJoint) => None,
        Some(_) => return,
    };
    for repetition in reps {
        let by_heading_deg = sd_deg.map(|sd_deg| NORMAL_95 * OF_HEADING_RATIO * sd_deg);
        let both = repetition.range_error_deg.zip(by_heading_deg);
        repetition.range_error_deg = both.map(|(own, by_heading)| own.hypot(by_heading));
    }
}

/// What a reader should know of a set's forearm.
pub fn warnings_of(spec: &SetSpec, part: &ForearmPart, unheard_s: &[[f64; 2]]) -> Vec<String> {
    let set = format!("set at {:.1} s", spec.start_s);
    let mut warnings = Vec::new();
    for [from_s, to_s] in unheard_s {
        if part.two_sensors() && to_s - from_s >= UNHEARD_S {
            warnings.push(format!(
                "{set}: the forearm's unit was not heard from {from_s:.1} to {to_s:.1} s; there the forearm is taken to have kept still, and where it is heard again the angle may jump"
            ));
        }
    }
    match part.why {
        Some(OneSensorWhy::HeadingUnknown) => warnings.push(format!(
            "{set}: the motion does not show how the two units lie to each other; angles are those of the hand's unit alone, and a forearm that moves along is part of them"
        )),
        Some(OneSensorWhy::NotOneJoint) => warnings.push(format!(
            "{set}: what the two units read is no motion of one wrist: their clocks are farther apart than a second, one is worn loosely, or on another arm; angles are those of the hand's unit alone, and a forearm that moves along is part of them"
        )),
        Some(OneSensorWhy::NotHeard) => warnings.push(format!(
            "{set}: the forearm's unit was not heard; angles are those of the hand's unit alone"
        )),
        _ => {}
    }
    if let (true, Some(off_deg)) = (part.two_sensors(), part.angle_sd_deg)
        && off_deg > WORTH_SAYING_DEG
    {
        warnings.push(format!(
            "{set}: the heading between the two units is known to {:.0} degrees only, which may put angles off by {off_deg:.0} degrees; moving the whole forearm about before the set shows it",
            part.heading_sd_deg.unwrap_or(180.0)
        ));
    }
    if let Some(offset_s) = part.clock_offset_s.filter(|s| s.abs() >= OFFSET_SAID_S) {
        warnings.push(format!(
            "{set}: the two units' clocks are {:.0} ms apart by their motion; this is taken off",
            1000.0 * offset_s.abs()
        ));
    }
    warnings
}
