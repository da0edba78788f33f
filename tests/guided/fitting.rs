//! The sensor is fitted by one movement of a hand that may hurt: nobody has to make it, and whoever
//! cannot go far enough goes on without.

use carpotempo::movement::Movement;
use carpotempo::pipeline::motion::Zero;
use carpotempo::recording::{Event, EventKind, ItemRef, SetEndReason};
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::session::Step;
use nalgebra::{UnitQuaternion, Vector3};

use super::drive::{Drive, ROUTINE, felt, plan, played, set, untroubled};
use super::fed::{Fed, step};

const MOVEMENT: Movement = Movement::WristExtension;

/// A sensor that is put on, a movement of so many degrees as it is fitted, and then a set.
fn steps(travel_deg: f64) -> Vec<Step> {
    let posture = MOVEMENT.usual_posture();
    vec![
        Step::Wear(carpotempo::movement::Side::Right),
        Step::Rest(3.0),
        set(MOVEMENT, posture, SetManner::ordinary(1, travel_deg)),
        Step::Rest(22.0),
        set(MOVEMENT, posture, SetManner::ordinary(4, 40.0)),
        Step::Rest(5.0),
    ]
}

fn at_fitting() -> Drive {
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    drive.guided.connected();
    drive.answer(&untroubled);
    let screen = drive.guided.view().screen;
    assert!(matches!(screen, Screen::Calibrate { .. }), "{screen:?}");
    drive
}

/// Goes on without as soon as that is offered.
fn without(screen: &Screen) -> Option<Press> {
    match screen {
        Screen::Calibrate { without, .. } => without.then_some(Press::GoOn),
        Screen::Rest { .. } => None,
        other => untroubled(other),
    }
}

fn is_fitting(drive: &Drive) -> bool {
    matches!(drive.guided.view().screen, Screen::Calibrate { .. })
}

/// Refused at 12.5 degrees; less is not taken for the movement, and time passes until it is offered.
#[test]
fn a_hand_that_cannot_go_far_enough_goes_on_without_and_is_counted() {
    for (seed, travel_deg) in [(0, 12.5), (1, 12.5), (2, 8.0)] {
        let mut drive = at_fitting();
        let played = played(seed, &steps(travel_deg));
        let set_s = played.truth[1].reps[0].lift_start_s;
        for sample in &played.samples {
            drive.sample(sample);
            drive.answer(&|screen| match screen {
                // Nobody starts before the arm is there.
                Screen::Intro(_) if sample.t_s < set_s - 4.0 => None,
                screen => without(screen),
            });
        }
        let said = drive.said.join(" ");
        assert!(!said.contains("further") || said.contains("no further than is comfortable"));
        if travel_deg > 10.0 {
            assert!(said.contains("15 are needed"), "{said}");
        }
        assert_eq!(
            drive.ends(),
            [Some(SetEndReason::Reached)],
            "{travel_deg}: {said}"
        );
        let left_out = |event: &&Event| match &event.kind {
            EventKind::Calibration(calibration) => calibration.is_left_out(),
            _ => false,
        };
        assert_eq!(drive.events.iter().filter(left_out).count(), 1);
        let analysis = drive.analysis();
        assert_eq!(analysis.sets[0].reps.len(), 4);
        assert_ne!(analysis.sets[0].zero, Some(Zero::Calibration));
    }
}

/// A wrist that bends by 3 degrees is never taken for the movement: after a while that is offered.
#[test]
fn whoever_hardly_moves_is_offered_to_go_on_without() {
    let mut drive = at_fitting();
    let mut offered_s = None;
    for index in 0..1500 {
        let t_s = f64::from(index) / 50.0;
        let bent_deg = if t_s < 4.0 {
            0.0
        } else {
            1.5 * (1.0 - (t_s - 4.0).cos())
        };
        let pose = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), bent_deg.to_radians());
        let outputs = drive.guided.step(&step(&pose, t_s, 0.0, t_s < 4.0));
        drive.take(outputs);
        let screen = drive.guided.view().screen;
        if matches!(screen, Screen::Calibrate { without: true, .. }) {
            offered_s.get_or_insert(t_s);
        }
    }
    let offered_s = offered_s.unwrap();
    assert!(
        (8.0..20.0).contains(&offered_s),
        "{offered_s}: {:?}",
        drive.said
    );
    drive.press(Press::GoOn);
    assert!(matches!(drive.guided.view().screen, Screen::Intro(_)));
}

#[test]
fn before_anything_went_wrong_a_press_to_go_on_changes_nothing() {
    let mut drive = at_fitting();
    drive.press(Press::GoOn);
    assert!(is_fitting(&drive));
}

#[test]
fn a_hand_that_hurts_as_the_sensor_is_fitted_is_asked_and_need_not_do_it_again() {
    let mut drive = at_fitting();
    drive.press(Press::Pause);
    assert!(matches!(drive.guided.view().screen, Screen::Hurt { .. }));
    drive.press(Press::Hurts {
        felt: felt(2, 0, 0),
        side: None,
        like: None,
    });
    let screen = drive.guided.view().screen;
    assert!(
        matches!(
            screen,
            Screen::Settling {
                may_go_on: true,
                ..
            }
        ),
        "{screen:?}"
    );
    drive.press(Press::GoOn);
    assert!(is_fitting(&drive));
    drive.press(Press::GoOn);
    assert!(matches!(drive.guided.view().screen, Screen::Intro(_)));
}

/// A hand that was lifted and then stops, before the first repetition is counted.
#[test]
fn a_set_without_a_fitting_stops_when_the_hand_stops_in_its_first_lift() {
    let mut fed = Fed::unfitted(plan(ROUTINE));
    fed.press(Press::Next);
    fed.unseen(0.0, 8.0);
    fed.unseen(25.0, 12.0);
    let screen = fed.screen();
    assert!(matches!(screen, Screen::Paused { .. }), "{screen:?}");
}

#[test]
fn an_exercise_is_left_out_where_its_sensor_is_fitted_and_that_is_kept() {
    let mut drive = at_fitting();
    for _ in 0..2 {
        drive.press(Press::Skip {
            reason: Some("pain".to_owned()),
        });
    }
    let kinds: Vec<&EventKind> = drive.events.iter().map(|event| &event.kind).collect();
    let skipped: Vec<usize> = (0..kinds.len())
        .filter(|at| matches!(kinds[*at], EventKind::Skipped(_)))
        .collect();
    assert_eq!(skipped.len(), 2);
    for (item, at) in [1, 2].into_iter().zip(skipped) {
        // Which it was stands before it.
        let EventKind::ItemStart(mark) = kinds[at - 1] else {
            panic!("{kinds:?}");
        };
        assert_eq!(mark.item, Some(ItemRef::Number(item)));
    }
    // What needs no sensor is left.
    let screen = drive.guided.view().screen;
    assert!(matches!(screen, Screen::Timed { .. }), "{screen:?}");
}

const RANGES: &str = r#"
title = "An invented routine"
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2026-04-01

[[items]]
kind = "range-test"
plane = "flexion-extension"
side = "right"

[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#;

#[test]
fn ranges_of_a_sensor_that_was_not_fitted_are_not_asked_for() {
    let mut drive = Drive::new(plan(RANGES));
    drive.answer(&untroubled);
    drive.guided.connected();
    drive.answer(&untroubled);
    assert!(is_fitting(&drive));
    drive.press(Press::Pause);
    drive.press(Press::No);
    drive.press(Press::GoOn);
    let screen = drive.guided.view().screen;
    assert!(matches!(screen, Screen::Timed { .. }), "{screen:?}");
    let skipped = |event: &&Event| matches!(&event.kind, EventKind::Skipped(reason) if reason.reason.as_deref() == Some("the sensor was not fitted"));
    assert!(drive.events.iter().any(|event| skipped(&event)));
    assert!(
        drive
            .said
            .iter()
            .any(|said| said.contains("has to be fitted"))
    );
}
