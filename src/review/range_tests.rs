//! Range tests: how far a joint went both ways with the empty hand, session by session.
//!
//! Ours. An end is the highest angle of a repetition from the person's own neutral pose; it is known
//! only where the sensor was fitted. The arc of a session is the sum of the means of its two ends:
//! how it is split into ends rests on the neutral pose, the sum does not. A mean of three with the
//! least and the best beside it, since three values have no quartiles worth the name.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use super::change::{Change, range_error, same_day_differences_deg};
use super::posture_words;
use crate::movement::{Movement, Plane, Side};
use crate::pipeline::motion::Zero;
use crate::pipeline::summary::Summarised;
use crate::pipeline::{SetResult, own_and_wrist};
use crate::reps::Repetition;
use crate::reps::stated::usual_error;

/// The range tests of one plane of one hand in one posture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RangeTests {
    /// The two directions.
    pub plane: Plane,
    /// The hand; `None` where it was not named.
    pub side: Option<Side>,
    /// The posture in words.
    pub posture_words: String,
    /// First session against last, of each end; `None` of fewer than two sessions.
    pub end_changes: [Option<Change>; 2],
    /// The same of the arc.
    pub arc_change: Option<Change>,
    /// The sessions with a repetition, by start.
    pub sessions: Vec<RangeTestSession>,
}

/// A range test of one session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RangeTestSession {
    /// Which of the review's sessions.
    #[serde(skip)]
    pub session: usize,
    /// The session's folder.
    pub name: String,
    /// Its day.
    pub date: Date,
    /// The ends in the order of the plane's directions; `None` where a direction was not done, or
    /// where neutral is not known.
    pub ends: [Option<EndFigures>; 2],
    /// Sum of the means of the two ends, degrees.
    pub arc_deg: Option<f64>,
    /// Repetitions done, of both directions.
    pub done_count: u32,
    /// Of those, the ones with a doubt.
    pub doubtful_count: u32,
}

/// How far one direction went, degrees from the person's own neutral pose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EndFigures {
    /// Mean of the repetitions.
    pub mean_deg: f64,
    /// The farthest.
    pub best_deg: f64,
    /// The least far.
    pub least_deg: f64,
    /// By how much the sensor may be off in it, degrees: half-width of a 95 % interval, that of the
    /// ranges, which begin near the neutral pose as well. How the forearm lies against when the
    /// sensor was fitted is not in it; `None` is unknown.
    pub error_deg: Option<f64>,
    /// Repetitions that these figures rest on.
    pub done_count: u32,
}

impl EndFigures {
    fn of(sets: &[&SetResult]) -> Option<EndFigures> {
        // An end is that from the neutral pose.
        let from_neutral = sets
            .iter()
            .filter(|set| set.zero == Some(Zero::Calibration));
        // Where the forearm helped, the hand went farther than the wrist.
        let [_, wrist] = own_and_wrist(&from_neutral.copied().collect::<Vec<_>>());
        let ends = || wrist.iter().map(|rep| rep.peak_deg);
        let count = ends().count();
        Some(EndFigures {
            best_deg: ends().reduce(f64::max)?,
            least_deg: ends().reduce(f64::min)?,
            mean_deg: ends().sum::<f64>() / count as f64,
            error_deg: usual_error(&wrist, |rep| rep.range_error_deg),
            done_count: whole(count),
        })
    }

    /// From the least far to the farthest, degrees.
    pub fn spread_deg(&self) -> f64 {
        self.best_deg - self.least_deg
    }
}

impl RangeTests {
    /// The last session in which an end is known.
    pub fn last_known(&self) -> Option<&RangeTestSession> {
        let known = |session: &&RangeTestSession| session.ends.iter().any(Option::is_some);
        self.sessions.iter().rev().find(known)
    }

    fn changed(mut self) -> RangeTests {
        let [first, second] = self.plane.directions();
        let end = |which: usize| -> Vec<Place> {
            let sessions = self.sessions.iter();
            let of = |session: &RangeTestSession| {
                let end = session.ends.get(which).copied().flatten()?;
                Some((session.date, end.mean_deg, end.error_deg))
            };
            sessions.filter_map(of).collect()
        };
        let ends = [change(first, true, &end(0)), change(second, true, &end(1))];
        let arcs = self.sessions.iter();
        let arcs: Vec<Place> = arcs
            .filter_map(|s| Some((s.date, s.arc_deg?, s.arc_error_deg())))
            .collect();
        self.arc_change = change(first, false, &arcs);
        self.end_changes = ends;
        self
    }
}

impl RangeTestSession {
    /// By how much the sensor may be off in the arc, degrees: the root of the sum of the squares of
    /// both ends'.
    fn arc_error_deg(&self) -> Option<f64> {
        let [first, second] = self.ends.map(|end| end?.error_deg);
        Some(first?.hypot(second?))
    }
}

/// A day, an end or arc, degrees, and by how much the sensor may be off in it.
type Place = (Date, f64, Option<f64>);

/// First against last, of days in order.
fn change(movement: Movement, end: bool, places: &[Place]) -> Option<Change> {
    let [first, .., last] = places else {
        return None;
    };
    let values: Vec<(Date, f64)> = places.iter().map(|place| (place.0, place.1)).collect();
    let error = range_error(movement, end, &same_day_differences_deg(&values));
    let stated_deg = first.2.zip(last.2).map(|(a, b)| a.hypot(b));
    Some(Change::new(
        [(first.0, first.1), (last.0, last.1)],
        error,
        stated_deg,
    ))
}

fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// What parts range tests from each other, in the order in which they are shown.
type Key = (Plane, String, Option<Side>);

/// All range tests of the sessions: plane by plane, the hands of a posture together.
pub(super) fn all(sessions: &[&Summarised]) -> Vec<RangeTests> {
    let mut found: BTreeMap<Key, RangeTests> = BTreeMap::new();
    for (index, session) in sessions.iter().enumerate() {
        let mut groups: BTreeMap<Key, Vec<&SetResult>> = BTreeMap::new();
        let sets = session.summary.analysis.sets.iter();
        for set in sets.filter(|set| set.range_test && !set.reps.is_empty() && set.ranges_count()) {
            if let Some(plane) = set.movement.and_then(Plane::of) {
                let posture = posture_words(set.posture.as_ref());
                let key = (plane, posture, set.side);
                groups.entry(key).or_default().push(set);
            }
        }
        for (key, sets) in groups {
            let tests = found.entry(key.clone()).or_insert_with(|| RangeTests {
                plane: key.0,
                side: key.2,
                posture_words: key.1.clone(),
                end_changes: [None, None],
                arc_change: None,
                sessions: Vec::new(),
            });
            tests
                .sessions
                .push(of_session(index, session, key.0, &sets));
        }
    }
    found.into_values().map(RangeTests::changed).collect()
}

fn of_session(
    index: usize,
    session: &Summarised,
    plane: Plane,
    sets: &[&SetResult],
) -> RangeTestSession {
    let ends = plane.directions().map(|movement| {
        let own = sets.iter().filter(|set| set.movement == Some(movement));
        let own: Vec<&SetResult> = own.copied().collect();
        EndFigures::of(&own)
    });
    let reps: Vec<&Repetition> = sets.iter().flat_map(|set| &set.reps).collect();
    let doubtful = reps.iter().filter(|rep| !rep.doubts.is_empty()).count();
    let [first, second] = ends;
    RangeTestSession {
        session: index,
        name: session.name.clone(),
        date: session.summary.day(),
        ends,
        arc_deg: first.zip(second).map(|(a, b)| a.mean_deg + b.mean_deg),
        done_count: whole(reps.len()),
        doubtful_count: whole(doubtful),
    }
}
