//! The tables of the movements: all of them on the first page, and each one's hands side by side.

use maud::{Markup, html};

use super::cells::{load, or_unknown, plain, reached, timed_cell, unknown};
use super::history_charts::phase_word;
use super::range_tests;
use super::series_table::within_sets;
use crate::movement::{Movement, MovingPhase};
use crate::review::{HandLoad, Review, Series, count_of, degrees, hand_title, plural, share_words};

/// So many series stand in the table of the first sheet.
const LISTED_COUNT: usize = 8;
/// The same where a visit needs its place.
const CROWDED_COUNT: usize = 4;
/// And however many range tests stand beside it.
const LEAST_COUNT: usize = 2;

/// Every movement and hand in one table, each leading to its own table.
pub(super) fn overview(review: &Review) -> Markup {
    // Range tests have a table of their own.
    let series = || {
        let all = review.series.iter().enumerate();
        all.filter(|(_, series)| series.load != HandLoad::RangeTest)
    };
    if series().next().is_none() {
        return html! {};
    }
    let listed = if review.visits.is_empty() {
        LISTED_COUNT
    } else {
        CROWDED_COUNT
    };
    let listed = listed
        .saturating_sub(range_tests::line_count(review))
        .max(LEAST_COUNT);
    let more = series().count().saturating_sub(listed);
    html! {
        h3 { "Movements" }
        div.wide { table.movements {
            thead { tr {
                th { "Movement, hand" }
                th { "Range, degrees" small { "first to last; reached" } }
                th { "Change" small { "against error" } }
                th { "Lowering, s" small { "first to last (quartiles); asked" } }
                th { "Hurried" }
                th { "Repetitions" small { "done of prescribed" } }
                th { "Load" small { "first to last" } }
                th { "Within a set" small { "last: degrees, s" } }
                th { "In doubt" }
            } }
            tbody {
                @for (index, series) in series().take(listed) {
                    (overview_row(index, series))
                }
            }
        } }
        @if more > 0 { p.small { (more) " more in the appendix." } }
    }
}

fn overview_row(index: usize, series: &Series) -> Markup {
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
    html! {
        tr {
            th scope="row" {
                a href=(format!("#t{index}")) { (name) ", " (side) }
            }
            td {
                @if circles { "whole turns" } @else { (or_unknown(range)) }
                @if let Some(words) = reached_words(series) { small { (words) } }
            }
            td {
                @match &series.change {
                    Some(change) => { (change.words()) ", " (change.short_judgement()) }
                    None => (unknown()),
                }
            }
            td { @if circles { (unknown()) } @else { (timed(series)) } }
            td.n { @if total.judged_count == 0 { (unknown()) } @else { (share_words(total.hurried_count, total.judged_count)) } }
            td.n { (count_of(done, total.prescribed_count)) }
            td { (or_unknown(loads(series))) }
            td {
                @match series.sessions.last().filter(|_| !circles) {
                    Some(last) => (within_sets(last)),
                    None => (unknown()),
                }
            }
            td.n { (count_of(total.doubtful_count, Some(total.done_count))) }
        }
    }
}

/// "extension 46": how far from the own neutral, whole degrees.
fn reached_words(series: &Series) -> Option<String> {
    let words = reached(series, series.last_known()?)?;
    let bare = words
        .trim_end_matches(" degrees")
        .trim_end_matches(" degree");
    Some(bare.to_owned())
}

/// "3.4 to 4.0 (3.8 to 4.1); 4".
fn timed(series: &Series) -> Markup {
    let mut known = series.sessions.iter().filter(|s| s.timed.is_some());
    let first = known.next();
    let last = known.next_back().or(first);
    let (Some(first), Some((last, times))) = (
        first.and_then(|session| session.timed),
        last.and_then(|session| Some((session, session.timed?))),
    ) else {
        return unknown();
    };
    html! {
        @if series.timed_phase() == MovingPhase::Lift { "lift " }
        (format!("{:.1} to {:.1} ", first.median_s, times.median_s))
        (format!("({:.1} to {:.1})", times.lower_quartile_s, times.upper_quartile_s))
        @if let Some(band) = last.band { "; " (plain(band.prescribed_s)) }
    }
}

fn loads(series: &Series) -> Option<String> {
    let first = series.sessions.first().and_then(load);
    let last = series.sessions.last().and_then(load)?;
    Some(match first {
        Some(first) if first != last => format!("{first} to {last}"),
        _ => last,
    })
}

/// The figures of a group: a column for each hand.
pub(super) fn group_table(group: &[Series]) -> Markup {
    let phase = group
        .first()
        .map_or("Lowering", |s| phase_word(s.timed_phase()));
    let circles = group
        .first()
        .is_some_and(|s| s.movement == Some(Movement::ArmCircles));
    let range_test = group.first().is_some_and(|s| s.load == HandLoad::RangeTest);
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
                }
                @if !circles && !range_test {
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
