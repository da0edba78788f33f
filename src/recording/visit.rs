//! A visit to the clinic, as its event holds it: what was measured and asked there, and what was
//! decided, in the clinician's words. Everything may be missing, and missing is not zero.
//!
//! Ours. Source of the three trials: common practice, no source. The bounds only catch slips of the pen;
//! none of them judges a hand. Of a questionnaire the means alone are kept, no item's wording.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::error::shown;
use crate::movement::Side;

/// A visit.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Visit {
    /// The left hand.
    #[serde(skip_serializing_if = "VisitHand::is_empty")]
    pub left: VisitHand,
    /// The right hand.
    #[serde(skip_serializing_if = "VisitHand::is_empty")]
    pub right: VisitHand,
    /// Mean of a questionnaire's symptom items, 1 to 5, higher is worse.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub symptom_mean: Option<f64>,
    /// Mean of a questionnaire's function items, 1 to 5, higher is worse.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub function_mean: Option<f64>,
    /// What was decided.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decision: Option<String>,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// What was found of one hand.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct VisitHand {
    /// Goniometer, active flexion, degrees from the clinical zero; negative where zero is not reached.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flexion_deg: Option<f64>,
    /// Goniometer, active extension, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub extension_deg: Option<f64>,
    /// Goniometer, active radial deviation, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub radial_deviation_deg: Option<f64>,
    /// Goniometer, active ulnar deviation, degrees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ulnar_deviation_deg: Option<f64>,
    /// Goniometer, active pronation, degrees from thumb up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pronation_deg: Option<f64>,
    /// Goniometer, active supination, degrees from thumb up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supination_deg: Option<f64>,
    /// Grip, kg, up to three trials in their order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub grip_kg: Vec<f64>,
    /// Pinch, kg, up to three trials in their order.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pinch_kg: Vec<f64>,
    /// Which pinch, in words, such as key or tip.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pinch_kind: Option<String>,
    /// Sensation, in the clinician's words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sensation: Option<String>,
    /// Strength of the thumb, in the clinician's words, with the scale they use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thumb_strength: Option<String>,
}

/// Trials of a strength test.
pub const TRIALS: usize = 3;
/// Ranges that are taken, degrees.
const RANGE_DEG: (f64, f64) = (-90.0, 150.0);
/// Grips that are taken, kg.
const GRIP_KG: (f64, f64) = (0.0, 120.0);
/// Pinches that are taken, kg.
const PINCH_KG: (f64, f64) = (0.0, 40.0);
/// Means that are taken.
const MEAN: (f64, f64) = (1.0, 5.0);
/// The longest words, letters.
const WORDS_MOST: usize = 2000;

impl VisitHand {
    /// Nothing was found of it.
    pub fn is_empty(&self) -> bool {
        *self == VisitHand::default()
    }

    /// The goniometer's ranges that are known, degrees, by what they are called.
    pub fn ranges_deg(&self) -> Vec<(&'static str, f64)> {
        let all = [
            ("flexion", self.flexion_deg),
            ("extension", self.extension_deg),
            ("radial deviation", self.radial_deviation_deg),
            ("ulnar deviation", self.ulnar_deviation_deg),
            ("pronation", self.pronation_deg),
            ("supination", self.supination_deg),
        ];
        all.into_iter()
            .filter_map(|(name, range)| Some((name, range?)))
            .collect()
    }

    fn problem(&self, side: Side) -> Option<String> {
        let hand = side.name();
        for (name, range_deg) in self.ranges_deg() {
            if let Some(wrong) = outside(range_deg, RANGE_DEG, "degrees") {
                return Some(format!("{hand} {name} {wrong}"));
            }
        }
        for (name, trials_kg, bounds) in [
            ("grip", &self.grip_kg, GRIP_KG),
            ("pinch", &self.pinch_kg, PINCH_KG),
        ] {
            if trials_kg.len() > TRIALS {
                let count = trials_kg.len();
                return Some(format!(
                    "{hand} {name} has {count} trials; expected at most {TRIALS}"
                ));
            }
            for trial_kg in trials_kg {
                if let Some(wrong) = outside(*trial_kg, bounds, "kg") {
                    return Some(format!("{hand} {name} {wrong}"));
                }
            }
        }
        if self.pinch_kind.is_some() && self.pinch_kg.is_empty() {
            return Some(format!("{hand} has a kind of pinch and no pinch"));
        }
        [
            ("kind of pinch", &self.pinch_kind),
            ("sensation", &self.sensation),
            ("thumb strength", &self.thumb_strength),
        ]
        .into_iter()
        .find_map(|(name, words)| Some(format!("{hand} {name} {}", unfit(words.as_deref()?)?)))
    }
}

impl Visit {
    /// Reads the detail of a `visit` event; `None` where it is another writer's.
    pub fn from_detail(detail: &Value) -> Option<Visit> {
        Visit::deserialize(detail).ok()
    }

    /// The detail of its event.
    pub fn detail(&self) -> Value {
        serde_json::to_value(self).unwrap_or_default()
    }

    /// Nothing is known of it.
    pub fn is_empty(&self) -> bool {
        *self == Visit::default()
    }

    /// The hand of that side.
    pub fn hand(&self, side: Side) -> &VisitHand {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    /// The hand of that side, to be filled in.
    pub fn hand_mut(&mut self, side: Side) -> &mut VisitHand {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }

    /// The first thing in it that cannot be, in words; `None` where everything can.
    pub fn problem(&self) -> Option<String> {
        if self.is_empty() {
            return Some("nothing is said of the visit".to_owned());
        }
        let of_hands = [Side::Left, Side::Right]
            .into_iter()
            .find_map(|side| self.hand(side).problem(side));
        let of_means = || {
            [
                ("the symptom mean", self.symptom_mean),
                ("the function mean", self.function_mean),
            ]
            .into_iter()
            .find_map(|(name, mean)| Some(format!("{name} {}", outside(mean?, MEAN, "")?)))
        };
        let of_words = || {
            [
                ("the decision", &self.decision),
                ("the reason", &self.reason),
            ]
            .into_iter()
            .find_map(|(name, words)| Some(format!("{name} {}", unfit(words.as_deref()?)?)))
        };
        of_hands.or_else(of_means).or_else(of_words)
    }
}

fn outside(number: f64, (low, high): (f64, f64), unit: &str) -> Option<String> {
    // NaN is outside as well.
    let fits = (low..=high).contains(&number);
    let unit = if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    };
    (!fits).then(|| format!("is {number}; expected {low} to {high}{unit}"))
}

fn unfit(words: &str) -> Option<String> {
    let odd = |c: char| c.is_control() && c != '\n';
    if words.trim().is_empty() {
        Some("is there without words; leave it out, or say it".to_owned())
    } else if words.chars().count() > WORDS_MOST {
        Some(format!("is longer than {WORDS_MOST} letters"))
    } else if words.contains(odd) {
        Some(format!("holds control characters: \"{}\"", shown(words)))
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use serde_json::json;

    fn whole() -> Value {
        json!({
            "right": {
                "flexion_deg": 62.0, "extension_deg": -5.0, "radial_deviation_deg": 18.0,
                "ulnar_deviation_deg": 30.0, "pronation_deg": 80.0, "supination_deg": 75.0,
                "grip_kg": [21.0, 22.5, 21.5], "pinch_kg": [4.5, 4.0], "pinch_kind": "key",
                "sensation": "dull at the index finger", "thumb_strength": "4 of 5",
            },
            "left": {"grip_kg": [0.0]},
            "symptom_mean": 2.4, "function_mean": 1.0,
            "decision": "Same weight", "reason": "Woken twice\na week",
        })
    }

    #[test]
    fn what_is_written_is_read_back_and_what_is_missing_stays_missing() {
        let visit = Visit::from_detail(&whole()).unwrap();
        assert_eq!(visit.problem(), None);
        assert_eq!(visit.detail(), whole());
        let little = json!({"decision": "Come again"});
        let visit = Visit::from_detail(&little).unwrap();
        assert_eq!((visit.problem(), visit.detail()), (None, little));
        assert!(visit.right.is_empty() && visit.symptom_mean.is_none());
        assert_eq!(Visit::from_detail(&json!({"mood": 3})), None);
    }

    #[test]
    fn one_slip_gives_one_sentence_that_names_it() {
        let slip = |pointer: &str, value: Value| {
            let mut detail = whole();
            *detail.pointer_mut(pointer).unwrap() = value;
            Visit::from_detail(&detail).unwrap().problem().unwrap()
        };
        for (pointer, value, words) in [
            (
                "/right/flexion_deg",
                json!(620),
                "right flexion is 620; expected -90 to 150 degrees",
            ),
            (
                "/right/supination_deg",
                json!(-91),
                "right supination is -91",
            ),
            (
                "/right/grip_kg",
                json!([1, 2, 3, 4]),
                "right grip has 4 trials; expected at most 3",
            ),
            (
                "/left/grip_kg",
                json!([-1]),
                "left grip is -1; expected 0 to 120 kg",
            ),
            (
                "/right/pinch_kg",
                json!([45]),
                "right pinch is 45; expected 0 to 40 kg",
            ),
            (
                "/right/pinch_kg",
                json!([]),
                "right has a kind of pinch and no pinch",
            ),
            (
                "/right/sensation",
                json!("  "),
                "right sensation is there without words",
            ),
            (
                "/right/thumb_strength",
                json!("\u{1b}[2J"),
                "right thumb strength holds control",
            ),
            (
                "/symptom_mean",
                json!(0.9),
                "the symptom mean is 0.9; expected 1 to 5",
            ),
            (
                "/function_mean",
                json!(5.5),
                "the function mean is 5.5; expected 1 to 5",
            ),
            (
                "/decision",
                json!("x".repeat(2001)),
                "the decision is longer than 2000 letters",
            ),
        ] {
            let said = slip(pointer, value);
            assert!(said.starts_with(words), "{said}");
        }
        assert!(Visit::default().problem().is_some());
        let nan = Visit {
            symptom_mean: Some(f64::NAN),
            ..Visit::default()
        };
        assert!(nan.problem().is_some());
    }
}
