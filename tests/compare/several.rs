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
    assert!(lower["limits"]["upper_between"]["high"].is_f64() && lower["icc"].is_null());
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

/// Copies of one recording, and a folder of marks in which each lowering lasts as long as a table says.
fn tabled(folder: &Path, people: &[&str], table: &[Vec<f64>]) -> Value {
    let (recordings, marks) = (folder.join("recordings"), folder.join("marks"));
    std::fs::create_dir_all(&marks).unwrap();
    std::fs::create_dir_all(&recordings).unwrap();
    for (place, row) in table.iter().enumerate() {
        let name = format!("row-{:02}", place + 1);
        let copy = recordings.join(format!("{name}.csv"));
        std::fs::copy(recording("supination.csv"), copy).unwrap();
        for (person, value) in people.iter().zip(row) {
            let text = marks_csv(&[[1.0, 2.0, 3.0, 3.0 + value]]);
            written(&marks, &format!("{name}-marks-{person}.csv"), &text);
        }
    }
    json(&[recordings.to_str().unwrap(), marks.to_str().unwrap()])
}

/// Peak flow of 17 people by two meters, l/min (Bland & Altman, Lancet 1986;1:307-310, table), a
/// hundredth of it as seconds: bias -2.1, deviation 38.8; the paper's limits take twice the deviation.
#[test]
fn the_worked_example_of_1986_through_the_command() {
    let meters = [
        [494.0, 512.0],
        [395.0, 430.0],
        [516.0, 520.0],
        [434.0, 428.0],
        [476.0, 500.0],
        [557.0, 600.0],
        [413.0, 364.0],
        [442.0, 380.0],
        [650.0, 658.0],
        [433.0, 445.0],
        [417.0, 432.0],
        [656.0, 626.0],
        [267.0, 260.0],
        [478.0, 477.0],
        [178.0, 259.0],
        [423.0, 350.0],
        [427.0, 451.0],
    ];
    let table: Vec<Vec<f64>> = meters
        .iter()
        .map(|row| row.iter().map(|own| own / 100.0).collect())
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let whole = tabled(folder.path(), &["large", "mini"], &table);
    let over = &between(&whole, "large", "mini")["over"];
    let limits = &over["measures"][2]["limits"];
    let hundredfold = |key: &str| 100.0 * limits[key].as_f64().unwrap();
    assert!((hundredfold("bias") + 2.1).abs() < 0.05);
    assert!((hundredfold("deviation") - 38.8).abs() < 0.05);
    assert!((hundredfold("lower") - (-79.7 + 0.04 * 38.8)).abs() < 0.1);
    assert!((hundredfold("upper") - (75.5 - 0.04 * 38.8)).abs() < 0.1);
    let bias_between = &limits["bias_between"];
    let of = |key: &str| 100.0 * bias_between[key].as_f64().unwrap();
    assert!((of("low") + 22.0).abs() < 0.1 && (of("high") - 17.8).abs() < 0.1);
}

/// Four judges of six things (Shrout & Fleiss, Psychol Bull 86:420-428, 1979, table 2): ICC(2,1) 0.29,
/// ICC(3,1) 0.71.
#[test]
fn the_worked_example_of_1979_through_the_command() {
    let table: Vec<Vec<f64>> = vec![
        vec![9.0, 2.0, 5.0, 8.0],
        vec![6.0, 1.0, 3.0, 2.0],
        vec![8.0, 4.0, 6.0, 8.0],
        vec![7.0, 1.0, 2.0, 6.0],
        vec![10.0, 5.0, 6.0, 9.0],
        vec![6.0, 2.0, 4.0, 7.0],
    ];
    let folder = tempfile::tempdir().unwrap();
    let whole = tabled(folder.path(), &["anna", "ben", "cleo", "dan"], &table);
    let together = &whole["together"];
    assert_eq!(together["people"].as_array().unwrap().len(), 4);
    let icc = &together["measures"][2]["icc"];
    let of = |key: &str| icc[key].as_f64().unwrap();
    assert!((of("agreement") - 0.29).abs() < 0.005, "{icc}");
    assert!((of("consistency") - 0.71).abs() < 0.01, "{icc}");
    assert_eq!(icc["target_count"], 6);
}
