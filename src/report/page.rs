//! The page.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::ReportOptions;
use super::cells::{or_unknown, session_links, unknown};
use super::charts::{NamedChart, Place, sentence};
use super::files::marks;
use super::history_charts::phase_word;
use super::last::LastSet;
use super::overview::group_table;
use super::range_tests;
use super::series_table::series_table;
use super::session_table::session_table;
use super::sheet::{fact, first_sheet, visit_words};
use super::style::style;
use crate::movement::MovingPhase;
use crate::review::{CLAIM_NOTE, Review, Series, date_words, period_words, plural, posture_words};

/// The whole page as text.
pub(super) fn page(
    review: &Review,
    options: &ReportOptions,
    last: &[LastSet],
    charts: &[NamedChart],
    drawn: &[String],
) -> String {
    let files: Vec<String> = charts.iter().flat_map(NamedChart::files).collect();
    let groups = review.groups();
    let main = super::main_charts::chosen(review, charts);
    let pick = |place: Place, on_sheet: bool| -> Vec<&String> {
        let all = charts.iter().zip(drawn).zip(&main);
        all.filter(|((chart, _), main)| chart.place == place && **main == on_sheet)
            .map(|((_, drawing), _)| drawing)
            .collect()
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                (PreEscaped(marks(review.patient.as_str(), &files)))
                title { "Wrist exercise: patient " (review.patient) }
                style { (PreEscaped(style(review))) }
            }
            body {
                @if options.invented || review.simulated() {
                    p.invented { "Invented data, made by a simulator. Nobody\u{2019}s record." }
                }
                (heading(review, options))
                (first_sheet(review, options.person))
                @if main.contains(&true) {
                    section.sheet.second {
                        h2 { "Across sessions" }
                        @for (index, group) in groups.iter().enumerate() {
                            @let drawings = pick(Place::Group(index), true);
                            @if !drawings.is_empty() {
                                p.over { (group_heading(group)) }
                                (figures(&drawings))
                            }
                        }
                        @let curves = pick(Place::Last, true);
                        @if !curves.is_empty() {
                            p.over { "Last session with a repetition" (last_day(review)) }
                            div.whole { @for drawing in curves { figure { (PreEscaped(drawing)) } } }
                        }
                    }
                }
                section.appendix {
                    h1 { "Appendix" }
                    p.claim { (CLAIM_NOTE) " " (review.angle_note) }
                    (everything(review))
                    (range_tests::every_session(review))
                    @for (index, group) in groups.iter().enumerate() {
                        (movement(group, &pick(Place::Group(index), false)))
                    }
                    (last_session(review, last, &pick(Place::Last, false)))
                    (tables(review))
                    (definitions(review))
                }
            }
        }
    }
    .into_string()
}

/// "Wrist flexion, with a weight, palm up, forearm rested".
fn group_heading(group: &[Series]) -> String {
    let Some(first) = group.first() else {
        return String::new();
    };
    let name = first.movement.map_or("Movement not named", |m| m.title());
    format!("{name}, {}, {}", first.load.words(), first.posture_words)
}

fn last_day(review: &Review) -> String {
    review
        .last_exercise
        .as_ref()
        .and_then(|last| review.sessions.get(last.session))
        .map_or_else(String::new, |row| format!(", {}", date_words(row.date)))
}

/// All facts of the period, all routines, all visits.
fn everything(review: &Review) -> Markup {
    html! {
        h2 { "All of the period" }
        ul.look {
            @for finding in &review.findings { (fact(review, finding)) }
            @for warning in &review.warnings {
                li { b { "left out" } span { (warning) } }
            }
        }
        @if review.routines.len() > 1 {
            h3 { "Routines" }
            ul.look {
                @for change in &review.routines {
                    li {
                        b { (date_words(change.date)) }
                        span {
                            (change.title)
                            @if !change.differences.is_empty() { ": " (change.differences.join("; ")) }
                            " " (session_links(review, &[change.session]))
                        }
                    }
                }
            }
        }
        @for visit in review.visits.iter().rev() {
            h3 { "Visit, " (date_words(visit.date)) }
            (visit_words(review, visit, usize::MAX))
        }
    }
}

fn heading(review: &Review, options: &ReportOptions) -> Markup {
    let done = &review.adherence;
    let routine = review
        .sessions
        .iter()
        .rev()
        .find_map(|row| row.routine.as_ref());
    html! {
        header {
            h1 { "Wrist exercise at home, patient " (review.patient) }
            p.quiet {
                @match done.first_date.zip(done.last_date) {
                    Some((first, last)) => {
                        (period_words(first, last))
                        @if review.since.is_some() { " (asked for from " (date_words(first)) ")" }
                    }
                    None => {
                        "No sessions"
                        @if let Some(since) = review.since { " since " (date_words(since)) }
                    }
                }
                @if let Some(title) = routine { ". Routine: " (title) }
                @if let Some(made_on) = options.made_on { ". Page made on " (date_words(made_on)) }
                "."
            }
        }
    }
}

fn movement(group: &[Series], drawings: &[&String]) -> Markup {
    let Some(first) = group.first() else {
        return html! {};
    };
    let name = first.movement.map_or("Movement not named", |m| m.title());
    html! {
        section.movement {
            h2 { (name) ", " (first.load.words()) }
            p.quiet { (sentence(&first.posture_words)) }
            (group_table(group))
            @if first.movement.is_none() {
                p { "No chart: the recording does not name the movement." }
            }
            (figures(drawings))
        }
    }
}

fn figures(drawings: &[&String]) -> Markup {
    html! {
        div.charts {
            @for drawing in drawings { figure { (PreEscaped(drawing)) } }
        }
    }
}

fn last_session(review: &Review, last: &[LastSet], drawings: &[&String]) -> Markup {
    let Some(of) = &review.last_exercise else {
        return html! {};
    };
    let Some(row) = review.sessions.get(of.session) else {
        return html! {};
    };
    html! {
        section.last {
            h2 { "Last session with a repetition, " (date_words(row.date)) }
            p {
                "The last set of each movement and hand, session "
                a href=(format!("#s{}", of.session)) { (of.session + 1) } ", folder " (row.name) ". "
                (review.angle_note)
            }
            @if last.is_empty() {
                p { "Curves: " (unknown()) "; the recording cannot be read or names no movement." }
            }
            div.whole {
                @for drawing in drawings { figure { (PreEscaped(drawing)) } }
            }
        }
    }
}

fn tables(review: &Review) -> Markup {
    html! {
        section.tables {
            h2 { "Every session" }
            @if review.sessions.is_empty() { p { "No sessions." } }
            (session_table(review))
            @for (index, series) in review.series.iter().enumerate() {
                div id=(format!("t{index}")) { (series_table(series)) }
            }
        }
    }
}

fn definitions(review: &Review) -> Markup {
    let timed = review.series.iter().map(Series::timed_phase);
    let lifts = timed.into_iter().any(|phase| phase == MovingPhase::Lift);
    html! {
        section {
            h2 { "How to read the figures" }
            p.small {
                "Range: highest angle of a repetition less the lower of its angles at the start of the lift and the end of the lowering, degrees. "
                (review.angle_note)
                " Reached: highest angle from the own neutral pose, in whole degrees."
            }
            p.small {
                "Median and quartiles are of the repetitions of one session (quartiles between neighbours in proportion: Hyndman & Fan 1996, definition 7). Repetitions in doubt are among them and counted beside them; a phase cut by an end of the record is not timed."
            }
            p.small {
                "Timed is the eccentric phase, else the lowering. A phase ends where its speed falls under 5 % of its peak or 1.5 degrees a second. Hurried: below the routine\u{2019}s band, 0.75 of the prescribed time unless the routine says otherwise; slower is no fault."
                @if lifts { " Where a one-sided weight is turned outward, the eccentric phase is the way out: " (phase_word(MovingPhase::Lift)) "." }
            }
            p.small {
                "Change: last session against first, held against the smallest change that is likely to be none of the error (MDC95), and against what the sensor states of its own. That error is the person\u{2019}s own once five pairs of sessions on one day give one; before, the larger of the own and a borrowed one: flexion 11, extension 8 degrees where the movement starts at neutral, else 18 for an arc (Reissner et al., J Orthop Surg Res 2019: 20 healthy people, fingers and wrist pooled, another instrument); deviation and rotation have none. Within it a change is \u{201c}unknown or within\u{201d} that error."
            }
            @if !review.range_tests.is_empty() {
                p.small {
                    "Range tests: the empty hand goes out as far as is comfortable, is held, and comes back, without a tempo; they are never mixed with other repetitions. An end is the highest angle from the own neutral pose: a forearm that lies otherwise than when the sensor was fitted shifts it by as much, and the arc with it. Where a movement of a hand has range tests in two sessions, they alone stand for its range in the inputs to the decision."
                }
            }
            p.small {
                "Change within sets: slope over the repetitions (Theil, Sen 1968) times their steps, median of the session\u{2019}s sets."
            }
            p.small {
                "Listed under \u{201c}to look at\u{201d}: stops, answers above the routine\u{2019}s limits and the worst of each question, nights, changes of range beyond the error, a quarter or more hurried or in doubt, what was not begun or skipped, more than seven days in a row without a session, sensor trouble, changes of the routine, notes. Pain, tingling and numbness are answers from 0 to 10."
            }
            p.small { (CLAIM_NOTE) }
        }
    }
}

/// The heading of a series: movement, hand, load, posture.
pub(super) fn series_heading(series: &Series) -> String {
    let name = series.movement.map_or("Movement not named", |m| m.title());
    let side = series.side.map_or("hand not named", |side| side.name());
    format!(
        "{name}, {side}, {}, {}",
        series.load.words(),
        posture_words(series.posture.as_ref())
    )
}

/// "2 sets".
pub(super) fn sets_words(count: usize) -> Markup {
    if count == 0 {
        return html! { span.unknown { "answers alone" } };
    }
    or_unknown(Some(plural(count, "set")))
}
