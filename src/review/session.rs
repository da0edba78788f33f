//! One row for each session: what was done, said and doubted.

use jiff::ZonedDateTime;
use jiff::civil::Date;
use serde::{Serialize, Serializer};

use super::dose;
use super::symptoms::{SymptomRow, by_session};
use crate::pipeline::summary::{SensorTroubles, Summarised};
use crate::recording::Night;

/// A session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SessionRow {
    /// Its folder.
    pub name: String,
    /// When it started, in the offset recorded.
    #[serde(serialize_with = "rfc_3339")]
    pub started_at: ZonedDateTime,
    /// Its day, on the calendar of that offset.
    pub date: Date,
    /// The routine's title.
    pub routine: Option<String>,
    /// Length, seconds.
    pub duration_s: Option<f64>,
    /// Sets begun; a session of answers alone has none.
    pub set_count: usize,
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions prescribed for the whole session; `None` is unknown, or nothing was begun.
    pub prescribed_count: Option<u32>,
    /// What the routine names and no set was begun of.
    pub not_begun: Vec<String>,
    /// Repetitions with a doubt.
    pub doubtful_count: u32,
    /// Answers about symptoms.
    pub symptoms: Vec<SymptomRow>,
    /// Stops, each with its reason if one was given.
    pub stops: Vec<Option<String>>,
    /// Times the person did not begin.
    pub declined: Vec<Option<String>>,
    /// What was skipped.
    pub skipped: Vec<Option<String>>,
    /// Answers about the night before.
    pub nights: Vec<Night>,
    /// Words of the person or the clinician.
    pub notes: Vec<String>,
    /// Visits noted.
    pub visit_count: usize,
    /// What went wrong with the sensor.
    pub sensor: SensorTroubles,
    /// Whether a simulator played it.
    pub simulated: bool,
    /// What a reader should know of its recording and analysis.
    pub warnings: Vec<String>,
}

fn rfc_3339<S: Serializer>(started_at: &ZonedDateTime, serializer: S) -> Result<S::Ok, S::Error> {
    let text = started_at
        .timestamp()
        .display_with_offset(started_at.offset());
    serializer.collect_str(&text)
}

pub(super) fn rows(sessions: &[&Summarised]) -> Vec<SessionRow> {
    let answers: Vec<(&str, &[_])> = sessions
        .iter()
        .map(|session| (session.name.as_str(), session.summary.symptoms.as_slice()))
        .collect();
    sessions
        .iter()
        .zip(by_session(&answers))
        .map(|(session, symptoms)| row(session, symptoms))
        .collect()
}

fn row(session: &Summarised, symptoms: Vec<SymptomRow>) -> SessionRow {
    let summary = &session.summary;
    let sets = &summary.analysis.sets;
    let reps = || sets.iter().flat_map(|set| &set.reps);
    let whole = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
    SessionRow {
        name: session.name.clone(),
        started_at: summary.started_at.clone(),
        date: summary.day(),
        routine: summary
            .routine
            .as_ref()
            .map(|routine| routine.title.clone()),
        duration_s: summary.duration_s,
        set_count: sets.len(),
        done_count: whole(reps().count()),
        prescribed_count: dose::of_session(summary),
        not_begun: dose::not_begun(summary),
        doubtful_count: whole(reps().filter(|rep| !rep.doubts.is_empty()).count()),
        symptoms,
        stops: summary.stops.clone(),
        declined: summary.declined.clone(),
        skipped: summary.skipped.clone(),
        nights: summary.nights.clone(),
        notes: summary.notes.clone(),
        visit_count: summary.visits.len(),
        sensor: summary.sensor,
        simulated: summary.simulated,
        warnings: summary.analysis.warnings.clone(),
    }
}
