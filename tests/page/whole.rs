//! Whole sessions by the program, an invented person's hand, and a page that is answered.

use carpotempo::recording::EventKind;
use serde_json::{Value, json};

use super::program::{Running, recordings, replayed, untroubled};

fn never(_: &Value) -> bool {
    false
}

#[test]
fn a_session_from_welcome_to_summary_replays_to_what_was_shown() {
    let folder = tempfile::tempdir().unwrap();
    let mut running = Running::begin(folder.path());
    running.answer(&untroubled, &never);
    let screens = running.screens.join(" ");
    assert!(
        screens.starts_with("welcome first-questions cautions symptoms place hearing calibrate")
    );
    assert!(screens.ends_with("symptoms remark summary"), "{screens}");
    assert!(!screens.contains("paused"), "{screens}");
    assert_eq!(running.counts, ["1", "2", "3", "1", "2"]);
    let told = running.end();
    assert!(told.contains("5 repetitions"), "{told}");
    let recordings = recordings(folder.path());
    let [(path, recording)] = &recordings[..] else {
        panic!("{} recordings", recordings.len());
    };
    assert_eq!(replayed(path), [3, 2]);
    assert!(recording.head.as_ref().unwrap().routine.is_some());
    let simulated =
        |kind: &EventKind| matches!(kind, EventKind::Unknown { name, .. } if name == "simulated");
    assert!(simulated(&recording.events[0].kind), "says so first");
    let note = |kind: &EventKind| matches!(kind, EventKind::Note(note) if note.text.as_deref() == Some("went well"));
    assert!(recording.events.iter().any(|event| note(&event.kind)));
}

#[test]
fn an_interrupted_session_is_kept_and_taken_up() {
    let folder = tempfile::tempdir().unwrap();
    let mut running = Running::begin(folder.path());
    running.answer(&untroubled, &|view| view["screen"]["screen"] == "rest");
    running.interrupt();
    running.answer(&|_| None, &never);
    running.end();
    let first = recordings(folder.path());
    assert_eq!(replayed(&first[0].0), [3]);

    let mut again = Running::begin(folder.path());
    let welcome = again.answer(&|_| None, &|_| true);
    assert_eq!(welcome["screen"]["unfinished"], true);
    assert_eq!(welcome["done_of"], json!([1, 3]));
    again.answer(&untroubled, &never);
    assert!(!again.screens.contains(&"first-questions".to_owned()));
    assert_eq!(again.counts, ["1", "2"], "the second exercise alone");
    again.end();
    let both = recordings(folder.path());
    assert_eq!(both.len(), 2);
    assert_eq!(replayed(&both[1].0), [2]);
}

#[test]
fn answers_alone_are_a_recording_and_no_answer_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let mut running = Running::begin(folder.path());
    running.answer(&|_| None, &|_| true);
    running.interrupt();
    running.answer(&|_| None, &never);
    let told = running.end();
    assert!(told.contains("nothing is left behind"), "{told}");
    assert!(recordings(folder.path()).is_empty());

    let applies = |view: &Value| match view["screen"]["screen"].as_str() {
        Some("first-questions") => Some(json!({ "press": "applies" })),
        _ => untroubled(view),
    };
    // Whoever was told to ask is asked again.
    for time in 1..=2 {
        let mut running = Running::begin(folder.path());
        running.answer(&applies, &never);
        assert_eq!(running.screens, ["welcome", "first-questions", "not-today"]);
        running.end();
        let recordings = recordings(folder.path());
        assert_eq!(recordings.len(), time);
        let (path, recording) = &recordings[time - 1];
        assert!(recording.hand.is_empty());
        let declined = |kind: &EventKind| matches!(kind, EventKind::Declined(_));
        assert!(recording.events.iter().any(|event| declined(&event.kind)));
        assert!(replayed(path).is_empty(), "and it replays");
    }
}
