//! The table of one movement and hand: every figure with its session.

use maud::{Markup, html};

use super::cells::{OPEN_COUNT, load, or_unknown, plain, reached, timed_cell, unknown};
use super::history_charts::phase_word;
use super::page::series_heading;
use crate::movement::Movement;
use crate::reps::measure::with_error;
use crate::review::{HandLoad, Series, SeriesSession, count_of, plural};

/// A series, the latest session first.
pub(super) fn series_table(series: &Series) -> Markup {
    let rows: Vec<&SeriesSession> = series.sessions.iter().rev().collect();
    let (open, folded) = rows.split_at(rows.len().min(OPEN_COUNT));
    let circles = series.movement == Some(Movement::ArmCircles);
    let timed = series.load != HandLoad::RangeTest;
    let table = |rows: &[&SeriesSession]| {
        html! {
            div.wide { table.series {
                thead { tr {
                    th { "No., day" }
                    th { "Done of prescribed" }
                    th { "Load" }
                    @if !circles {
                        th { "Range \u{b1} stated error (quartiles), best, degrees" }
                        th { "Reached, degrees" }
                        @if timed {
                            th { (phase_word(series.timed_phase())) " (quartiles), asked, s" }
                            th { "Hurried" }
                            th { "Within a set: degrees, s" }
                        }
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
                            (with_error(range.median_deg, row.range_error_deg, 0))
                            " (" (format!("{:.0} to {:.0}", range.lower_quartile_deg, range.upper_quartile_deg)) "), "
                            (format!("{:.0}", range.best_deg))
                        }
                        None => (unknown()),
                    }
                }
                td.n { (or_unknown(reached(series, row).map(|words| words.trim_end_matches(" degrees").trim_end_matches(" degree").to_owned()))) }
                @if series.load != HandLoad::RangeTest {
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
pub(super) fn within_sets(row: &SeriesSession) -> Markup {
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
