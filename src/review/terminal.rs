//! The review as a short text for a terminal.

use std::fmt::Write as _;

use super::words::{
    count_of, hand_title, kilograms, period_words, plural, seconds, share_words, wrapped,
};
use super::{HandLoad, Review, Series};
use crate::movement::MovingPhase;

/// Columns of a terminal.
const WIDTH: usize = 80;

/// The review in a few lines, 80 columns wide at most where the words allow.
pub fn terminal(review: &Review) -> String {
    let mut out = String::new();
    if review.simulated() {
        out.push_str("Invented data: played by a simulator. Nobody\u{2019}s record.\n");
    }
    let words = format!("Patient {}: {}", review.patient, opening(review));
    wrapped(&mut out, "", &words, WIDTH);
    if let Some(words) = repetitions(review) {
        let _ = writeln!(out, "{words}");
    }
    for group in review.groups() {
        let Some(first) = group.first() else { continue };
        let name = first.movement.map_or("Movement not named", |m| m.title());
        let title = format!("{name}, {}, {}", first.load.words(), first.posture_words);
        out.push('\n');
        wrapped(&mut out, "", &title, WIDTH);
        table(&mut out, group);
    }
    if !review.findings.is_empty() {
        out.push_str("\nTo look at (facts, no advice)\n");
        for finding in &review.findings {
            wrapped(&mut out, "  - ", &finding.text, WIDTH);
        }
    }
    if !review.warnings.is_empty() {
        out.push_str("\nLeft out or not kept\n");
        for warning in &review.warnings {
            wrapped(&mut out, "  - ", warning, WIDTH);
        }
    }
    if review
        .series
        .iter()
        .any(|series| series.total.done_count > 0)
    {
        out.push('\n');
        wrapped(&mut out, "", review.angle_note, WIDTH);
    }
    wrapped(&mut out, "", review.claim_note, WIDTH);
    out
}

/// "20 sessions, 3 to 30 Mar 2026, of about 20 asked (5 a week)."
pub(crate) fn opening(review: &Review) -> String {
    let done = &review.adherence;
    let (Some(first), Some(last)) = (done.first_date, done.last_date) else {
        return match review.since {
            Some(since) => format!("no sessions since {}.", super::date_words(since)),
            None => "no sessions.".to_owned(),
        };
    };
    let mut words = format!(
        "{} done, {}",
        plural(done.exercise_count as usize, "session"),
        period_words(first, last)
    );
    match (done.asked_session_count, done.asked_a_week_count) {
        (Some(asked), Some(a_week)) if done.day_count >= 7 => {
            let _ = write!(words, ", of about {asked:.0} asked ({a_week} a week)");
        }
        (_, Some(a_week)) => {
            let _ = write!(words, "; {a_week} a week asked");
        }
        (_, None) => words.push_str("; sessions asked: unknown"),
    }
    let others = done.session_count - done.exercise_count;
    if others > 0 {
        let _ = write!(words, "; {others} more with answers alone");
    }
    words.push('.');
    words
}

fn repetitions(review: &Review) -> Option<String> {
    let done = &review.adherence;
    if done.exercise_count == 0 {
        return None;
    }
    let mut words = format!(
        "Repetitions: {} prescribed",
        count_of(
            if done.prescribed_count.is_some() {
                done.done_of_known_count
            } else {
                done.done_count
            },
            done.prescribed_count
        )
    );
    if done.prescribed_count.is_some() && done.done_count > done.done_of_known_count {
        let _ = write!(
            words,
            "; {} more where the prescribed number is unknown",
            done.done_count - done.done_of_known_count
        );
    }
    words.push('.');
    Some(words)
}

const HEADINGS: [&str; 6] = ["hand", "sessions", "degrees", "timed", "hurried", "done"];

fn table(out: &mut String, group: &[Series]) {
    let mut rows: Vec<Vec<String>> = vec![HEADINGS.map(str::to_owned).to_vec()];
    if let Some(cell) = rows.first_mut().and_then(|row| row.get_mut(3)) {
        *cell = timed_heading(group);
    }
    rows.extend(group.iter().map(cells));
    let widths: Vec<usize> = (0..HEADINGS.len())
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    for row in &rows {
        let mut line = String::from(" ");
        for (cell, width) in row.iter().zip(&widths) {
            let _ = write!(line, " {cell:width$} ");
        }
        let _ = writeln!(out, "{}", line.trim_end());
    }
    for series in group {
        if let Some(change) = &series.change {
            let text = format!(
                "{}: {}, {}",
                hand_title(series.side).to_lowercase(),
                change.words(),
                change.judgement_words()
            );
            wrapped(out, "  ", &text, WIDTH);
        }
    }
}

fn timed_heading(group: &[Series]) -> String {
    if group.iter().any(is_range_test) {
        return "tempo".to_owned();
    }
    let phase = match group.first().map(Series::timed_phase) {
        Some(MovingPhase::Lift) => "lift",
        _ => "lowering",
    };
    match group.iter().find_map(Series::last_band) {
        Some(band) => format!("{phase} asked {}", seconds(band.prescribed_s)),
        None => format!("{phase}, nothing asked"),
    }
}

fn cells(series: &Series) -> Vec<String> {
    let total = series.total;
    let range = match (&series.change, series.last_known()) {
        (Some(change), _) => {
            format!("{:.0} to {:.0}", change.first_deg, change.last_deg)
        }
        (None, Some(session)) => session
            .range
            .map_or_else(unknown, |range| format!("{:.0}", range.median_deg)),
        (None, None) => unknown(),
    };
    let timed = series
        .sessions
        .iter()
        .rev()
        .find_map(|session| session.timed)
        .map_or_else(
            || {
                if is_range_test(series) {
                    "not timed".to_owned()
                } else {
                    unknown()
                }
            },
            |timed| {
                format!(
                    "{} ({:.1} to {:.1})",
                    seconds(timed.median_s),
                    timed.lower_quartile_s,
                    timed.upper_quartile_s
                )
            },
        );
    let load = series
        .sessions
        .last()
        .and_then(|session| session.load_max_kg)
        .filter(|kg| *kg > 0.0)
        .map_or_else(String::new, |kg| format!(", {}", kilograms(kg)));
    let done = if total.prescribed_count.is_some() {
        total.done_of_known_count
    } else {
        total.done_count
    };
    vec![
        format!("{}{load}", hand_title(series.side).to_lowercase()),
        series.sessions.len().to_string(),
        range,
        timed,
        share_words(total.hurried_count, total.judged_count),
        count_of(done, total.prescribed_count),
    ]
}

fn is_range_test(series: &Series) -> bool {
    series.load == HandLoad::RangeTest
}

fn unknown() -> String {
    "unknown".to_owned()
}
