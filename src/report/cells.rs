//! Cells that several tables share.

use maud::{Markup, html};

use crate::movement::Movement;

use crate::review::{Review, Series, SeriesSession, degrees, kilograms, seconds};

/// So many of the latest sessions stand open; the earlier ones unfold, and print when unfolded.
pub(super) const OPEN_COUNT: usize = 40;
/// So many sessions are linked from one finding.
const LINKED_COUNT: usize = 4;

/// "unknown".
pub(super) fn unknown() -> Markup {
    html! { span.unknown { "unknown" } }
}

pub(super) fn or_unknown(words: Option<String>) -> Markup {
    match words {
        Some(words) => html! { (words) },
        None => unknown(),
    }
}

/// Links to the latest of some sessions, by their number in the table.
pub(super) fn session_links(review: &Review, sessions: &[usize]) -> Markup {
    let known = sessions
        .iter()
        .filter(|index| **index < review.sessions.len());
    let latest: Vec<usize> = known.rev().take(LINKED_COUNT).copied().collect();
    html! {
        @if !latest.is_empty() {
            span.quiet.n {
                "[" @for (nth, index) in latest.iter().enumerate() {
                    @if nth > 0 { ", " }
                    a href=(format!("#s{index}")) { (index + 1) }
                }
                @if sessions.len() > LINKED_COUNT { ", \u{2026}" }
                "]"
            }
        }
    }
}

/// "extension 42 degrees": the word and a positive number.
pub(super) fn reached(series: &Series, session: &SeriesSession) -> Option<String> {
    let movement = series.movement?;
    // Without a calibration nobody knows where neutral is.
    let reached_deg = session.reached_deg.filter(|_| session.calibrated)?;
    Some(reached_words(movement, reached_deg))
}

/// The direction and how far from neutral.
pub(super) fn reached_words(movement: Movement, reached_deg: f64) -> String {
    let word = if reached_deg < 0.0 {
        movement.opposite_word()
    } else {
        movement.direction_word()
    };
    format!("{word} {}", degrees(reached_deg))
}

pub(super) fn timed_cell(session: Option<&SeriesSession>, with_band: bool) -> Markup {
    let Some((session, timed)) = session.and_then(|s| Some((s, s.timed?))) else {
        return unknown();
    };
    html! {
        @if with_band { b { (seconds(timed.median_s)) } } @else { (format!("{:.1}", timed.median_s)) }
        " (" (format!("{:.1} to {:.1}", timed.lower_quartile_s, timed.upper_quartile_s)) ")"
        @if with_band { ", " (asked(session)) }
    }
}

/// "asked 4 s, band 3 to 6".
fn asked(session: &SeriesSession) -> String {
    session.band.map_or_else(
        || "nothing asked".to_owned(),
        |band| {
            format!(
                "asked {} s, band {} to {}",
                plain(band.prescribed_s),
                plain(band.low_s),
                plain(band.high_s)
            )
        },
    )
}

/// At most two decimals, none for whole numbers.
pub(super) fn plain(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

pub(super) fn load(session: &SeriesSession) -> Option<String> {
    let (least, most) = (session.load_min_kg?, session.load_max_kg?);
    Some(if most == 0.0 {
        "empty".to_owned()
    } else if least == most {
        kilograms(most)
    } else {
        format!("{} to {}", kilograms(least), kilograms(most))
    })
}
