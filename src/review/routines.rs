//! The routine and how it changed, in words.

mod others;

use jiff::civil::Date;
use serde::Serialize;

use super::words::{kilograms, posture_words};
use crate::pipeline::summary::Summarised;
use crate::routine::{CountedItem, Item, Routine};

/// A routine that came into force.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoutineChange {
    /// Day of the first session under it.
    pub date: Date,
    /// That session's folder.
    pub name: String,
    /// Which of the review's sessions.
    #[serde(skip)]
    pub session: usize,
    /// Its title.
    pub title: String,
    /// What is different from the one before; empty of the first.
    pub differences: Vec<String>,
}

/// The routines of a period, each with what changed.
pub(super) fn routines(sessions: &[&Summarised]) -> Vec<RoutineChange> {
    let mut changes = Vec::new();
    let mut before: Option<&Routine> = None;
    for (index, session) in sessions.iter().enumerate() {
        let Some(routine) = &session.summary.routine else {
            continue;
        };
        if before == Some(routine) {
            continue;
        }
        changes.push(RoutineChange {
            date: session.summary.day(),
            name: session.name.clone(),
            session: index,
            title: routine.title.clone(),
            differences: before.map_or_else(Vec::new, |before| differences(before, routine)),
        });
        before = Some(routine);
    }
    changes
}

/// "wrist flexion right".
fn name(item: &CountedItem) -> String {
    let sides: Vec<&str> = item.side.sides().iter().map(|side| side.name()).collect();
    let sides = if sides.len() > 1 {
        "both"
    } else {
        sides.first().copied().unwrap_or("")
    };
    let movement = item.movement.title().to_lowercase();
    if item.is_range_test() {
        format!("range test of {movement} {sides}")
    } else {
        format!("{movement} {sides}")
    }
}

fn differences(before: &Routine, after: &Routine) -> Vec<String> {
    let mut words = Vec::new();
    let mut number = |what: &str, a: u32, b: u32| {
        if a != b {
            words.push(format!("{what} {a} to {b}"));
        }
    };
    number("rounds", before.rounds, after.rounds);
    if let (Some(a), Some(b)) = (before.sessions_a_week, after.sessions_a_week) {
        number("sessions a week", a, b);
    } else if before.sessions_a_week != after.sessions_a_week {
        words.push("sessions a week".to_owned());
    }
    let counted = |routine: &Routine| -> Vec<CountedItem> {
        routine.items.iter().flat_map(Item::all_counted).collect()
    };
    let (old, new) = (counted(before), counted(after));
    // Items pair by movement, hand and posture, in their order; those left over without the posture.
    let mut left: Vec<&CountedItem> = old.iter().collect();
    let mut open = Vec::new();
    for item in &new {
        let alike = |other: &&CountedItem| {
            (other.movement, other.side, other.posture())
                == (item.movement, item.side, item.posture())
                && other.is_range_test() == item.is_range_test()
        };
        match left.iter().position(alike) {
            Some(place) => words.extend(item_differences(left.remove(place), item)),
            None => open.push(item),
        }
    }
    for item in open {
        let alike = |other: &&CountedItem| {
            (other.movement, other.side) == (item.movement, item.side)
                && other.is_range_test() == item.is_range_test()
        };
        match left.iter().position(alike) {
            Some(place) => words.extend(item_differences(left.remove(place), item)),
            None => words.push(format!("{} added", name(item))),
        }
    }
    words.extend(left.iter().map(|item| format!("{} left out", name(item))));
    words.extend(others::differences(&before.items, &after.items));
    if before.order != after.order {
        words.push("the order of the hands".to_owned());
    }
    if before.limits != after.limits {
        words.push("limits".to_owned());
    }
    if before.form != after.form {
        words.push("when a set is tired".to_owned());
    }
    if before.tempo_band != after.tempo_band {
        words.push("what counts as in tempo".to_owned());
    }
    if words.is_empty() {
        words.push("words or order alone".to_owned());
    }
    words
}

fn item_differences(before: &CountedItem, after: &CountedItem) -> Option<String> {
    let mut words = Vec::new();
    if before.load_kg != after.load_kg {
        let kg = |load: Option<f64>| load.map_or_else(|| "load open".to_owned(), kilograms);
        words.push(format!("{} to {}", kg(before.load_kg), kg(after.load_kg)));
    }
    if (before.sets, before.repetitions) != (after.sets, after.repetitions) {
        words.push(format!(
            "{} x {} to {} x {}",
            before.sets, before.repetitions, after.sets, after.repetitions
        ));
    }
    if before.tempo != after.tempo {
        let code = |item: &CountedItem| {
            item.tempo
                .map_or_else(|| "no tempo".to_owned(), |tempo| tempo.code())
        };
        words.push(format!("{} to {}", code(before), code(after)));
    }
    if before.posture() != after.posture() {
        let posture = |item: &CountedItem| posture_words(Some(&item.posture()));
        words.push(format!("{} to {}", posture(before), posture(after)));
    }
    if before.range_test_hold_s != after.range_test_hold_s {
        words.push("hold at the end".to_owned());
    }
    if before.range != after.range {
        words.push("range asked".to_owned());
    }
    if before.load_shape != after.load_shape {
        words.push("how the weight is held".to_owned());
    }
    if before.rest_s != after.rest_s {
        let rest = |item: &CountedItem| {
            item.rest_s.map_or_else(
                || "rest open".to_owned(),
                |rest_s| format!("rest {rest_s} s"),
            )
        };
        words.push(format!("{} to {}", rest(before), rest(after)));
    }
    if before.provokes() != after.provokes() {
        words.push("whether half-way is asked for tingling".to_owned());
    }
    if before.extra_repetitions_max != after.extra_repetitions_max {
        words.push("extra repetitions".to_owned());
    }
    (!words.is_empty()).then(|| format!("{} {}", name(after), words.join(", ")))
}
