//! The list of a thousand patients, and the review of four hundred sessions, as whole commands.

use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

use carpotempo::pipeline::summary::{SessionBrief, SessionSummary};
use carpotempo::recording::{Store, write_brief};
use jiff::ToSpan;
use rayon::prelude::*;

use crate::cost::{peak_bytes, timed_in};
use crate::invented::{at, routine, set, summaries};
use carpotempo::movement::{Movement, Side};
use jiff::civil::date;

const PATIENTS: usize = 1000;
const SESSIONS: usize = 60;

/// A session of twelve sets of eight repetitions.
fn one(nth: usize) -> SessionSummary {
    let day = date(2026, 1, 5)
        .checked_add((nth as i64 * 7 / 5).days())
        .unwrap();
    let mut sets = Vec::new();
    for movement in [
        Movement::WristFlexion,
        Movement::WristExtension,
        Movement::RadialDeviation,
    ] {
        for side in [Side::Left, Side::Right] {
            for _ in 0..2 {
                let reps = [(40.0 + nth as f64 / 7.0, 3.9); 8];
                sets.push(set(movement, side, Some(0.5), &reps));
            }
        }
    }
    let mut one = crate::invented::session(at(day, 18, 1), sets);
    one.routine = Some(routine());
    one
}

/// Writes a patient's sessions without samples, with the summaries and briefs that reviews leave.
fn write(store: &Store, code: &str, all: &[SessionSummary]) {
    crate::invented::store_with(store, code, all, |folder, stamp, own| {
        write_brief(folder, stamp, &SessionBrief::of(own)).unwrap();
    });
}

fn seconds(arguments: &[&str], store: &Path) -> f64 {
    timed_in(5, || {
        let status = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
            .args(arguments)
            .arg("--store")
            .arg(store)
            .stdout(Stdio::null())
            .status()
            .unwrap();
        assert!(status.success());
    })
}

pub fn run() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("store");
    let store = Store::at(&root);
    let all: Vec<SessionSummary> = (0..SESSIONS).map(one).collect();
    assert_eq!(summaries(all.clone()).sessions.len(), SESSIONS);
    let began = Instant::now();
    (0..PATIENTS)
        .into_par_iter()
        .for_each(|nth| write(&store, &format!("p{nth:04}"), &all));
    println!(
        "store of {PATIENTS} patients with {SESSIONS} sessions each written in {:.0} s",
        began.elapsed().as_secs_f64()
    );
    let list = ["caseload", "--on", "2026-03-30"];
    println!(
        "caseload of {PATIENTS} patients with {SESSIONS} sessions each: {:.2} s (goal 3)",
        seconds(&list, &root)
    );
    let path = root.to_str().unwrap();
    let peak = |store: &str| peak_bytes(&["caseload", "--on", "2026-03-30", "--store", store]);
    let few = folder.path().join("few");
    for nth in 0..10 {
        write(&Store::at(&few), &format!("p{nth:04}"), &all);
    }
    println!(
        "  peak memory {:.1} MB, of 10 patients {:.1} MB",
        peak(path) as f64 / 1e6,
        peak(few.to_str().unwrap()) as f64 / 1e6
    );
    let long: Vec<SessionSummary> = (0..400).map(one).collect();
    let store = folder.path().join("long");
    write(&Store::at(&store), "long", &long);
    let out = folder.path().join("report");
    let review = ["review", "long", "--out", out.to_str().unwrap()];
    println!(
        "review of 400 sessions with page and charts: {:.2} s (goal 0.5)",
        seconds(&review, &store)
    );
    // A review holds the summaries of its one patient, and of no other.
    for count in [100, 400, 1600] {
        let all: Vec<SessionSummary> = (0..count).map(one).collect();
        let store = folder.path().join(format!("long-{count}"));
        write(&Store::at(&store), "long", &all);
        let root = store.to_str().unwrap();
        let out = folder.path().join(format!("report-{count}"));
        let out = out.to_str().unwrap();
        println!(
            "  peak memory of {count} sessions {:.1} MB",
            peak_bytes(&["review", "long", "--store", root, "--out", out]) as f64 / 1e6
        );
    }
}
