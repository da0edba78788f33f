//! What cannot be compared: one clear message, nothing on standard output.

use crate::marked::*;

fn refused(arguments: &[&str], status: i32) -> String {
    let mut all = vec!["compare"];
    all.extend(arguments);
    let output = carpotempo(&all);
    let message = stderr(&output);
    assert_eq!(output.status.code(), Some(status), "{message}");
    assert!(output.stdout.is_empty());
    assert_eq!(message.lines().count(), 1, "{message}");
    message
}

#[test]
fn what_is_missing_is_said() {
    let recording = recording("extension-calibrated");
    let folder = tempfile::tempdir().unwrap();
    let none = refused(&[&recording], 2);
    assert!(none.contains("no marks were given"), "{none}");
    let missing = folder.path().join("none.csv");
    let missing = refused(&[&recording, missing.to_str().unwrap()], 1);
    assert!(missing.contains("there is no such file"), "{missing}");
    let marks = marks_csv(&[[1.0, 2.0, 3.0, 4.0]]);
    let marks = written(folder.path(), "m.csv", &marks);
    let nobodys = refused(&[&marks], 2);
    assert!(nobodys.contains("marks of which recording?"), "{nobodys}");
    let options = refused(&[&recording, &marks, "--accel-unit", "g"], 2);
    assert!(options.contains("leave --column"), "{options}");
    let other = refused(&[&recording, &marks, "--exercise", "supination"], 2);
    assert!(other.contains("contradicts the recording"), "{other}");
}

#[test]
fn marks_that_do_not_fit_are_refused_with_their_row() {
    let recording = recording("extension-calibrated");
    let folder = tempfile::tempdir().unwrap();
    let order = marks_csv(&[[10.0, 12.0, 13.0, 16.0], [20.0, 19.0, 21.0, 24.0]]);
    let order = written(folder.path(), "order.csv", &order);
    let order = refused(&[&recording, &order], 1);
    assert!(
        order.contains("order.csv, line 3, column lift_end_s: 19 s lies before lift_start_s"),
        "{order}"
    );
    let elsewhere = marks_csv(&[[1000.0, 1002.0, 1003.0, 1006.0]]);
    let elsewhere = written(folder.path(), "elsewhere.csv", &elsewhere);
    let elsewhere = refused(&[&recording, &elsewhere], 1);
    assert!(
        elsewhere.contains("none of its marks lies within extension-calibrated"),
        "{elsewhere}"
    );
}

#[test]
fn marks_that_lie_partly_outside_or_are_named_otherwise_are_warned_of() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let mut own = times.clone();
    own.push([1000.0, 1001.0, 1002.0, 1003.0]);
    let folder = tempfile::tempdir().unwrap();
    let marks = written(folder.path(), "monday-marks.csv", &marks_csv(&own));
    let text = told(&[&recording, &marks]);
    let outside = format!("repetition {} lies outside of extension", own.len());
    assert!(text.contains(&outside), "{text}");
    assert!(text.contains("named after monday"), "{text}");
}
