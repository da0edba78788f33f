//! Stretches and holds: how each is done in plain words, its care, and what a sensor on the back of
//! the hand cannot see of it.
//!
//! Source: common practice, no source, the positions that can provoke included; the choice and the
//! words are ours. Nothing here was measured or prescribed.

use serde::{Deserialize, Serialize};

use super::Hands;

/// A position that is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stretch {
    /// The hand bent back by the other hand, elbow straight.
    BendBack,
    /// The hand bent down by the other hand, elbow straight.
    BendDown,
    /// The palms pressed together in front of the chest.
    PalmsTogether,
    /// The backs of the hands pressed together in front of the chest.
    BacksTogether,
    /// The forearm turned palm up by the other hand.
    ForearmTurnedUp,
    /// The forearm turned palm down by the other hand.
    ForearmTurnedDown,
    /// Fingers and thumb spread wide.
    FingersSpread,
    /// The thumb drawn out to the side by the other hand.
    ThumbOut,
}

impl Stretch {
    /// Every stretch, in the order of the documentation.
    pub const ALL: [Stretch; 8] = [
        Stretch::BendBack,
        Stretch::BendDown,
        Stretch::PalmsTogether,
        Stretch::BacksTogether,
        Stretch::ForearmTurnedUp,
        Stretch::ForearmTurnedDown,
        Stretch::FingersSpread,
        Stretch::ThumbOut,
    ];

    /// The word used in routines and recordings.
    pub fn name(self) -> &'static str {
        match self {
            Stretch::BendBack => "bend-back",
            Stretch::BendDown => "bend-down",
            Stretch::PalmsTogether => "palms-together",
            Stretch::BacksTogether => "backs-together",
            Stretch::ForearmTurnedUp => "forearm-turned-up",
            Stretch::ForearmTurnedDown => "forearm-turned-down",
            Stretch::FingersSpread => "fingers-spread",
            Stretch::ThumbOut => "thumb-out",
        }
    }

    /// The stretch of that name.
    pub fn from_name(name: &str) -> Option<Stretch> {
        Stretch::ALL.into_iter().find(|own| own.name() == name)
    }

    /// The words for headings.
    pub fn title(self) -> &'static str {
        match self {
            Stretch::BendBack => "Hand bent back",
            Stretch::BendDown => "Hand bent down",
            Stretch::PalmsTogether => "Palms together",
            Stretch::BacksTogether => "Backs of the hands together",
            Stretch::ForearmTurnedUp => "Palm turned up",
            Stretch::ForearmTurnedDown => "Palm turned down",
            Stretch::FingersSpread => "Fingers spread",
            Stretch::ThumbOut => "Thumb out",
        }
    }

    /// How it is done, to the person who does it.
    ///
    /// Source: common practice, no source.
    pub fn how(self) -> &'static str {
        match self {
            Stretch::BendBack => {
                "Stretch the arm out in front of you, elbow straight. With the other hand draw the fingers and the palm back towards you, until you feel a comfortable pull along the inside of the forearm."
            }
            Stretch::BendDown => {
                "Stretch the arm out in front of you, elbow straight, palm down. With the other hand press the back of the hand down and towards you, until you feel a comfortable pull along the top of the forearm."
            }
            Stretch::PalmsTogether => {
                "Put the palms together in front of the chest, fingers up. Lower the hands slowly, palms touching, until you feel a comfortable pull."
            }
            Stretch::BacksTogether => {
                "Put the backs of the hands together in front of the chest, fingers down, shoulders loose. Raise the hands slowly until you feel a comfortable pull."
            }
            Stretch::ForearmTurnedUp => {
                "Elbow bent at your side. Hold the forearm just above the wrist with the other hand and turn it palm up, until you feel a comfortable pull."
            }
            Stretch::ForearmTurnedDown => {
                "Elbow bent at your side. Hold the forearm just above the wrist with the other hand and turn it palm down, until you feel a comfortable pull."
            }
            Stretch::FingersSpread => {
                "Wrist straight. Spread the fingers and the thumb as wide as is comfortable, and keep them there."
            }
            Stretch::ThumbOut => {
                "Wrist straight. Hold the base of the thumb with the other hand and draw it gently out and away from the palm, until you feel a comfortable pull."
            }
        }
    }

    /// What to be careful of, in plain words.
    ///
    /// Source: common practice, no source.
    pub fn caution(self) -> &'static str {
        match self {
            Stretch::PalmsTogether => {
                "This position can bring on tingling. Do not press hard; any tingling or numbness ends it."
            }
            Stretch::BacksTogether => {
                "This position can bring on tingling. Do not press hard, and nothing must press on the sensor: take it off if it is in the way. Any tingling or numbness ends it."
            }
            Stretch::FingersSpread => {
                "No strain: any new tingling or numbness ends it. Breathe on."
            }
            Stretch::BendBack
            | Stretch::BendDown
            | Stretch::ForearmTurnedUp
            | Stretch::ForearmTurnedDown
            | Stretch::ThumbOut => {
                "A comfortable pull, never into pain, no bouncing. Any new tingling or numbness ends it. Breathe on."
            }
        }
    }

    /// What one sensor on the back of the hand cannot see of it.
    pub fn blind_spot(self) -> &'static str {
        match self {
            Stretch::BendBack | Stretch::BendDown => {
                "How hard the other hand pulls, and whether the elbow is straight."
            }
            Stretch::PalmsTogether | Stretch::BacksTogether => {
                "How hard the hands press, and the other hand."
            }
            Stretch::ForearmTurnedUp | Stretch::ForearmTurnedDown => {
                "How hard the other hand turns, and whether the elbow or the shoulder turns along."
            }
            Stretch::FingersSpread => "The fingers and the thumb: it sees the back of the hand.",
            Stretch::ThumbOut => "The thumb: it sees the back of the hand.",
        }
    }

    /// Whether the position can bring on tingling, so that half-way is asked for it.
    ///
    /// Source: hands pressed together or back to back are tests elsewhere; common practice, no
    /// source.
    pub fn provokes(self) -> bool {
        matches!(self, Stretch::PalmsTogether | Stretch::BacksTogether)
    }

    /// Which hands it takes.
    pub fn hands(self) -> Hands {
        match self {
            Stretch::PalmsTogether | Stretch::BacksTogether => Hands::BothAtOnce,
            Stretch::FingersSpread => Hands::OneOrBoth,
            Stretch::BendBack
            | Stretch::BendDown
            | Stretch::ForearmTurnedUp
            | Stretch::ForearmTurnedDown
            | Stretch::ThumbOut => Hands::OneAtATime,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn names_read_back() {
        for stretch in Stretch::ALL {
            assert_eq!(Stretch::from_name(stretch.name()), Some(stretch));
            let json = serde_json::to_string(&stretch).unwrap();
            assert_eq!(json, format!("\"{}\"", stretch.name()));
        }
        assert_eq!(Stretch::from_name("splits"), None);
    }

    #[test]
    fn hands_pressed_together_can_provoke_and_the_words_say_so() {
        let provoking: Vec<Stretch> = Stretch::ALL
            .into_iter()
            .filter(|stretch| stretch.provokes())
            .collect();
        assert_eq!(provoking, [Stretch::PalmsTogether, Stretch::BacksTogether]);
        for stretch in Stretch::ALL {
            assert!(stretch.caution().contains("tingling or numbness ends it"));
            assert_eq!(
                stretch.provokes(),
                stretch.caution().contains("can bring on tingling")
            );
        }
    }
}
