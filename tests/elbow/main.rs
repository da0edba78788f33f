//! An elbow that helps, by one sensor on the hand: what is told of it, and to whom.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

#[path = "../common/helped.rs"]
#[allow(dead_code, reason = "the benchmark uses the rest")]
mod helped;

use carpotempo::movement::{ForearmSupport, Movement, Side};
use carpotempo::pipeline::live::{Live, LiveParams, News};
use carpotempo::pipeline::{Expectation, SetResult, analyse};
use carpotempo::reps::Doubt;
use carpotempo::reps::elbow::CannotTell;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::ElbowHelp;
use carpotempo::source::simulator::way::Unrest;
use helped::{Asked, Help, Helped, helped, read_online, recorded};
use rayon::prelude::*;

fn asked(seed: u64, share_ratio: f64, lift_s: f64) -> Asked {
    Asked {
        seed,
        share_ratio,
        lift_s,
        help: Help::Steady,
        unrest: seed.is_multiple_of(2),
        calibrated: seed.is_multiple_of(3),
    }
}

fn expected(set: &Helped) -> Expectation {
    Expectation {
        movement: Some(set.body.movement),
        ..Expectation::default()
    }
}

fn analysed(set: &Helped) -> SetResult {
    let analysis = analyse(&set.recording, &expected(set)).unwrap();
    analysis.sets.into_iter().next().unwrap()
}

/// A curl in the usual posture, calibrated, whose repetitions have these shares.
fn curl(support: ForearmSupport, share_ratios: &[f64], seed: u64) -> Helped {
    let mut random = Random::new(seed);
    let movement = Movement::WristExtension;
    let mut posture = movement.usual_posture();
    posture.forearm = support;
    let body = Body {
        movement,
        side: Side::Right,
        posture,
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    };
    let manner = SetManner {
        lift_s: 1.5,
        lower_s: 2.0,
        elbow: Some(ElbowHelp {
            share_ratios: share_ratios.to_vec(),
            ..ElbowHelp::steady(0.0)
        }),
        ..SetManner::ordinary(share_ratios.len(), 50.0)
    };
    let timeline = manner.timeline(&mut random);
    recorded(body, timeline, Unrest::default(), true, &mut random)
}

#[test]
fn the_wrist_alone_is_not_marked_and_a_share_of_sixty_percent_is() {
    let sets: Vec<(f64, SetResult)> = (0..60_u64)
        .into_par_iter()
        .map(|index| {
            let share_ratio = if index < 30 { 0.0 } else { 0.6 };
            let lift_s = [0.7, 1.0, 1.5, 2.0][index as usize % 4];
            let set = helped(&asked(910_000 + index, share_ratio, lift_s));
            (share_ratio, analysed(&set))
        })
        .collect();
    let (mut told, mut wrong, mut outside) = (0, Vec::new(), 0);
    for (share_ratio, set) in &sets {
        let elbow = set.elbow.unwrap();
        let Some((low, high)) = elbow.low_ratio.zip(elbow.high_ratio) else {
            assert!(elbow.cannot_tell.is_some() && !elbow.forearm_moved);
            continue;
        };
        told += 1;
        outside += usize::from(!(low..=high).contains(share_ratio));
        if elbow.forearm_moved != (*share_ratio > 0.0) {
            wrong.push((share_ratio, elbow));
        }
    }
    assert!(told >= 54, "told {told} of 60");
    assert!(wrong.len() <= 1, "{wrong:?}");
    assert!(outside <= 6, "{outside} outside their interval");
}

#[test]
fn very_slow_lifts_cannot_be_told() {
    let faint = (0..6_u64)
        .into_par_iter()
        .filter(|seed| {
            let set = helped(&asked(920_000 + seed, 0.5, 8.0));
            analysed(&set)
                .elbow
                .is_none_or(|elbow| elbow.cannot_tell.is_some())
        })
        .count();
    assert!(faint >= 5, "{faint} of 6");
}

#[test]
fn single_repetitions_are_marked_and_their_range_is_not_the_wrists() {
    let set = analysed(&curl(
        ForearmSupport::Free,
        &[0.0, 0.0, 0.7, 0.0, 0.0, 0.7, 0.7, 0.0],
        930_001,
    ));
    let marked: Vec<bool> = set
        .reps
        .iter()
        .map(|rep| rep.doubts.contains(&Doubt::ForearmMoved))
        .collect();
    assert_eq!(
        marked,
        [false, false, true, false, false, true, true, false]
    );
    assert!(!set.reps[2].is_of_the_wrist());
}

#[test]
fn a_movement_that_is_not_named_or_turns_the_forearm_is_not_asked() {
    let set = helped(&Asked {
        calibrated: false,
        ..asked(940_000, 0.6, 1.0)
    });
    let plain = analyse(&set.recording, &Expectation::default()).unwrap();
    assert_eq!(plain.sets[0].elbow, None);
    let json = serde_json::to_string(&plain).unwrap();
    assert!(!json.contains("elbow"));
    let turning = Expectation {
        movement: Some(Movement::Supination),
        ..Expectation::default()
    };
    let turning = analyse(&set.recording, &turning).unwrap();
    assert_eq!(turning.sets[0].elbow, None);
}

/// Numbers of the repetitions that were said to be the forearm's while the set went on.
fn said(set: &Helped) -> Vec<usize> {
    let params = LiveParams::of_recording(
        &set.recording,
        &Expectation::default(),
        carpotempo::orientation::FilterKind::Vqf,
    );
    let mut live = Live::new(params.unwrap());
    for event in &set.recording.events {
        live.event(event.clone());
    }
    let mut said = Vec::new();
    for sample in &set.recording.hand {
        for news in live.sample(sample).news {
            if let News::Counted(number, repetition) = news
                && repetition.doubts.contains(&Doubt::ForearmMoved)
            {
                said.push(number);
            }
        }
    }
    said
}

#[test]
fn while_a_set_goes_on_it_is_said_once_and_only_of_a_forearm_that_rests() {
    let shares = [0.0, 0.0, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6];
    let rested = said(&curl(ForearmSupport::Rested, &shares, 950_001));
    assert_eq!(rested.len(), 1, "{rested:?}");
    assert!((3..=5).contains(&rested[0]), "{rested:?}");
    assert!(said(&curl(ForearmSupport::Free, &shares, 950_001)).is_empty());
    assert!(said(&curl(ForearmSupport::Rested, &[0.0; 8], 950_002)).is_empty());
}

#[test]
fn read_as_it_comes_it_is_told_too_and_twice_the_same() {
    let set = curl(ForearmSupport::Rested, &[0.6; 9], 960_001);
    let once = read_online(&set.recording, &Expectation::default());
    assert_eq!(once, read_online(&set.recording, &Expectation::default()));
    let elbow = once.sets[0].elbow.unwrap();
    assert!(elbow.forearm_moved);
    assert!(once.sets[0].reps.iter().all(|rep| !rep.is_of_the_wrist()));
}

/// The page has words for each reason that a share cannot be told for.
#[test]
fn the_page_knows_every_reason() {
    let words = include_str!("../../src/page/assets/replay/words.js");
    for why in [CannotTell::TooFew, CannotTell::TooFaint, CannotTell::NoFit] {
        let name = serde_json::to_string(&why).unwrap();
        assert!(words.contains(&format!("{name}: \"cannot tell")), "{name}");
    }
}
