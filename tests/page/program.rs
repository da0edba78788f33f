//! Runs the program and answers its page.

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::{Mutex, MutexGuard, PoisonError};

use carpotempo::recording::{Recording, Store, open};
use serde_json::{Value, json};

use super::client::{Events, cookie, press};

/// Weights allowed, two exercises of the right hand and something without repetitions; invented.
pub const ROUTINE: &str = r#"
title = "An invented routine"
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2199-04-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "right"
repetitions = 3
load_kg = 0.5
rest_s = 20
tempo = "3-0-2-1"

[[items]]
kind = "counted"
movement = "wrist-flexion"
side = "right"
repetitions = 2
load_kg = 0.5
rest_s = 20
tempo = "3-0-2-1"

[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#;

/// As many times as fast as life as a slow and busy computer follows.
const PACE: &str = "5";

/// One program at a time: what falls behind its own clock does not keep the tempo.
static ALONE: Mutex<()> = Mutex::new(());

/// A program that runs.
pub struct Running {
    _alone: MutexGuard<'static, ()>,
    child: Child,
    out: BufReader<ChildStdout>,
    pub port: u16,
    pub cookie: String,
    pub window: Events,
    /// Screens so far, and counts that were said.
    pub screens: Vec<String>,
    pub counts: Vec<String>,
}

impl Running {
    pub fn begin(folder: &Path) -> Running {
        let alone = ALONE.lock().unwrap_or_else(PoisonError::into_inner);
        let routine = folder.join("routine.toml");
        std::fs::write(&routine, ROUTINE).unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
            .args([
                "session",
                "--patient",
                "P-0001",
                "--simulate",
                "--pace",
                PACE,
            ])
            .args(["--no-browser", "--routine", routine.to_str().unwrap()])
            .args(["--store", folder.join("store").to_str().unwrap()])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let url = loop {
            let mut line = String::new();
            assert_ne!(out.read_line(&mut line).unwrap(), 0, "no address");
            if let Some(at) = line.find("http://127.0.0.1:") {
                break line[at..].trim().to_owned();
            }
        };
        let port = url["http://127.0.0.1:".len()..].split('/').next().unwrap();
        let port = port.parse().unwrap();
        let cookie = cookie(port, &url);
        Running {
            _alone: alone,
            child,
            out,
            port,
            window: Events::open(port, &cookie),
            cookie,
            screens: Vec::new(),
            counts: Vec::new(),
        }
    }

    /// Answers each screen until `until` says that it is enough, or the end.
    pub fn answer(
        &mut self,
        answers: &dyn Fn(&Value) -> Option<Value>,
        until: &dyn Fn(&Value) -> bool,
    ) -> Value {
        let mut answered = Value::Null;
        let mut latest = Value::Null;
        while let Some((name, told)) = self.window.next() {
            if name == "line" && told["kind"] == "count" {
                self.counts.push(told["words"].as_str().unwrap().to_owned());
            }
            if name != "view" {
                continue;
            }
            let screen = told["screen"]["screen"].as_str().unwrap().to_owned();
            if self.screens.last() != Some(&screen) {
                self.screens.push(screen);
            }
            latest = told;
            if until(&latest) {
                return latest;
            }
            // One answer for each question: what the screen is, without its clock.
            let asked = json!([
                self.screens.len(),
                latest["screen"]["left_s"].is_null(),
                latest["screen"]["tingling"],
                latest["sensor"]["link"],
                latest["done_of"],
            ]);
            if asked != answered
                && let Some(answer) = answers(&latest)
            {
                answered = asked;
                let status = press(self.port, &self.cookie, &answer.to_string()).status;
                assert_eq!(status, 204);
            }
        }
        latest
    }

    /// Waits for the program's own end; gives what it printed last.
    pub fn end(mut self) -> String {
        let mut text = String::new();
        self.out.read_to_string(&mut text).unwrap();
        assert!(self.child.wait().unwrap().success(), "{text}");
        text
    }

    /// As Ctrl-C does.
    pub fn interrupt(&self) {
        self.signal("-INT");
    }

    /// Sends it a signal, by its name with a dash.
    pub fn signal(&self, name: &str) {
        let id = self.child.id().to_string();
        let status = Command::new("kill").args([name, &id]).status().unwrap();
        assert!(status.success());
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What a person without trouble answers.
pub fn untroubled(view: &Value) -> Option<Value> {
    let screen = &view["screen"];
    let next = || Some(json!({ "press": "next" }));
    match screen["screen"].as_str().unwrap() {
        "welcome" => Some(json!({ "press": "begin" })),
        "first-questions" => Some(json!({ "press": "none-applies" })),
        "night" => Some(json!({ "press": "night" })),
        "place" if view["sensor"]["link"] != "there" => None,
        "place" | "cautions" | "intro" | "rest" | "summary" | "not-today" => next(),
        "timed" if screen["tingling"] == true => Some(json!({ "press": "no" })),
        "timed" if screen["left_s"].is_null() => next(),
        "symptoms" => Some(json!({
            "press": "symptoms",
            "right": { "pain": 1, "tingling": 0, "numbness": 0 },
        })),
        "hearing" => Some(json!({ "press": "yes" })),
        "wearing" => Some(json!({ "press": "no" })),
        "remark" => Some(json!({ "press": "remark", "text": "went well" })),
        _ => None,
    }
}

/// The patient's recordings, the eldest first.
pub fn recordings(folder: &Path) -> Vec<(PathBuf, Recording)> {
    let store = Store::at(folder.join("store"));
    let sessions = store.sessions(&"P-0001".parse().unwrap()).unwrap();
    assert!(sessions.broken.is_empty());
    sessions
        .sessions
        .into_iter()
        .map(|session| (session.folder.clone(), open(&session.folder).unwrap()))
        .collect()
}

/// Repetitions of each set that `replay --online` counts.
pub fn replayed(recording: &Path) -> Vec<usize> {
    let output = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["replay", "--online", "--json", recording.to_str().unwrap()])
        .output()
        .unwrap();
    let object: Value = serde_json::from_slice(&output.stdout).unwrap();
    let sets = object["sets"].as_array().unwrap();
    let count = |set: &Value| set["reps"].as_array().unwrap().len();
    sets.iter().map(count).collect()
}
