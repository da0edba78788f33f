//! The sensor is fitted by one movement of a hand that may hurt: nobody has to make it, and whoever
//! cannot go far enough goes on without.

use carpotempo::movement::Movement;
use carpotempo::pipeline::motion::Zero;
use carpotempo::recording::{EventKind, SetEndReason};
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::session::Step;

use super::drive::{Drive, ROUTINE, felt, plan, played, set, untroubled};

const MOVEMENT: Movement = Movement::WristExtension;

/// A sensor that is put on, a movement of so many degrees as it is fitted, and then a set.
fn steps(travel_deg: f64) -> Vec<Step> {
    let posture = MOVEMENT.usual_posture();
    vec![
        Step::Wear(carpotempo::movement::Side::Right),
        Step::Rest(3.0),
        set(MOVEMENT, posture, SetManner::ordinary(1, travel_deg)),
        Step::Rest(6.0),
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

/// Goes on without as soon as a fitting was refused, and not earlier.
fn without(screen: &Screen) -> Option<Press> {
    match screen {
        Screen::Calibrate { .. } => Some(Press::GoOn),
        Screen::Rest { .. } => None,
        other => untroubled(other),
    }
}

#[test]
fn a_hand_that_cannot_go_far_enough_goes_on_without_and_is_counted() {
    for seed in 0..3 {
        let mut drive = at_fitting();
        drive.play(&played(seed, &steps(12.5)).samples, &without);
        let refused = drive
            .said
            .iter()
            .filter(|said| said.starts_with("Not calibrated"));
        assert_eq!(refused.count(), 1, "seed {seed}: {:?}", drive.said);
        assert!(
            drive
                .said
                .iter()
                .any(|said| said.contains("only if a little further is comfortable")),
            "{:?}",
            drive.said
        );
        assert_eq!(drive.ends(), [Some(SetEndReason::Reached)], "seed {seed}");
        let analysis = drive.analysis();
        assert_eq!(analysis.sets[0].reps.len(), 4);
        assert_ne!(analysis.sets[0].zero, Some(Zero::Calibration));
    }
}

#[test]
fn before_anything_was_refused_a_press_to_go_on_changes_nothing() {
    let mut drive = at_fitting();
    drive.press(Press::GoOn);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Calibrate { .. }
    ));
}

#[test]
fn a_hand_that_hurts_as_the_sensor_is_fitted_is_asked_and_left_in_peace() {
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
    // Gently: the sensor is still to be fitted.
    drive.press(Press::GoOn);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Calibrate { .. }
    ));
}

#[test]
fn an_exercise_is_left_out_where_its_sensor_is_fitted_and_that_is_kept() {
    let mut drive = at_fitting();
    for _ in 0..2 {
        drive.press(Press::Skip {
            reason: Some("pain".to_owned()),
        });
    }
    let skipped = drive
        .events
        .iter()
        .filter(|event| matches!(event.kind, EventKind::Skipped(_)));
    assert_eq!(skipped.count(), 2);
    // What needs no sensor is left.
    let screen = drive.guided.view().screen;
    assert!(matches!(screen, Screen::Timed { .. }), "{screen:?}");
}
