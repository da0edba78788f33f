//! A program that was stopped for a while, as a computer's is whose lid is closed: the wall clock has
//! gone on without it.

use std::time::Duration;

use carpotempo::recording::{EventKind, SetEndReason};

use super::program::{Running, recordings, untroubled};

#[test]
fn a_set_that_slept_is_paused_on_waking_and_the_gap_is_an_event() {
    let folder = tempfile::tempdir().unwrap();
    let mut running = Running::begin(folder.path());
    running.answer(&untroubled, &|view| view["screen"]["live"]["count"] == 1);
    running.signal("-STOP");
    std::thread::sleep(Duration::from_millis(6500));
    running.signal("-CONT");
    let paused = running.answer(&|_| None, &|view| view["screen"]["screen"] == "paused");
    assert_eq!(paused["screen"]["why"], "asleep", "{paused}");
    running.interrupt();
    running.answer(&|_| None, &|_| false);
    running.end();

    let recordings = recordings(folder.path());
    let events = &recordings[0].1.events;
    let slept_s = events.iter().find_map(|event| match &event.kind {
        EventKind::Unknown { name, detail } if name == "asleep" => detail["slept_s"].as_f64(),
        _ => None,
    });
    assert!((5.0..60.0).contains(&slept_s.unwrap()), "{slept_s:?}");
    assert!(
        events
            .iter()
            .any(|event| matches!(event.kind, EventKind::Gap(_)))
    );
    let ends: Vec<Option<SetEndReason>> = events
        .iter()
        .filter_map(|event| match &event.kind {
            EventKind::SetEnd(end) => Some(end.reason),
            _ => None,
        })
        .collect();
    assert_eq!(ends, [Some(SetEndReason::Lost)]);
}
