//! What earlier sessions say of the one that begins.

use jiff::civil::Date;

use crate::movement::Side;
use crate::pipeline::SetResult;
use crate::pipeline::summary::{SessionSummary, SymptomKind, fresh_summaries};
use crate::recording::{ItemRef, PatientCode, RecordingError, SetEndReason, Store, When};
use crate::reps::excursion::median;
use crate::routine::{Part, PartHands, Routine};
use crate::session::guided::limits::Hands;
use crate::session::guided::{SetKey, compared_deg};

/// What is known from before.
#[derive(Debug, PartialEq)]
pub struct Before {
    /// Nobody was led through a session under this code yet.
    pub first_time: bool,
    /// The night and the morning were asked about today.
    pub night_asked: bool,
    /// What the hands felt when the last session of an earlier day began.
    pub last_start: Option<Hands>,
    /// Median ranges of the last session that is not taken up, degrees.
    pub last_ranges_deg: Vec<(SetKey, f64)>,
    /// Days of the week before today on which there was work, each once.
    pub worked_on: Vec<Date>,
    /// Parts of the course that an unfinished session of the same day has done.
    pub already_done: usize,
    /// Repetitions of the part that it did not end.
    pub already_counted: u32,
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
        let (already_done, already_counted) = sets.fold((0, 0), |done, set| {
            after(routine, &course, done, &SetDone::of(set))
        });
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
            night_asked: sessions
                .iter()
                .any(|session| session.day() == today && !session.nights.is_empty()),
            last_start: sessions
                .iter()
                .rev()
                .find(|session| session.day() < today && answered(session, When::Before))
                .map(start_of),
            worked_on: worked_on(sessions, today),
            already_done,
            already_counted,
        }
    }
}

fn worked_on(sessions: &[SessionSummary], today: Date) -> Vec<Date> {
    let mut days: Vec<Date> = sessions
        .iter()
        .filter(|session| session.repetition_count() > 0)
        .map(SessionSummary::day)
        .filter(|day| *day < today && days_from(*day, today) < 7)
        .collect();
    days.dedup();
    days
}

fn days_from(earlier: Date, later: Date) -> i32 {
    (later - earlier).get_days()
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

/// What the hands felt when a session began.
fn start_of(session: &SessionSummary) -> Hands {
    let mut hands = Hands::default();
    for answer in &session.symptoms {
        let felt = match (answer.when, answer.side) {
            (Some(When::Before), Some(Side::Left)) => &mut hands.left,
            (Some(When::Before), Some(Side::Right)) => &mut hands.right,
            _ => continue,
        };
        match answer.kind {
            SymptomKind::Pain => felt.pain = answer.value,
            SymptomKind::Tingling => felt.tingling = answer.value,
            SymptomKind::Numbness => felt.numbness = answer.value,
        }
    }
    hands
}

/// What a set means for the course.
#[derive(Debug, Clone, Copy)]
struct SetDone<'a> {
    item: Option<&'a ItemRef>,
    side: Option<Side>,
    end_reason: Option<SetEndReason>,
    count: usize,
}

impl SetDone<'_> {
    fn of(set: &SetResult) -> SetDone<'_> {
        SetDone {
            item: set.item.as_ref(),
            side: set.side,
            end_reason: set.end_reason,
            count: set.reps.len(),
        }
    }
}

/// The part of the course after a set, where that was done to its end; else the same part, and how
/// many of its repetitions are done.
fn after(
    routine: &Routine,
    course: &[Part],
    (part, counted): (usize, u32),
    set: &SetDone<'_>,
) -> (usize, u32) {
    let same = |own: &Part| {
        set.item == Some(&ItemRef::Number(own.item))
            && set.side.map(PartHands::One) == Some(own.hands)
    };
    let left = course.get(part..).unwrap_or_default();
    let Some(further) = left.iter().position(same) else {
        return (part, counted);
    };
    let at = part + further;
    let before = if further == 0 { counted } else { 0 };
    let done = before.saturating_add(u32::try_from(set.count).unwrap_or(u32::MAX));
    let ended = matches!(
        set.end_reason,
        Some(SetEndReason::Reached | SetEndReason::Tired)
    );
    let asked = course
        .get(at)
        .and_then(|part| routine.set_of(part))
        .map_or(u32::MAX, |item| item.repetitions);
    if ended || done >= asked {
        (at + 1, 0)
    } else {
        (at, done)
    }
}

fn ranges_deg(session: &SessionSummary) -> Vec<(SetKey, f64)> {
    let mut keys: Vec<SetKey> = Vec::new();
    let key = |set: &SetResult| -> Option<SetKey> {
        let (movement, side): (_, Side) = (set.movement?, set.side?);
        Some(SetKey::new(movement, side, set.posture?, set.load_kg))
    };
    for set in &session.analysis.sets {
        keys.extend(key(set).filter(|key| !keys.contains(key)));
    }
    let range = |own: SetKey| {
        let sets = session.analysis.sets.iter();
        let ranges_deg: Vec<f64> = sets
            .filter(|set| key(set) == Some(own))
            .flat_map(|set| set.reps.iter().map(move |rep| compared_deg(set, rep)))
            .flatten()
            .collect();
        Some((own, median(&ranges_deg)?))
    };
    keys.into_iter().filter_map(range).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// Two sets of four, then one of three.
    const ROUTINE: &str = "title = \"T\"\n\
        [[items]]\nkind = \"counted\"\nmovement = \"wrist-extension\"\nside = \"right\"\nsets = 2\nrepetitions = 4\n\
        [[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"right\"\nrepetitions = 3\n";

    fn done(sets: &[(u32, Option<SetEndReason>, usize)]) -> (usize, u32) {
        let routine = Routine::from_toml(ROUTINE).unwrap();
        let course = routine.course(&routine.hands());
        sets.iter()
            .fold((0, 0), |done, &(item, end_reason, count)| {
                let set = SetDone {
                    item: Some(&ItemRef::Number(item)),
                    side: Some(Side::Right),
                    end_reason,
                    count,
                };
                after(&routine, &course, done, &set)
            })
    }

    #[test]
    fn a_set_that_was_cut_goes_on_with_what_is_left_of_it() {
        let (reached, stop) = (Some(SetEndReason::Reached), Some(SetEndReason::Stop));
        assert_eq!(done(&[]), (0, 0));
        assert_eq!(done(&[(1, None, 3)]), (0, 3), "a crash in the first set");
        assert_eq!(
            done(&[(1, stop, 2), (1, None, 1)]),
            (0, 3),
            "paused, then cut"
        );
        assert_eq!(
            done(&[(1, stop, 2), (1, None, 2)]),
            (1, 0),
            "all of it was done"
        );
        assert_eq!(
            done(&[(1, reached, 4), (1, None, 1)]),
            (1, 1),
            "the second set"
        );
        assert_eq!(done(&[(1, Some(SetEndReason::Tired), 2)]), (1, 0));
        assert_eq!(
            done(&[(1, reached, 4), (2, None, 0)]),
            (2, 0),
            "the second was left out"
        );
        assert_eq!(done(&[(2, reached, 3)]), (3, 0), "all is done");
        assert_eq!(done(&[(7, reached, 3)]), (0, 0), "no item of this routine");
    }
}
