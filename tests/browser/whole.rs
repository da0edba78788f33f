//! A whole session, from the first screen to the last.

use carpotempo::recording::EventKind;
use serde_json::json;

use super::led::{recordings, replayed};
use super::looks::looked_at;
use super::patient::Patient;

/// Two hands, a band of range, a stretch that asks for tingling, something by the clock; invented.
const ROUTINE: &str = r#"
title = "An invented routine"
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2199-04-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "left"
repetitions = 8
load_kg = 0.5
rest_s = 60
tempo = "3-0-2-1"
range = { target_deg = 40, no_further_deg = 55 }
words = "Slowly, as we did it together."

[[items]]
kind = "counted"
movement = "wrist-flexion"
side = "right"
repetitions = 2
load_kg = 0.5
rest_s = 60
tempo = "3-0-2-1"

[[items]]
kind = "stretch"
stretch = "palms-together"
side = "both"
hold_s = 20

[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#;

#[test]
fn a_session_is_led_from_the_first_screen_to_the_last() {
    let folder = tempfile::tempdir().unwrap();
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "4"]) else {
        return;
    };
    patient.is_in_mid_set(1);
    patient.looks();
    patient.goes_on_until("rest");
    patient.reads("8 of 8 done.");
    patient.goes_on_until("summary");
    patient.looks();

    looked_at(&[
        "welcome",
        "cautions",
        "symptoms",
        "place",
        "hearing",
        "calibrate",
        "intro",
        "working_going",
        "rest",
        "timed_runs",
        "remark",
        "summary",
    ]);

    let screens = patient.screens.borrow().join(" ");
    assert!(
        screens.starts_with(
            "welcome first-questions cautions symptoms place hearing calibrate intro working rest"
        ),
        "{screens}"
    );
    assert!(screens.ends_with("symptoms remark summary"), "{screens}");
    assert!(screens.contains("timed"), "{screens}");
    assert!(!screens.contains("paused"), "{screens}");
    // One number after the other, each set from 0, and none twice; the last one is on the next
    // screen.
    assert_eq!(
        patient.noted("counts"),
        json!(["0", "1", "2", "3", "4", "5", "6", "7", "0", "1"])
    );
    let words = patient.noted("words");
    for word in ["up", "down"] {
        assert!(words.as_array().unwrap().contains(&json!(word)), "{words}");
    }
    let parts = ["Part 1 of 4", "Part 2 of 4", "Part 3 of 4", "Part 4 of 4"];
    assert_eq!(patient.noted("parts"), json!(parts));
    assert_ne!(patient.noted("awake"), json!(0), "the screen may sleep");
    let summary = patient.text();
    assert!(summary.contains("Well done"), "{summary}");

    assert_eq!(
        patient.browser.is("typeof window.__frames"),
        json!("undefined"),
        "times of frames are kept only for whoever asks"
    );

    let own = format!("http://127.0.0.1:{}/", patient.program.port());
    let requests = patient.browser.requests();
    assert!(
        requests.iter().any(|url| url.ends_with("/app.js")),
        "{requests:?}"
    );
    for url in &requests {
        assert!(url.starts_with(&own), "it left the machine: {url}");
    }
    let severe: Vec<_> = patient
        .browser
        .log("browser")
        .into_iter()
        .filter(|entry| entry["level"] == "SEVERE")
        .collect();
    assert!(severe.is_empty(), "{severe:#?}");

    patient.press("Close");
    patient.reads("You can close this window now.");
    let told = patient.stands_up();
    assert!(told.contains("10 repetitions"), "{told}");
    let recordings = recordings(folder.path());
    let [(path, recording)] = &recordings[..] else {
        panic!("{} recordings", recordings.len());
    };
    assert_eq!(replayed(path), [8, 2]);
    let note = |kind: &EventKind| matches!(kind, EventKind::Note(note) if note.text.as_deref() == Some("went well"));
    assert!(recording.events.iter().any(|event| note(&event.kind)));
}
