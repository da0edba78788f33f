//! Every way to stop.

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{EventKind, SetEndReason, When};
use carpotempo::session::Link;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::{Standing, Stopped};
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::session::Step;

use super::drive::{Drive, ROUTINE, felt, fitted, plan, played, set, untroubled};

/// Fewer repetitions than asked, then the arm is put down and rests.
fn stops_after(repetitions: usize) -> Vec<Step> {
    let movement = Movement::WristExtension;
    let mut steps = fitted();
    steps.push(set(
        movement,
        movement.usual_posture(),
        SetManner::ordinary(repetitions, 45.0),
    ));
    steps.push(Step::Rest(12.0));
    steps
}

fn until(
    drive: &mut Drive,
    samples: &[carpotempo::sample::Sample],
    when: &dyn Fn(&Screen) -> bool,
) -> usize {
    drive.guided.connected();
    for (index, sample) in samples.iter().enumerate() {
        drive.sample(sample);
        drive.answer(&untroubled);
        if when(&drive.guided.view().screen) {
            return index + 1;
        }
    }
    panic!("never: {:?}", drive.screens);
}

#[test]
fn a_hand_that_puts_the_weight_down_pauses_the_set_and_keeps_its_repetitions() {
    for seed in 0..6 {
        let played = played(seed, &stops_after(2));
        let mut drive = Drive::new(plan(ROUTINE));
        drive.answer(&untroubled);
        until(&mut drive, &played.samples, &|screen| {
            matches!(screen, Screen::Paused { .. })
        });
        assert_eq!(
            drive.said.last().unwrap(),
            "Put the weight down. Does it hurt?"
        );
        drive.press(Press::Yes);
        drive.press(Press::Hurts {
            felt: felt(5, 0, 0),
            side: Some(Side::Right),
            like: Some("sharp".to_owned()),
        });
        let Screen::Settling { may_go_on, .. } = drive.guided.view().screen else {
            panic!("{:?}", drive.screens);
        };
        assert!(!may_go_on, "above the routine's limit");
        assert!(drive.events.iter().any(|event| matches!(&event.kind, EventKind::Stop(stop) if stop.reason.as_deref() == Some("sharp"))));
        assert_eq!(drive.analysis().sets[0].reps.len(), 2, "seed {seed}");
    }
}

#[test]
fn a_pause_never_goes_on_by_itself() {
    let played = played(2, &stops_after(2));
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    let at = until(&mut drive, &played.samples, &|screen| {
        matches!(screen, Screen::Paused { .. })
    });
    for sample in &played.samples[at..] {
        drive.sample(sample);
    }
    assert!(matches!(drive.guided.view().screen, Screen::Paused { .. }));
}

#[test]
fn any_press_in_a_set_pauses_it_and_no_pain_goes_on_with_the_rest_of_the_dose() {
    let played = played(4, &{
        let mut steps = stops_after(2);
        let movement = Movement::WristExtension;
        steps.push(set(
            movement,
            movement.usual_posture(),
            SetManner::ordinary(2, 45.0),
        ));
        steps.push(Step::Rest(3.0));
        steps
    });
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    let at = until(
        &mut drive,
        &played.samples,
        &|screen| matches!(screen, Screen::Working { live, .. } if live.count == 1),
    );
    drive.press(Press::Next);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Paused {
            why: Stopped::Asked,
            ..
        }
    ));
    drive.press(Press::No);
    drive.play(&played.samples[at..], &|screen| match screen {
        Screen::Paused { .. } => Some(Press::No),
        other => untroubled(other),
    });
    let counts: Vec<usize> = drive.ends().iter().map(|_| 1).collect();
    assert!(
        counts.len() >= 2,
        "two sets at least: before the pause and after"
    );
    let done: usize = drive.analysis().sets.iter().map(|set| set.reps.len()).sum();
    assert!((3..=4).contains(&done), "{done}");
}

#[test]
fn a_lost_sensor_pauses_and_says_so() {
    let played = played(5, &stops_after(3));
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    until(
        &mut drive,
        &played.samples,
        &|screen| matches!(screen, Screen::Working { live, .. } if live.standing == Standing::Going),
    );
    let outputs = drive.guided.link(Link::Lost);
    drive.take(outputs);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Paused {
            why: Stopped::Sensor,
            ..
        }
    ));
    assert_eq!(drive.ends(), [Some(SetEndReason::Lost)]);
    // Without a sensor nothing is resumed.
    drive.press(Press::No);
    assert!(matches!(drive.guided.view().screen, Screen::Paused { .. }));
    let outputs = drive.guided.link(Link::Back);
    drive.take(outputs);
    drive.press(Press::No);
    assert!(matches!(drive.guided.view().screen, Screen::Working { .. }));
}

#[test]
fn ordinary_sets_are_not_paused() {
    // Goal: at most 2 in 100.
    let mut paused = 0;
    let sets = 40;
    for seed in 0..sets {
        let movement = Movement::WristExtension;
        let mut manner = SetManner::ordinary(4, 30.0 + seed as f64);
        manner.lower_s = 3.0 + 0.1 * seed as f64;
        manner.hold_s = [1.0, 1.5, 2.0][seed as usize % 3];
        let mut steps = fitted();
        steps.push(set(movement, movement.usual_posture(), manner));
        steps.push(Step::Rest(3.0));
        let played = played(100 + seed, &steps);
        let mut drive = Drive::new(plan(ROUTINE));
        drive.answer(&untroubled);
        drive.play(&played.samples, &untroubled);
        if drive.screens.iter().any(|screen| screen == "paused") {
            paused += 1;
        }
    }
    assert!(paused == 0, "{paused} of {sets}");
}

#[test]
fn finish_here_keeps_what_was_done() {
    let played = played(6, &stops_after(3));
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    until(
        &mut drive,
        &played.samples,
        &|screen| matches!(screen, Screen::Working { live, .. } if live.count == 2),
    );
    drive.press(Press::FinishHere);
    drive.answer(&untroubled);
    let Screen::Summary { sentences, .. } = drive.guided.view().screen else {
        panic!("{:?}", drive.screens);
    };
    assert_eq!(sentences[0], "You did 2 of 7 repetitions today.");
    assert_eq!(drive.analysis().sets[0].reps.len(), 2);
}

/// A person who has stopped at five of ten, with the routine's limit at three.
fn beyond_the_limits() -> Drive {
    let played = played(7, &stops_after(2));
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    until(&mut drive, &played.samples, &|screen| {
        matches!(screen, Screen::Paused { .. })
    });
    drive.press(Press::Yes);
    drive.press(Press::Hurts {
        felt: felt(5, 0, 0),
        side: Some(Side::Right),
        like: None,
    });
    drive
}

fn asked_again(drive: &mut Drive, pain: u8) {
    drive.press(Press::Next);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Symptoms {
            when: When::During,
            ..
        }
    ));
    drive.press(Press::Symptoms {
        left: None,
        right: Some(felt(pain, 0, 0)),
    });
}

#[test]
fn beyond_the_limits_the_next_exercise_waits_until_it_has_settled() {
    let mut drive = beyond_the_limits();
    // The exercise cannot be taken up again by any press.
    for press in [Press::GoOn, Press::No, Press::Skip { reason: None }] {
        drive.press(press);
        assert!(matches!(
            drive.guided.view().screen,
            Screen::Settling {
                may_go_on: false,
                ..
            }
        ));
    }
    asked_again(&mut drive, 5);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Settling { .. }
    ));
    asked_again(&mut drive, 1);
    let Screen::Intro(exercise) = drive.guided.view().screen else {
        panic!("{:?}", drive.screens);
    };
    assert_eq!(exercise.movement, Movement::WristFlexion);
}

#[test]
fn what_has_not_settled_in_ten_minutes_ends_the_session() {
    let mut drive = beyond_the_limits();
    asked_again(&mut drive, 4);
    drive.wait(601.0, &|_| None);
    asked_again(&mut drive, 4);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Symptoms {
            when: When::After,
            ..
        }
    ));
    drive.answer(&untroubled);
    let Screen::Summary {
        sentences, next, ..
    } = drive.guided.view().screen
    else {
        panic!("{:?}", drive.screens);
    };
    assert!(sentences.last().unwrap().contains("ask your clinician"));
    assert_eq!(
        next, None,
        "no next session is named before the clinician was asked"
    );
}
