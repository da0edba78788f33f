//! Sitting sets through as fast as the computer can, and running the program.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::mpsc::channel;

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::recording::{Recording, SessionHead, SetStart, Writer, open};
use carpotempo::session::{Press, QuickSet, QuickSetPlan, Say};
use carpotempo::sitting::{Clock, Outcome, Shown, SittingPlan, sit};
use carpotempo::source::signal::Signal;
use carpotempo::source::simulator::live::{LivePerson, LivePlan};

/// What a set of wrist extension announces.
pub fn start(tempo: &str) -> SetStart {
    SetStart {
        movement: Some(Movement::WristExtension),
        side: Some(Side::Right),
        load_kg: Some(0.9),
        posture: Some(Movement::WristExtension.usual_posture()),
        tempo: Some(tempo.parse().unwrap()),
        ..SetStart::default()
    }
}

/// A person who does that set.
pub fn person(set: &SetStart, seed: u64) -> LivePlan {
    LivePlan {
        set: set.clone(),
        calibrates: true,
        repetitions: None,
        lost_ratio: 0.0,
        losses_s: Vec::new(),
        forearm: None,
        seed,
    }
}

/// A sitting that is over.
pub struct Sat {
    pub folder: tempfile::TempDir,
    pub outcome: Outcome,
    pub says: Vec<Say>,
    pub recording: Recording,
}

impl Sat {
    /// The object that a replay of the recording prints.
    pub fn replayed(&self) -> String {
        replayed(self.folder.path())
    }

    /// The object that the sitting gives at its end.
    pub fn object(&self) -> String {
        let mut analysis = self.outcome.analysis.clone();
        let mut warnings = self.recording.warnings.clone();
        warnings.append(&mut analysis.warnings);
        analysis.warnings = warnings;
        serde_json::to_string(&analysis).unwrap()
    }
}

/// What `replay --online --json` prints.
pub fn replayed(folder: &Path) -> String {
    let output = carpotempo(&["replay", "--online", "--json", folder.to_str().unwrap()]);
    assert!(output.status.success(), "{}", stderr(&output));
    stdout(&output).trim_end().to_owned()
}

pub fn head() -> SessionHead {
    SessionHead {
        started_at: "2026-03-02T18:30:00+01:00[+01:00]".parse().unwrap(),
        patient: "P-0001".parse().unwrap(),
        routine: None,
    }
}

/// Sits through what is told until `until_s` of it; a press comes at `press_s`.
pub fn sat_through(
    plan: QuickSetPlan,
    told: impl Iterator<Item = Signal>,
    until_s: f64,
    press_s: Option<f64>,
) -> Sat {
    let folder = tempfile::tempdir().unwrap();
    let writer = Writer::create(folder.path(), &head()).unwrap();
    let (signals, heard) = channel();
    let (press, presses) = channel();
    for signal in told.take_while(|signal| signal.at_s < until_s) {
        signals.send(signal).unwrap();
    }
    drop(signals);
    let sitting = SittingPlan {
        head: head(),
        opening: Vec::new(),
        kind: FilterKind::Vqf,
        clock: Clock::of_signals(),
    };
    let mut says = Vec::new();
    let outcome = sit(
        &sitting,
        QuickSet::new(plan),
        writer,
        &heard,
        &presses,
        &|| false,
        &mut |shown| match shown {
            Shown::Say(say) => says.push(say.clone()),
            Shown::Now(now) if press_s.is_some_and(|press_s| now.now_s >= press_s) => {
                let _ = press.send(Press::Stop);
            }
            Shown::Trouble(words) => panic!("{words}"),
            _ => {}
        },
    );
    let recording = open(folder.path()).unwrap();
    Sat {
        folder,
        outcome,
        says,
        recording,
    }
}

/// Sits through a person's set until a press at that time.
pub fn sat(set: &SetStart, person: LivePlan, press_s: f64) -> Sat {
    let plan = QuickSetPlan {
        start: set.clone(),
        raw: !person.calibrates,
        ..QuickSetPlan::default()
    };
    sat_through(plan, LivePerson::new(person), press_s + 5.0, Some(press_s))
}

/// The program with these arguments and no standard input, in a person's surroundings that show
/// backtraces.
pub fn carpotempo(arguments: &[&str]) -> Output {
    command(arguments).output().unwrap()
}

pub fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    command
        .args(arguments)
        .env("RUST_BACKTRACE", "1")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// Arguments of a simulated set of wrist extension into that folder.
pub fn simulated<'a>(folder: &'a Path, more: &[&'a str]) -> Vec<&'a str> {
    let mut arguments = vec![
        "record",
        "--simulate",
        "--exercise",
        "wrist-extension",
        "--side",
        "right",
        "--tempo",
        "2-0-1-0",
        "--out",
        folder.to_str().unwrap(),
    ];
    arguments.extend(more);
    arguments
}

/// A folder that is not there yet, within one that is.
pub fn new_folder() -> (tempfile::TempDir, PathBuf) {
    let root = tempfile::tempdir().unwrap();
    let folder = root.path().join("recording");
    (root, folder)
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}
