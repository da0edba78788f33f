//! What is done for a time and not counted, because one sensor on the back of the hand does not see
//! it: tendon glides, shaking out, self-massage, breathing, and what the clinician's own words say.
//!
//! Source: common practice, no source; the words are ours.

use serde::{Deserialize, Serialize};

use super::Hands;

/// Something done for a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Activity {
    /// The fingers through the positions of [`GlidePosition::ALL`].
    TendonGlides,
    /// Hands shaken loosely.
    Shaking,
    /// The forearm and the palm stroked with the other hand.
    SelfMassage,
    /// Quiet breathing.
    Breathing,
    /// What the clinician's own words say.
    OwnWords,
}

/// A position of the fingers in a tendon glide.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GlidePosition {
    /// Fingers straight and together.
    Straight,
    /// Fingers and thumb wide open.
    WideOpen,
    /// A loose fist.
    Fist,
}

impl GlidePosition {
    /// The positions in the order in which a glide goes through them.
    ///
    /// Source: common practice, no source.
    pub const ALL: [GlidePosition; 3] = [
        GlidePosition::Straight,
        GlidePosition::WideOpen,
        GlidePosition::Fist,
    ];

    /// The position in words to the person who takes it.
    pub fn words(self) -> &'static str {
        match self {
            GlidePosition::Straight => "fingers straight and together",
            GlidePosition::WideOpen => "wide open",
            GlidePosition::Fist => "a loose fist",
        }
    }
}

impl Activity {
    /// Every activity, in the order of the documentation.
    pub const ALL: [Activity; 5] = [
        Activity::TendonGlides,
        Activity::Shaking,
        Activity::SelfMassage,
        Activity::Breathing,
        Activity::OwnWords,
    ];

    /// The word used in routines and recordings.
    pub fn name(self) -> &'static str {
        match self {
            Activity::TendonGlides => "tendon-glides",
            Activity::Shaking => "shaking",
            Activity::SelfMassage => "self-massage",
            Activity::Breathing => "breathing",
            Activity::OwnWords => "own-words",
        }
    }

    /// The activity of that name.
    pub fn from_name(name: &str) -> Option<Activity> {
        Activity::ALL.into_iter().find(|own| own.name() == name)
    }

    /// The words for headings; of own words a neutral one, since theirs stand in the routine.
    pub fn title(self) -> &'static str {
        match self {
            Activity::TendonGlides => "Tendon glides",
            Activity::Shaking => "Shaking out",
            Activity::SelfMassage => "Self-massage",
            Activity::Breathing => "Breathing",
            Activity::OwnWords => "As your clinician says",
        }
    }

    /// How it is done, to the person who does it; `None` where only the routine's own words say.
    ///
    /// Source: common practice, no source.
    pub fn how(self) -> Option<&'static str> {
        match self {
            Activity::TendonGlides => Some(
                "Wrist straight and loose. Bring the fingers slowly from straight to wide open to a loose fist, and begin again. No squeezing.",
            ),
            Activity::Shaking => {
                Some("Let the hands hang and shake them loosely, as if to shake off water.")
            }
            Activity::SelfMassage => Some(
                "With the other hand stroke the forearm slowly, from above the wrist towards the elbow. Then rub the palm near the fingers in small circles. Firm but comfortable.",
            ),
            Activity::Breathing => Some(
                "Sit upright, shoulders loose. Breathe in and out slowly, without holding the breath.",
            ),
            Activity::OwnWords => None,
        }
    }

    /// What to be careful of, in plain words.
    ///
    /// Source: common practice, no source; the tunnel lies under the wrist crease and the heel of
    /// the palm.
    pub fn caution(self) -> &'static str {
        match self {
            Activity::SelfMassage => {
                "Never on the crease of the wrist and never on the heel of the palm. Any new tingling or numbness means stop."
            }
            Activity::Breathing => "Dizzy? Breathe as you always do, and rest.",
            Activity::TendonGlides | Activity::Shaking | Activity::OwnWords => {
                "Never push into pain; any new tingling or numbness means stop."
            }
        }
    }

    /// What one sensor on the back of the hand cannot see of it.
    pub fn blind_spot(self) -> &'static str {
        match self {
            Activity::TendonGlides => "The fingers: only the clock leads, nothing is counted.",
            Activity::Shaking | Activity::SelfMassage | Activity::Breathing => {
                "Whether and how it is done: only the clock leads, nothing is counted."
            }
            Activity::OwnWords => "What it is: only the clock leads, nothing is counted.",
        }
    }

    /// Whether it can bring on tingling, so that half-way is asked for it. None of ours can; of own
    /// words the routine says.
    pub fn provokes(self) -> bool {
        false
    }

    /// Which hands it takes.
    pub fn hands(self) -> Hands {
        match self {
            Activity::TendonGlides | Activity::Shaking | Activity::OwnWords => Hands::OneOrBoth,
            Activity::SelfMassage => Hands::OneAtATime,
            Activity::Breathing => Hands::None,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn names_read_back() {
        for activity in Activity::ALL {
            assert_eq!(Activity::from_name(activity.name()), Some(activity));
            let json = serde_json::to_string(&activity).unwrap();
            assert_eq!(json, format!("\"{}\"", activity.name()));
        }
    }

    #[test]
    fn a_glide_goes_from_straight_to_wide_open_to_fist() {
        let words = GlidePosition::ALL.map(GlidePosition::words);
        assert_eq!(
            words,
            ["fingers straight and together", "wide open", "a loose fist"]
        );
    }

    #[test]
    fn massage_keeps_off_the_tunnel() {
        let caution = Activity::SelfMassage.caution();
        assert!(caution.contains("never on the heel of the palm"));
        assert!(caution.contains("Never on the crease of the wrist"));
    }
}
