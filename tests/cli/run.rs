//! Runs the program.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The program with these arguments, in a person's surroundings that show backtraces.
pub fn carpotempo(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(arguments)
        .env("RUST_BACKTRACE", "1")
        .output()
        .unwrap()
}

/// A recording of the repository.
pub fn recording(name: &str) -> String {
    let path: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("recordings")
        .join(name);
    path.to_str().unwrap().to_owned()
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// The object that `replay --json` prints, with nothing else on standard output.
pub fn json(arguments: &[&str]) -> serde_json::Value {
    let mut all = vec!["replay", "--json"];
    all.extend(arguments);
    let output = carpotempo(&all);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let text = stdout(&output);
    assert_eq!(text.lines().count(), 1, "one object and nothing else");
    serde_json::from_str(&text).unwrap()
}
