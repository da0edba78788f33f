//! A second sensor on the forearm: asked for where it is put on, and never a reason to stop.

use carpotempo::pipeline::live::Phase;
use carpotempo::session::guided::GuidedPlan;
use carpotempo::session::guided::aloud::Urgency;
use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::{LinkView, Screen};
use carpotempo::session::{Link, Output, Second};

use super::drive::{Drive, ROUTINE, name, plan, untroubled};
use super::fed::Fed;

fn both() -> GuidedPlan {
    GuidedPlan {
        forearm: true,
        ..plan(ROUTINE)
    }
}

/// At the screen where the sensors are put on.
fn at_place(plan: GuidedPlan) -> Drive {
    let mut drive = Drive::new(plan);
    drive.answer(&|screen| match screen {
        Screen::Place { .. } => None,
        other => untroubled(other),
    });
    assert!(matches!(drive.guided.view().screen, Screen::Place { .. }));
    drive
}

fn screen(drive: &Drive) -> String {
    name(&drive.guided.view().screen)
}

#[test]
fn both_have_to_be_there_or_the_person_goes_on_with_the_hand_alone() {
    let mut drive = at_place(both());
    assert!(drive.said.last().unwrap().contains("one on the forearm"));
    for link in [Link::Back, Link::Lost] {
        let outputs = drive.guided.second(Second::Link(link));
        drive.take(outputs);
        for press in [Press::Next, Press::GoOn] {
            drive.press(press);
            assert_eq!(screen(&drive), "place", "the hand's is not there");
        }
    }
    drive.guided.connected();
    drive.press(Press::Next);
    assert_eq!(screen(&drive), "place", "the forearm's is lost");
    let mut alone = at_place(both());
    alone.guided.connected();
    alone.press(Press::Next);
    assert_eq!(screen(&alone), "place");
    alone.press(Press::GoOn);
    assert_eq!(screen(&alone), "hearing");
    let outputs = drive.guided.second(Second::Connected);
    drive.take(outputs);
    drive.press(Press::Next);
    assert_eq!(screen(&drive), "hearing");
    drive.press(Press::Yes);
    assert_eq!(screen(&drive), "calibrate");
    assert!(
        drive
            .said
            .iter()
            .any(|words| words.contains("the sensors have to learn"))
    );
}

#[test]
fn with_one_sensor_nothing_is_said_or_shown_of_a_second() {
    let mut drive = at_place(plan(ROUTINE));
    let view = serde_json::to_value(drive.guided.view()).unwrap();
    assert!(view.get("forearm").is_none(), "{view}");
    drive.guided.connected();
    drive.press(Press::GoOn);
    assert_eq!(
        screen(&drive),
        "place",
        "there is no other to go on without"
    );
    drive.press(Press::Next);
    assert_eq!(screen(&drive), "hearing");
    assert!(
        !drive
            .said
            .iter()
            .any(|words| words.contains("forearm, ") || words.contains("both"))
    );
}

#[test]
fn a_forearm_that_is_lost_in_a_set_is_said_once_as_a_remark_and_the_set_goes_on() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    assert_eq!(fed.guided.second(Second::Connected), []);
    fed.ready();
    fed.counted(45.0, false);
    fed.said();
    let mut said = Vec::new();
    for link in [
        Link::Stalled,
        Link::Lost,
        Link::Back,
        Link::Lost,
        Link::Gone,
    ] {
        said.extend(fed.guided.second(Second::Link(link)));
        assert!(matches!(fed.screen(), Screen::Working { .. }), "{link:?}");
    }
    assert_eq!(said, [Output::Say(Line::ForearmAway)]);
    assert_eq!(Line::ForearmAway.urgency(), Urgency::Remark);
    let view = fed.guided.view();
    assert_eq!(view.forearm.unwrap().link, LinkView::Gone);
    assert_eq!(view.sensor.link, LinkView::There);
    for _ in 0..3 {
        fed.hand(Phase::Lift, 20.0, false, 0.5);
        fed.counted(45.0, false);
    }
    assert!(
        matches!(fed.screen(), Screen::Rest { .. }),
        "the dose is done"
    );
}

#[test]
fn a_low_battery_of_the_forearm_is_warned_of_before_a_set_once() {
    for (percent, warned) in [(15, 1), (16, 0)] {
        let mut fed = Fed::at_work(plan(ROUTINE));
        fed.guided.second(Second::Battery(percent));
        let mut times = 0;
        for repetitions in [4, 3] {
            fed.ready();
            for _ in 0..repetitions {
                fed.counted(45.0, false);
            }
            fed.press(Press::Next);
            let warning = Line::ForearmBatteryLow.words();
            times += fed.said().iter().filter(|words| **words == warning).count();
        }
        assert_eq!(times, warned, "{percent}");
    }
}

#[test]
fn straps_that_tingle_are_asked_about_and_loosened_together() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.guided.second(Second::Connected);
    fed.wait(70.0);
    fed.ready();
    for _ in 0..4 {
        fed.counted(45.0, false);
    }
    fed.press(Press::Next);
    let asked = fed.lines.contains(&Line::DoTheStrapsTingle);
    if matches!(fed.screen(), Screen::Wearing { .. }) {
        assert!(asked);
        fed.press(Press::Yes);
        assert!(fed.lines.contains(&Line::LooserStraps));
        fed.press(Press::Next);
        assert!(
            matches!(fed.screen(), Screen::Calibrate { .. }),
            "fitted anew"
        );
    } else {
        panic!("{:?}", fed.screen());
    }
}
