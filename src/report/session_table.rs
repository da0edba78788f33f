//! The table of all sessions: done, said, recorded.

use maud::{Markup, html};

use super::cells::OPEN_COUNT;
use super::page::sets_words;
use crate::recording::Night;
use crate::review::{Review, SessionRow, answers_words, count_of, plural};

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
    let mut lines: Vec<String> = answers_words(&row.symptoms);
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
