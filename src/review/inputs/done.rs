//! The rows that rest on ranges and on the number of sessions.

use super::{InputFor, InputRow, OURS, Sight, row};
use crate::review::change::Judgement;
use crate::review::{Change, HandLoad, Review, Series};

/// A share of the sessions asked for from which they count as done (ours: three quarters).
const DONE_RATIO: f64 = 0.75;

pub(super) fn range(review: &Review, speaks_for: InputFor) -> InputRow {
    let held: Vec<(&Series, Change)> = review
        .weighed()
        .filter_map(|series| Some((series, series.change.filter(|c| c.error.is_some())?)))
        .collect();
    let fits = |change: &Change| match speaks_for {
        InputFor::More => change.judgement == Judgement::BeyondError && change.change_deg > 0.0,
        InputFor::Same => change.judgement == Judgement::UnknownOrWithinError,
        InputFor::LessOrCall => {
            change.judgement == Judgement::BeyondError && change.change_deg < 0.0
        }
    };
    let words: Vec<String> = held
        .iter()
        .filter(|(_, change)| fits(change))
        .map(|(series, change)| {
            let name = series.movement.map_or("", |m| m.title()).to_lowercase();
            let side = series.side.map_or("", |side| side.name());
            let test = if series.load == HandLoad::RangeTest {
                "range test of "
            } else {
                ""
            };
            format!(
                "{test}{name} {side} {:.0} to {:.0}",
                change.first_deg, change.last_deg
            )
        })
        .collect();
    let (about, seen) = match speaks_for {
        InputFor::More => ("more range, beyond error", !words.is_empty()),
        InputFor::Same => ("range unknown or within error", !words.is_empty()),
        InputFor::LessOrCall => ("less range, beyond error", !words.is_empty()),
    };
    let numbers = if held.is_empty() {
        "no two sessions with an error to hold them against".to_owned()
    } else {
        let listed = if speaks_for == InputFor::Same {
            String::new()
        } else {
            listed(&words)
        };
        format!("{} of {} series{listed}", words.len(), held.len())
    };
    let sight = Sight::of((!held.is_empty()).then_some(seen));
    let source = "MDC95, borrowed or own";
    row(speaks_for, about, sight, numbers, source)
}

/// ": a; b", at most two.
fn listed(words: &[String]) -> String {
    let shown: Vec<&str> = words.iter().take(2).map(String::as_str).collect();
    match (shown.is_empty(), words.len() > shown.len()) {
        (true, _) => String::new(),
        (false, true) => format!(": {}; \u{2026}", shown.join("; ")),
        (false, false) => format!(": {}", shown.join("; ")),
    }
}

pub(super) fn adherence(review: &Review) -> InputRow {
    let done = &review.adherence;
    let asked = done.asked_session_count.filter(|_| done.day_count >= 7);
    let few = asked.map(|asked| f64::from(done.exercise_count) < DONE_RATIO * asked);
    let numbers = match asked {
        Some(asked) => format!("{} of about {asked:.0}", done.exercise_count),
        None => format!("{} of unknown", done.exercise_count),
    };
    row(
        InputFor::Same,
        "fewer sessions than 3/4 of those asked",
        Sight::of(few),
        numbers,
        OURS,
    )
}
