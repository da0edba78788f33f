//! The rows that rest on what the person said.

use super::{InputFor, InputRow, OURS, Sight, row};
use crate::pipeline::summary::{Summarised, SymptomKind};
use crate::review::symptoms::SymptomRow;
use crate::review::words::{count_of, plural};
use crate::review::{Review, SessionRow};

/// Symptoms within the routine's limits in the last two sessions, and settled by the next morning.
pub(super) fn settled(review: &Review, sessions: &[&Summarised]) -> InputRow {
    let about = "within limits, settled by morning";
    let mut last: Vec<(&SessionRow, &Summarised)> = review
        .sessions
        .iter()
        .zip(sessions.iter().copied())
        .filter(|(row, _)| row.set_count > 0 && !row.symptoms.is_empty())
        .collect();
    last.drain(..last.len().saturating_sub(2));
    let above = last.iter().any(|(row, session)| {
        let routine = session.summary.routine.as_ref();
        let limits = routine.map(|routine| routine.limits).unwrap_or_default();
        row.symptoms.iter().any(|symptom| symptom.above(&limits))
    });
    // The next morning no worse than before the session.
    let mornings = || {
        let symptoms = last.iter().flat_map(|(row, _)| &row.symptoms);
        symptoms.filter_map(|symptom| Some((symptom.next_morning?, symptom.before?)))
    };
    let worse = mornings().any(|(morning, before)| morning > before);
    let mornings = mornings().count();
    let sight = if above || worse {
        Sight::NotSeen
    } else if last.len() < 2 || mornings == 0 {
        Sight::NotEnoughData
    } else {
        Sight::Seen
    };
    let numbers = if last.is_empty() {
        "no answers".to_owned()
    } else {
        format!(
            "last {}: {}; {}",
            plural(last.len(), "session"),
            if above {
                "above limits"
            } else {
                "none above limits"
            },
            match (mornings, worse) {
                (0, _) => "no answer of a morning".to_owned(),
                (_, true) => "worse next morning".to_owned(),
                (count, false) => format!("settled in {} of a morning", plural(count, "answer")),
            }
        )
    };
    row(InputFor::More, about, sight, numbers, OURS)
}

pub(super) fn stops(review: &Review) -> InputRow {
    let stopped = review.sessions.iter().filter(|row| !row.stops.is_empty());
    let count = stopped.count();
    let sight = if review.sessions.iter().any(|row| row.set_count > 0) {
        Sight::of(Some(count >= 2))
    } else {
        Sight::NotEnoughData
    };
    let numbers = format!("stopped in {}", plural(count, "session"));
    let about = "stops in two or more sessions";
    row(InputFor::LessOrCall, about, sight, numbers, OURS)
}

/// The sessions in two halves by their order, the earlier one first.
fn halves<T>(all: &[T]) -> (&[T], &[T]) {
    all.split_at(all.len() / 2)
}

/// Tingling or numbness worse in the second half of the sessions with answers than in the first.
pub(super) fn rising(review: &Review) -> InputRow {
    let mut words = Vec::new();
    let mut known = false;
    let mut seen = false;
    for kind in [SymptomKind::Tingling, SymptomKind::Numbness] {
        let worst: Vec<u8> = review
            .sessions
            .iter()
            .filter_map(|session| {
                let of_kind = session.symptoms.iter().filter(|row| row.kind == kind);
                of_kind.filter_map(SymptomRow::worst).max()
            })
            .collect();
        let (early, late) = halves(&worst);
        let (Some(before), Some(after)) = (early.iter().max(), late.iter().max()) else {
            continue;
        };
        known |= early.len() >= 2;
        seen |= after > before;
        words.push(format!("worst {} {before}, then {after}", kind.name()));
    }
    let sight = Sight::of(known.then_some(seen));
    let numbers = if words.is_empty() {
        "no answers".to_owned()
    } else {
        words.join("; ")
    };
    row(
        InputFor::LessOrCall,
        "tingling or numbness rising",
        sight,
        numbers,
        OURS,
    )
}

/// Nights woken, in the second half of those answered against the first.
pub(super) fn nights(review: &Review) -> InputRow {
    let woke: Vec<bool> = review
        .sessions
        .iter()
        .flat_map(|row| row.nights.iter().filter_map(|night| night.woke))
        .collect();
    let (early, late) = halves(&woke);
    let count = |part: &[bool]| part.iter().filter(|woke| **woke).count();
    let share = |part: &[bool]| count(part) as f64 / part.len().max(1) as f64;
    let seen = (early.len() >= 2).then(|| share(late) > share(early));
    let words = |part: &[bool]| {
        let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        count_of(whole(count(part)), Some(whole(part.len())))
    };
    let numbers = if woke.is_empty() {
        "no answers".to_owned()
    } else {
        format!("woken {}, then {}", words(early), words(late))
    };
    row(
        InputFor::LessOrCall,
        "nights woken rising",
        Sight::of(seen),
        numbers,
        OURS,
    )
}
