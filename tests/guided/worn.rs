//! A sensor that is worn strangely: said once, nothing stopped, and fitted anew afterwards.

use carpotempo::joint::wear::{WearFinding, WearKind};
use carpotempo::pipeline::live::{News, Phase};
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;

use super::drive::{ROUTINE, plan};
use super::fed::{Fed, step};

fn finding(kind: WearKind) -> WearFinding {
    WearFinding {
        kind,
        or: None,
        since_s: 0.0,
        evidence_deg: Some(150.0),
        evidence_s: None,
    }
}

fn told(fed: &mut Fed, kind: WearKind) {
    fed.now_s += 0.02;
    let mut step = step(&fed.pose, fed.now_s, 0.0, false);
    step.news.push(News::Worn(finding(kind)));
    fed.step(&step);
}

fn in_a_set() -> Fed {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.ready();
    fed.counted(45.0, false);
    fed.said();
    fed
}

#[test]
fn each_kind_is_one_short_line_and_stops_nothing() {
    for kind in WearKind::ALL {
        let mut fed = in_a_set();
        told(&mut fed, kind);
        let said = fed.said();
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].split(' ').count() <= 25, "{said:?}");
        assert!(matches!(fed.screen(), Screen::Working { .. }), "{kind:?}");
        fed.counted(45.0, false);
        assert_eq!(fed.said()[0], "2");
    }
}

#[test]
fn after_a_set_with_a_turned_sensor_it_is_put_on_and_fitted_anew() {
    for (kind, anew) in [(WearKind::Turned, true), (WearKind::FaceDown, false)] {
        let mut fed = in_a_set();
        told(&mut fed, kind);
        for _ in 0..3 {
            fed.counted(45.0, false);
        }
        fed.wait(21.0);
        let placed = matches!(fed.screen(), Screen::Place { change: false, .. });
        assert_eq!(placed, anew, "{kind:?}: {:?}", fed.screen());
    }
}

#[test]
fn a_set_that_was_stopped_goes_on_with_a_sensor_fitted_anew() {
    let mut fed = in_a_set();
    told(&mut fed, WearKind::Slipped);
    fed.press(Press::Pause);
    fed.press(Press::GoOn);
    assert!(
        matches!(fed.screen(), Screen::Place { .. }),
        "{:?}",
        fed.screen()
    );
}

#[test]
fn a_sensor_that_lies_still_is_asked_about_once_while_a_set_is_waited_for() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.press(Press::Next);
    fed.said();
    let mut said = Vec::new();
    for index in 0..1000 {
        fed.now_s += 0.02;
        // Somewhere on the table, out of the start posture.
        let mut lying = step(&fed.pose, fed.now_s, 60.0, true);
        lying.phase = Phase::Rest;
        lying.lifeless_s = f64::from(index) * 0.02;
        fed.step(&lying);
        said.extend(fed.said());
    }
    assert_eq!(said, ["The sensor lies still. Is it on your hand?"]);
}
