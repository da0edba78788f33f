//! What single values of a routine cannot show: whether they agree with each other.

use toml::de::DeTable;

use super::check::Walk;
use super::{CountedItem, Item, ItemSide, KG_PER_LB, Routine, RoutineError};
use crate::movement::{Activity, Hands, Movement, MovingPhase};

const GLIDES_OR_SECONDS: &str =
    "write either seconds, or repetitions and pause_s (seconds at each position)";

impl Walk<'_> {
    /// How long a timed item takes, and that own words are there. Before the routine is read, since
    /// a dose that is not said cannot be.
    pub(super) fn dose(&mut self, name: &str, byte: usize, table: &DeTable<'_>) {
        let said = |key: &str| table.contains_key(key);
        let what = table.get("what").and_then(|what| what.get_ref().as_str());
        let Some(what) = what.and_then(Activity::from_name) else {
            return;
        };
        let trouble = match (what, said("seconds"), said("repetitions"), said("pause_s")) {
            (Activity::TendonGlides, true, false, false)
            | (Activity::TendonGlides, false, true, true) => None,
            (Activity::TendonGlides, true, ..) => {
                Some(("says its length twice", GLIDES_OR_SECONDS))
            }
            (Activity::TendonGlides, false, ..) => {
                Some(("does not say its length", GLIDES_OR_SECONDS))
            }
            (_, _, true, _) | (_, _, _, true) => Some((
                "has repetitions or pause_s, but nothing counts them",
                "write seconds alone; only tendon-glides go by repetitions",
            )),
            (_, false, ..) => Some((
                "does not say its length",
                "add seconds = ... (a whole number from 5 to 600)",
            )),
            (_, true, ..) => None,
        };
        let (line, column) = self.places.at(byte);
        if let Some((trouble, expected)) = trouble {
            self.problems.push(RoutineError::Dose {
                line,
                column,
                table: name.to_owned(),
                trouble,
                expected,
            });
        }
        let blank = |words: &str| words.trim().is_empty();
        let words = table.get("words").map(toml::Spanned::get_ref);
        if what == Activity::OwnWords && words.is_none_or(|words| words.as_str().is_some_and(blank))
        {
            self.problems.push(RoutineError::MissingKey {
                line,
                column,
                key: "words",
                table: name.to_owned(),
                example: "words = \"...\": what is done, in your own words".to_owned(),
            });
        }
    }

    /// Whether the values of a routine agree; `document` is what it was read from.
    pub(super) fn agreement(&mut self, document: &DeTable<'_>, routine: &Routine) {
        let tables = document
            .get("items")
            .and_then(|items| items.get_ref().as_array())
            .into_iter()
            .flat_map(|items| items.iter())
            .filter_map(|item| item.get_ref().as_table());
        for (table, item) in tables.zip(&routine.items) {
            match item {
                Item::Counted(item) => self.counted(table, item),
                Item::RangeTest(_) => {}
                Item::Stretch(item) => {
                    self.side(table, item.stretch.hands(), item.stretch.name(), item.side);
                }
                Item::Timed(item) => {
                    self.side(table, item.what.hands(), item.what.name(), item.side);
                }
            }
        }
    }

    fn place_of(&self, table: &DeTable<'_>, key: &str) -> (usize, usize) {
        let byte = table.get(key).map_or(0, |value| value.span().start);
        self.places.at(byte)
    }

    fn side(&mut self, table: &DeTable<'_>, hands: Hands, name: &'static str, side: ItemSide) {
        let expected = match hands {
            Hands::OneAtATime | Hands::OneOrBoth => return,
            Hands::BothAtOnce => "it takes both hands at once, write side = \"both\"",
            Hands::None => "it is for no hand, leave side out",
        };
        let found = match side {
            ItemSide::Both => return,
            ItemSide::Left => "left",
            ItemSide::Right => "right",
        };
        let (line, column) = self.place_of(table, "side");
        self.problems.push(RoutineError::Side {
            line,
            column,
            name,
            found,
            expected,
        });
    }

    /// How long a rotation is pushed and how long it takes back: both, of a rotation, and no tempo
    /// beside them.
    fn push(&mut self, table: &DeTable<'_>, item: &CountedItem) {
        let said = |key: &str| table.contains_key(key);
        let rotation = matches!(item.movement, Movement::Supination | Movement::Pronation);
        let (key, trouble, expected) = match (said("push_s"), said("back_s")) {
            (false, false) => return,
            (true, _) if !rotation => (
                "push_s",
                "is for supination and pronation",
                "write a tempo, such as \"4-0-2-1\"",
            ),
            (_, true) if !rotation => (
                "back_s",
                "is for supination and pronation",
                "write a tempo, such as \"4-0-2-1\"",
            ),
            (true, true) if said("tempo") => (
                "push_s",
                "and tempo say the same thing twice",
                "write one of them",
            ),
            (true, true) => return,
            (true, false) => ("push_s", "stands alone", "add back_s = ..."),
            (false, true) => ("back_s", "stands alone", "add push_s = ..."),
        };
        let (line, column) = self.place_of(table, key);
        self.problems.push(RoutineError::Push {
            line,
            column,
            key,
            trouble,
            expected,
        });
    }

    fn counted(&mut self, table: &DeTable<'_>, item: &CountedItem) {
        self.push(table, item);
        if let (Some(load_kg), Some(load_lb)) = (item.load_kg, item.load_lb)
            && (load_kg - load_lb * KG_PER_LB).abs() > 0.005
        {
            let (line, column) = self.place_of(table, "load_lb");
            self.problems.push(RoutineError::TwoLoads {
                line,
                column,
                load_kg,
                load_lb,
            });
        }
        if let Some(range) = item.range
            && let (Some(target_deg), Some(no_further_deg)) =
                (range.target_deg, range.no_further_deg)
            && target_deg > no_further_deg
        {
            let (line, column) = self.place_of(table, "range");
            self.problems.push(RoutineError::TargetBeyondCeiling {
                line,
                column,
                target_deg,
                no_further_deg,
            });
        }
        if item.movement == Movement::UlnarDeviation && item.eccentric() == Some(MovingPhase::Lift)
        {
            let (line, column) = self.place_of(table, "posture");
            self.problems
                .push(RoutineError::UlnarThumbUp { line, column });
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// The first problem of a routine whose one item has these keys, from line 3 on.
    fn problem(keys: &str) -> String {
        let text = format!("title = \"T\"\n[[items]]\n{keys}");
        Routine::from_toml(&text).unwrap_err().to_string()
    }

    fn reads(keys: &str) -> bool {
        Routine::problems(&format!("title = \"T\"\n[[items]]\n{keys}")).is_empty()
    }

    #[test]
    fn misspelt_keys_and_words_of_the_new_kinds_are_suggested() {
        for (keys, place, words) in [
            (
                "kind = \"strech\"\n",
                "line 3, column 8: ",
                "did you mean \"stretch\"?",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-bak\"\nside = \"left\"\nhold_s = 15\n",
                "line 4, column 11: ",
                "did you mean \"bend-back\"?",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\nhold_s = 15\ntime = 2\n",
                "line 7, column 1: ",
                "did you mean \"times\"?",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\nhold_s = 4.9\n",
                "line 6, column 10: ",
                "a number from 5 to 120 s",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\nhold_s = 15\ntimes = 11\n",
                "line 7, column 9: ",
                "a whole number from 1 to 10",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\n",
                "line 2, column 1: ",
                "has no \"hold_s\"",
            ),
            (
                "kind = \"stretch\"\nstretch = \"bend-back\"\nside = \"left\"\nhold_s = 15\nprovokes = \"no\"\n",
                "line 7, column 12: ",
                "provokes is text; write true or false",
            ),
            (
                "kind = \"timed\"\nwhat = \"shakin\"\nseconds = 20\n",
                "line 4, column 8: ",
                "did you mean \"shaking\"?",
            ),
            (
                "kind = \"timed\"\nwhat = \"shaking\"\nseconds = 601\n",
                "line 5, column 11: ",
                "a whole number from 5 to 600",
            ),
            (
                "kind = \"counted\"\nmovement = \"supination\"\nside = \"left\"\nrepetitions = 8\nextra_repetitions = 2\n",
                "line 7, column 1: ",
                "did you mean \"extra_repetitions_max\"?",
            ),
        ] {
            let message = problem(keys);
            assert!(message.starts_with(place), "{message}");
            assert!(message.contains(words), "{message}");
        }
        let text = "title = \"T\"\norder = \"hand-by-hands\"\nitems = []\n[form]\nhurried = 3\n[limits]\nweight_when_numb = 0\n";
        let problems: Vec<String> = Routine::problems(text)
            .iter()
            .map(ToString::to_string)
            .collect();
        for (message, words) in problems.iter().zip([
            "line 2, column 9: order = \"hand-by-hands\" is not known; did you mean \"hand-by-hand\"?",
            "line 5, column 1: \"hurried\" is not a key of the table form",
            "line 7, column 20: weight_when_numb is a whole number; write true or false",
        ]) {
            assert!(message.starts_with(words), "{message}");
        }
        assert_eq!(problems.len(), 3, "{problems:?}");
    }

    #[test]
    fn a_side_must_fit_the_hands_that_are_taken() {
        let palms = "kind = \"stretch\"\nstretch = \"palms-together\"\nhold_s = 10\nside = ";
        assert!(reads(&format!("{palms}\"both\"\n")));
        let message = problem(&format!("{palms}\"left\"\n"));
        assert!(
            message.starts_with(
                "line 6, column 8: side = \"left\" does not fit palms-together; it takes both hands at once"
            ),
            "{message}"
        );
        let breathing = "kind = \"timed\"\nwhat = \"breathing\"\nseconds = 60\n";
        assert!(reads(breathing));
        assert!(reads(&format!("{breathing}side = \"both\"\n")));
        let message = problem(&format!("{breathing}side = \"right\"\n"));
        assert!(message.contains("it is for no hand"), "{message}");
    }

    #[test]
    fn a_push_and_its_way_back_stand_together_and_for_rotation_alone() {
        let rotation =
            "kind = \"counted\"\nmovement = \"supination\"\nside = \"left\"\nrepetitions = 8\n";
        assert!(reads(&format!("{rotation}push_s = 4\nback_s = 1\n")));
        let curl = rotation.replace("supination", "wrist-flexion");
        for (keys, place, words) in [
            (
                format!("{rotation}push_s = 4\n"),
                "line 7",
                "push_s stands alone; add back_s",
            ),
            (
                format!("{rotation}back_s = 1\n"),
                "line 7",
                "back_s stands alone; add push_s",
            ),
            (
                format!("{rotation}push_s = 4\nback_s = 1\ntempo = \"4-0-1-0\"\n"),
                "line 7",
                "push_s and tempo say the same thing twice",
            ),
            (
                format!("{curl}push_s = 4\nback_s = 1\n"),
                "line 7",
                "push_s is for supination and pronation",
            ),
        ] {
            let message = problem(&keys);
            assert!(message.starts_with(place), "{message}");
            assert!(message.contains(words), "{message}");
        }
    }

    #[test]
    fn a_push_outward_is_the_lowering_where_the_weight_goes_down_with_it() {
        let item = |keys: &str| {
            let text = format!(
                "title = \"T\"\n[[items]]\nkind = \"counted\"\nmovement = \"pronation\"\nside = \"left\"\nrepetitions = 8\npush_s = 4\nback_s = 1\n{keys}"
            );
            Routine::from_toml(&text).unwrap().items.remove(0)
        };
        for (keys, code) in [
            ("load_kg = 0\n", "1-0-4-0"),
            ("load_kg = 0.5\nload_shape = \"centred\"\n", "1-0-4-0"),
            ("load_kg = 0.5\nload_shape = \"one-sided\"\n", "4-0-1-0"),
        ] {
            let item = item(keys);
            let item = item.counted().unwrap();
            assert_eq!(item.tempo.unwrap().code(), code, "{keys}");
            let out = item
                .tempo
                .unwrap()
                .prescribed(MovingPhase::Lift, item.eccentric());
            assert_eq!(out.seconds(), Some(4.0), "the push is the way out: {keys}");
        }
    }

    #[test]
    fn a_timed_item_says_its_length_once() {
        let glides = "kind = \"timed\"\nwhat = \"tendon-glides\"\n";
        for keys in ["seconds = 60\n", "repetitions = 5\npause_s = 3\n"] {
            assert!(reads(&format!("{glides}{keys}")), "{keys}");
        }
        for (keys, words) in [
            ("", "item 1 does not say its length; write either seconds"),
            ("repetitions = 5\n", "does not say its length"),
            ("pause_s = 5\n", "does not say its length"),
            ("seconds = 60\npause_s = 3\n", "says its length twice"),
        ] {
            let message = problem(&format!("{glides}{keys}"));
            assert!(message.contains(words), "{keys}: {message}");
        }
        for (keys, words) in [
            ("", "add seconds = ... (a whole number from 5 to 600)"),
            ("repetitions = 5\npause_s = 3\n", "nothing counts them"),
            ("seconds = 30\npause_s = 3\n", "nothing counts them"),
        ] {
            let message = problem(&format!("kind = \"timed\"\nwhat = \"shaking\"\n{keys}"));
            assert!(message.contains(words), "{keys}: {message}");
        }
    }

    #[test]
    fn own_words_need_words() {
        let own = "kind = \"timed\"\nwhat = \"own-words\"\nseconds = 60\n";
        for keys in ["", "words = \" \"\n"] {
            let message = problem(&format!("{own}{keys}"));
            assert!(message.contains("item 1 has no \"words\""), "{message}");
        }
        assert!(reads(&format!("{own}words = \"Roll a soft ball\"\n")));
    }
}
