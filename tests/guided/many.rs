//! Many acted sets: ordinary ones are not paused, true stops are, and nothing else begins a set.
//!
//! Truth: what the simulated person does. The benchmark's `session` figures are the same with more
//! sets and fresh seeds.

use carpotempo::recording::SetEndReason;
use rayon::prelude::*;

use super::acted::{Acted, Story};
use super::outcome::Outcome;

/// Seeds from here on.
const SEED: u64 = 2_026_030;

fn outcomes(story: Story, count: u64) -> Vec<(Acted, Outcome)> {
    let one = |index| {
        let acted = Acted::play(SEED + index, story);
        let outcome = Outcome::of(&acted);
        (acted, outcome)
    };
    (0..count).into_par_iter().map(one).collect()
}

#[test]
fn ordinary_sets_begin_are_counted_and_are_not_paused() {
    let all = outcomes(Story::Ordinary, 60);
    let paused: Vec<u64> = all
        .iter()
        .filter(|(_, outcome)| outcome.paused.is_some())
        .map(|(acted, _)| acted.seed)
        .collect();
    // Goal: at most 2 in 100.
    assert!(paused.len() <= 1, "paused: {paused:?}");
    let mut wrong = 0;
    for (acted, outcome) in &all {
        let begun_s = outcome.begun_s.last();
        assert!(begun_s.is_some(), "{} never began", acted.seed);
        let reached = outcome.ended == Some(SetEndReason::Reached);
        let tired = outcome.ended == Some(SetEndReason::Tired);
        let counted = outcome.counted as usize == acted.truth.len() && reached;
        wrong += usize::from(!(counted || tired));
    }
    assert!(
        wrong <= 2,
        "{wrong} of 60 were not counted as they were done"
    );
}

#[test]
fn true_stops_pause() {
    for story in Story::STOPS {
        for (acted, outcome) in outcomes(story, 6) {
            let (_, paused_s) = outcome
                .paused
                .unwrap_or_else(|| panic!("{story:?} {} was missed", acted.seed));
            let after_s = paused_s - acted.stopped_s.unwrap();
            // The longest hold asked for is 5 s; the weight is put down in up to 3 s.
            assert!((0.0..14.0).contains(&after_s), "{story:?} {}", acted.seed);
        }
    }
}

#[test]
fn shaking_scratching_and_drinking_begin_no_set() {
    for story in Story::DECOYS {
        for (acted, outcome) in outcomes(story, 6) {
            let [from_s, _] = acted.decoy_s.unwrap();
            let until_s = acted.truth[0].lift_start_s;
            let begun = outcome
                .begun_s
                .iter()
                .any(|begun_s| (from_s..until_s).contains(begun_s));
            assert!(!begun, "{story:?} {}", acted.seed);
        }
    }
}
