//! Other people's readers: Python, and the packages that a variable's Python has.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

/// Says that something was not checked; under CI that fails.
pub fn absent(what: &str) {
    println!("not checked: {what}");
    assert!(
        std::env::var("CI").as_deref() != Ok("true"),
        "absent under CI: {what}"
    );
}

/// Any Python, for its own csv and hashlib.
pub fn python() -> Option<PathBuf> {
    let found = Command::new("python3").arg("--version").output().is_ok();
    if !found {
        absent("there is no python3");
    }
    found.then(|| "python3".into())
}

/// The Python that has fhir.resources, duckdb, datafusion and pyarrow.
pub fn python_with_packages() -> Option<PathBuf> {
    let python = std::env::var_os("CARPOTEMPO_EXPORT_PYTHON").map(PathBuf::from);
    if python.is_none() {
        absent("CARPOTEMPO_EXPORT_PYTHON names no Python with the readers' packages");
    }
    python
}

/// Runs a script; what it prints is one JSON value.
pub fn run(python: &Path, script: &str, arguments: &[&Path]) -> Value {
    let done = Command::new(python)
        .args(["-c", script])
        .args(arguments)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}");
    serde_json::from_slice(&done.stdout).unwrap()
}
