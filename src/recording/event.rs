//! What the person, the sensor and the program said while recording. Windows and answers, no
//! conclusions.
//!
//! Every part of a detail may be missing (`None`): a recorder writes what it knows.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::movement::{LoadShape, Movement, Posture, Side};
use crate::routine::Tempo;
use crate::sample::Place;

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// Seconds since the recording's start, on this computer's clock.
    pub t_s: f64,
    /// What happened.
    pub kind: EventKind,
}

/// What happened, with its detail.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum EventKind {
    /// A sensor was connected.
    Sensor(SensorInfo),
    /// How the sensor's clock maps to the recording's.
    Clock(ClockInfo),
    /// When the person held still and moved to calibrate.
    Calibration(Calibration),
    /// A set began.
    SetStart(SetStart),
    /// A set ended.
    SetEnd(SetEnd),
    /// An item of the routine began.
    ItemStart(ItemMark),
    /// An item of the routine ended.
    ItemEnd(ItemMark),
    /// An answer about pain.
    Pain(Symptom),
    /// An answer about tingling.
    Tingling(Symptom),
    /// An answer about numbness.
    Numbness(Symptom),
    /// The person stopped the session.
    Stop(Reason),
    /// The person did not begin.
    Declined(Reason),
    /// Answers about the night before.
    Night(Night),
    /// An item or a session was skipped.
    Skipped(Reason),
    /// Samples are missing.
    Gap(Gap),
    /// The link to a sensor was lost.
    SensorLost(PlaceMark),
    /// The link to a sensor came back.
    SensorBack(PlaceMark),
    /// Charge of a sensor's battery.
    Battery(Battery),
    /// Words of the person or the clinician.
    Note(Note),
    /// A visit to the clinic: [`super::Visit`] reads it.
    Visit(Value),
    /// An event of a newer writer: kept and ignored.
    Unknown {
        /// The event's word.
        name: String,
        /// Its detail.
        detail: Value,
    },
}

/// A sensor, at each connection.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SensorInfo {
    /// Where it is worn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Its advertised name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Nominal sampling rate, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rate_hz: Option<f64>,
    /// Accelerometer range, ± g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub accel_range_g: Option<f64>,
    /// Gyroscope range, ± deg/s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gyro_range_deg_s: Option<f64>,
    /// Firmware version.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub firmware: Option<String>,
}

/// Recording time = sensor time + `offset_s`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ClockInfo {
    /// Which sensor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// The constant added to the sensor's clock, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset_s: Option<f64>,
    /// How much faster the sensor's clock runs than this computer's, parts per million.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drift_ppm: Option<f64>,
}

/// The windows of a calibration.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// Which sensor; `None` is the hand's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Which hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// The movement made in the move window, lift first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub movement: Option<Movement>,
    /// How the arm was held.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub posture: Option<Posture>,
    /// Start of the still window, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub still_start_s: Option<f64>,
    /// End of the still window, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub still_end_s: Option<f64>,
    /// Start of the movement, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub move_start_s: Option<f64>,
    /// End of the movement, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub move_end_s: Option<f64>,
}

impl Calibration {
    /// It was left out: no calibration of that side from before holds any more.
    pub fn left_out(place: Place, side: Side) -> Calibration {
        Calibration {
            place: Some(place),
            side: Some(side),
            ..Calibration::default()
        }
    }

    /// Whether it has no windows at all, and so says that there is none.
    pub fn is_left_out(&self) -> bool {
        [
            self.still_start_s,
            self.still_end_s,
            self.move_start_s,
            self.move_end_s,
        ]
        .iter()
        .all(Option::is_none)
    }

    /// Start and end of the still window in seconds, if both are known and in order.
    pub fn still_s(&self) -> Option<(f64, f64)> {
        window(self.still_start_s, self.still_end_s)
    }

    /// Start and end of the movement in seconds, if both are known and in order.
    pub fn move_s(&self) -> Option<(f64, f64)> {
        window(self.move_start_s, self.move_end_s)
    }
}

fn window(start_s: Option<f64>, end_s: Option<f64>) -> Option<(f64, f64)> {
    start_s
        .zip(end_s)
        .filter(|(start_s, end_s)| start_s < end_s)
}

/// An item of the routine: by its number, from 1, or by a name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum ItemRef {
    /// Number in the routine.
    Number(u32),
    /// Name.
    Name(String),
}

/// The beginning of a set: what is to be done in it.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SetStart {
    /// The item of the routine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub item: Option<ItemRef>,
    /// The movement.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub movement: Option<Movement>,
    /// Which hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Load, kg; 0 is the empty hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_kg: Option<f64>,
    /// Where the mass of the load lies.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_shape: Option<LoadShape>,
    /// How the arm is held.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub posture: Option<Posture>,
    /// Prescribed tempo.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<Tempo>,
    /// Prescribed repetitions.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub target_reps: Option<u32>,
    /// Whether it is a direction of a range test: empty hand, no tempo, neither phase eccentric.
    /// Written only where it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub range_test: bool,
}

/// Why a set ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SetEndReason {
    /// The prescribed repetitions were done.
    Reached,
    /// The person was tired.
    Tired,
    /// Nothing moved for a while.
    Idle,
    /// The person stopped.
    Stop,
    /// The person skipped the rest.
    Skip,
    /// The sensor was lost.
    Lost,
}

/// The end of a set.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct SetEnd {
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<SetEndReason>,
    /// Whether the announcement was taken back before any lift: there was no set. Recordings of
    /// earlier programs do not say it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub taken_back: bool,
}

/// An item that begins or ends.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct ItemMark {
    /// The item of the routine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub item: Option<ItemRef>,
}

/// Which time an answer is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    /// Before the exercise: the day's start.
    Before,
    /// Between or within sets.
    During,
    /// After the last set.
    After,
    /// The morning after.
    NextMorning,
}

/// An answer on the scale from 0 (none) to 10.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Symptom {
    /// The answer, 0 to 10.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<Scale>,
    /// Which hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Which time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<When>,
    /// The session or item that it is about, where that is not this one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<String>,
}

/// A whole number from 0 to 10.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Scale(u8);

impl Scale {
    /// The answer `value`, if it is 0 to 10.
    pub fn new(value: u8) -> Option<Scale> {
        (value <= 10).then_some(Scale(value))
    }

    /// The answer, 0 to 10.
    pub fn value(self) -> u8 {
        self.0
    }
}

impl TryFrom<u8> for Scale {
    type Error = &'static str;

    fn try_from(value: u8) -> Result<Scale, Self::Error> {
        Scale::new(value).ok_or("expected 0 to 10")
    }
}

impl From<Scale> for u8 {
    fn from(scale: Scale) -> u8 {
        scale.0
    }
}

/// A reason in a word or in the person's own words.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Reason {
    /// The reason.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// The night before.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Night {
    /// Woken by the hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub woke: Option<bool>,
    /// Splint worn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub splint: Option<bool>,
    /// Things dropped the day before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dropped: Option<bool>,
}

/// Samples that are missing.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Which sensor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Last time before the gap, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub start_s: Option<f64>,
    /// First time after the gap, seconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end_s: Option<f64>,
    /// Samples lost, if the sensor counts them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lost_count: Option<u64>,
}

/// Which sensor.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct PlaceMark {
    /// Where it is worn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

/// Charge of a battery.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Battery {
    /// Which sensor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
    /// Charge, 0 to 100.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub percent: Option<u8>,
}

/// Words.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Note {
    /// The words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub text: Option<String>,
}

/// Writes down, once, which word stands for which kind of event.
macro_rules! words {
    ($($word:literal => $kind:ident),* $(,)?) => {
        impl EventKind {
            /// The word used in recordings.
            pub fn name(&self) -> &str {
                match self {
                    $(EventKind::$kind(_) => $word,)*
                    EventKind::Unknown { name, .. } => name,
                }
            }

            /// The detail as written in recordings.
            pub fn detail(&self) -> Value {
                match self {
                    $(EventKind::$kind(detail) => serde_json::to_value(detail).unwrap_or_default(),)*
                    EventKind::Unknown { detail, .. } => detail.clone(),
                }
            }

            /// The event of that word and detail. Parts of the detail that do not fit are left
            /// out and named.
            pub(super) fn read(name: &str, detail: Value, misfits: &mut Vec<String>) -> EventKind {
                match name {
                    $($word => EventKind::$kind(fitting(detail, misfits)),)*
                    _ => EventKind::Unknown { name: name.to_owned(), detail },
                }
            }
        }
    };
}

words! {
    "sensor" => Sensor,
    "clock" => Clock,
    "calibration" => Calibration,
    "set-start" => SetStart,
    "set-end" => SetEnd,
    "item-start" => ItemStart,
    "item-end" => ItemEnd,
    "pain" => Pain,
    "tingling" => Tingling,
    "numbness" => Numbness,
    "stop" => Stop,
    "declined" => Declined,
    "night" => Night,
    "skipped" => Skipped,
    "gap" => Gap,
    "sensor-lost" => SensorLost,
    "sensor-back" => SensorBack,
    "battery" => Battery,
    "note" => Note,
    "visit" => Visit,
}

/// The detail as `T`; where it does not fit as a whole, without the keys that do not fit.
fn fitting<T: serde::de::DeserializeOwned + Default>(
    detail: Value,
    misfits: &mut Vec<String>,
) -> T {
    if let Ok(whole) = T::deserialize(&detail) {
        return whole;
    }
    let Value::Object(parts) = detail else {
        return T::default();
    };
    let mut fit = serde_json::Map::new();
    for (key, value) in parts {
        let part = Value::Object([(key.clone(), value.clone())].into_iter().collect());
        match T::deserialize(&part) {
            Ok(_) => {
                fit.insert(key, value);
            }
            Err(error) => misfits.push(format!("{key}: {error}")),
        }
    }
    T::deserialize(Value::Object(fit)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use serde_json::json;

    #[test]
    fn a_part_that_does_not_fit_is_named_and_the_rest_is_kept() {
        let mut misfits = Vec::new();
        let detail =
            json!({"movement": "wrist-flexion", "side": "up", "load_kg": 1, "tempo": "4-0-2-1"});
        let kind = EventKind::read("set-start", detail, &mut misfits);
        let EventKind::SetStart(set) = kind else {
            unreachable!("set-start is known");
        };
        assert_eq!(set.movement, Some(Movement::WristFlexion));
        assert_eq!(set.side, None);
        assert_eq!(set.load_kg, Some(1.0));
        assert_eq!(set.tempo, Some("4-0-2-1".parse().unwrap()));
        assert_eq!(misfits.len(), 1);
        assert!(misfits.iter().all(|misfit| misfit.starts_with("side")));
    }

    #[test]
    fn unknown_parts_and_events_of_newer_writers_are_ignored() {
        let mut misfits = Vec::new();
        let kind = EventKind::read(
            "set-end",
            json!({"reason": "tired", "mood": 3}),
            &mut misfits,
        );
        assert_eq!(
            kind,
            EventKind::SetEnd(SetEnd {
                reason: Some(SetEndReason::Tired),
                ..SetEnd::default()
            })
        );
        let kind = EventKind::read("juggling", json!({"balls": 3}), &mut misfits);
        assert_eq!(
            (kind.name(), kind.detail()),
            ("juggling", json!({"balls": 3}))
        );
        assert!(misfits.is_empty());
    }

    #[test]
    fn an_answer_outside_the_scale_is_no_answer() {
        let mut misfits = Vec::new();
        let kind = EventKind::read("pain", json!({"value": 11, "side": "left"}), &mut misfits);
        let EventKind::Pain(pain) = kind else {
            unreachable!("pain is known");
        };
        assert_eq!((pain.value, pain.side), (None, Some(Side::Left)));
        assert_eq!(misfits.len(), 1);
    }
}
