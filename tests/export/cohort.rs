//! An invented cohort: recorded sessions, and histories with everything that may be unknown.

use std::path::Path;
use std::process::Output;

use carpotempo::movement::{Movement, MovingPhase, Side};
use carpotempo::pipeline::motion::Zero;
use carpotempo::pipeline::summary::SessionSummary;
use carpotempo::recording::{
    EventKind, Night, Note, Reason, Scale, SensorInfo, Store, Symptom, When,
};
use carpotempo::reps::Doubt;
use jiff::ToSpan;
use jiff::civil::date;

use crate::invented::*;

/// Runs the export.
pub fn export(patient: &str, to: &str, store: &Store, out: &Path, more: &[&str]) -> Output {
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    command.args(["export", patient, "--to", to, "--store"]);
    command.arg(store.root()).arg("--out").arg(out);
    command.args(more).output().unwrap()
}

/// Runs it and expects it to be done without a word on standard error.
pub fn exported(patient: &str, to: &str, store: &Store, out: &Path) {
    let done = export(patient, to, store, out, &[]);
    let said = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(0), "{said}");
    assert!(said.is_empty(), "{said}");
}

pub fn symptom(value: Option<u8>, side: Option<Side>, when: Option<When>) -> Symptom {
    Symptom {
        value: value.and_then(Scale::new),
        side,
        when,
        of: None,
    }
}

/// Patient p1: two recorded sessions with a sensor, answers and a stop, and one of answers alone
/// that names the session before.
pub fn recorded(store: &Store) {
    let (left, right) = (Some(Side::Left), Some(Side::Right));
    let mut said = Said::default();
    said.before.push(EventKind::Sensor(SensorInfo {
        name: Some("invented hand 01".to_owned()),
        firmware: Some("1.2".to_owned()),
        ..SensorInfo::default()
    }));
    said.before.push(EventKind::Night(Night {
        woke: Some(true),
        splint: None,
        dropped: Some(false),
    }));
    let before = Some(When::Before);
    said.before
        .push(EventKind::Pain(symptom(Some(1), left, before)));
    said.before
        .push(EventKind::Tingling(symptom(None, left, before)));
    said.after
        .push(EventKind::Numbness(symptom(Some(0), right, None)));
    said.after.push(EventKind::Stop(Reason {
        reason: Some("tingling".to_owned()),
    }));
    said.after.push(EventKind::Note(Note {
        text: Some("=1+1, \"said\"\nwith a line".to_owned()),
    }));
    let tasks = vec![
        Task::new(Movement::WristFlexion, Side::Left, 0.5, careful(40.0, 4.0)),
        Task::new(
            Movement::RadialDeviation,
            Side::Right,
            0.0,
            careful(22.0, 3.0),
        ),
    ];
    let first = at(date(2026, 3, 29), 0, 1);
    let (folder, _) = record(store, "p1", first, Some(routine()), &tasks, &said, 1);
    let name = folder.file_name().unwrap().to_str().unwrap().to_owned();
    let mut answers = Said::default();
    answers.before.push(EventKind::Pain(Symptom {
        of: Some(name),
        ..symptom(Some(3), left, Some(When::NextMorning))
    }));
    record(
        store,
        "p1",
        at(date(2026, 3, 30), 8, 2),
        None,
        &[],
        &answers,
        2,
    );
    let mut simulated = Said::default();
    simulated.before.push(EventKind::Unknown {
        name: "simulated".to_owned(),
        detail: serde_json::json!({}),
    });
    record(
        store,
        "p1",
        at(date(2026, 4, 2), 18, 2),
        Some(routine()),
        &tasks[..1],
        &simulated,
        3,
    );
}

/// Sessions over some weeks with everything that may be unknown, doubted or odd.
pub fn odd_history(weeks: usize, first_hour: i8) -> Vec<SessionSummary> {
    let mut all = Vec::new();
    for nth in 0..weeks * 3 {
        // Late in the evening far from universal time: the day there is another one.
        let day = date(2025, 12, 22)
            .checked_add((nth as i64 * 7 / 3).days())
            .unwrap();
        let slow = 3.0 + 0.1 * nth as f64;
        let reps = [(40.0, slow), (41.5, slow + 0.3), (39.0, 2.2)];
        let mut sets = vec![
            set(Movement::WristExtension, Side::Right, Some(0.5), &reps),
            set(Movement::Supination, Side::Left, Some(0.75), &reps[..2]),
            set(Movement::ArmCircles, Side::Left, Some(0.0), &reps),
            set(Movement::WristFlexion, Side::Left, None, &[]),
            set(Movement::UlnarDeviation, Side::Right, Some(0.0), &reps),
        ];
        let test = &mut sets[4];
        (test.range_test, test.eccentric) = (true, None);
        (test.tempo, test.tempo_words, test.tempo_band) = (None, None, None);
        test.reps.iter_mut().for_each(|rep| rep.verdict = None);
        sets[0].reps[1].doubts = vec![Doubt::Gap, Doubt::EndCut];
        sets[0].reps[2].lower_sparc_ratio = Some(-1.75);
        sets[1].eccentric = Some(MovingPhase::Lift);
        sets[1].reps[0].doubts = vec![Doubt::StartCut];
        sets[1].zero = Some(Zero::StillStart);
        let odd = &mut sets[2];
        odd.eccentric = None;
        odd.tempo = Some("X-0-2".parse().unwrap());
        odd.tempo_band = None;
        odd.reps.iter_mut().for_each(|rep| rep.verdict = None);
        let unknown = &mut sets[3];
        unknown.movement = None;
        unknown.side = None;
        unknown.posture = None;
        unknown.tempo = None;
        unknown.tempo_words = None;
        unknown.target_reps = None;
        unknown.end_reason = None;
        unknown.zero = None;
        unknown.axis_from = None;
        all.push(session(at(day, first_hour, -5), sets));
    }
    all
}
