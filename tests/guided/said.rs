//! What is said and shown of a set: counts, the last two, corrections, the battery, extra ones.

use carpotempo::pipeline::live::Phase;
use carpotempo::recording::{EventKind, SetEndReason};
use carpotempo::routine::Verdict;
use carpotempo::session::guided::aloud::Urgency;
use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::Reach;

use super::drive::{ROUTINE, felt, plan};
use super::fed::Fed;

fn banded() -> Fed {
    let toml = ROUTINE.replace(
        "repetitions = 4",
        "repetitions = 12\nrange = { target_deg = 40, no_further_deg = 55 }",
    );
    Fed::at_work(plan(&toml))
}

fn reach(fed: &Fed) -> Option<Reach> {
    match fed.screen() {
        Screen::Working { live, .. } => live.latest.unwrap().reach,
        other => panic!("{other:?}"),
    }
}

fn times(said: &[String], words: &str) -> usize {
    said.iter().filter(|line| *line == words).count()
}

#[test]
fn the_last_two_are_announced_and_each_count_is_said_once() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.ready();
    fed.said();
    let mut said = Vec::new();
    for _ in 0..4 {
        fed.counted(45.0, false);
        said.extend(fed.said());
    }
    assert_eq!(
        said,
        [
            "1",
            "2",
            "2 more.",
            "3",
            "One more.",
            "4",
            "That is all of this set.",
            "Put the weight down. Rest."
        ]
    );
}

#[test]
fn a_word_about_a_repetition_waits_for_its_count_and_only_a_stop_cuts_in() {
    let remarks = [
        Line::MoreToGo(2),
        Line::Slower,
        Line::FarEnough,
        Line::AsFarAsComfortable,
    ];
    assert!(remarks.iter().all(|line| line.urgency() == Urgency::Remark));
    for stop in [
        Line::SensorLost,
        Line::AnyTingling,
        Line::HalfWay,
        Line::DoesItHurt {
            weight: true,
            provokes: false,
        },
    ] {
        assert_eq!(stop.urgency(), Urgency::Other);
    }
}

#[test]
fn a_forearm_that_is_to_rest_is_told_once_in_a_set_and_a_free_one_never() {
    let words = Line::ForearmDown.words();
    assert_eq!(Line::ForearmDown.urgency(), Urgency::Remark);
    let free = ROUTINE.replace("forearm = \"rested\"", "forearm = \"free\"");
    for (toml, told) in [(ROUTINE, 1), (free.as_str(), 0)] {
        let mut fed = Fed::at_work(plan(toml));
        fed.ready();
        fed.said();
        for _ in 0..3 {
            fed.counted_with_the_forearm(45.0);
        }
        assert_eq!(times(&fed.said(), &words), told);
    }
}

#[test]
fn short_is_shown_at_once_and_spoken_after_three_in_a_row() {
    let words = Line::AsFarAsComfortable.words();
    let mut fed = banded();
    fed.ready();
    for (range_deg, spoken) in [
        (35.0, 0),
        (35.0, 0),
        (45.0, 0),
        (35.0, 0),
        (35.0, 0),
        (35.0, 1),
    ] {
        fed.said();
        fed.counted(range_deg, false);
        let short = range_deg < 40.0;
        assert_eq!(reach(&fed) == Some(Reach::Short), short);
        assert_eq!(times(&fed.said(), &words), spoken, "at {range_deg}");
    }
    assert_eq!(words, "As far as is comfortable.");
}

#[test]
fn nobody_who_had_pain_today_is_asked_to_go_further() {
    let mut fed = banded();
    fed.ready();
    fed.counted(35.0, false);
    fed.press(Press::Pause);
    fed.press(Press::Yes);
    fed.press(Press::Hurts {
        felt: felt(1, 0, 0),
        side: None,
        like: None,
    });
    fed.press(Press::GoOn);
    assert!(matches!(fed.screen(), Screen::Intro(_)), "shown once more");
    fed.ready();
    fed.said();
    for _ in 0..6 {
        fed.counted(35.0, false);
    }
    assert_eq!(reach(&fed), Some(Reach::Short), "still shown");
    assert_eq!(times(&fed.said(), &Line::AsFarAsComfortable.words()), 0);
}

#[test]
fn beyond_the_ceiling_is_far_enough() {
    let mut fed = banded();
    fed.ready();
    fed.counted(58.0, false);
    assert_eq!(reach(&fed), Some(Reach::FarEnough));
    assert_eq!(times(&fed.said(), "Far enough."), 1);
}

fn end(fed: &Fed) -> Option<SetEndReason> {
    fed.events.iter().rev().find_map(|kind| match kind {
        EventKind::SetEnd(end) => end.reason,
        _ => None,
    })
}

#[test]
fn three_hurried_in_a_row_or_three_small_ones_are_a_good_place_to_stop() {
    for (count, range_deg, hurried) in [(3, 45.0, true), (3, 26.0, false)] {
        let mut fed = banded();
        fed.ready();
        for _ in 0..3 {
            fed.counted(45.0, false);
        }
        fed.said();
        for left in (0..count).rev() {
            assert_eq!(end(&fed), None);
            fed.counted(range_deg, hurried);
            assert_eq!(end(&fed).is_some(), left == 0);
        }
        assert_eq!(end(&fed), Some(SetEndReason::Tired));
        let said = fed.said();
        assert_eq!(times(&said, "A good place to stop. Put it down."), 1);
        assert_eq!(
            times(&said, "Slower on the way down."),
            if hurried { 3 } else { 0 }
        );
    }
}

#[test]
fn nobody_is_called_hurried_who_may_have_taken_the_time_that_was_asked_for() {
    // 28 degrees in 8 s: a smooth stroke of exactly that reads 0.71 of it (`TempoBand`).
    let toml = ROUTINE.replacen("4-0-2-1", "8-0-2-1", 1);
    for (lower_s, sure) in [(5.8, false), (4.5, true)] {
        let mut fed = Fed::at_work(plan(&toml));
        fed.ready();
        fed.said();
        for _ in 0..3 {
            fed.lowered_in(lower_s, 28.0, true);
            let Screen::Working { live, .. } = fed.screen() else {
                continue;
            };
            let hurried = live.latest.unwrap().verdict == Some(Verdict::Hurried);
            assert_eq!(hurried, sure, "{lower_s} s");
        }
        let said = fed.said();
        assert_eq!(
            times(&said, "Slower on the way down.") > 0,
            sure,
            "{said:?}"
        );
        let ended = matches!(
            fed.screen(),
            Screen::Rest {
                good_place: true,
                ..
            }
        );
        assert_eq!(ended, sure, "{lower_s} s: {:?}", fed.screen());
    }
}

#[test]
fn extra_repetitions_are_offered_up_to_the_routines_number_and_end_there() {
    let toml = ROUTINE.replace(
        "repetitions = 4",
        "repetitions = 4\nextra_repetitions_max = 2",
    );
    let offer = "That is your dose. Stop here, or up to 2 more if it is easy.";
    for wanted in [0, 1, 2] {
        let mut fed = Fed::at_work(plan(&toml));
        fed.ready();
        for _ in 0..4 {
            fed.counted(45.0, false);
        }
        assert_eq!(times(&fed.said(), offer), 1);
        assert_eq!(end(&fed), None, "going on is allowed");
        for _ in 0..wanted {
            fed.counted(45.0, false);
        }
        if wanted < 2 {
            fed.press(Press::Enough);
        }
        assert_eq!(end(&fed), Some(SetEndReason::Reached));
        assert!(matches!(fed.screen(), Screen::Rest { .. }));
        assert_eq!(times(&fed.said(), offer), 0, "offered once");
    }
    // Without the setting nothing is offered.
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.ready();
    for _ in 0..4 {
        fed.counted(45.0, false);
    }
    assert_eq!(end(&fed), Some(SetEndReason::Reached));
    assert!(
        !fed.said()
            .iter()
            .any(|words| words.contains("if it is easy"))
    );
}

#[test]
fn a_flat_battery_is_warned_of_before_a_set_once() {
    let warning = Line::BatteryLow.words();
    for (percent, warned) in [(15, 1), (16, 0)] {
        let mut fed = Fed::at_work(plan(ROUTINE));
        fed.guided.battery(percent);
        assert_eq!(fed.guided.view().sensor.battery_low, warned == 1);
        fed.ready();
        for _ in 0..4 {
            fed.counted(45.0, false);
        }
        fed.press(Press::Next);
        assert!(matches!(fed.screen(), Screen::Intro(_)));
        assert_eq!(times(&fed.said(), &warning), warned, "{percent}");
        fed.ready();
        for _ in 0..3 {
            fed.counted(45.0, false);
        }
        assert_eq!(times(&fed.said(), &warning), 0, "not again");
    }
}

/// A turn of the forearm with an empty hand goes neither up nor down.
#[test]
fn the_seconds_of_a_turn_are_counted_out_and_back() {
    let toml = ROUTINE
        .replacen("wrist-extension", "supination", 1)
        .replacen("load_kg = 0.5", "load_kg = 0", 1)
        .replacen("rotation = \"palm-down\"", "rotation = \"thumb-up\"", 1);
    let mut fed = Fed::at_work(plan(&toml));
    let Screen::Intro(exercise) = fed.screen() else {
        panic!();
    };
    assert_eq!(exercise.words, "Palm up");
    assert_eq!(
        exercise.tempo_words.as_deref(),
        Some("out in two, hold one at the end, back in four")
    );
    fed.press(Press::Next);
    fed.said();
    for (phase, angle_deg) in [
        (Phase::Lift, 20.0),
        (Phase::Hold, 40.0),
        (Phase::Lower, 20.0),
    ] {
        fed.hand(phase, angle_deg, false, 1.2);
    }
    assert_eq!(fed.said(), ["out", "two", "hold", "back", "two"]);
}

#[test]
fn the_name_of_a_movement_fits_how_the_arm_is_held() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.press(Press::Skip { reason: None });
    let Screen::Intro(palm_up) = fed.screen() else {
        panic!();
    };
    assert_eq!(palm_up.words, "Bend towards the palm");
    let svg = carpotempo::drawing::movement_drawing(
        palm_up.movement,
        palm_up.side,
        &palm_up.posture,
        None,
    );
    assert!(
        svg.contains(">towards the palm<"),
        "the drawing says the same"
    );
}

#[test]
fn praise_is_sparing() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    let mut said = Vec::new();
    for count in [4, 3] {
        fed.ready();
        for _ in 0..count {
            fed.counted(45.0, false);
        }
        fed.press(Press::Next);
        said.extend(fed.said());
    }
    fed.press(Press::FinishHere);
    said.extend(fed.said());
    let praise = |words: &&String| {
        ["ell done", "reat", "erfect", "xcellent", "ood job"]
            .iter()
            .any(|praise| words.contains(praise))
    };
    assert_eq!(said.iter().filter(praise).count(), 1, "{said:?}");
}
