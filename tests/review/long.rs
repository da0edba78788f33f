//! Four weeks and a year and more of invented sessions, to look at and to time.

use std::path::Path;

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{EventKind, Night, Note, Reason, Scale, Store, Symptom, When};
use jiff::ToSpan;
use jiff::civil::date;

use crate::command::command;
use crate::invented::*;

pub fn symptom(value: u8, side: Side, when: When) -> Symptom {
    Symptom {
        value: Scale::new(value),
        side: Some(side),
        when: Some(when),
        of: None,
    }
}

/// Four weeks of one invented patient in a store, recorded by the simulator.
fn four_weeks(store: &Store) {
    let start = date(2026, 3, 3);
    let mut nth = 0;
    for day in 0..26 {
        let date = start.checked_add(i64::from(day).days()).unwrap();
        if [2, 3, 6, 9, 13, 14, 15, 20].contains(&day) {
            continue;
        }
        let share = f64::from(day) / 26.0;
        let mut tasks = Vec::new();
        for side in [Side::Left, Side::Right] {
            let weak = if side == Side::Right { 6.0 } else { 0.0 };
            let hurry = if side == Side::Right {
                1.9 * share
            } else {
                0.3
            };
            for _ in 0..2 {
                let manner = careful(34.0 - weak + 14.0 * share, 4.4 - hurry);
                tasks.push(Task::new(
                    Movement::WristFlexion,
                    side,
                    if day < 14 { 0.5 } else { 0.75 },
                    manner,
                ));
            }
            let manner = careful(30.0 - weak + 4.0 * share, 4.2);
            tasks.push(Task::new(Movement::WristExtension, side, 0.0, manner));
        }
        let mut said = Said::default();
        said.before.push(EventKind::Night(Night {
            woke: Some(day % 6 == 1),
            splint: Some(true),
            dropped: None,
        }));
        said.before
            .push(EventKind::Pain(symptom(1, Side::Right, When::Before)));
        said.before
            .push(EventKind::Tingling(symptom(0, Side::Right, When::Before)));
        said.after
            .push(EventKind::Pain(symptom(2, Side::Right, When::After)));
        if day == 17 {
            tasks.truncate(4);
            said.after
                .push(EventKind::Tingling(symptom(2, Side::Right, When::During)));
            said.after.push(EventKind::Stop(Reason {
                reason: Some("tingling".to_owned()),
            }));
            said.after.push(EventKind::Note(Note {
                text: Some("Thumb tingled after typing all morning.".to_owned()),
            }));
        }
        let routine = (day >= 0).then(routine);
        record(
            store,
            "p1",
            at(date, 18, 1),
            routine,
            &tasks,
            &said,
            100 + nth,
        );
        nth += 1;
    }
}

/// Sets of one ordinary session: two movements of both hands.
pub fn tasks(flexion_deg: f64, lower_s: f64) -> Vec<Task> {
    let mut tasks = Vec::new();
    for side in [Side::Left, Side::Right] {
        for _ in 0..2 {
            let manner = careful(flexion_deg, lower_s);
            tasks.push(Task::new(Movement::WristFlexion, side, 0.5, manner));
        }
        let manner = careful(30.0, lower_s);
        tasks.push(Task::new(Movement::WristExtension, side, 0.0, manner));
    }
    tasks
}

/// `count` sessions whose summaries exist, two a day on some days, over a year and more; the last
/// one has its samples.
pub fn long_history(store: &Store, code: &str, count: usize) {
    let scratch = tempfile::tempdir().unwrap();
    let start = date(2025, 1, 31);
    let day = |n: usize| start.checked_add((n as i64 * 3 / 2).days()).unwrap();
    let whole = |n| tasks(40.0 + n as f64 * 0.02, 4.3);
    let (folder, _) = record(
        &Store::at(scratch.path()),
        code,
        at(start, 7, 1),
        Some(routine()),
        &whole(0),
        &Said::default(),
        5,
    );
    let one = summary_of(&folder);
    let all: Vec<_> = (0..count - 1)
        .map(|n| {
            let wave = (n as f64 / 9.0).sin();
            let hour = if n % 2 == 0 { 7 } else { 18 };
            let ratio = 1.0 + 0.0005 * n as f64 + 0.03 * wave;
            changed(&one, at(day(n), hour, 1), ratio, 1.0 - 0.1 * wave)
        })
        .collect();
    store_summaries(store, code, &all);
    let last = at(day(count - 1), 19, 1);
    record(
        store,
        code,
        last,
        Some(routine()),
        &whole(count),
        &Said::default(),
        6,
    );
}

/// Writes stores to look at into the folder that CARPOTEMPO_LOOK names.
#[test]
#[ignore = "writes where the variable CARPOTEMPO_LOOK says"]
fn stores_to_look_at() {
    let folder = std::env::var("CARPOTEMPO_LOOK").unwrap();
    let store = Store::at(Path::new(&folder).join("store"));
    four_weeks(&store);
    long_history(&store, "long", 300);
}

/// The figure to reach: under half a second for 300 sessions whose summaries exist, the whole
/// command with its page and charts.
#[test]
#[ignore = "a figure of the release build: cargo test --release --test review -- --ignored --nocapture half_a_second"]
fn three_hundred_sessions_are_reviewed_in_half_a_second() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("store");
    long_history(&Store::at(&store), "long", 300);
    let out = folder.path().join("report");
    let run = || {
        let start = std::time::Instant::now();
        let done = command(
            &["review", "long"],
            &store,
            &["--out", out.to_str().unwrap()],
        );
        assert!(done.status.success(), "{done:?}");
        start.elapsed().as_secs_f64()
    };
    run();
    let mut times_s: Vec<f64> = (0..5).map(|_| run()).collect();
    times_s.sort_by(f64::total_cmp);
    println!(
        "review of 300 sessions, median of 5: {:.3} s, all: {times_s:.3?}",
        times_s[2]
    );
    assert!(times_s[2] < 0.5, "{times_s:?}");
}
