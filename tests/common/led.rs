//! The program that leads a guided session, run with an invented person.
#![allow(dead_code, reason = "every test crate uses a part of it")]

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

use carpotempo::recording::{Recording, Store, open};
use serde_json::Value;

/// Few programs at a time: what falls behind its own clock does not keep the tempo. A test crate
/// says how many in `PROGRAMS_AT_ONCE`.
static PLACES: [Mutex<()>; crate::PROGRAMS_AT_ONCE] =
    [const { Mutex::new(()) }; crate::PROGRAMS_AT_ONCE];
/// The place that is waited for next.
static NEXT: AtomicUsize = AtomicUsize::new(0);

/// A program that runs.
pub struct Program {
    _place: MutexGuard<'static, ()>,
    child: Child,
    out: BufReader<ChildStdout>,
    /// The address that it printed.
    pub url: String,
}

impl Program {
    /// Leads through that routine; the store is in the folder.
    pub fn begin(folder: &Path, routine: &str, more: &[&str]) -> Program {
        let file = folder.join("routine.toml");
        std::fs::write(&file, routine).unwrap();
        Program::begin_by(folder, &["--routine", file.to_str().unwrap()], more)
    }

    /// Leads through what these words name.
    pub fn begin_by(folder: &Path, prescribed: &[&str], more: &[&str]) -> Program {
        let mut command = session(folder, prescribed, more);
        command.arg("--simulate");
        Program::run(command)
    }

    /// What that command leads through.
    pub fn run(mut command: Command) -> Program {
        let next = NEXT.fetch_add(1, Ordering::SeqCst) % PLACES.len();
        let place = PLACES[next].lock().unwrap_or_else(PoisonError::into_inner);
        let mut child = command
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
        Program {
            _place: place,
            child,
            out,
            url,
        }
    }

    /// The number that the system knows it by.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// The page's port.
    pub fn port(&self) -> u16 {
        let port = self.url["http://127.0.0.1:".len()..].split('/').next();
        port.unwrap().parse().unwrap()
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

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The command for a session with whatever sensor is near.
pub fn session(folder: &Path, prescribed: &[&str], more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    command
        .args(["session", "--patient", "P-0001", "--no-browser"])
        .args(prescribed)
        .args(["--store", folder.join("store").to_str().unwrap()])
        .args(more);
    command
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
