//! The command: what it prints, writes and refuses.

use std::path::Path;
use std::process::Output;

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{EventKind, Night, Store, When};
use jiff::civil::date;
use serde_json::Value;

use crate::invented::*;
use crate::long::{symptom, tasks};

/// Runs the program against a store.
pub fn command(words: &[&str], store: &Path, options: &[&str]) -> Output {
    std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(words)
        .arg("--store")
        .arg(store)
        .args(options)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A store with one session of one hand and one of answers alone.
fn small_store(folder: &Path) -> Store {
    let store = Store::at(folder.join("store"));
    let one = tasks(40.0, 4.2)[..1].to_vec();
    record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        Some(routine()),
        &one,
        &Said::default(),
        1,
    );
    let mut said = Said::default();
    said.before.push(EventKind::Night(Night {
        woke: Some(true),
        ..Night::default()
    }));
    let pain = symptom(2, Side::Left, When::NextMorning);
    said.before.push(EventKind::Pain(pain));
    record(
        &store,
        "p1",
        at(date(2026, 3, 4), 8, 1),
        None,
        &[],
        &said,
        2,
    );
    store
}

#[test]
fn json_is_one_object_whose_numbers_name_their_units_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let store = small_store(folder.path());
    let done = command(&["review", "p1"], store.root(), &["--json"]);
    assert_eq!(done.status.code(), Some(0));
    assert!(done.stderr.is_empty(), "{}", text(&done.stderr));
    let json: Value = serde_json::from_slice(&done.stdout).unwrap();
    let mut bare = Vec::new();
    numbers(&json, "", &mut bare);
    // Answers are numbers of the scale from 0 to 10; doubts are counted under their names.
    let scale = ["before", "during", "after", "next_morning", "time_unknown"];
    bare.retain(|key: &String| !scale.contains(&key.as_str()));
    assert!(bare.is_empty(), "numbers without a unit: {bare:?}");
    assert_eq!(json["sessions"][1]["symptoms"][0]["next_morning"], 2);
    assert_eq!(json["sessions"][1]["set_count"], 0);
    assert_eq!(json["sessions"][1]["prescribed_count"], Value::Null);
    assert_eq!(json["series"][0]["sessions"][0]["done_count"], 6);
    assert_eq!(json["series"][0]["sessions"][0]["prescribed_count"], 12);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

fn numbers(value: &Value, key: &str, bare: &mut Vec<String>) {
    const UNITS: [&str; 6] = ["_deg", "_s", "_kg", "_count", "_ratio", "_percent"];
    match value {
        Value::Object(parts) => {
            for (key, part) in parts {
                if key != "doubts" {
                    numbers(part, key, bare);
                }
            }
        }
        Value::Array(parts) => parts.iter().for_each(|part| numbers(part, key, bare)),
        Value::Number(_) if !UNITS.iter().any(|unit| key.ends_with(unit)) => {
            bare.push(key.to_owned());
        }
        _ => {}
    }
}

#[test]
fn the_report_goes_where_it_is_said_and_the_output_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = small_store(folder.path());
    let done = std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["review", "p1", "--store"])
        .arg(store.root())
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let page = folder.path().join("carpotempo-review-p1/report.html");
    assert!(page.is_file());
    let said = text(&done.stdout);
    assert!(said.contains("carpotempo-review-p1/report.html"), "{said}");
    assert!(said.contains("1 session done, 3 to 4 Mar 2026"), "{said}");
    assert!(said.contains("6 of 12"), "{said}");
    let charts = folder.path().join("carpotempo-review-p1/charts");
    for name in [
        "range-wrist-flexion-loaded",
        "last-angle-wrist-flexion-left",
    ] {
        for kind in ["svg", "png"] {
            assert!(
                charts.join(format!("{name}.{kind}")).is_file(),
                "{name}.{kind}"
            );
        }
    }
    let png = std::fs::read(charts.join("range-wrist-flexion-loaded.png")).unwrap();
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"));
}

#[test]
fn an_unknown_patient_is_named_with_the_store_and_nothing_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    let store = small_store(folder.path());
    for options in [&[][..], &["--json"][..]] {
        let done = command(&["review", "p2"], store.root(), options);
        assert_eq!(done.status.code(), Some(1));
        assert!(done.stdout.is_empty());
        let said = text(&done.stderr);
        assert!(
            said.contains("p2") && said.contains(store.root().to_str().unwrap()),
            "{said}"
        );
    }
}

#[test]
fn arguments_that_mean_nothing_are_exit_status_two() {
    let folder = tempfile::tempdir().unwrap();
    for (words, options) in [
        (&["review", "no patient"][..], &[][..]),
        (&["review", "p1"][..], &["--since", "2026-02-30"][..]),
        (&["review"][..], &[][..]),
    ] {
        let done = command(words, folder.path(), options);
        assert_eq!(done.status.code(), Some(2), "{words:?} {options:?}");
        assert!(done.stdout.is_empty());
    }
}

#[test]
fn an_empty_patient_folder_and_a_late_date_read_well() {
    let folder = tempfile::tempdir().unwrap();
    let store = small_store(folder.path());
    std::fs::create_dir(store.root().join("new")).unwrap();
    let out = folder.path().join("out");
    let out = out.to_str().unwrap();
    let done = command(&["review", "new"], store.root(), &["--out", out]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    assert!(text(&done.stdout).starts_with("Patient new: no sessions.\n"));
    let page = std::fs::read_to_string(Path::new(out).join("report.html")).unwrap();
    assert!(page.contains("No sessions"));
    let late = ["--since", "2026-04-01", "--json"];
    let done = command(&["review", "p1"], store.root(), &late);
    let json: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(json["sessions"], serde_json::json!([]));
    assert_eq!(json["adherence"]["prescribed_count"], Value::Null);
}

#[test]
fn a_broken_session_is_named_and_the_others_are_reviewed() {
    let folder = tempfile::tempdir().unwrap();
    let store = small_store(folder.path());
    let patient = store.root().join("p1");
    std::fs::create_dir(patient.join("2026-03-05T170000Z")).unwrap();
    let (bad, _) = record(
        &store,
        "p1",
        at(date(2026, 3, 6), 18, 1),
        None,
        &tasks(40.0, 4.2)[..1],
        &Said::default(),
        3,
    );
    let samples = bad.join("samples.csv");
    let rows = std::fs::read_to_string(&samples).unwrap();
    std::fs::write(&samples, rows.replacen("hand,", "hand,x", 1)).unwrap();
    let done = command(&["review", "p1"], store.root(), &["--json"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let json: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(json["sessions"].as_array().unwrap().len(), 2);
    let warnings = json["warnings"].to_string();
    assert!(warnings.contains("2026-03-05T170000Z"), "{warnings}");
    assert!(warnings.contains("samples.csv"), "{warnings}");
}

#[test]
fn a_movement_that_is_not_named_is_counted_and_said() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path().join("store"));
    let one = tasks(40.0, 4.2)[..1].to_vec();
    let (session, truth) = record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        None,
        &one,
        &Said::default(),
        1,
    );
    std::fs::remove_file(session.join("events.csv")).unwrap();
    let out = folder.path().join("out");
    let options = ["--out", out.to_str().unwrap()];
    let done = command(&["review", "p1"], store.root(), &options);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let said = text(&done.stdout);
    assert!(
        said.contains("Movement not named, load unknown, posture not noted"),
        "{said}"
    );
    // The calibration's repetition counts here: nothing says that it is one.
    let count = 1 + truth[0].len();
    assert!(
        said.contains(&format!("{count} of unknown prescribed")),
        "{said}"
    );
    let page = std::fs::read_to_string(out.join("report.html")).unwrap();
    assert!(page.contains("the recording does not name the movement"));
    assert_eq!(one[0].movement, Movement::WristFlexion);
}
