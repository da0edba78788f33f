//! What happened since the last visit: the same history, of the sessions after it.

use serde::Serialize;

use super::adherence::{Adherence, asked, days};
use super::findings::Finding;
use super::inputs::InputRow;
use super::series::Series;
use super::visits::Visit;
use super::{Review, SessionRow};
use crate::pipeline::summary::Summarised;

/// The sessions after the last visit; of all where none is noted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SinceVisit {
    /// The visit; `None` where none is noted.
    pub visit: Option<Visit>,
    /// How much was done of what was asked; up to the day of the look, where that is known.
    pub adherence: Adherence,
    /// What to look at, the gravest first.
    pub findings: Vec<Finding>,
    /// Repetitions held against a tempo band.
    pub judged_count: u32,
    /// Of those, the hurried ones.
    pub hurried_count: u32,
    /// Stops.
    pub stop_count: u32,
    /// Inputs to the decision.
    pub inputs: Vec<InputRow>,
}

/// Counts what was asked from the visit on, and up to the day of the look.
pub(super) fn extend(of: &mut Review, visit: Option<&Visit>, sessions: &[&Summarised]) {
    let adherence = &mut of.adherence;
    if let Some(visit) = visit {
        adherence.first_date = Some(visit.date);
    }
    let last = of.on.max(adherence.last_date);
    if let (Some(start), Some(last)) = (adherence.first_date, last)
        && last >= start
    {
        let routines = sessions.iter().filter_map(|session| {
            let routine = session.summary.routine.as_ref()?;
            Some((session.summary.day(), routine.sessions_a_week))
        });
        adherence.day_count = days(start, last);
        adherence.asked_session_count = asked(routines, start, last);
        adherence.last_date = Some(last);
    }
}

/// Of the review of the sessions after the visit, which begin at `first` among all.
pub(super) fn since(
    visit: Option<Visit>,
    first: usize,
    of: Review,
    inputs: Vec<InputRow>,
) -> SinceVisit {
    let mut findings = of.findings;
    for place in findings.iter_mut().flat_map(|found| &mut found.sessions) {
        *place += first;
    }
    let sum = |count: fn(&Series) -> u32| of.series.iter().map(count).sum();
    let stops = |row: &SessionRow| u32::try_from(row.stops.len()).unwrap_or(u32::MAX);
    SinceVisit {
        visit,
        adherence: of.adherence,
        findings,
        judged_count: sum(|series| series.total.judged_count),
        hurried_count: sum(|series| series.total.hurried_count),
        stop_count: of.sessions.iter().map(stops).sum(),
        inputs,
    }
}
