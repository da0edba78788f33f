//! `replay --mark` and `replay --drill` as a person meets them.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use super::client::{get, post};
use super::shown::Shown;
use super::{path, rows, whole};

fn command(arguments: &[&str], folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    command
        .arg("replay")
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null());
    command
}

fn replay(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().unwrap();
    command(arguments, folder.path()).output().unwrap()
}

fn shown(arguments: &[&str], folder: &Path) -> Shown {
    Shown::begin(&mut command(arguments, folder))
}

#[test]
fn marking_prints_nothing_that_was_counted_and_keeps_marks_where_it_says() {
    let folder = tempfile::tempdir().unwrap();
    let recording = path("extension-calibrated");
    let shown = shown(&[recording.to_str().unwrap(), "--mark"], folder.path());
    for word in ["range", "In tempo", "hurried", "Set 1", "repetition"] {
        assert!(!shown.said.contains(word), "{word}: {}", shown.said);
    }
    let file = Path::new("marks").join("extension-calibrated-marks-1.csv");
    assert!(
        shown.said.contains(file.to_str().unwrap()),
        "{}",
        shown.said
    );
    assert!(
        !folder.path().join("marks").exists(),
        "nothing before it is saved"
    );
    assert_eq!(
        get(shown.port, &shown.cookie, "/recording.json").status,
        403
    );
    let marks = serde_json::json!({ "marks": rows(&[whole([13.4, 15.2, 16.5, 20.1])]) });
    let answer = post(shown.port, &shown.cookie, "/marks", &marks.to_string());
    assert_eq!(answer.status, 200, "{}", answer.body);
    assert!(answer.body.contains("extension-calibrated-marks-1.csv"));
    assert!(folder.path().join(file).is_file());
}

#[test]
fn the_practice_set_is_marked_against_its_truth() {
    let folder = tempfile::tempdir().unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["compare", "--practice", "practice"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(made.status.success(), "{made:?}");
    let practice = folder.path().join("practice");
    let mut names: Vec<String> = std::fs::read_dir(practice.join("truth"))
        .unwrap()
        .map(|entry| {
            entry
                .unwrap()
                .path()
                .file_stem()
                .unwrap()
                .to_str()
                .unwrap()
                .to_owned()
        })
        .collect();
    names.sort();
    let first = Path::new("practice").join(&names[0]);
    let shown = shown(&[first.to_str().unwrap(), "--mark"], folder.path());
    let marks = serde_json::json!({ "marks": [] });
    let answer = post(shown.port, &shown.cookie, "/marks", &marks.to_string());
    assert_eq!(answer.status, 200, "{}", answer.body);
    let both: serde_json::Value = serde_json::from_str(&answer.body).unwrap();
    assert!(both["truth"]["true_count"].as_u64().unwrap() > 0, "{both}");
    assert!(both["truth"]["words"].is_string(), "{both}");
    assert!(
        folder
            .path()
            .join("marks")
            .join(format!("{}-marks-1.csv", names[0]))
            .is_file()
    );
}

#[test]
fn the_drill_needs_no_recording() {
    let folder = tempfile::tempdir().unwrap();
    let shown = shown(&["--drill"], folder.path());
    assert_eq!(get(shown.port, &shown.cookie, "/").status, 200);
    assert_eq!(
        get(shown.port, &shown.cookie, "/drill/set.json").status,
        200
    );
    assert_eq!(
        std::fs::read_dir(folder.path()).unwrap().count(),
        0,
        "nothing is stored"
    );
}

#[test]
fn what_does_not_go_together_is_a_wrong_argument() {
    let file = path("flexion-hurried.csv");
    let file = file.to_str().unwrap();
    for wrong in [
        &[] as &[&str],
        &[file, "--mark", "--page"],
        &[file, "--mark", "--json"],
        &[file, "--mark", "--online"],
        &[file, "--mark", "--trace", "t.csv"],
        &[file, "--drill"],
        &[file, "--page", "--drill"],
        &["--drill", "--side", "left"],
        &["--mark"],
        &["--page"],
        &[file, "--marks", "folder"],
        &[file, "--page", "--marks", "folder"],
        &[file, "--no-browser"],
    ] {
        let output = replay(wrong);
        assert_eq!(output.status.code(), Some(2), "{wrong:?}");
        assert!(output.stdout.is_empty(), "{wrong:?}");
    }
}
