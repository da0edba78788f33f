//! Several recordings: limits for repeated measures and correlations.

use std::path::Path;

use serde_json::Value;

use crate::marked::*;

const RECORDINGS: [&str; 3] = [
    "extension-calibrated",
    "flexion-hurried.csv",
    "supination.csv",
];
/// What is added to each lowering, seconds: the same within a recording.
const MORE_S: [f64; 3] = [0.1, 0.2, 0.4];

/// Recordings and marks in the order in which they may be given; and the repetitions of each.
fn given(folder: &Path) -> (Vec<String>, Vec<usize>) {
    let mut arguments = Vec::new();
    let mut counts = Vec::new();
    for (name, more_s) in RECORDINGS.iter().zip(MORE_S) {
        let recording = recording(name);
        let times = found(&recording);
        counts.push(times.len());
        let text = marks_csv(&moved(&times, |_| [0.0, 0.0, 0.0, more_s]));
        arguments.push(recording);
        arguments.push(written(folder, &format!("mine-of-{more_s}.csv"), &text));
    }
    (arguments, counts)
}

fn lowering(whole: &Value) -> &Value {
    let over = &between(whole, "you", "the program")["over"];
    let measures = over["measures"].as_array().unwrap();
    measures
        .iter()
        .find(|own| own["measure"] == "lower")
        .unwrap()
}

/// No difference within a recording: the variance of one difference is that of the recordings' means.
#[test]
fn limits_over_recordings_in_closed_form() {
    let folder = tempfile::tempdir().unwrap();
    let (arguments, counts) = given(folder.path());
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let whole = json(&arguments);
    let over = &between(&whole, "you", "the program")["over"];
    assert_eq!(over["counts"]["same_count"], 3);
    assert_eq!(over["counts"]["paired_count"], counts.iter().sum::<usize>());
    let limits = &lowering(&whole)["limits"];
    let pairs: f64 = counts.iter().map(|count| *count as f64).sum();
    let weighed = counts.iter().zip(MORE_S).map(|(n, own)| *n as f64 * own);
    let bias = weighed.sum::<f64>() / pairs;
    let mean = MORE_S.iter().sum::<f64>() / 3.0;
    let deviation = (MORE_S.iter().map(|own| (own - mean).powi(2)).sum::<f64>() / 2.0).sqrt();
    let close = |value: &Value, expected: f64| {
        let value = value.as_f64().unwrap();
        assert!((value - expected).abs() < 1e-6, "{value} {expected}");
    };
    close(&limits["bias"], bias);
    close(&limits["deviation"], deviation);
    close(&limits["within_deviation"], 0.0);
    close(&limits["upper"], bias + 1.96 * deviation);
    close(&limits["lower"], bias - 1.96 * deviation);
    // Recordings are what is drawn at random: t with two degrees of freedom.
    let squares: f64 = counts.iter().map(|count| (*count as f64).powi(2)).sum();
    let error = deviation * squares.sqrt() / pairs;
    close(&limits["bias_between"]["high"], bias + 4.302_652_73 * error);
    assert_eq!(lowering(&whole)["icc"]["target_count"], 3);
    let starts = &over["measures"][3];
    assert!(starts["icc"].is_null() && starts["no_icc"].is_null());
    let text = told(&arguments);
    for words in [
        "Bias and limits of agreement for repeated measures",
        "ICC(2,1)",
        "ICC(3,1)",
        "Counts: the same in 3 of 3 recordings",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
}

#[test]
fn two_recordings_have_limits_and_say_why_there_is_no_correlation() {
    let folder = tempfile::tempdir().unwrap();
    let (arguments, _) = given(folder.path());
    let arguments: Vec<&str> = arguments.iter().take(4).map(String::as_str).collect();
    let whole = json(&arguments);
    let lower = lowering(&whole);
    assert!(lower["limits"]["upper"].is_f64() && lower["icc"].is_null());
    let why = lower["no_icc"].as_str().unwrap();
    assert!(why.contains("needs 3 recordings") && why.ends_with("there are 2"));
    assert!(told(&arguments).contains(why));
}

/// A teacher's way: a folder of recordings, a folder of marks named after them.
#[test]
fn folders_pair_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let (recordings, marks) = (folder.path().join("week"), folder.path().join("marks"));
    std::fs::create_dir_all(&marks).unwrap();
    std::fs::create_dir_all(&recordings).unwrap();
    // The tenth is sorted between the first and its marks by some.
    for (name, more_s) in [("set-1", 0.1), ("set-10", 0.2), ("set-2", 0.3)] {
        let copy = recordings.join(format!("{name}.csv"));
        std::fs::copy(recording("flexion-hurried.csv"), &copy).unwrap();
        let times = found(copy.to_str().unwrap());
        let text = marks_csv(&moved(&times, |_| [0.0, 0.0, 0.0, more_s]));
        written(&marks, &format!("{name}-marks-1.csv"), &text);
    }
    std::fs::copy(recording("supination.csv"), recordings.join("set-3.csv")).unwrap();
    std::fs::write(recordings.join("read me.txt"), "no recording").unwrap();
    let charts = folder.path().join("charts");
    let arguments = [
        recordings.to_str().unwrap(),
        marks.to_str().unwrap(),
        "--charts",
        charts.to_str().unwrap(),
    ];
    let whole = json(&arguments);
    let names: Vec<&str> = whole["recordings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|own| own["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["set-1", "set-10", "set-2"]);
    let found = between(&whole, "you", "the program")["recordings"].as_array();
    for (own, more_s) in found.unwrap().iter().zip([0.1, 0.2, 0.3]) {
        near(&own["pairs"][0]["differences"]["lower_s"], more_s);
    }
    let svg = charts.join("agreement-you-program-lowering.svg");
    let svg = std::fs::read_to_string(svg).unwrap();
    assert!(svg.contains("upper limit") && svg.contains("aria-label=\"bias\""));
}
