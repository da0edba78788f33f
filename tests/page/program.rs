//! Runs the program and answers its page.

use std::path::Path;

use serde_json::{Value, json};

use super::client::{Events, cookie, press, save};
use super::led::Program;
pub use super::led::{recordings, replayed};

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
pub const PACE: &str = "5";

/// A program that runs, and a window of its page.
pub struct Running {
    program: Program,
    cookie: String,
    window: Events,
    /// What the window shows.
    view: Value,
    /// Screens so far, and counts that were said.
    pub screens: Vec<String>,
    pub counts: Vec<String>,
}

impl Running {
    pub fn begin(folder: &Path) -> Running {
        Running::of(Program::begin(folder, ROUTINE, &["--pace", PACE]))
    }

    /// Led through another routine.
    pub fn begin_with(folder: &Path, routine: &str) -> Running {
        Running::of(Program::begin(folder, routine, &["--pace", PACE]))
    }

    /// Set up by a clinic's file, and saving to that folder.
    pub fn begin_for_clinic(folder: &Path, clinic: &Path, save_to: &Path) -> Running {
        let prescribed = ["--clinic", clinic.to_str().unwrap()];
        let more = ["--pace", PACE, "--save-to", save_to.to_str().unwrap()];
        Running::of(Program::begin_by(folder, &prescribed, &more))
    }

    pub fn of(program: Program) -> Running {
        let port = program.port();
        let cookie = cookie(port, &program.url);
        Running {
            window: Events::open(port, &cookie),
            program,
            view: Value::Null,
            cookie,
            screens: Vec::new(),
            counts: Vec::new(),
        }
    }

    /// Answers each screen, that which is there first, until `until` says that it is enough, or the
    /// end; gives what is shown then.
    pub fn answer(
        &mut self,
        answers: &dyn Fn(&Value) -> Option<Value>,
        until: &dyn Fn(&Value) -> bool,
    ) -> Value {
        let mut answered = Value::Null;
        // The window is told what changes, and what it shows may wait for an answer already.
        while self.view.is_null() || !until(&self.view) {
            // One answer for each question: what the screen is, without its clock.
            let asked = json!([
                self.screens.len(),
                self.view["screen"]["left_s"].is_null(),
                self.view["screen"]["tingling"],
                self.view["sensor"]["link"],
                self.view["forearm"]["link"],
                self.view["done_of"],
            ]);
            if !self.view.is_null()
                && asked != answered
                && let Some(answer) = answers(&self.view)
            {
                answered = asked;
                let status = press(self.program.port(), &self.cookie, &answer.to_string()).status;
                assert_eq!(status, 204);
            }
            if !self.sees() {
                break;
            }
        }
        self.view.clone()
    }

    /// Waits until the window shows something else; false at the end.
    fn sees(&mut self) -> bool {
        while let Some((name, told)) = self.window.next() {
            if name == "line" && told["kind"] == "count" {
                self.counts.push(told["words"].as_str().unwrap().to_owned());
            }
            if name == "view" {
                let screen = told["screen"]["screen"].as_str().unwrap().to_owned();
                if self.screens.last() != Some(&screen) {
                    self.screens.push(screen);
                }
                self.view = told;
                return true;
            }
        }
        false
    }

    /// Presses the button that saves for the clinic; gives what came of it.
    pub fn save(&self) -> Value {
        let answer = save(self.program.port(), &self.cookie, "{\"all\":false}");
        assert_eq!(answer.status, 200);
        serde_json::from_str(&answer.body).unwrap()
    }

    /// Waits for the program's own end; gives what it printed last.
    pub fn end(self) -> String {
        self.program.end()
    }

    /// As Ctrl-C does.
    pub fn interrupt(&self) {
        self.program.interrupt();
    }

    /// Sends it a signal, by its name with a dash.
    pub fn signal(&self, name: &str) {
        self.program.signal(name);
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
        "place" if !view["forearm"].is_null() && view["forearm"]["link"] != "there" => None,
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
