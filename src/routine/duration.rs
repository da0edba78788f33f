//! How long a session of a routine takes, and how much is changed about in it.
//!
//! Ours. What is prescribed is summed; what is not is guessed and said to be guessed.

use super::{CountedItem, Item, Part, Routine, strap_changes};

/// A rest that the routine does not prescribe, seconds (common practice, no source).
pub const USUAL_REST_S: f64 = 60.0;
/// A repetition whose tempo is not prescribed, seconds: a guess.
const USUAL_REPETITION_S: f64 = 4.0;
/// Questions, cautions and the first fitting of the sensor, seconds: a guess.
const BEGINNING_S: f64 = 180.0;
/// A change of the strap with its alignment, seconds: a guess.
const STRAP_S: f64 = 90.0;
/// Getting into the next posture, seconds: a guess.
const BETWEEN_S: f64 = 10.0;

/// How long a session takes and what it asks to change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duration {
    /// Work, rests and what lies between, about, seconds.
    pub session_s: f64,
    /// Work alone: repetitions, holds and what is done for a time, seconds.
    pub work_s: f64,
    /// Whether the length of a repetition was guessed, where no tempo is prescribed or one is as
    /// fast as possible.
    pub guessed: bool,
    /// Changes from one weight to another, laying one down or taking one up not counted.
    pub weight_changes: usize,
    /// Changes of the sensor from hand to hand.
    pub strap_changes: usize,
}

impl Routine {
    /// How long one session takes, with both hands where both are prescribed.
    pub fn duration(&self) -> Duration {
        let parts = self.course(&self.hands());
        let mut guessed = false;
        let mut work_s = 0.0;
        let mut rest_s = 0.0;
        for (index, part) in parts.iter().enumerate() {
            let Some(item) = self.item(part) else {
                continue;
            };
            work_s += work_of_s(item, &mut guessed);
            if index + 1 < parts.len() {
                rest_s += item.rest_s().unwrap_or(match item {
                    Item::Counted(_) => USUAL_REST_S,
                    Item::RangeTest(_) | Item::Stretch(_) | Item::Timed(_) => BETWEEN_S,
                });
            }
        }
        let strap_changes = strap_changes(&parts);
        Duration {
            session_s: BEGINNING_S + work_s + rest_s + STRAP_S * strap_changes as f64,
            work_s,
            guessed,
            weight_changes: self.weight_changes(&parts),
            strap_changes,
        }
    }

    /// The item that a part is of.
    pub fn item(&self, part: &Part) -> Option<&Item> {
        let index = usize::try_from(part.item).ok()?.checked_sub(1)?;
        self.items.get(index)
    }

    /// What is counted in a part; `None` where nothing is.
    pub fn set_of(&self, part: &Part) -> Option<CountedItem> {
        self.item(part)?.counted_in(part.set)
    }

    fn weight_changes(&self, parts: &[Part]) -> usize {
        let mut held: Option<f64> = None;
        let mut count = 0;
        for part in parts {
            let item = self.item(part).and_then(Item::counted);
            let Some(load_kg) = item.and_then(|item| item.load_kg).filter(|kg| *kg > 0.0) else {
                continue;
            };
            count += usize::from(held.is_some_and(|before| (before - load_kg).abs() > 0.005));
            held = Some(load_kg);
        }
        count
    }
}

fn work_of_s(item: &Item, guessed: &mut bool) -> f64 {
    match item {
        Item::Counted(item) => {
            let repetition_s = item.tempo.and_then(|tempo| tempo.repetition_s());
            *guessed |= repetition_s.is_none();
            f64::from(item.repetitions) * repetition_s.unwrap_or(USUAL_REPETITION_S)
        }
        Item::RangeTest(item) => {
            *guessed = true;
            f64::from(item.times) * (USUAL_REPETITION_S + item.hold_s)
        }
        Item::Stretch(item) => item.hold_s,
        Item::Timed(item) => item.dose.duration_s(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn a_session_is_the_sum_of_what_is_prescribed() {
        let routine = Routine::from_toml(
            "title = \"T\"\nrounds = 2\n\
             [[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"both\"\nrepetitions = 8\nload_kg = 1\nrest_s = 45\ntempo = \"4-0-2-1\"\n\
             [[items]]\nkind = \"counted\"\nmovement = \"wrist-extension\"\nside = \"both\"\nrepetitions = 5\nload_kg = 0.5\nrest_s = 30\ntempo = \"4-0-2-1\"\n\
             [[items]]\nkind = \"stretch\"\nstretch = \"bend-back\"\nside = \"both\"\nhold_s = 15\ntimes = 2\nrest_s = 5\n",
        )
        .unwrap();
        let duration = routine.duration();
        // Two hands, two rounds: 4 x (8 x 7 s + 5 x 7 s + 2 x 15 s); the last of all has no rest.
        assert_eq!(duration.work_s, 4.0 * (56.0 + 35.0 + 30.0));
        let rest_s = 4.0 * (45.0 + 30.0 + 10.0) - 5.0;
        let around_s = BEGINNING_S + STRAP_S;
        assert_eq!(duration.session_s, duration.work_s + rest_s + around_s);
        assert!(!duration.guessed);
        assert_eq!((duration.strap_changes, duration.weight_changes), (1, 7));
    }

    #[test]
    fn what_has_no_tempo_is_guessed_and_says_so() {
        let routine = Routine::from_toml(
            "title = \"T\"\n[[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"left\"\nrepetitions = 10\n",
        )
        .unwrap();
        let duration = routine.duration();
        assert!(duration.guessed);
        assert_eq!(duration.work_s, 40.0);
    }
}
