//! Starting routines: a first page to edit, never a prescription by themselves.

/// A starting routine that ships with the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starting {
    /// The word that picks it.
    pub name: &'static str,
    /// Its TOML text.
    pub toml: &'static str,
}

/// Every starting routine.
pub const STARTING: &[Starting] = &[
    Starting {
        name: "gentle-start",
        toml: include_str!("starting/gentle-start.toml"),
    },
    Starting {
        name: "practice-round",
        toml: include_str!("starting/practice-round.toml"),
    },
    Starting {
        name: "range-check",
        toml: include_str!("starting/range-check.toml"),
    },
    Starting {
        name: "two-rounds",
        toml: include_str!("starting/two-rounds.toml"),
    },
];

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use crate::movement::{Movement, MovingPhase, Plane};
    use crate::routine::{Item, ItemSide, Limits, Routine, Weights, strap_changes};

    #[test]
    fn every_starting_routine_reads_and_says_where_it_comes_from() {
        for starting in STARTING {
            let routine = Routine::from_toml(starting.toml).unwrap();
            assert!(routine.source.is_some(), "{}", starting.name);
            assert_eq!(routine.limits, Limits::default(), "{}", starting.name);
        }
    }

    #[test]
    fn the_gentle_start_begins_with_an_empty_hand_and_no_waiting_at_the_bottom() {
        let routine = Routine::from_toml(STARTING.first().unwrap().toml).unwrap();
        for item in routine.items.iter().filter_map(Item::counted) {
            assert_eq!(item.load_kg, Some(0.0));
            assert!(item.tempo.is_some_and(|tempo| tempo.rest_s == 0.0));
        }
    }

    fn named(name: &str) -> Routine {
        let own = STARTING.iter().find(|own| own.name == name);
        Routine::from_toml(own.unwrap().toml).unwrap()
    }

    #[test]
    fn the_range_check_tests_every_plane_of_both_hands_in_a_posture_that_gravity_sees() {
        let routine = named("range-check");
        let tests: Vec<_> = (routine.items.iter())
            .map(|item| match item {
                Item::RangeTest(test) => test,
                other => unreachable!("{other:?}"),
            })
            .collect();
        assert_eq!(
            tests.iter().map(|test| test.plane).collect::<Vec<_>>(),
            Plane::ALL
        );
        for test in tests {
            assert_eq!(
                (test.side, test.times, test.hold_s),
                (ItemSide::Both, 3, 1.0)
            );
            assert!(!test.plane.drifts(&test.posture()));
        }
        let course = routine.course(&routine.hands());
        assert_eq!((course.len(), strap_changes(&course)), (12, 1));
        assert!(
            routine
                .source
                .unwrap()
                .contains("common practice, no source")
        );
    }

    fn practice_round() -> Routine {
        let named = |own: &&Starting| own.name == "practice-round";
        Routine::from_toml(STARTING.iter().find(named).unwrap().toml).unwrap()
    }

    #[test]
    fn the_practice_round_says_that_it_is_a_page_to_edit() {
        let source = practice_round().source.unwrap();
        for words in [
            "invented",
            "common practice, no source",
            "A first page to edit, never a prescription by itself",
        ] {
            assert!(source.contains(words), "{source}");
        }
    }

    #[test]
    fn the_practice_round_bends_back_last_and_lightest() {
        let routine = practice_round();
        let counted: Vec<_> = routine.items.iter().filter_map(Item::counted).collect();
        let last = counted.last().unwrap();
        assert_eq!(last.movement, Movement::WristExtension);
        let lightest_kg = counted
            .iter()
            .filter_map(|item| item.load_kg)
            .reduce(f64::min);
        assert_eq!(last.load_kg, lightest_kg);
        for movement in [
            Movement::WristFlexion,
            Movement::RadialDeviation,
            Movement::UlnarDeviation,
            Movement::WristExtension,
            Movement::Supination,
            Movement::Pronation,
        ] {
            assert!(counted.iter().any(|item| item.movement == movement));
        }
    }

    #[test]
    fn two_rounds_load_what_they_name_and_bend_back_last_and_lightest() {
        let named = |own: &&Starting| own.name == "two-rounds";
        let routine = Routine::from_toml(STARTING.iter().find(named).unwrap().toml).unwrap();
        assert_eq!(routine.rounds, 2);
        let counted: Vec<_> = routine.items.iter().filter_map(Item::counted).collect();
        for item in &counted {
            assert!(item.eccentric().is_some(), "{}", item.movement.name());
            assert!(item.load_kg.unwrap() > 0.0);
        }
        let last = counted.last().unwrap();
        assert_eq!(last.movement, Movement::WristExtension);
        assert!(counted.iter().all(|item| item.load_kg >= last.load_kg));
        assert_eq!(strap_changes(&routine.course(&routine.hands())), 1);
    }

    #[test]
    fn the_practice_round_loads_what_it_names_and_provokes_nothing() {
        let routine = practice_round();
        for item in routine.items.iter().filter_map(Item::counted) {
            let rotation = matches!(item.movement, Movement::Supination | Movement::Pronation);
            let lower = (!rotation).then_some(MovingPhase::Lower);
            assert_eq!(item.eccentric(), lower, "{}", item.movement.name());
            // A loaded wrist waiting at the bottom is what a hand routine avoids.
            assert_eq!(item.tempo.unwrap().rest_s, 0.0);
            let words = match rotation {
                false => "up in two, hold one at the top, down in four",
                true => "out in four, back in one",
            };
            assert_eq!(item.tempo_words().unwrap(), words);
        }
        assert!(!routine.items.iter().any(Item::provokes));
    }

    #[test]
    fn the_practice_round_takes_one_strap_change_and_no_weight_before_it_is_made_out() {
        let routine = practice_round();
        let parts = routine.course(&routine.hands());
        assert_eq!(strap_changes(&parts), 1);
        // Two stretches and six movements for each hand; glides and shaking with both at once.
        assert_eq!(parts.len(), 2 * 8 + 2);
        assert_eq!(
            routine.weights_on("2026-03-09".parse().unwrap()),
            Weights::PracticeOnly {
                missing: vec!["screened_on", "contact", "review_by"]
            }
        );
    }
}
