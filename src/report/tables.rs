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

/// Every movement and hand in one table.
pub(super) fn overview(review: &Review) -> Markup {
    if review.series.is_empty() {
        return html! {};
    }
    html! {
        h3 { "Movements" }
        div.wide { table {
            thead { tr {
                th { "Movement, hand" }
                th { "Range" small { "median, first to last, degrees" } }
                th { "Change" small { "against the borrowed error" } }
                th { "Timed phase" small { "last median; asked, s" } }
                th { "Hurried" small { "over the period" } }
                th { "Repetitions" small { "done of prescribed" } }
                th { "Load" small { "last" } }
            } }
            tbody { @for series in &review.series { (overview_row(series)) } }
        } }
    }
}

fn overview_row(series: &Series) -> Markup {
    let name = series.movement.map_or("Movement not named", |m| m.title());
    let side = series.side.map_or("hand not named", |side| side.name());
    let total = series.total;
    let done = if total.prescribed_count.is_some() {
        total.done_of_known_count
    } else {
        total.done_count
    };
    let range = match (&series.change, series.last_known().and_then(|s| s.range)) {
        (Some(change), _) => Some(format!("{:.0} to {:.0}", change.first_deg, change.last_deg)),
        (None, range) => range.map(|range| format!("{:.0}", range.median_deg)),
    };
    let circles = series.movement == Some(Movement::ArmCircles);
    let timed = series
        .sessions
        .iter()
        .rev()
        .find_map(|s| Some((s.band, s.timed?)));
    html! {
        tr {
            th scope="row" { (name) ", " (side) }
            td.n { @if circles { "whole turns" } @else { (or_unknown(range)) } }
            td {
                @match &series.change {
                    Some(change) => { (change.words()) ", " (change.short_judgement()) }
                    None => (unknown()),
                }
            }
            td.n {
                @match timed.filter(|_| !circles) {
                    Some((band, timed)) => {
                        (phase_word(series.timed_phase())) " " (format!("{:.1}", timed.median_s))
                        @if let Some(band) = band { "; " (plain(band.prescribed_s)) }
                    }
                    None => (unknown()),
                }
            }
            td.n { @if total.judged_count == 0 { (unknown()) } @else { (share_words(total.hurried_count, total.judged_count)) } }
            td.n { (count_of(done, total.prescribed_count)) }
            td.n { (or_unknown(series.sessions.last().and_then(load))) }
        }
    }
}

/// The figures of a group: a column for each hand.
pub(super) fn group_table(group: &[Series]) -> Markup {
    let phase = group
        .first()
        .map_or("Lowering", |s| phase_word(s.timed_phase()));
    let circles = group
        .first()
        .is_some_and(|s| s.movement == Some(Movement::ArmCircles));
    let row = |name: &str, detail: &str, cell: &dyn Fn(&Series) -> Markup| {
        html! {
            tr {
                th scope="row" { (name) span.quiet { " " (detail) } }
                @for series in group { td { (cell(series)) } }
            }
        }
    };
    html! {
        table.hands {
            thead { tr {
                th {}
                @for series in group { th scope="col" { (hand_title(series.side)) } }
            } }
            tbody {
                @if !circles {
                    (row("Range", "median, first to last", &range_cell))
                    (row("Change", "last against first", &change_cell))
                    (row("Reached", "from neutral, last median", &reached_cell))
                    (row(&format!("{phase} time"), "last median, quartiles", &|series| {
                        timed_cell(series.sessions.iter().rev().find(|s| s.timed.is_some()), true)
                    }))
                    (row("Hurried", "of those judged", &|series| hurried_cell(series)))
                }
                (row("Repetitions", "done of prescribed", &done_cell))
                (row("Load", "last session", &|series| or_unknown(series.sessions.last().and_then(load))))
                (row("In doubt", "repetitions", &|series| {
                    let total = series.total;
                    html! { (count_of(total.doubtful_count, Some(total.done_count))) }
                }))
            }
        }
    }
}

fn range_cell(series: &Series) -> Markup {
    let last = series.last_known().and_then(|session| session.range);
    match (&series.change, last) {
        (Some(change), _) => html! {
            b { (format!("{:.0} to {}", change.first_deg, degrees(change.last_deg))) }
        },
        (None, Some(range)) => html! { b { (degrees(range.median_deg)) } ", one session" },
        (None, None) => unknown(),
    }
}

fn change_cell(series: &Series) -> Markup {
    match &series.change {
        Some(change) => html! { (change.words()) ": " (change.judgement_words()) },
        None => unknown(),
    }
}

fn reached_cell(series: &Series) -> Markup {
    let reached = series
        .last_known()
        .and_then(|session| reached(series, session));
    html! {
        (or_unknown(reached))
        @if let Some(target) = series.target_deg { ", target " (format!("{target:.0}")) }
        @if let Some(limit) = series.no_further_deg { ", no further than " (format!("{limit:.0}")) }
    }
}

fn hurried_cell(series: &Series) -> Markup {
    let total = series.total;
    if total.judged_count == 0 {
        return unknown();
    }
    html! {
        (share_words(total.hurried_count, total.judged_count)) ", "
        (count_of(total.hurried_count, Some(total.judged_count)))
    }
}

fn done_cell(series: &Series) -> Markup {
    let total = series.total;
    let done = if total.prescribed_count.is_some() {
        total.done_of_known_count
    } else {
        total.done_count
    };
    html! {
        b { (count_of(done, total.prescribed_count)) }
        " in " (plural(series.sessions.len(), "session"))
        @if total.done_count > done { ", " (total.done_count - done) " more of unknown" }
    }
}

/// "extension 42 degrees": the word and a positive number.
fn reached(series: &Series, session: &SeriesSession) -> Option<String> {
    let movement = series.movement?;
    // Without a calibration nobody knows where neutral is.
    let reached_deg = session.reached_deg.filter(|_| session.calibrated)?;
    let word = if reached_deg < 0.0 {
        movement.opposite_word()
    } else {
        movement.direction_word()
    };
    Some(format!("{word} {}", degrees(reached_deg)))
}

fn timed_cell(session: Option<&SeriesSession>, with_band: bool) -> Markup {
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
fn plain(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

fn load(session: &SeriesSession) -> Option<String> {
    let (least, most) = (session.load_min_kg?, session.load_max_kg?);
    Some(if most == 0.0 {
        "empty".to_owned()
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
            div.wide { table.sessions {
                thead { tr {
                    th { "No." }
                    th { "Day, time, folder" }
                    th { "Repetitions done of prescribed" }
                    th { "Said, answers 0 to 10" }
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
            td { (index + 1) }
            td {
                (row.date.strftime("%a %-d %b %Y").to_string()) ", "
                (row.started_at.strftime("%H:%M").to_string())
                small { (row.name) }
            }
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
        (lines.join("; "))
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
    lines.extend(told_once(&row.warnings));
    html! { @if lines.is_empty() { span.unknown { "no doubts" } } (lines.join("; ")) }
}

/// Remarks, those that differ in the time of the set alone told once with their number.
fn told_once(warnings: &[String]) -> Vec<String> {
    let mut told: Vec<(&str, &str, usize)> = Vec::new();
    for warning in warnings {
        let words = warning
            .strip_prefix("set at ")
            .and_then(|rest| rest.split_once(" s: "))
            .map_or(warning.as_str(), |(_, words)| words);
        match told.iter_mut().find(|(_, said, _)| *said == words) {
            Some((.., count)) => *count += 1,
            None => told.push((warning, words, 1)),
        }
    }
    told.into_iter()
        .map(|(whole, words, count)| match count {
            1 => whole.to_owned(),
            _ => format!("{count} sets: {words}"),
        })
        .collect()
}

/// A series, the latest session first.
pub(super) fn series_table(series: &Series) -> Markup {
    let rows: Vec<&SeriesSession> = series.sessions.iter().rev().collect();
    let (open, folded) = rows.split_at(rows.len().min(OPEN_COUNT));
    let circles = series.movement == Some(Movement::ArmCircles);
    let table = |rows: &[&SeriesSession]| {
        html! {
            div.wide { table.series {
                thead { tr {
                    th { "No., day" }
                    th { "Done of prescribed" }
                    th { "Load" }
                    @if !circles {
                        th { "Range (quartiles), best, degrees" }
                        th { "Reached, degrees" }
                        th { (phase_word(series.timed_phase())) " (quartiles), asked, s" }
                        th { "Hurried" }
                        th { "Within a set: degrees, s" }
                    }
                    th { "In doubt" }
                } }
                tbody { @for row in rows { (series_row(series, row, circles)) } }
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

fn series_row(series: &Series, row: &SeriesSession, circles: bool) -> Markup {
    html! {
        tr {
            td.n {
                a href=(format!("#s{}", row.session)) { (row.session + 1) } ", "
                (row.date.strftime("%-d %b %Y").to_string())
            }
            td.n {
                (count_of(row.done_count, row.prescribed_count))
                @if row.incomplete_count > 0 { ", " (row.incomplete_count) " cut" }
            }
            td.n { (or_unknown(load(row))) }
            @if !circles {
                td.n {
                    @match row.range {
                        Some(range) => {
                            (format!("{:.0}", range.median_deg))
                            " (" (format!("{:.0} to {:.0}", range.lower_quartile_deg, range.upper_quartile_deg)) "), "
                            (format!("{:.0}", range.best_deg))
                        }
                        None => (unknown()),
                    }
                }
                td.n { (or_unknown(reached(series, row).map(|words| words.replace(" degrees", "")))) }
                td.n {
                    (timed_cell(Some(row), false))
                    @if let Some(band) = row.band { ", " (plain(band.prescribed_s)) }
                }
                td.n {
                    @if row.judged_count == 0 { (unknown()) } @else {
                        (count_of(row.hurried_count, Some(row.judged_count)))
                    }
                }
                td.n { (within_sets(row)) }
            }
            td {
                @if row.doubtful_count == 0 { "0" } @else {
                    (count_of(row.doubtful_count, Some(row.done_count)))
                    @for (doubt, count) in &row.doubts { ", " (doubt) " " (count) }
                }
            }
        }
    }
}

/// "3 less, 0.2 shorter".
fn within_sets(row: &SeriesSession) -> Markup {
    let words = |change: f64, decimals: usize, more: &str, less: &str| {
        let size = format!("{:.decimals$}", change.abs());
        if size.chars().all(|c| c == '0' || c == '.') {
            return "same".to_owned();
        }
        format!("{size} {}", if change > 0.0 { more } else { less })
    };
    let range = row
        .range_change_in_set_deg
        .map(|deg| words(deg, 0, "more", "less"));
    let lower = row
        .lower_change_in_set_s
        .map(|s| words(s, 1, "longer", "shorter"));
    html! {
        @match (range, lower) {
            (None, None) => (unknown()),
            (range, lower) => { (or_unknown(range)) ", " (or_unknown(lower)) }
        }
    }
}
