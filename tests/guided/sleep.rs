//! A closed lid: on waking nothing goes on by itself.

use carpotempo::recording::SetEndReason;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::{Standing, Stopped};

use super::drive::{ROUTINE, name, plan};
use super::fed::Fed;

#[test]
fn a_set_that_slept_asks_to_go_on_and_then_does_with_the_rest() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.ready();
    fed.counted(45.0, false);
    fed.said();
    fed.asleep(60.0);
    assert!(matches!(
        fed.screen(),
        Screen::Paused {
            why: Stopped::Asleep,
            weight: true,
            ..
        }
    ));
    assert_eq!(
        fed.said(),
        ["The computer was asleep. Put the weight down. Shall we go on?"]
    );
    assert!(fed.events.iter().any(|kind| matches!(
        kind,
        carpotempo::recording::EventKind::SetEnd(end) if end.reason == Some(SetEndReason::Lost)
    )));
    fed.counted(45.0, false);
    fed.wait(30.0);
    assert_eq!(name(&fed.screen()), "paused", "never by itself");
    fed.press(Press::No);
    let Screen::Working { live, .. } = fed.screen() else {
        panic!("{:?}", fed.screen());
    };
    assert_eq!((live.standing, live.count), (Standing::AwaitStill, 1));
}

#[test]
fn after_a_long_sleep_it_is_asked_again_how_the_hands_are() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.ready();
    fed.counted(45.0, false);
    fed.asleep(7200.0);
    assert_eq!(name(&fed.screen()), "symptoms");
    fed.press(Press::Symptoms {
        left: None,
        right: None,
    });
    assert_eq!(
        name(&fed.screen()),
        "place",
        "and the sensor is fitted anew"
    );
}

#[test]
fn questions_and_rests_sleep_on() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.asleep(60.0);
    assert_eq!(name(&fed.screen()), "intro");
    fed.ready();
    for _ in 0..4 {
        fed.counted(45.0, false);
    }
    fed.asleep(60.0);
    assert_eq!(name(&fed.screen()), "rest");
    fed.wait(30.0);
    assert_eq!(name(&fed.screen()), "intro", "which waits for a press");
}
