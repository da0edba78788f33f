//! What earlier sessions say of the one that begins.

use jiff::civil::Date;

use crate::movement::Side;
use crate::pipeline::SetResult;
use crate::pipeline::summary::{SessionSummary, fresh_summaries};
use crate::recording::{ItemRef, PatientCode, RecordingError, SetEndReason, Store, When};
use crate::reps::excursion::median;
use crate::routine::{Part, PartHands, Routine};
use crate::session::guided::SetKey;

/// What is known from before.
#[derive(Debug, PartialEq)]
pub struct Before {
    /// Nobody was led through a session under this code yet.
    pub first_time: bool,
    /// Median ranges of the last session that is not taken up, degrees.
    pub last_ranges_deg: Vec<(SetKey, f64)>,
    /// Parts of the course that an unfinished session of the same day has done.
    pub already_done: usize,
}

impl Before {
    /// Reads the store.
    ///
    /// # Errors
    /// The patient's folder cannot be read. A session that cannot be read is left out.
    pub fn read(
        store: &Store,
        patient: &PatientCode,
        routine: &Routine,
        today: Date,
    ) -> Result<Before, RecordingError> {
        let summaries = match fresh_summaries(store, patient, &|_| {}) {
            Ok(summaries) => summaries.sessions,
            Err(RecordingError::UnknownPatient { .. }) => Vec::new(),
            Err(error) => return Err(error),
        };
        let sessions: Vec<SessionSummary> = summaries.into_iter().map(|own| own.summary).collect();
        Ok(Before::of(&sessions, routine, today))
    }

    fn of(sessions: &[SessionSummary], routine: &Routine, today: Date) -> Before {
        let unfinished = unfinished(sessions, routine, today);
        let course = routine.course(&routine.hands());
        let sets = unfinished.iter().flat_map(|session| &session.analysis.sets);
        let already_done = sets.fold(0, |part, set| after(&course, part, set));
        let earlier = sessions
            .get(..sessions.len() - unfinished.len())
            .unwrap_or(sessions);
        Before {
            // Whoever was told "not today" by the first questions is asked them again.
            first_time: !sessions.iter().any(led),
            last_ranges_deg: earlier
                .iter()
                .rev()
                .map(ranges_deg)
                .find(|ranges| !ranges.is_empty())
                .unwrap_or_default(),
            already_done,
        }
    }
}

/// Whether somebody got beyond the first questions.
fn led(session: &SessionSummary) -> bool {
    answered(session, When::Before) || session.repetition_count() > 0
}

fn answered(session: &SessionSummary, when: When) -> bool {
    session
        .symptoms
        .iter()
        .any(|answer| answer.when == Some(when))
}

/// The last sessions of the day under the same routine that were begun and not finished.
fn unfinished<'a>(
    sessions: &'a [SessionSummary],
    routine: &Routine,
    today: Date,
) -> &'a [SessionSummary] {
    let of_today = |session: &SessionSummary| {
        session.day() == today
            && session.routine.as_ref() == Some(routine)
            && !answered(session, When::After)
    };
    let first = sessions
        .iter()
        .rposition(|session| !of_today(session))
        .map_or(0, |last| last + 1);
    sessions.get(first..).unwrap_or_default()
}

/// The part of the course after a set, where that was done to its end; else the same part.
fn after(course: &[Part], part: usize, set: &SetResult) -> usize {
    let done = matches!(
        set.end_reason,
        Some(SetEndReason::Reached | SetEndReason::Tired)
    );
    let same = |own: &Part| {
        set.item == Some(ItemRef::Number(own.item))
            && set.side.map(PartHands::One) == Some(own.hands)
    };
    let left = course.get(part..).unwrap_or_default();
    match left.iter().position(same) {
        Some(further) if done => part + further + 1,
        _ => part,
    }
}

fn ranges_deg(session: &SessionSummary) -> Vec<(SetKey, f64)> {
    let mut keys: Vec<SetKey> = Vec::new();
    let key = |set: &SetResult| -> Option<SetKey> {
        let (movement, side): (_, Side) = (set.movement?, set.side?);
        Some(SetKey { movement, side })
    };
    for set in &session.analysis.sets {
        keys.extend(key(set).filter(|key| !keys.contains(key)));
    }
    let range = |own: SetKey| {
        let sets = session.analysis.sets.iter();
        let ranges_deg: Vec<f64> = sets
            .filter(|set| key(set) == Some(own))
            .flat_map(|set| set.reps.iter().map(|repetition| repetition.range_deg))
            .collect();
        Some((own, median(&ranges_deg)?))
    };
    keys.into_iter().filter_map(range).collect()
}
