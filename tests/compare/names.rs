//! Which marks are of which recording, where names do not tell it apart.

use std::path::{Path, PathBuf};

use crate::marked::*;

/// Two weeks, each with its "monday" and marks of it, whose lowerings last so much longer.
const WEEKS: [(&str, &str, f64); 2] = [
    ("week1", "flexion-hurried.csv", 0.1),
    ("week2", "supination.csv", 0.2),
];

fn weeks(folder: &Path) -> Vec<String> {
    let mut arguments = Vec::new();
    for (week, name, more_s) in WEEKS {
        let week: PathBuf = folder.join(week);
        std::fs::create_dir_all(&week).unwrap();
        let monday = week.join("monday.csv");
        std::fs::copy(recording(name), &monday).unwrap();
        arguments.push(monday.to_str().unwrap().to_owned());
        let times = found(arguments.last().unwrap());
        let text = marks_csv(&moved(&times, |_| [0.0, 0.0, 0.0, more_s]));
        arguments.push(written(&week, "monday-marks.csv", &text));
    }
    arguments
}

fn each_is_held_against_its_own(arguments: &[&str]) {
    let whole = json(arguments);
    let own = &between(&whole, "you", "the program");
    let recordings = own["recordings"].as_array().unwrap();
    assert_eq!(recordings.len(), 2);
    for (own, (week, _, more_s)) in recordings.iter().zip(WEEKS) {
        let named = own["recording"].as_str().unwrap();
        assert!(named.contains(week), "{named}");
        near(&own["pairs"][0]["differences"]["lower_s"], more_s);
    }
    assert!(whole["repeatability"].as_array().is_none_or(Vec::is_empty));
}

#[test]
fn recordings_of_one_name_keep_their_own_marks() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = weeks(folder.path());
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    each_is_held_against_its_own(&arguments);
    let folders = WEEKS.map(|(week, ..)| folder.path().join(week).to_str().unwrap().to_owned());
    each_is_held_against_its_own(&[&folders[0], &folders[1]]);
}

#[test]
fn marks_that_may_be_of_either_of_one_name_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = weeks(folder.path());
    let elsewhere = folder.path().join("marks");
    std::fs::create_dir_all(&elsewhere).unwrap();
    let marks = elsewhere.join("monday-marks.csv");
    std::fs::copy(&arguments[1], &marks).unwrap();
    let [week1, week2] = WEEKS.map(|(week, ..)| folder.path().join(week));
    let output = carpotempo(&[
        "compare",
        week1.to_str().unwrap(),
        week2.to_str().unwrap(),
        elsewhere.to_str().unwrap(),
    ]);
    assert_eq!(output.status.code(), Some(2));
    let said = stderr(&output);
    assert!(said.contains("several recordings have the name"), "{said}");
}

#[test]
fn one_file_of_marks_given_twice_is_one_marking() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = weeks(folder.path());
    let week = folder.path().join("week1");
    let again = week.join(".").join("monday-marks.csv");
    let whole = json(&[
        week.to_str().unwrap(),
        &arguments[1],
        again.to_str().unwrap(),
    ]);
    assert!(whole["repeatability"].as_array().is_none_or(Vec::is_empty));
    let markings = whole["recordings"][0]["markings"].as_array().unwrap();
    assert_eq!(markings.len(), 1);
}

/// A truth that somebody laid beside a real recording makes it no invented one.
#[test]
fn a_truth_beside_a_real_recording_does_not_make_it_invented() {
    let folder = tempfile::tempdir().unwrap();
    let real = folder.path().join("real.csv");
    let text = std::fs::read_to_string(recording("forward-elevation-real.csv")).unwrap();
    let plain = text.replacen("ax_g,ay_g,az_g", "ax_m_s2,ay_m_s2,az_m_s2", 1);
    std::fs::write(&real, plain).unwrap();
    let marks = marks_csv(&[[2.5, 3.5, 3.6, 4.6], [4.7, 5.7, 5.8, 6.8]]);
    std::fs::create_dir_all(folder.path().join("truth")).unwrap();
    written(&folder.path().join("truth"), "real.csv", &marks);
    let own = written(folder.path(), "real-marks.csv", &marks);
    let arguments = [real.to_str().unwrap(), &own, "--accel-unit", "g"];
    assert_eq!(json(&arguments)["recordings"][0]["invented"], false);
    let told = told(&arguments);
    assert!(!told.contains("invented"), "{told}");
    assert!(told.contains("What was true, by the files"), "{told}");
}
