//! `replay`: the promised object, the trace, the options.

use std::io::Read;
use std::process::{Command, Stdio};

use crate::run::{carpotempo, json, recording, stderr, stdout};

const SET_KEYS: [&str; 7] = [
    "movement",
    "side",
    "load_kg",
    "start_s",
    "end_s",
    "reps",
    "incomplete_count",
];
const REP_KEYS: [&str; 10] = [
    "lift_start_s",
    "lift_end_s",
    "lower_start_s",
    "lower_end_s",
    "range_deg",
    "peak_deg",
    "start_deg",
    "peak_speed_deg_s",
    "verdict",
    "doubts",
];

#[test]
fn the_object_has_the_promised_keys_and_unknown_is_null() {
    let object = json(&[&recording("flexion-hurried.csv")]);
    assert!(object["warnings"].is_array());
    let sets = object["sets"].as_array().unwrap();
    assert_eq!(sets.len(), 1);
    for key in SET_KEYS {
        assert!(sets[0].get(key).is_some(), "{key}");
    }
    assert!(sets[0]["movement"].is_null());
    assert!(sets[0]["side"].is_null());
    assert!(sets[0]["load_kg"].is_null());
    let reps = sets[0]["reps"].as_array().unwrap();
    assert_eq!(reps.len(), 10);
    for rep in reps {
        for key in REP_KEYS {
            assert!(rep.get(key).is_some(), "{key}");
        }
        assert!(rep["verdict"].is_null(), "no tempo, no verdict");
        let times: Vec<f64> = REP_KEYS[..4]
            .iter()
            .map(|key| rep[*key].as_f64().unwrap())
            .collect();
        assert!(times.is_sorted(), "{times:?}");
    }
}

#[test]
fn a_tempo_gives_verdicts_and_its_words() {
    let object = json(&[
        &recording("flexion-hurried.csv"),
        "--exercise",
        "wrist-flexion",
        "--side",
        "left",
        "--tempo",
        "4-0-2-1",
    ]);
    let set = &object["sets"][0];
    assert_eq!(set["movement"], "wrist-flexion");
    assert_eq!(set["side"], "left");
    assert_eq!(set["eccentric"], "lower");
    assert_eq!(
        set["tempo_words"],
        "up in two, hold one at the top, down in four"
    );
    let reps = set["reps"].as_array().unwrap();
    for rep in reps {
        let lower_s = rep["lower_end_s"].as_f64().unwrap() - rep["lower_start_s"].as_f64().unwrap();
        let verdict = match lower_s {
            s if s < 3.0 => "hurried",
            s if s > 6.0 => "slower",
            _ => "in-band",
        };
        assert_eq!(rep["verdict"], verdict, "{lower_s}");
    }
    assert_eq!(reps.last().unwrap()["verdict"], "hurried");
}

#[test]
fn the_trace_has_one_row_for_each_sample_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let trace = folder.path().join("trace.csv");
    let source = recording("extension-calibrated");
    let output = carpotempo(&["replay", &source, "--trace", trace.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let mut rows = csv::Reader::from_path(&trace).unwrap();
    assert_eq!(
        rows.headers().unwrap().iter().collect::<Vec<_>>().join(","),
        "t_s,qw,qx,qy,qz,flexion_deg,deviation_deg,rotation_deg,measured_deg,phase"
    );
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    let samples = std::path::Path::new(&source).join("samples.csv");
    let samples: Vec<csv::StringRecord> = csv::Reader::from_path(samples)
        .unwrap()
        .records()
        .map(Result::unwrap)
        .filter(|row| &row[0] == "hand")
        .collect();
    assert_eq!(rows.len(), samples.len());
    let mut phases = std::collections::BTreeSet::new();
    for (row, sample) in rows.iter().zip(&samples) {
        let (own, of_sample): (f64, f64) = (row[0].parse().unwrap(), sample[1].parse().unwrap());
        assert_eq!(own.to_bits(), of_sample.to_bits());
        let q: Vec<f64> = (1..5).map(|k| row[k].parse().unwrap()).collect();
        let norm: f64 = q.iter().map(|value| value * value).sum();
        assert!((norm - 1.0).abs() < 1e-9);
        phases.insert(row[9].to_owned());
        if &row[9] != "none" {
            // Extension is negative flexion by the ISB's sign.
            let (flexion, measured): (f64, f64) =
                (row[5].parse().unwrap(), row[8].parse().unwrap());
            assert!((flexion + measured).abs() < 1e-9);
        }
    }
    let phases: Vec<&str> = phases.iter().map(String::as_str).collect();
    assert_eq!(phases, ["hold", "lift", "lower", "none", "rest"]);
}

#[test]
fn options_that_contradict_the_events_are_wrong_arguments() {
    let source = recording("extension-calibrated");
    for wrong in [
        ["--exercise", "wrist-flexion"],
        ["--side", "left"],
        ["--tempo", "2-0-2-0"],
        ["--accel-unit", "g"],
        ["--exercise", "curl"],
        ["--tempo", "4-x-1"],
        ["--speed", "0"],
    ] {
        let output = carpotempo(&["replay", &source, wrong[0], wrong[1]]);
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
        assert!(stdout(&output).is_empty());
        assert!(stderr(&output).contains(wrong[0]), "{}", stderr(&output));
    }
}

#[test]
fn online_counts_the_same_and_watching_changes_nothing() {
    let source = recording("extension-calibrated");
    let count = |object: &serde_json::Value| object["sets"][0]["reps"].as_array().unwrap().len();
    let refined = json(&[&source]);
    let online = json(&[&source, "--online"]);
    assert_eq!(count(&refined), 6);
    assert_eq!(count(&online), 6);
    let watched = json(&[&source, "--speed", "1000"]);
    assert_eq!(watched, refined);
}

#[test]
fn charts_are_written_as_svg_and_png() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("charts");
    let source = recording("flexion-hurried.csv");
    let output = carpotempo(&["replay", &source, "--charts", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    for name in [
        "set-1-angle.svg",
        "set-1-angle.png",
        "tempo.svg",
        "tempo.png",
    ] {
        assert!(out.join(name).metadata().unwrap().len() > 1000, "{name}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["replay", &recording("flexion-hurried.csv"), "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let mut said = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    assert!(child.wait().unwrap().success());
    assert!(!said.contains("panic"), "{said}");
}

#[test]
fn a_session_without_samples_has_no_sets_and_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("session.json"),
        r#"{"format":"carpotempo-recording","version":1,"started_at":"2026-03-02T08:00:00+01:00","patient":"P-0001","routine":null}"#,
    )
    .unwrap();
    std::fs::write(
        folder.path().join("events.csv"),
        "t_s,event,detail\n0,night,\"{\"\"woke\"\":true}\"\n",
    )
    .unwrap();
    let object = json(&[folder.path().to_str().unwrap()]);
    assert_eq!(object["sets"], serde_json::json!([]));
}

#[test]
fn help_names_every_option() {
    let help = stdout(&carpotempo(&["replay", "--help"]));
    for option in [
        "--exercise",
        "--side",
        "--tempo",
        "--json",
        "--trace",
        "--charts",
        "--online",
        "--speed",
        "--column",
        "--accel-unit",
        "--gyro-unit",
        "--time-unit",
        "--rate",
        "--decimal-comma",
        "--page",
        "--no-browser",
        "--port",
    ] {
        assert!(help.contains(option), "{option}");
    }
}
