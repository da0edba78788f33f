//! The tables of the range tests: both hands beside each other on the first sheet, and every session
//! in the appendix.

use maud::{Markup, html};

use super::cells::{or_unknown, unknown};
use crate::movement::{Plane, Side};
use crate::review::{Change, EndFigures, RangeTestSession, RangeTests, Review, count_of, degrees};

/// The range tests of both hands, a row for each plane and posture; nothing without any.
pub(super) fn range_tests(review: &Review) -> Markup {
    let rows = rows(review);
    if rows.is_empty() {
        return html! {};
    }
    let sides = sides(review);
    html! {
        h3 { "Range tests" span.quiet { " empty hand; last session, degrees from the own neutral; change of the arc, last against first" } }
        div.wide { table.movements {
            thead { tr {
                th { "Plane" }
                @for side in &sides { th { (hand(*side)) } th { "Change" small { "against error" } } }
            } }
            tbody {
                @for row in rows {
                    tr {
                        @if let Some(tests) = row.first() {
                            th scope="row" { (tests.plane.title()) small { (tests.posture_words) } }
                        }
                        @for side in &sides {
                            @match row.iter().find(|tests| tests.side == *side) {
                                Some(tests) => { td { (last(tests)) } td { (change(tests.arc_change.as_ref())) } }
                                None => { td { (unknown()) } td { (unknown()) } }
                            }
                        }
                    }
                }
            }
        } }
    }
}

/// So many lines of the first sheet that table takes.
pub(super) fn line_count(review: &Review) -> usize {
    match rows(review).len() {
        0 => 0,
        count => 2 * count + 2,
    }
}

/// Planes and postures, the hands of each together.
fn rows(review: &Review) -> Vec<&[RangeTests]> {
    let alike =
        |a: &RangeTests, b: &RangeTests| (a.plane, &a.posture_words) == (b.plane, &b.posture_words);
    review.range_tests.chunk_by(alike).collect()
}

fn sides(review: &Review) -> Vec<Option<Side>> {
    let mut sides: Vec<Option<Side>> = review.range_tests.iter().map(|own| own.side).collect();
    sides.sort_by_key(|side| (side.is_none(), *side));
    sides.dedup();
    sides
}

fn hand(side: Option<Side>) -> &'static str {
    match side {
        Some(Side::Left) => "Left",
        Some(Side::Right) => "Right",
        None => "Hand not named",
    }
}

/// "flexion 61 (best 62), extension 55 (best 57); arc 116".
fn last(tests: &RangeTests) -> Markup {
    let Some(session) = tests.last_known() else {
        return unknown();
    };
    let words = tests
        .plane
        .directions()
        .map(|movement| movement.direction_word());
    html! {
        @for (word, end) in words.into_iter().zip(&session.ends) {
            (word) " "
            @match end {
                Some(end) => { b { (format!("{:.0}", end.mean_deg)) } },
                None => (unknown()),
            }
            ", "
        }
        "arc "
        @match session.arc_deg { Some(deg) => { b { (format!("{deg:.0}")) } }, None => (unknown()) }
        small {
            "best "
            (each(session, |end| format!("{:.0}", end.best_deg)))
            "; spread "
            (each(session, |end| format!("{:.0}", end.spread_deg())))
        }
    }
}

/// One number of each end: "62 and 57".
fn each(session: &RangeTestSession, number: fn(&EndFigures) -> String) -> Markup {
    html! {
        @for (nth, end) in session.ends.iter().enumerate() {
            @if nth > 0 { " and " }
            (or_unknown(end.as_ref().map(number)))
        }
    }
}

fn change(change: Option<&Change>) -> Markup {
    html! {
        @match change {
            Some(change) => { (change.words()) ", " (change.short_judgement()) }
            None => (unknown()),
        }
    }
}

/// Every session of every range test, for the appendix.
pub(super) fn every_session(review: &Review) -> Markup {
    html! {
        @if !review.range_tests.is_empty() {
            section.movement {
                h2 { "Range tests" }
                p.quiet {
                    "Empty hand, out as far as is comfortable, held, and back. Ends from the person\u{2019}s own neutral pose: mean (least to best) of the repetitions, degrees. Arc: the sum of the two means."
                }
                @for tests in &review.range_tests { (one(tests)) }
            }
        }
    }
}

fn one(tests: &RangeTests) -> Markup {
    let [first, second] = tests.plane.directions().map(|own| own.title());
    html! {
        h3 { (heading(tests.plane, tests.side)) ", " (tests.posture_words) }
        div.wide { table.series {
            thead { tr {
                th { "No., day" } th { (first) } th { (second) } th { "Arc" } th { "In doubt" }
            } }
            tbody {
                @for row in tests.sessions.iter().rev() {
                    tr {
                        td.n {
                            a href=(format!("#s{}", row.session)) { (row.session + 1) } ", "
                            (row.date.strftime("%-d %b %Y").to_string())
                        }
                        @for end in &row.ends { td.n { (end_cell(end.as_ref())) } }
                        td.n { (or_unknown(row.arc_deg.map(|deg| format!("{deg:.0}")))) }
                        td.n { (count_of(row.doubtful_count, Some(row.done_count))) }
                    }
                }
            }
        } }
        p.small {
            @for (title, end) in [first, second].into_iter().zip(&tests.end_changes) {
                (title) ": " (judged(end.as_ref())) ". "
            }
            "Arc: " (judged(tests.arc_change.as_ref())) "."
        }
    }
}

fn heading(plane: Plane, side: Option<Side>) -> String {
    format!("{}, {}", plane.title(), hand(side).to_lowercase())
}

fn end_cell(end: Option<&EndFigures>) -> Markup {
    html! {
        @match end {
            Some(end) => {
                (format!("{:.0}", end.mean_deg))
                " (" (format!("{:.0} to {:.0}", end.least_deg, end.best_deg)) "), "
                (end.done_count)
            }
            None => (unknown()),
        }
    }
}

/// "61 to 66 degrees, 5 degrees more: unknown or within the borrowed error of 11 degrees".
fn judged(change: Option<&Change>) -> String {
    change.map_or_else(
        || "one session, or neutral not known".to_owned(),
        |change| {
            format!(
                "{:.0} to {}, {}: {}",
                change.first_deg,
                degrees(change.last_deg),
                change.words(),
                change.judgement_words()
            )
        },
    )
}
