//! The page.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::ReportOptions;
use super::cells::{or_unknown, session_links, unknown};
use super::charts::{NamedChart, Place, sentence};
use super::files::marks;
use super::history_charts::phase_word;
use super::last::LastSet;
use super::overview::{group_table, overview};
use super::series_table::series_table;
use super::session_table::session_table;
use super::style::style;
use crate::movement::MovingPhase;
use crate::review::{
    CLAIM_NOTE, Review, Series, count_of, date_words, period_words, plural, posture_words,
};

/// The whole page as text.
pub(super) fn page(
    review: &Review,
    options: &ReportOptions,
    last: &[LastSet],
    charts: &[NamedChart],
    drawn: &[String],
) -> String {
    let files: Vec<String> = charts.iter().flat_map(NamedChart::files).collect();
    let at = |place: Place| -> Vec<&String> {
        let both = charts.iter().zip(drawn);
        both.filter(|(chart, _)| chart.place == place)
            .map(|(_, drawing)| drawing)
            .collect()
    };
    let groups = review.groups();
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
                (glance(review))
                (look(review))
                (overview(review))
                p.claim { (CLAIM_NOTE) " " (review.angle_note) }
                @for (index, group) in groups.iter().enumerate() {
                    (movement(group, &at(Place::Group(index))))
                }
                (last_session(review, last, &at(Place::Last)))
                (tables(review))
                (definitions(review))
            }
        }
    }
    .into_string()
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

fn glance(review: &Review) -> Markup {
    let done = &review.adherence;
    let answers_alone = done.session_count - done.exercise_count;
    let doubtful: u32 = review.sessions.iter().map(|row| row.doubtful_count).sum();
    let last = review
        .sessions
        .iter()
        .enumerate()
        .rev()
        .find(|(_, row)| row.set_count > 0);
    html! {
        dl.glance {
            div {
                dt { "Sessions done" }
                dd {
                    (done.exercise_count)
                    @if let Some(asked) = done.asked_session_count.filter(|_| done.day_count >= 7) {
                        " of about " (format!("{asked:.0}"))
                    }
                    small {
                        @match done.asked_a_week_count {
                            Some(a_week) => { (a_week) " a week asked" }
                            None => { "asked: unknown" }
                        }
                        @if answers_alone > 0 { ", " (answers_alone) " more with answers alone" }
                        @if done.without_reps_count > 0 {
                            ", " (done.without_reps_count) " without a repetition"
                        }
                    }
                }
            }
            div {
                dt { "Repetitions done of prescribed" }
                dd {
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
            div {
                dt { "Last session with exercise" }
                dd {
                    @match last {
                        Some((index, row)) => {
                            a href=(format!("#s{index}")) { (row.date.strftime("%-d %b").to_string()) }
                            small { (count_of(row.done_count, row.prescribed_count)) " repetitions" }
                        }
                        None => (unknown()),
                    }
                }
            }
            div {
                dt { "Repetitions in doubt" }
                dd {
                    @if done.done_count == 0 { (unknown()) } @else { (count_of(doubtful, Some(done.done_count))) }
                    small { "counted among the figures" }
                }
            }
        }
    }
}

fn look(review: &Review) -> Markup {
    html! {
        h3 { "To look at" }
        @if review.findings.is_empty() && review.warnings.is_empty() {
            p { "Nothing of the kind listed at the end of the page was recorded." }
        }
        ul.look {
            @for finding in &review.findings {
                li {
                    b { (finding.about) } span { (finding.text) " " (session_links(review, &finding.sessions)) }
                }
            }
            @for warning in &review.warnings {
                li { b { "left out" } span { (warning) } }
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
            @for series in &review.series { (series_table(series)) }
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
                "Change: last session against first. Borrowed errors, until two fittings on one day give the person\u{2019}s own: flexion 11, extension 8 degrees where the movement starts at neutral, else 18 for an arc (Reissner et al., J Orthop Surg Res 2019: 20 healthy people, fingers and wrist pooled, another instrument); deviation and rotation have none. Within it a change is \u{201c}unknown or within borrowed error\u{201d}."
            }
            p.small {
                "Change within sets: slope over the repetitions (Theil, Sen 1968) times their steps, median of the session\u{2019}s sets."
            }
            p.small {
                "Listed under \u{201c}to look at\u{201d}: stops, answers above the routine\u{2019}s limits and the worst of each question, nights, changes of range beyond the borrowed error, a quarter or more hurried or in doubt, what was not begun or skipped, more than seven days in a row without a session, sensor trouble, changes of the routine, notes. Pain, tingling and numbness are answers from 0 to 10."
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
