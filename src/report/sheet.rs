//! The first two sheets: what happened since the last visit, and everything across sessions.

mod visit;

use maud::{Markup, html};

pub(super) use self::visit::visit_words;
use super::cells::{session_links, unknown};
use super::days::days;
use super::overview::overview;
use super::range_tests::range_tests;
use crate::pipeline::summary::SymptomKind;
use crate::recording::Night;
use crate::review::{
    Adherence, Finding, INPUTS_NOTE, InputFor, Person, Review, SessionRow, SinceVisit, count_of,
    date_words, day_words, norms_of, plural, share_words,
};

/// So many findings stand on the first sheet; all of them in the appendix.
const LISTED_COUNT: usize = 7;
/// The same where a visit needs its place beside them.
const CROWDED_COUNT: usize = 5;
/// So many routines stand on the first sheet.
const ROUTINES_COUNT: usize = 2;
/// So many ranges of a goniometer stand on the first sheet.
const RANGES_COUNT: usize = 2;

/// The first sheet.
pub(super) fn first_sheet(review: &Review, person: Person) -> Markup {
    html! {
        section.sheet.crowded[crowded(review)] {
            @if let Some(since) = &review.since_visit {
                (glance(review, since))
                (look(review, since))
            }
            (days(review))
            (overview(review))
            (range_tests(review))
            (norms(review, person))
            (routine(review))
            (visit(review))
            @if let Some(since) = &review.since_visit { (inputs(since)) }
        }
    }
}

/// Whether a visit needs its place.
fn crowded(review: &Review) -> bool {
    !review.visits.is_empty()
}

/// The sessions after the visit, by [`SinceVisit`].
fn rows<'a>(review: &'a Review, since: &SinceVisit) -> &'a [SessionRow] {
    let first = since.visit.as_ref().map_or(0, |visit| visit.session + 1);
    review.sessions.get(first..).unwrap_or_default()
}

fn glance(review: &Review, since: &SinceVisit) -> Markup {
    let rows = rows(review, since);
    let done = &since.adherence;
    html! {
        h2.first {
            @match &since.visit {
                Some(visit) => { "Since the last visit, " (date_words(visit.date)) }
                None => { "The whole period; no visit is noted" }
            }
            @if let (Some(from), Some(to)) = (done.first_date, done.last_date) {
                span.quiet { " " (plural(crate::review::days_between(from, to) as usize, "day")) }
            }
        }
        dl.glance {
            div { dt { "Sessions done of asked" } dd { (sessions(done)) } }
            div { dt { "Repetitions done of prescribed" } dd { (repetitions(done)) } }
            div {
                dt { "Stops" }
                dd {
                    @if done.exercise_count == 0 { (unknown()) } @else { (since.stop_count) }
                }
            }
            div { dt { "Worst tingling" } dd { (worst(rows, SymptomKind::Tingling)) } }
            div { dt { "Nights woken" } dd { (nights(rows)) } }
            div {
                dt { "Hurried" }
                dd {
                    @if since.judged_count == 0 { (unknown()) } @else {
                        (share_words(since.hurried_count, since.judged_count))
                        small { (count_of(since.hurried_count, Some(since.judged_count))) }
                    }
                }
            }
        }
    }
}

fn sessions(done: &Adherence) -> Markup {
    let answers_alone = done.session_count - done.exercise_count;
    html! {
        (done.exercise_count)
        @match done.asked_session_count.filter(|_| done.day_count >= 7) {
            Some(asked) => { " of about " (format!("{asked:.0}")) }
            None => { small { "asked: unknown for these days" } }
        }
        small {
            @if let Some(a_week) = done.asked_a_week_count { (a_week) " a week" }
            @if answers_alone > 0 { ", " (answers_alone) " more without exercise" }
        }
    }
}

fn repetitions(done: &Adherence) -> Markup {
    html! {
        @if done.exercise_count == 0 { (unknown()) }
        @else if done.prescribed_count.is_some() {
            (count_of(done.done_of_known_count, done.prescribed_count))
        } @else {
            (done.done_count) " of " (unknown())
        }
        @if done.prescribed_count.is_some() && done.done_count > done.done_of_known_count {
            small { (done.done_count - done.done_of_known_count) " more in sessions that do not say" }
        }
    }
}

fn worst(rows: &[SessionRow], kind: SymptomKind) -> Markup {
    let found = rows
        .iter()
        .flat_map(|row| row.symptoms.iter().map(move |symptom| (row, symptom)))
        .filter(|(_, symptom)| symptom.kind == kind)
        .filter_map(|(row, symptom)| Some((symptom.worst()?, row.date, symptom.side)))
        .max_by_key(|(value, date, _)| (*value, *date));
    html! {
        @match found {
            None => { span.unknown { "no answers" } }
            Some((0, ..)) => { "0" small { "of 10" } }
            Some((value, date, side)) => {
                (value)
                small { "of 10, " (side.map_or("", |side| side.name())) " " (day_words(date, rows.last().map(|row| row.date))) }
            }
        }
    }
}

fn nights(rows: &[SessionRow]) -> Markup {
    let woke = |night: &Night| night.woke;
    let answers: Vec<bool> = rows
        .iter()
        .flat_map(|row| row.nights.iter().filter_map(woke))
        .collect();
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let woken = answers.iter().filter(|woke| **woke).count();
    html! {
        @if answers.is_empty() { span.unknown { "no answers" } }
        @else { (count_of(count(woken), Some(count(answers.len())))) small { "answered" } }
    }
}

/// Notes stand in the patient's words and always have their place.
fn look(review: &Review, since: &SinceVisit) -> Markup {
    // Changes of the routine stand under their own heading.
    let told = since.findings.iter();
    let (notes, facts): (Vec<&Finding>, Vec<&Finding>) = told
        .filter(|found| found.about != "routine")
        .partition(|found| found.about == "notes");
    let listed = if crowded(review) {
        CROWDED_COUNT
    } else {
        LISTED_COUNT
    };
    let left = facts.len().saturating_sub(listed);
    html! {
        h3 { "To look at" span.quiet { " facts, no advice" } }
        @if since.findings.is_empty() && review.warnings.is_empty() {
            p { "Nothing of the kind listed at the end of the page was recorded." }
        }
        ul.look {
            @for finding in facts.iter().take(listed).chain(&notes) { (fact(review, finding)) }
            @if left > 0 || !review.warnings.is_empty() {
                li { b { "more" } span {
                    @if left > 0 { (left) " more in the appendix. " }
                    @if !review.warnings.is_empty() { (review.warnings.len()) " sessions or summaries left out or not kept: see the appendix." }
                } }
            }
        }
    }
}

/// One fact with the sessions that it rests on.
pub(super) fn fact(review: &Review, finding: &Finding) -> Markup {
    html! {
        li {
            b { (finding.about) }
            span { (finding.text) " " (session_links(review, &finding.sessions)) }
        }
    }
}

fn norms(review: &Review, person: Person) -> Markup {
    let mut lines = Vec::new();
    for series in &review.series {
        let Some(movement) = series.movement else {
            continue;
        };
        for norm in norms_of(series, person) {
            let line = format!(
                "{} {:.0} ({})",
                movement.title().to_lowercase(),
                norm.mean_deg,
                norm.source
            );
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
    }
    html! {
        @if !lines.is_empty() {
            p.small { "Published means of range tests with the empty hand, degrees, where age and sex fit: " (lines.join("; ")) "." }
        }
    }
}

fn routine(review: &Review) -> Markup {
    let latest = review.routines.iter().rev().take(ROUTINES_COUNT);
    let earlier = review.routines.len().saturating_sub(ROUTINES_COUNT);
    html! {
        h3 { "Routine" }
        @if review.routines.is_empty() { p.small { "Unknown: no session names one." } }
        ul.look.small {
            @for change in latest {
                li {
                    b { "from " (day_words(change.date, review.adherence.last_date)) }
                    span {
                        (change.title)
                        @if !change.differences.is_empty() { ": " (change.differences.join("; ")) }
                        " " (session_links(review, &[change.session]))
                    }
                }
            }
            @if earlier > 0 { li { b { "before" } span { (earlier) " earlier routines, in the appendix" } } }
        }
    }
}

fn visit(review: &Review) -> Markup {
    let Some(visit) = review.visits.last() else {
        return html! {};
    };
    html! {
        h3 { "Last visit, " (date_words(visit.date)) }
        (visit_words(review, visit, RANGES_COUNT))
    }
}

fn inputs(since: &SinceVisit) -> Markup {
    html! {
        h3 { "Inputs to the decision" span.quiet { " " (INPUTS_NOTE) } }
        table.inputs {
            tbody {
                @for (group, title) in [
                    (InputFor::More, "for more"),
                    (InputFor::Same, "for the same"),
                    (InputFor::LessOrCall, "for less, or a call"),
                ] {
                    @for (nth, row) in since.inputs.iter().filter(|row| row.speaks_for == group).enumerate() {
                        tr {
                            th { @if nth == 0 { (title) } }
                            td { (row.about) }
                            td.n { (row.sight.words()) }
                            td { (row.numbers) }
                            td.quiet { (row.source) }
                        }
                    }
                }
            }
        }
    }
}
