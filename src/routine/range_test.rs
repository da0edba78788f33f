//! A range test in a routine: how far a joint goes with the empty hand, each direction by itself.

use serde::{Deserialize, Serialize};

use super::{CountedItem, ItemSide, RangeBand};
use crate::movement::{Plane, Posture};

/// Each direction so often, where nothing else is prescribed (common practice, no source).
const USUAL_TIMES: u32 = 3;
/// Held so long at the end, seconds (common practice, no source).
const USUAL_HOLD_S: f64 = 1.0;

/// A range test: out as far as is comfortable, held at the end, and back, with the empty hand.
/// There is no weight in it, no tempo and nothing to reach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RangeTestItem {
    /// The two directions that are tested.
    pub plane: Plane,
    /// For which hand.
    pub side: ItemSide,
    /// How often each direction, 1 to 10; default 3.
    #[serde(default = "usual_times")]
    pub times: u32,
    /// How long the hand stays at the end, seconds, 0.5 to 10; default 1.
    #[serde(default = "usual_hold_s")]
    pub hold_s: f64,
    /// Where to turn back at the latest, degrees from the neutral pose; `None` is as far as is
    /// comfortable.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_further_deg: Option<f64>,
    /// The clinician's own words for this item.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// How the arm is held; `None` is the plane's usual posture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub posture: Option<Posture>,
}

fn usual_times() -> u32 {
    USUAL_TIMES
}

fn usual_hold_s() -> f64 {
    USUAL_HOLD_S
}

impl RangeTestItem {
    /// The posture prescribed, or the plane's usual one.
    pub fn posture(&self) -> Posture {
        self.posture.unwrap_or_else(|| self.plane.usual_posture())
    }

    /// The sets that it is led as: one of each direction, counted, with the empty hand.
    pub fn sets(&self) -> [CountedItem; 2] {
        let posture = self.posture();
        self.plane.directions().map(|movement| CountedItem {
            movement,
            side: self.side,
            sets: 1,
            repetitions: self.times,
            extra_repetitions_max: 0,
            load_kg: Some(0.0),
            load_lb: None,
            load_shape: None,
            rest_s: Some(0.0),
            provokes: None,
            words: self.words.clone(),
            tempo: None,
            range: self.no_further_deg.map(|no_further_deg| RangeBand {
                target_deg: None,
                no_further_deg: Some(no_further_deg),
            }),
            posture: Some(posture),
            range_test_hold_s: Some(self.hold_s),
        })
    }

    /// Whether one of its directions can bring on tingling, as the catalogue says.
    pub fn provokes(&self) -> bool {
        (self.plane.directions().iter()).any(|movement| movement.provokes())
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
    use crate::movement::{ForearmRotation, Movement, Side};
    use crate::routine::{Item, PartHands, Remark, Routine};

    const TEST: &str = "title = \"T\"\n[[items]]\nkind = \"range-test\"\nplane = \"radial-ulnar-deviation\"\nside = \"left\"\n";

    fn test(text: &str) -> RangeTestItem {
        match Routine::from_toml(text).unwrap().items.remove(0) {
            Item::RangeTest(item) => item,
            other => unreachable!("{other:?}"),
        }
    }

    #[test]
    fn what_is_left_out_is_three_times_a_second_in_a_posture_that_gravity_sees() {
        let item = test(TEST);
        assert_eq!(
            (item.times, item.hold_s, item.no_further_deg),
            (3, 1.0, None)
        );
        assert_eq!(item.posture().rotation, ForearmRotation::ThumbUp);
        let [radial, ulnar] = item.sets();
        assert_eq!(radial.movement, Movement::RadialDeviation);
        assert_eq!(ulnar.movement, Movement::UlnarDeviation);
        for set in [radial, ulnar] {
            assert_eq!((set.repetitions, set.load_kg), (3, Some(0.0)));
            // Empty or not, nothing is lengthened on purpose: there is no tempo to keep.
            assert_eq!((set.eccentric(), set.tempo, set.range), (None, None, None));
            assert_eq!(set.pauses_s(), Some((1.0, 0.0)));
            assert_eq!(set.without_weight(), set);
        }
    }

    #[test]
    fn it_reads_back_from_toml_and_from_a_recording() {
        let text = format!(
            "{TEST}times = 4\nhold_s = 2\nno_further_deg = 25\nwords = \"gently\"\nposture = {{ direction = \"hanging\", rotation = \"thumb-up\" }}\n"
        );
        let routine = Routine::from_toml(&text).unwrap();
        let again = Routine::from_toml(&routine.to_toml().unwrap()).unwrap();
        assert_eq!(again, routine);
        let json = serde_json::to_string(&routine).unwrap();
        assert_eq!(serde_json::from_str::<Routine>(&json).unwrap(), routine);
        let [radial, _] = test(&text).sets();
        assert_eq!(radial.range.unwrap().no_further_deg, Some(25.0));
        assert_eq!(radial.range.unwrap().target_deg, None);
    }

    #[test]
    fn each_direction_is_a_part_of_the_course() {
        let routine = Routine::from_toml(&TEST.replace("left", "both")).unwrap();
        let course = routine.course(&[Side::Right, Side::Left]);
        let parts: Vec<_> = course.iter().map(|part| (part.hands, part.set)).collect();
        let one = PartHands::One;
        assert_eq!(
            parts,
            [
                (one(Side::Right), 1),
                (one(Side::Right), 2),
                (one(Side::Left), 1),
                (one(Side::Left), 2)
            ]
        );
        assert!(course.iter().all(|part| part.needs_sensor));
        let movements: Vec<_> = (course.iter())
            .map(|part| routine.set_of(part).unwrap().movement)
            .collect();
        assert_eq!(movements[..2], Plane::RadialUlnarDeviation.directions());
        // 4 sets of 3, each out in 2 s, a second at the end, back in 2 s: guessed, and said so.
        let duration = routine.duration();
        assert_eq!((duration.work_s, duration.guessed), (4.0 * 3.0 * 5.0, true));
    }

    fn problems(keys: &str) -> Vec<String> {
        let problems = Routine::problems(&format!("{TEST}{keys}"));
        problems.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_load_a_tempo_or_something_to_reach_is_refused_with_the_reason() {
        for (key, reason) in [
            ("load_kg = 0.5", "with an empty hand"),
            ("load_kg = 0", "with an empty hand"),
            ("load_lb = 1", "with an empty hand"),
            ("load_shape = \"centred\"", "with an empty hand"),
            ("tempo = \"4-0-2-1\"", "as slowly as is comfortable"),
            ("push_s = 4", "as slowly as is comfortable"),
            ("back_s = 1", "as slowly as is comfortable"),
            ("range = { target_deg = 30 }", "no_further_deg"),
            ("target_deg = 30", "as far as is comfortable"),
            ("extra_repetitions_max = 1", "times"),
        ] {
            let all = problems(&format!("{key}\n"));
            assert_eq!(all.len(), 1, "{key}: {all:?}");
            assert!(all[0].starts_with("line 6, column 1: "), "{all:?}");
            assert!(all[0].contains(reason), "{all:?}");
        }
    }

    #[test]
    fn misspelt_words_are_suggested_and_numbers_have_their_bounds() {
        let all = problems("time = 3\n");
        assert!(all[0].contains("did you mean \"times\"?"), "{all:?}");
        let other = TEST.replace("radial-ulnar-deviation", "radial-deviation");
        let error = Routine::from_toml(&other).unwrap_err().to_string();
        assert!(error.starts_with("line 4, column 9: "), "{error}");
        assert!(error.contains("\"radial-ulnar-deviation\""), "{error}");
        for keys in [
            "times = 0",
            "times = 11",
            "hold_s = 0.4",
            "hold_s = 10.5",
            "no_further_deg = 181",
        ] {
            assert_eq!(problems(&format!("{keys}\n")).len(), 1, "{keys}");
        }
    }

    #[test]
    fn a_level_plane_drifts_and_that_is_remarked_on() {
        let remarks = |keys: &str| -> Vec<Remark> {
            let routine = Routine::from_toml(&format!("{TEST}{keys}")).unwrap();
            let all = routine.remarks(None, "2026-03-09".parse().unwrap());
            all.into_iter().filter(|own| own.item == Some(1)).collect()
        };
        assert_eq!(remarks(""), []);
        let all = remarks("posture = { rotation = \"palm-down\" }\n");
        assert_eq!(all.len(), 1);
        assert!(all[0].words.contains("drifts"), "{all:?}");
    }
}
