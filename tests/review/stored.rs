//! Summaries beside the recordings: kept, made anew, never needed.

use std::sync::atomic::{AtomicUsize, Ordering};

use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::summary::{Progress, REPS_COLUMNS, fresh_summaries};
use carpotempo::recording::{EventKind, Store};
use carpotempo::review::{ReviewOptions, review};
use jiff::civil::date;

use crate::invented::*;
use crate::long::tasks;

/// How many summaries are made anew, by what progress tells.
fn made(store: &Store, code: &str) -> usize {
    let most = AtomicUsize::new(0);
    let of = AtomicUsize::new(0);
    let progress = |progress: Progress| {
        most.fetch_max(progress.done, Ordering::Relaxed);
        of.fetch_max(progress.of, Ordering::Relaxed);
    };
    let summaries = fresh_summaries(store, &patient(code), &progress).unwrap();
    assert_eq!(most.load(Ordering::Relaxed), of.load(Ordering::Relaxed));
    assert_eq!(summaries.recomputed_count, of.load(Ordering::Relaxed));
    summaries.recomputed_count
}

#[test]
fn missing_and_stale_summaries_are_made_anew_and_deleting_them_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    let mut folders = Vec::new();
    for day in 3..6 {
        let (session, _) = record(
            &store,
            "p1",
            at(date(2026, 3, day), 18, 1),
            Some(routine()),
            &tasks(40.0, 4.2)[..1],
            &Said::default(),
            day as u64,
        );
        folders.push(session);
    }
    let text = || {
        let summaries = fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
        let review = review(&patient("p1"), &summaries, &ReviewOptions::default());
        carpotempo::review::terminal(&review)
    };
    assert_eq!(made(&store, "p1"), 3);
    let before = text();
    assert_eq!(made(&store, "p1"), 0);
    std::fs::remove_file(folders[0].join("summary.json")).unwrap();
    std::fs::remove_file(folders[0].join("reps.csv")).unwrap();
    std::fs::write(folders[1].join("summary.json"), "cut").unwrap();
    let events = folders[2].join("events.csv");
    let more =
        std::fs::read_to_string(&events).unwrap() + "99,note,\"{\"\"text\"\":\"\"more\"\"}\"\n";
    std::fs::write(&events, more).unwrap();
    assert_eq!(made(&store, "p1"), 3);
    assert_eq!(made(&store, "p1"), 0);
    let after = text();
    assert!(after.contains("more"), "the new note is there");
    assert_eq!(
        before.lines().take(6).collect::<Vec<_>>(),
        after.lines().take(6).collect::<Vec<_>>()
    );
}

/// Truth is the simulator's, by the phase definition on the noise-free angle.
#[test]
fn the_figures_of_a_recorded_session_are_those_of_the_truth() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    let (session, truths) = record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        Some(routine()),
        &tasks(42.0, 4.2),
        &Said::default(),
        11,
    );
    let summaries = fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
    assert_eq!(summaries.warnings, Vec::<String>::new());
    let review = review(&patient("p1"), &summaries, &ReviewOptions::default());
    assert_eq!(review.series.len(), 4);
    for series in &review.series {
        let all = tasks(42.0, 4.2);
        let mine = all.iter().zip(&truths).filter(|(task, _)| {
            Some(task.movement) == series.movement && Some(task.side) == series.side
        });
        let reps: Vec<_> = mine.flat_map(|(_, truth)| truth).collect();
        let session = &series.sessions[0];
        assert_eq!(session.done_count as usize, reps.len());
        assert_eq!(session.prescribed_count, Some(reps.len() as u32));
        let ranges: Vec<f64> = reps.iter().map(|rep| rep.range_deg).collect();
        let times: Vec<f64> = reps
            .iter()
            .map(|rep| rep.lower_end_s - rep.lower_start_s)
            .collect();
        let range_deg = carpotempo::review::quantile(&ranges, 0.5).unwrap();
        let time_s = carpotempo::review::quantile(&times, 0.5).unwrap();
        let found = session.range.unwrap().median_deg;
        assert!(
            (found - range_deg).abs() < 1.0,
            "{found} for {range_deg} deg"
        );
        let found = session.timed.unwrap().median_s;
        assert!((found - time_s).abs() < 0.1, "{found} for {time_s} s");
        assert!(session.calibrated && session.from_neutral);
    }
    let text = std::fs::read_to_string(session.join("reps.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(
        reader.headers().unwrap(),
        &csv::StringRecord::from(REPS_COLUMNS.to_vec())
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), truths.iter().map(Vec::len).sum::<usize>());
    let column = |name: &str| REPS_COLUMNS.iter().position(|c| *c == name).unwrap();
    let flat: Vec<_> = truths.iter().flatten().collect();
    for (row, truth) in rows.iter().zip(&flat) {
        let number = |name: &str| row[column(name)].parse::<f64>().unwrap();
        assert!((number("lower_start_s") - truth.lower_start_s).abs() < 0.3);
        assert!((number("range_deg") - truth.range_deg).abs() < 3.0);
        let lower_s = number("lower_end_s") - number("lower_start_s");
        assert!((number("lower_s") - lower_s).abs() < 1e-9);
        assert_eq!(&row[column("tempo")], "4-0-2-1");
        assert_eq!(&row[column("started_at")], "2026-03-03T18:30:00+01:00");
        assert_eq!(&row[column("doubts")], "");
    }
}

#[test]
fn a_session_that_cannot_keep_its_summary_is_still_reviewed() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    let one = vec![Task::new(
        Movement::WristFlexion,
        Side::Left,
        0.0,
        careful(40.0, 4.0),
    )];
    let (session, _) = record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        None,
        &one,
        &Said::default(),
        1,
    );
    // A folder where the file would be.
    std::fs::create_dir(session.join("summary.json")).unwrap();
    let summaries = fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
    assert_eq!(summaries.sessions.len(), 1);
    assert_eq!(summaries.warnings.len(), 1);
    assert!(
        summaries.warnings[0].contains("could not be kept"),
        "{:?}",
        summaries.warnings
    );
}

#[test]
fn a_played_recording_is_known_as_played() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    let mut said = Said::default();
    said.before.push(EventKind::Unknown {
        name: "simulated".to_owned(),
        detail: serde_json::json!({}),
    });
    record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        None,
        &[],
        &said,
        1,
    );
    let summaries = fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
    assert!(summaries.sessions[0].summary.simulated);
}
