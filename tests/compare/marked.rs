//! Runs the program, and makes marks that differ from its own by known amounts.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

pub fn carpotempo(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(arguments)
        .output()
        .unwrap()
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// What `compare` prints with these arguments.
pub fn told(arguments: &[&str]) -> String {
    let mut all = vec!["compare"];
    all.extend(arguments);
    let output = carpotempo(&all);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    stdout(&output)
}

/// The object that `compare --json` prints, with nothing else on standard output.
pub fn json(arguments: &[&str]) -> Value {
    let mut all = vec!["--json"];
    all.extend(arguments);
    let text = told(&all);
    assert_eq!(text.lines().count(), 1, "one object and nothing else");
    serde_json::from_str(&text).unwrap()
}

/// A recording of the repository.
pub fn recording(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("recordings")
        .join(name);
    path.to_str().unwrap().to_owned()
}

/// The four times of each repetition that `replay` finds, seconds.
pub fn found(recording: &str) -> Vec<[f64; 4]> {
    let output = carpotempo(&["replay", "--json", recording]);
    let analysis: Value = serde_json::from_str(&stdout(&output)).unwrap();
    let sets = analysis["sets"].as_array().unwrap();
    let reps = sets.iter().flat_map(|set| set["reps"].as_array().unwrap());
    reps.map(|rep| {
        ["lift_start_s", "lift_end_s", "lower_start_s", "lower_end_s"]
            .map(|key| rep[key].as_f64().unwrap())
    })
    .collect()
}

/// Those times moved by a rule of the repetition's place.
pub fn moved(times: &[[f64; 4]], by_s: impl Fn(usize) -> [f64; 4]) -> Vec<[f64; 4]> {
    let one = |(place, own): (usize, &[f64; 4])| {
        let by_s = by_s(place);
        std::array::from_fn(|index| own[index] + by_s[index])
    };
    times.iter().enumerate().map(one).collect()
}

/// Marks as a file's text.
pub fn marks_csv(times: &[[f64; 4]]) -> String {
    let mut text = String::from("rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\n");
    for (place, [a, b, c, d]) in times.iter().enumerate() {
        text += &format!("{},{a},{b},{c},{d}\n", place + 1);
    }
    text
}

/// Writes a file into a folder and gives its path.
pub fn written(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

/// The comparison of these two.
pub fn between<'a>(whole: &'a Value, first: &str, second: &str) -> &'a Value {
    let all = whole["comparisons"].as_array().unwrap();
    let is = |own: &&Value| own["first"] == first && own["second"] == second;
    all.iter().find(is).unwrap()
}

pub fn near(value: &Value, expected: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() < 1e-9, "{value} {expected}");
}
