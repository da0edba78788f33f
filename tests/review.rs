//! The review and its report, on invented sessions: facts and structure, not bytes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise"
)]

#[path = "review/invented.rs"]
mod invented;

use std::path::Path;

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{EventKind, Night, Note, Reason, Scale, Store, Symptom, When};
use invented::*;
use jiff::ToSpan;
use jiff::civil::date;

fn symptom(value: u8, side: Side, when: When) -> Symptom {
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

/// Writes stores to look at into the folder that CARPOTEMPO_LOOK names.
#[test]
#[ignore = "writes where the variable CARPOTEMPO_LOOK says"]
fn stores_to_look_at() {
    let folder = std::env::var("CARPOTEMPO_LOOK").unwrap();
    let store = Store::at(Path::new(&folder).join("store"));
    four_weeks(&store);
}
