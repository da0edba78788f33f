//! How much was done of what was asked.

use jiff::civil::Date;
use serde::Serialize;

use super::session::SessionRow;
use crate::pipeline::summary::Summarised;

/// Sessions and repetitions of a period.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Adherence {
    /// First day of the period: the one asked for, else that of the first session.
    pub first_date: Option<Date>,
    /// Day of the last session.
    pub last_date: Option<Date>,
    /// Days from the first to the last, both counted; 0 without sessions.
    pub day_count: u32,
    /// Session folders, with sets or without.
    pub session_count: u32,
    /// Sessions in which a set was begun.
    pub exercise_count: u32,
    /// Of those, the ones without a counted repetition.
    pub without_reps_count: u32,
    /// Sessions a week by the latest routine.
    pub asked_a_week_count: Option<u32>,
    /// Sessions asked for over the period by the routines in force on each day, in parts of a
    /// session; `None` where a day's routine does not say.
    pub asked_session_count: Option<f64>,
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions done in sessions whose prescribed number is known.
    pub done_of_known_count: u32,
    /// Repetitions prescribed in those sessions; `None` where no session's is known.
    pub prescribed_count: Option<u32>,
}

fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(super) fn adherence(
    sessions: &[&Summarised],
    rows: &[SessionRow],
    since: Option<Date>,
) -> Adherence {
    let last_date = rows.iter().map(|row| row.date).max();
    let first_date = since.or_else(|| rows.iter().map(|row| row.date).min());
    let exercised = || rows.iter().filter(|row| row.set_count > 0);
    let known = || rows.iter().filter(|row| row.prescribed_count.is_some());
    let day_count = first_date
        .zip(last_date)
        .map_or(0, |(first, last)| days(first, last));
    Adherence {
        first_date,
        last_date,
        day_count,
        session_count: whole(rows.len()),
        exercise_count: whole(exercised().count()),
        without_reps_count: whole(exercised().filter(|row| row.done_count == 0).count()),
        asked_a_week_count: sessions
            .iter()
            .rev()
            .find_map(|session| session.summary.routine.as_ref())
            .and_then(|routine| routine.sessions_a_week),
        asked_session_count: first_date
            .zip(last_date)
            .and_then(|(first, last)| asked(routines(sessions), first, last)),
        done_count: rows.iter().map(|row| row.done_count).sum(),
        done_of_known_count: known().map(|row| row.done_count).sum(),
        prescribed_count: known()
            .filter_map(|row| row.prescribed_count)
            .reduce(u32::saturating_add),
    }
}

/// What each session's routine asks for a week.
fn routines(sessions: &[&Summarised]) -> impl Iterator<Item = (Date, Option<u32>)> {
    sessions.iter().filter_map(|session| {
        let routine = session.summary.routine.as_ref()?;
        Some((session.summary.day(), routine.sessions_a_week))
    })
}

/// Days from one to another, both counted.
pub fn days(first: Date, last: Date) -> u32 {
    let between = last.duration_since(first).as_hours() / 24;
    u32::try_from(between + 1).unwrap_or(0)
}

/// Sessions asked for between two days, both counted, by the routines of the sessions: each
/// stretch between them by the routine last seen before it; days before the first routine by that
/// routine. `None` where a day's routine does not say, or there is none.
pub(super) fn asked(
    routines: impl Iterator<Item = (Date, Option<u32>)>,
    first: Date,
    last: Date,
) -> Option<f64> {
    let mut in_force: Vec<(Date, Option<u32>)> = routines.collect();
    in_force.sort_by_key(|(date, _)| *date);
    // Of those before the first day only the last one was still in force.
    let before = in_force.iter().take_while(|(date, _)| *date < first);
    let superseded = before.count().saturating_sub(1);
    in_force.drain(..superseded);
    in_force.first_mut()?.0 = first;
    let ends = in_force.iter().skip(1).map(|(date, _)| *date);
    let mut sum = 0.0;
    for ((start, a_week), end) in in_force.iter().zip(ends.map(Some).chain([None])) {
        let day_count = match end {
            Some(end) => days(*start, end).saturating_sub(1),
            None => days(*start, last),
        };
        if day_count > 0 {
            sum += f64::from((*a_week)?) * f64::from(day_count) / 7.0;
        }
    }
    Some(sum)
}
