//! The tables of the page: every figure with its session.

use maud::{Markup, html};

use super::history_charts::phase_word;
use super::page::{series_heading, sets_words};
use crate::movement::Movement;
use crate::recording::Night;
use crate::review::{
    Review, Series, SeriesSession, SessionRow, count_of, degrees, hand_title, kilograms, plural,
    seconds, share_words, symptom_words,
};

/// So many of the latest sessions stand open; the earlier ones unfold, and print when unfolded.
const OPEN_COUNT: usize = 40;
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

/// Links to the latest of some sessions.
pub(super) fn session_links(review: &Review, sessions: &[usize]) -> Markup {
    let latest = sessions.iter().rev().take(LINKED_COUNT);
    html! {
        @for (nth, index) in latest.enumerate() {
            @if let Some(row) = review.sessions.get(*index) {
                @if nth > 0 { ", " }
                a href=(format!("#s{index}")) { (row.name) }
            }
        }
        @if sessions.len() > LINKED_COUNT { ", \u{2026}" }
    }
}

/// The figures of a group, a row for each hand.
pub(super) fn group_table(group: &[Series]) -> Markup {
    let phase = group
        .first()
        .map_or("Lowering", |s| phase_word(s.timed_phase()));
    let circles = group
        .first()
        .is_some_and(|s| s.movement == Some(Movement::ArmCircles));
    html! {
        div.wide { table {
            thead { tr {
                th { "Hand" }
                th { "Sessions" }
                @if !circles {
                    th { "Range" small { "median, first to last" } }
                    th { "Change" small { "against a borrowed error" } }
                    th { "Reached" small { "median of the last, from neutral" } }
                    th { (phase) " time" small { "last: median, quartiles" } }
                    th { "Hurried" small { "over the period" } }
                }
                th { "Repetitions" small { "done of prescribed" } }
                th { "Load" small { "last" } }
                th { "In doubt" }
            } }
            tbody { @for series in group { (group_row(series, circles)) } }
        } }
    }
}

fn group_row(series: &Series, circles: bool) -> Markup {
    let total = series.total;
    let last = series.last_known();
    let range = match (&series.change, last.and_then(|session| session.range)) {
        (Some(change), _) => Some(format!(
            "{:.0} to {}",
            change.first_deg,
            degrees(change.last_deg)
        )),
        (None, Some(range)) => Some(degrees(range.median_deg)),
        (None, None) => None,
    };
    let done = if total.prescribed_count.is_some() {
        total.done_of_known_count
    } else {
        total.done_count
    };
    html! {
        tr {
            th scope="row" { (hand_title(series.side)) }
            td { (series.sessions.len()) }
            @if !circles {
                td { (or_unknown(range)) }
                td {
                    @match &series.change {
                        Some(change) => { (change.words()) small { (change.judgement_words()) } }
                        None => (unknown()),
                    }
                }
                td {
                    (or_unknown(last.and_then(|session| reached(series, session))))
                    @if let Some(target) = series.target_deg { small { "target " (format!("{target:.0}")) } }
                }
                td { (timed_cell(series.sessions.iter().rev().find(|s| s.timed.is_some()))) }
                td.n {
                    @if total.judged_count == 0 { (unknown()) } @else {
                        (share_words(total.hurried_count, total.judged_count))
                        small { (count_of(total.hurried_count, Some(total.judged_count))) }
                    }
                }
            }
            td.n { (count_of(done, total.prescribed_count)) }
            td.n { (or_unknown(series.sessions.last().and_then(load))) }
            td.n { (count_of(total.doubtful_count, Some(total.done_count))) }
        }
    }
}

/// "extension 42 degrees": the word and a positive number.
fn reached(series: &Series, session: &SeriesSession) -> Option<String> {
    let movement = series.movement?;
    let reached_deg = session.reached_deg?;
    let word = if reached_deg < 0.0 {
        movement.opposite_word()
    } else {
        movement.direction_word()
    };
    Some(format!("{word} {}", degrees(reached_deg)))
}

fn timed_cell(session: Option<&SeriesSession>) -> Markup {
    let Some((session, timed)) = session.and_then(|s| Some((s, s.timed?))) else {
        return unknown();
    };
    html! {
        span.n { (seconds(timed.median_s)) }
        span.n { " (" (format!("{:.1} to {:.1}", timed.lower_quartile_s, timed.upper_quartile_s)) ")" }
        @match session.band {
            Some(band) => small {
                "asked " (format!("{}", band.prescribed_s)) " s, band "
                (format!("{:.1} to {:.1}", band.low_s, band.high_s))
            },
            None => small { "nothing to hold it against" },
        }
    }
}

fn load(session: &SeriesSession) -> Option<String> {
    let (least, most) = (session.load_min_kg?, session.load_max_kg?);
    Some(if most == 0.0 {
        "empty hand".to_owned()
    } else if least == most {
        kilograms(most)
    } else {
        format!("{} to {}", kilograms(least), kilograms(most))
    })
}

/// All sessions, the latest first.
pub(super) fn session_table(review: &Review) -> Markup {
    let rows: Vec<(usize, &SessionRow)> = review.sessions.iter().enumerate().rev().collect();
    let (open, folded) = rows.split_at(rows.len().min(OPEN_COUNT));
    let table = |rows: &[(usize, &SessionRow)]| {
        html! {
            div.wide { table {
                thead { tr {
                    th { "Day, time" }
                    th { "Session" }
                    th { "Done" small { "repetitions of prescribed" } }
                    th { "Said" small { "answers 0 to 10" } }
                    th { "Recording" }
                } }
                tbody { @for (index, row) in rows { (session_row(*index, row)) } }
            } }
        }
    };
    html! {
        @if !open.is_empty() { (table(open)) }
        @if !folded.is_empty() {
            details {
                summary { (plural(folded.len(), "earlier session")) }
                (table(folded))
            }
        }
    }
}

fn session_row(index: usize, row: &SessionRow) -> Markup {
    html! {
        tr id=(format!("s{index}")) {
            td.n {
                (row.date.strftime("%a %-d %b %Y").to_string())
                small { (row.started_at.strftime("%H:%M").to_string()) }
            }
            td.name { (row.name) }
            td {
                @if row.set_count > 0 { (count_of(row.done_count, row.prescribed_count)) ", " }
                (sets_words(row.set_count))
                @if !row.not_begun.is_empty() { small { "not begun: " (row.not_begun.join(", ")) } }
            }
            td { (said(row)) }
            td { (recording(row)) }
        }
    }
}

fn said(row: &SessionRow) -> Markup {
    let mut lines: Vec<String> = row.symptoms.iter().map(symptom_words).collect();
    let mut reasons = |word: &str, list: &[Option<String>]| {
        for reason in list {
            let reason = reason.as_deref().unwrap_or("no reason given");
            lines.push(format!("{word}: {reason}"));
        }
    };
    reasons("stopped", &row.stops);
    reasons("not begun", &row.declined);
    reasons("skipped", &row.skipped);
    lines.extend(row.nights.iter().filter_map(night));
    if row.visit_count > 0 {
        lines.push(plural(row.visit_count, "visit"));
    }
    lines.extend(
        row.notes
            .iter()
            .map(|note| format!("\u{201c}{}\u{201d}", note.trim())),
    );
    html! {
        @if lines.is_empty() { span.unknown { "no answers" } }
        @for line in &lines { div { (line) } }
    }
}

fn night(night: &Night) -> Option<String> {
    let parts = [
        (night.woke, "woken by the hand", "not woken"),
        (night.splint, "splint worn", "no splint"),
        (night.dropped, "dropped things", "dropped nothing"),
    ];
    let words: Vec<&str> = parts
        .iter()
        .filter_map(|(answer, yes, no)| answer.map(|answer| if answer { *yes } else { *no }))
        .collect();
    (!words.is_empty()).then(|| format!("night: {}", words.join(", ")))
}

fn recording(row: &SessionRow) -> Markup {
    let sensor = row.sensor;
    let mut lines = Vec::new();
    if row.doubtful_count > 0 {
        lines.push(format!(
            "{} in doubt",
            count_of(row.doubtful_count, Some(row.done_count))
        ));
    }
    if sensor.gap_count > 0 {
        lines.push(plural(sensor.gap_count as usize, "gap"));
    }
    if sensor.link_lost_count > 0 {
        let times = plural(sensor.link_lost_count as usize, "time");
        lines.push(format!("link lost {times}"));
    }
    if let Some(percent) = sensor.lowest_battery_percent {
        lines.push(format!("battery {percent} %"));
    }
    lines.extend(row.warnings.iter().cloned());
    html! { @for line in &lines { div { (line) } } }
}

/// A series, the latest session first.
pub(super) fn series_table(review: &Review, series: &Series) -> Markup {
    let rows: Vec<&SeriesSession> = series.sessions.iter().rev().collect();
    let (open, folded) = rows.split_at(rows.len().min(OPEN_COUNT));
    let circles = series.movement == Some(Movement::ArmCircles);
    let table = |rows: &[&SeriesSession]| {
        html! {
            div.wide { table {
                thead { tr {
                    th { "Session" }
                    th { "Done" small { "of prescribed" } }
                    th { "Load" }
                    @if !circles {
                        th { "Range, degrees" small { "median, quartiles, best" } }
                        th { "Reached" }
                        th { (phase_word(series.timed_phase())) " time" small { "median, quartiles" } }
                        th { "Hurried" }
                        th { "Within sets" small { "first to last repetition" } }
                    }
                    th { "In doubt" }
                } }
                tbody { @for row in rows { (series_row(review, series, row, circles)) } }
            } }
        }
    };
    html! {
        h3 { (series_heading(series)) }
        (table(open))
        @if !folded.is_empty() {
            details {
                summary { (plural(folded.len(), "earlier session")) }
                (table(folded))
            }
        }
    }
}

fn series_row(review: &Review, series: &Series, row: &SeriesSession, circles: bool) -> Markup {
    let time = review
        .sessions
        .get(row.session)
        .map(|of| of.started_at.strftime("%H:%M").to_string());
    html! {
        tr {
            td.n {
                a href=(format!("#s{}", row.session)) { (row.date.strftime("%-d %b %Y").to_string()) }
                @if let Some(time) = time { small { (time) ", " (plural(row.set_count, "set")) } }
            }
            td.n {
                (count_of(row.done_count, row.prescribed_count))
                @if row.incomplete_count > 0 { small { (row.incomplete_count) " incomplete" } }
            }
            td.n { (or_unknown(load(row))) }
            @if !circles {
                td.n {
                    @match row.range {
                        Some(range) => {
                            (format!("{:.0}", range.median_deg))
                            " (" (format!("{:.0} to {:.0}", range.lower_quartile_deg, range.upper_quartile_deg)) ")"
                            small { "best " (format!("{:.0}", range.best_deg)) }
                        }
                        None => (unknown()),
                    }
                }
                td { (or_unknown(reached(series, row))) }
                td { (timed_cell(Some(row))) }
                td.n {
                    @if row.judged_count == 0 { (unknown()) } @else {
                        (count_of(row.hurried_count, Some(row.judged_count)))
                    }
                }
                td { (within_sets(row)) }
            }
            td {
                (count_of(row.doubtful_count, Some(row.done_count)))
                @for (doubt, count) in &row.doubts { small { (doubt) " " (count) } }
            }
        }
    }
}

fn within_sets(row: &SeriesSession) -> Markup {
    let way = |change: f64| if change > 0.0 { "more" } else { "less" };
    let range = row
        .range_change_in_set_deg
        .map(|deg| format!("{} {}", degrees(deg), way(deg)));
    let lower = row.lower_change_in_set_s.map(|s| {
        let way = if s > 0.0 { "longer" } else { "shorter" };
        format!("lowering {} {way}", seconds(s))
    });
    html! {
        @match (range, lower) {
            (None, None) => (unknown()),
            (range, lower) => { (or_unknown(range)) small { (or_unknown(lower)) } }
        }
    }
}
