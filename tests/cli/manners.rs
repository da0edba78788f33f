//! What a script rests on: exit status, the two streams, and files that stay as they were.

use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::run::{carpotempo, json, recording, stderr, stdout};

/// Every file below a folder with its content and the time it was written.
fn state(folder: &Path) -> Vec<(PathBuf, Vec<u8>, SystemTime)> {
    let mut state = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            state.extend(self::state(&path));
        } else {
            let modified = path.metadata().unwrap().modified().unwrap();
            state.push((path.clone(), std::fs::read(&path).unwrap(), modified));
        }
    }
    state.sort();
    state
}

/// A copy of the calibrated session in a folder of its own.
fn session() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in ["session.json", "samples.csv", "events.csv"] {
        let from = Path::new(&recording("extension-calibrated")).join(name);
        std::fs::copy(from, folder.path().join(name)).unwrap();
    }
    folder
}

fn path(folder: &tempfile::TempDir) -> &str {
    folder.path().to_str().unwrap()
}

/// The one message of a failure with that exit status, nothing on standard output.
fn fails(arguments: &[&str], status: i32) -> String {
    let output = carpotempo(arguments);
    let message = stderr(&output);
    assert_eq!(
        output.status.code(),
        Some(status),
        "{arguments:?}: {message}"
    );
    assert!(stdout(&output).is_empty(), "{arguments:?}");
    assert!(!message.is_empty(), "{arguments:?}");
    for word in ["panicked", "backtrace", "RUST_BACKTRACE", "src/"] {
        assert!(!message.contains(word), "{arguments:?}: {message}");
    }
    message
}

#[test]
fn a_replay_leaves_a_session_as_it_was() {
    let session = session();
    let out = tempfile::tempdir().unwrap();
    let before = state(session.path());
    let trace = out.path().join("trace.csv");
    let charts = out.path().join("charts");
    let output = carpotempo(&[
        "replay",
        path(&session),
        "--trace",
        trace.to_str().unwrap(),
        "--charts",
        charts.to_str().unwrap(),
    ]);
    assert!(output.status.success(), "{}", stderr(&output));
    json(&[path(&session), "--online"]);
    assert!(
        state(session.path()) == before,
        "nothing is written beside it"
    );
}

#[test]
fn a_refused_session_is_left_as_it_was_and_names_file_line_and_column() {
    type Change = fn(&str) -> String;
    let cases: [(&str, Change, &[&str]); 6] = [
        (
            "samples.csv",
            |text| text.replacen("ay_m_s2", "ay", 1),
            &["samples.csv", "line 1", "ay_m_s2"],
        ),
        (
            "samples.csv",
            |text| with_line(text, 30, |line| line.replacen("hand", "foot", 1)),
            &["samples.csv", "line 30", "sensor", "foot"],
        ),
        (
            "samples.csv",
            |text| with_line(text, 40, |line| line.replacen("hand,", "hand,x", 1)),
            &["samples.csv", "line 40", "t_s"],
        ),
        (
            "samples.csv",
            |text| with_line(text, 50, |_| "hand,0,0,0,9.8,0,0,0".to_owned()),
            &["samples.csv", "line 50", "t_s", "backwards"],
        ),
        (
            "session.json",
            |text| text.replacen("\"version\"", "\"version", 1),
            &["session.json", "line", "column", "restore it"],
        ),
        (
            "session.json",
            |text| text.replacen(": 1,", ": 7,", 1),
            &["session.json", "version is 7", "newer carpotempo"],
        ),
    ];
    for (name, change, words) in cases {
        let session = session();
        let file = session.path().join(name);
        let text = std::fs::read_to_string(&file).unwrap();
        let changed = change(&text);
        assert_ne!(text, changed, "{words:?}");
        std::fs::write(&file, changed).unwrap();
        let before = state(session.path());
        let message = fails(&["replay", path(&session), "--json"], 1);
        assert_eq!(message.trim_end().lines().count(), 1, "{message}");
        for word in words {
            assert!(message.contains(word), "\"{word}\" is not in: {message}");
        }
        assert!(state(session.path()) == before);
    }
}

/// The text with one line, counted from 1, changed.
fn with_line(text: &str, number: usize, change: impl Fn(&str) -> String) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[number - 1] = change(&lines[number - 1]);
    lines.join("\n") + "\n"
}

#[test]
fn a_session_cut_by_a_power_failure_still_opens_and_says_what_is_missing() {
    let session = session();
    for name in ["samples.csv", "events.csv"] {
        let file = session.path().join(name);
        let mut bytes = std::fs::read(&file).unwrap();
        bytes.truncate(bytes.len() - 9);
        std::fs::write(&file, bytes).unwrap();
    }
    let object = json(&[path(&session)]);
    let warnings = object["warnings"].to_string();
    for word in ["samples.csv", "events.csv"] {
        assert!(warnings.contains(word), "{warnings}");
    }
    assert_eq!(object["sets"].as_array().unwrap().len(), 1);
}

#[test]
fn an_unknown_event_is_ignored() {
    let session = session();
    let plain = json(&[path(&session)]);
    let file = session.path().join("events.csv");
    let mut text = std::fs::read_to_string(&file).unwrap();
    text.push_str("1e3,juggling,\"{\"\"balls\"\":3}\"\n");
    std::fs::write(&file, text).unwrap();
    assert_eq!(json(&[path(&session)]), plain);
}

#[test]
fn what_cannot_be_done_is_exit_1_and_what_is_wrongly_asked_is_exit_2() {
    let file = recording("supination.csv");
    let nowhere = tempfile::tempdir().unwrap();
    let missing = nowhere.path().join("nothing.csv");
    let message = fails(&["replay", missing.to_str().unwrap()], 1);
    assert!(message.contains("nothing.csv") && message.contains("check the path"));
    // A folder cannot be written as a file.
    let message = fails(&["replay", &file, "--trace", path(&nowhere)], 1);
    assert!(message.contains(path(&nowhere)), "{message}");
    // A file cannot serve as the folder of charts.
    let message = fails(&["replay", &file, "--charts", &file], 1);
    assert!(message.contains("supination.csv"), "{message}");
    let message = fails(&["review", "P-0001", "--store", path(&nowhere)], 1);
    assert!(
        message.contains("P-0001") && message.contains(path(&nowhere)),
        "{message}"
    );
    for wrong in [
        &["replay"][..],
        &["replay", &file, "--side", "middle"],
        &["replay", &file, "--tempo", "4-0-2-"],
        &["replay", &file, "--accel-unit", "lb"],
        &["replay", &file, "--column", "time"],
        &["replay", &file, "--speed", "-1"],
        &["replay", &file, "--filter", "kalman"],
        &["replay", &file, "--online", "--trace", "t.csv"],
        &["replay", &file, "--online", "--charts", "c"],
        &["replay", &file, "--no-such-option"],
        &["replay", &file, &file],
        &["review", "no name!", "--store", path(&nowhere)],
        &["no-such-command"],
        &[],
    ] {
        fails(wrong, 2);
    }
    assert_eq!(std::fs::read_dir(nowhere.path()).unwrap().count(), 0);
}

#[test]
fn the_same_recording_gives_the_same_bytes() {
    let source = recording("extension-calibrated");
    for more in [&[][..], &["--online"], &["--online", "--speed", "1000"]] {
        let mut arguments = vec!["replay", &source, "--json"];
        arguments.extend(more);
        let (first, again) = (carpotempo(&arguments), carpotempo(&arguments));
        assert!(first.status.success());
        assert_eq!(first.stdout, again.stdout, "{more:?}");
    }
}

#[test]
fn watching_tells_its_story_on_the_other_stream() {
    let source = recording("supination.csv");
    let watched = carpotempo(&["replay", &source, "--json", "--speed", "1000"]);
    let plain = carpotempo(&["replay", &source, "--json"]);
    assert_eq!(watched.stdout, plain.stdout);
    let told = stderr(&watched);
    assert!(told.contains("range") && told.contains("lower"), "{told}");
    assert!(plain.stderr.is_empty(), "{}", stderr(&plain));
}

#[test]
fn without_a_name_the_trace_has_an_angle_and_no_joint() {
    let folder = tempfile::tempdir().unwrap();
    let trace = folder.path().join("trace.csv");
    let source = recording("supination.csv");
    let rows = |more: &[&str]| -> Vec<csv::StringRecord> {
        let mut arguments = vec!["replay", &source, "--trace", trace.to_str().unwrap()];
        arguments.extend(more);
        let output = carpotempo(&arguments);
        assert!(output.status.success(), "{}", stderr(&output));
        let mut reader = csv::Reader::from_path(&trace).unwrap();
        reader.records().map(Result::unwrap).collect()
    };
    let unnamed = rows(&[]);
    let samples = csv::Reader::from_path(&source)
        .unwrap()
        .into_records()
        .count();
    assert_eq!(unnamed.len(), samples);
    assert!(
        unnamed
            .iter()
            .all(|row| row[5].is_empty() && row[6].is_empty() && row[7].is_empty())
    );
    assert!(unnamed.iter().all(|row| row[8].parse::<f64>().is_ok()));
    // Supination is negative rotation by the ISB's sign; the other two stay unknown.
    for row in rows(&["--exercise", "supination", "--side", "left"]) {
        assert!(row[5].is_empty() && row[6].is_empty());
        let (rotation, measured): (f64, f64) = (row[7].parse().unwrap(), row[8].parse().unwrap());
        assert_eq!(rotation, -measured);
    }
}

#[test]
fn the_table_says_what_the_object_says() {
    let source = recording("supination.csv");
    let object = json(&[&source]);
    let reps = object["sets"][0]["reps"].as_array().unwrap();
    let table = stdout(&carpotempo(&["replay", &source]));
    assert!(
        table.contains(&format!("{} repetitions", reps.len())),
        "{table}"
    );
    for (index, rep) in reps.iter().enumerate() {
        let start_s = rep["lift_start_s"].as_f64().unwrap();
        let range_deg = rep["range_deg"].as_f64().unwrap();
        // The stated error is rounded up, and left out where it is unknown.
        let range = match rep["range_error_deg"].as_f64() {
            Some(error_deg) => format!("{range_deg:.0} \u{b1}{:.0}", error_deg.ceil()),
            None => format!("{range_deg:.0}"),
        };
        let begins = format!("{:4} {start_s:7.2} {range:>7}", index + 1);
        assert!(
            table.lines().any(|line| line.starts_with(&begins)),
            "{begins}\n{table}"
        );
    }
    assert!(table.contains("One sensor"), "says what its angles mean");
}

#[test]
fn help_is_no_failure_and_promises_no_treatment() {
    let output = carpotempo(&["--help"]);
    assert!(output.status.success());
    let help = stdout(&output);
    for command in ["demo", "replay", "review"] {
        assert!(help.contains(command), "{help}");
    }
    assert!(help.contains("does not treat"), "{help}");
    let output = carpotempo(&["--version"]);
    assert!(stdout(&output).contains(env!("CARGO_PKG_VERSION")));
}
