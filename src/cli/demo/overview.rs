//! The four weeks in a few lines.

use std::fmt::Write as _;

use crate::review::{Review, Series, count_of, hand_title, period_words, seconds, share_words};

/// Findings shown at most.
const FINDINGS_COUNT: usize = 6;

/// A few lines about a review; the report has the rest.
pub fn overview(review: &Review) -> String {
    let mut out = String::new();
    let done = &review.adherence;
    let period = match (done.first_date, done.last_date) {
        (Some(first), Some(last)) => period_words(first, last),
        _ => "no sessions".to_owned(),
    };
    let asked = done
        .asked_session_count
        .map_or(String::new(), |asked| format!(" of about {asked:.0} asked"));
    let _ = writeln!(
        out,
        "Patient {}, {period}: {} sessions{asked}, {} repetitions.\n",
        review.patient,
        done.exercise_count,
        count_of(done.done_of_known_count, done.prescribed_count)
    );
    let headings = [
        ["", "range (deg)", "lowering (s)", "", ""],
        ["hand", "first to last", "first to last", "asked", "hurried"],
    ];
    for [hand, range, timed, asked, hurried] in headings {
        out.push_str(&row("", [hand, range, timed, asked, hurried]));
    }
    for series in &review.series {
        line(&mut out, series);
    }
    out.push('\n');
    let told = review
        .findings
        .iter()
        .filter(|finding| finding.about != "words");
    for finding in told.take(FINDINGS_COUNT) {
        let _ = writeln!(out, "  - {}", finding.text);
    }
    let _ = writeln!(out, "\n{}\n{}", review.angle_note, review.claim_note);
    out
}

fn line(out: &mut String, series: &Series) {
    let known = || series.sessions.iter().filter(|s| s.range.is_some());
    let first_to_last = |values: [Option<f64>; 2], words: fn(f64) -> String| match values {
        [Some(first), Some(last)] => format!("{} to {}", words(first), words(last)),
        _ => "unknown".to_owned(),
    };
    let ends = [known().next(), known().next_back()];
    let range = ends.map(|s| s.and_then(|s| s.range.as_ref()).map(|r| r.median_deg));
    let timed = ends.map(|s| s.and_then(|s| s.timed.as_ref()).map(|t| t.median_s));
    let asked = series
        .last_band()
        .map_or("unknown".to_owned(), |band| seconds(band.prescribed_s));
    out.push_str(&row(
        series.movement.map_or("Movement unknown", |m| m.title()),
        [
            &hand_title(series.side).to_lowercase(),
            &first_to_last(range, |value| format!("{value:.0}")),
            &first_to_last(timed, |value| format!("{value:.1}")),
            &asked,
            &share_words(series.total.hurried_count, series.total.judged_count),
        ],
    ));
}

fn row(movement: &str, [hand, range, timed, asked, hurried]: [&str; 5]) -> String {
    let row = format!("  {movement:17} {hand:6} {range:>14} {timed:>14} {asked:>7} {hurried:>8}");
    row.trim_end().to_owned() + "\n"
}
