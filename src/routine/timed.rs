//! Things of a routine that are done for a time and that the sensor does not count.

use serde::{Deserialize, Serialize};

use super::ItemSide;
use crate::movement::{Activity, GlidePosition};

/// Something done for a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TimedItem {
    /// What is done.
    pub what: Activity,
    /// For which hand; default both.
    #[serde(default = "both")]
    pub side: ItemSide,
    /// How long or how often.
    #[serde(flatten)]
    pub dose: TimedDose,
    /// Whether it can bring on tingling; `None` is as the catalogue says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub provokes: Option<bool>,
    /// The clinician's own words for this item; of [`Activity::OwnWords`] always there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

fn both() -> ItemSide {
    ItemSide::Both
}

/// How long something is done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum TimedDose {
    /// By the clock.
    Seconds {
        /// Seconds, 5 to 600.
        seconds: u32,
    },
    /// So often through the positions of a tendon glide.
    Glides {
        /// How often, 1 to 50.
        repetitions: u32,
        /// How long at each position, seconds, 1 to 60.
        pause_s: f64,
    },
}

impl TimedDose {
    /// How long it takes, seconds: as said, or repetitions times positions times the pause.
    pub fn duration_s(self) -> f64 {
        match self {
            TimedDose::Seconds { seconds } => f64::from(seconds),
            TimedDose::Glides {
                repetitions,
                pause_s,
            } => f64::from(repetitions) * GlidePosition::ALL.len() as f64 * pause_s,
        }
    }
}

impl TimedItem {
    /// Whether half-way is asked for tingling: as the routine says, else as the catalogue.
    pub fn provokes(&self) -> bool {
        self.provokes.unwrap_or_else(|| self.what.provokes())
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::*;
    use crate::routine::{Item, Order, Routine, STARTING, StretchItem};

    const ALL: &str = "title = \"T\"\norder = \"item-by-item\"\n\
        [limits]\nweight_when_numb = true\n\
        [form]\nhurried_in_a_row = 5\nleast_range_ratio = 0.5\n\
        [[items]]\nkind = \"stretch\"\nstretch = \"backs-together\"\nside = \"both\"\nhold_s = 12.5\n\
        [[items]]\nkind = \"stretch\"\nstretch = \"thumb-out\"\nside = \"left\"\nhold_s = 5\ntimes = 3\n\
        rest_s = 10\nprovokes = true\nwords = \"Softly\"\n\
        [[items]]\nkind = \"timed\"\nwhat = \"tendon-glides\"\nside = \"right\"\nrepetitions = 5\npause_s = 3\n\
        [[items]]\nkind = \"timed\"\nwhat = \"own-words\"\nseconds = 45\nprovokes = true\nwords = \"Roll a ball\"\n\
        [[items]]\nkind = \"counted\"\nmovement = \"arm-circles\"\nside = \"left\"\nrepetitions = 8\n\
        extra_repetitions_max = 2\nprovokes = false\n\
        [[items]]\nkind = \"counted\"\nmovement = \"arm-circles\"\nside = \"left\"\nrepetitions = 8\n";

    #[test]
    fn every_key_lands_in_its_own_field() {
        let routine = Routine::from_toml(ALL).unwrap();
        assert_eq!(routine.order, Order::ItemByItem);
        assert!(routine.limits.weight_when_numb);
        assert_eq!(routine.form.hurried_in_a_row, 5);
        assert_eq!(routine.form.least_range_ratio, 0.5);
        let Item::Stretch(thumb) = &routine.items[1] else {
            unreachable!("a stretch");
        };
        assert_eq!(
            *thumb,
            StretchItem {
                stretch: crate::movement::Stretch::ThumbOut,
                side: ItemSide::Left,
                hold_s: 5.0,
                times: 3,
                provokes: Some(true),
                rest_s: Some(10.0),
                words: Some("Softly".to_owned()),
            }
        );
        let Item::Timed(glides) = &routine.items[2] else {
            unreachable!("a timed item");
        };
        assert_eq!(glides.side, ItemSide::Right);
        // 5 times 3 positions of 3 s.
        assert_eq!(glides.dose.duration_s(), 45.0);
        let provokes: Vec<bool> = routine.items.iter().map(Item::provokes).collect();
        assert_eq!(provokes, [true, true, false, true, false, true]);
        let sets: Vec<u32> = routine.items.iter().map(Item::sets).collect();
        assert_eq!(sets, [1, 3, 1, 1, 1, 1]);
        assert_eq!(routine.items[4].counted().unwrap().extra_repetitions_max, 2);
        assert_eq!(routine.items[5].counted().unwrap().extra_repetitions_max, 0);
    }

    #[test]
    fn the_routine_survives_toml_and_json() {
        for text in STARTING.iter().map(|own| own.toml).chain([ALL]) {
            let routine = Routine::from_toml(text).unwrap();
            let toml = routine.to_toml().unwrap();
            assert_eq!(Routine::from_toml(&toml).unwrap(), routine, "{toml}");
            let json = serde_json::to_string(&routine).unwrap();
            assert_eq!(serde_json::from_str::<Routine>(&json).unwrap(), routine);
        }
    }

    #[test]
    fn a_recording_of_another_program_still_opens() {
        let json = r#"{"title": "T", "colour": 1, "items": [
            {"kind": "counted", "movement": "supination", "side": "left", "repetitions": 8,
             "extra_repetitions": 2, "colour": 1},
            {"kind": "timed", "what": "shaking", "seconds": 20, "colour": 1},
            {"kind": "stretch", "stretch": "bend-back", "side": "left", "hold_s": 15, "colour": 1}
        ]}"#;
        let routine: Routine = serde_json::from_str(json).unwrap();
        assert_eq!(routine.order, Order::HandByHand);
        assert_eq!(routine.form.hurried_in_a_row, 3);
        assert_eq!(routine.form.least_range_ratio, 0.6);
        assert!(!routine.limits.weight_when_numb);
        assert_eq!(routine.items[0].counted().unwrap().extra_repetitions_max, 2);
        assert_eq!(routine.items[1].side(), ItemSide::Both);
        assert_eq!(routine.items[2].sets(), 1);
    }
}
