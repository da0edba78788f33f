//! The little of a session's summary that a list of all patients needs.
//!
//! A brief is derived from the summary alone and kept beside it, so that a thousand patients can be
//! listed without reading every repetition of every session.

use jiff::ZonedDateTime;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{SensorTroubles, SessionSummary, SymptomAnswer};
use crate::movement::{Movement, Posture, Side};
use crate::pipeline::motion::Zero;
use crate::pipeline::{SetResult, own_and_wrist};
use crate::recording::Night;
use crate::reps::Repetition;
use crate::reps::excursion::median;
use crate::reps::stated::usual_error;
use crate::routine::{Limits, Verdict};

/// A session in brief.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionBrief {
    /// When the recording started, in the fixed offset recorded.
    pub started_at: ZonedDateTime,
    /// What its routine asks for; `None` without a routine.
    pub asked: Option<AskedBrief>,
    /// Sets begun.
    pub set_count: u32,
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions with a doubt.
    pub doubtful_count: u32,
    /// The sets of one movement, hand, posture and kind of load together.
    pub groups: Vec<GroupBrief>,
    /// Answers about pain, tingling and numbness, in order.
    pub symptoms: Vec<SymptomAnswer>,
    /// Stops, each with its reason if one was given.
    pub stops: Vec<Option<String>>,
    /// Times the person did not begin.
    pub declined: Vec<Option<String>>,
    /// What was skipped.
    pub skipped: Vec<Option<String>>,
    /// Answers about the night before.
    pub nights: Vec<Night>,
    /// Visits noted.
    pub visit_count: u32,
    /// What went wrong with the sensor.
    pub sensor: SensorTroubles,
    /// Whether a simulator played it.
    pub simulated: bool,
}

/// What a routine asks for, as far as a list needs it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AskedBrief {
    /// Sessions a week.
    pub sessions_a_week: Option<u32>,
    /// When to stop.
    pub limits: Limits,
    /// The day by which the routine is to be looked at again.
    pub review_by: Option<Date>,
}

/// Sets of one movement, hand, posture and kind of load in one session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GroupBrief {
    /// The movement; `None` where it was not named.
    pub movement: Option<Movement>,
    /// The hand; `None` where it was not named.
    pub side: Option<Side>,
    /// The posture; `None` where it was not noted.
    pub posture: Option<Posture>,
    /// Whether the hand held a weight; `None` is unknown.
    pub loaded: Option<bool>,
    /// Whether they are range tests; written only where they are.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub range_test: bool,
    /// Median range of its repetitions, degrees; `None` without any.
    pub range_deg: Option<f64>,
    /// Stated error of that median, degrees; `None` is unknown.
    #[serde(default)]
    pub range_error_deg: Option<f64>,
    /// Median of the start angles, degrees from the zero of the set.
    pub start_deg: Option<f64>,
    /// Whether the zero of every set is the neutral pose of a calibration.
    pub calibrated: bool,
    /// Repetitions held against a tempo band.
    pub judged_count: u32,
    /// Of those, the hurried ones.
    pub hurried_count: u32,
}

fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

impl SessionBrief {
    /// The brief of a session.
    pub fn of(summary: &SessionSummary) -> SessionBrief {
        let sets = &summary.analysis.sets;
        let reps = || sets.iter().flat_map(|set| &set.reps);
        let mut groups: Vec<Vec<&SetResult>> = Vec::new();
        for set in sets {
            match groups
                .iter_mut()
                .find(|group| group.first().is_some_and(|first| alike(first, set)))
            {
                Some(group) => group.push(set),
                None => groups.push(vec![set]),
            }
        }
        SessionBrief {
            started_at: summary.started_at.clone(),
            asked: summary.routine.as_ref().map(|routine| AskedBrief {
                sessions_a_week: routine.sessions_a_week,
                limits: routine.limits,
                review_by: routine.review_by,
            }),
            set_count: whole(sets.len()),
            done_count: whole(reps().count()),
            doubtful_count: whole(reps().filter(|rep| !rep.doubts.is_empty()).count()),
            groups: groups.iter().filter_map(|group| brief(group)).collect(),
            symptoms: summary.symptoms.clone(),
            stops: summary.stops.clone(),
            declined: summary.declined.clone(),
            skipped: summary.skipped.clone(),
            nights: summary.nights.clone(),
            visit_count: whole(summary.visits.len()),
            sensor: summary.sensor,
            simulated: summary.simulated,
        }
    }

    /// The day of the session on the calendar of the person.
    pub fn day(&self) -> Date {
        self.started_at.date()
    }
}

/// Whether the load is a weight in the hand; `None` is unknown.
fn loaded(set: &SetResult) -> Option<bool> {
    set.load_kg.map(|kg| kg > 0.0)
}

fn alike(a: &SetResult, b: &SetResult) -> bool {
    let kind = |set: &SetResult| (set.side, set.posture, loaded(set), set.range_test);
    a.movement == b.movement && kind(a) == kind(b)
}

fn brief(sets: &[&SetResult]) -> Option<GroupBrief> {
    let first = sets.first()?;
    let reps: Vec<&Repetition> = sets.iter().flat_map(|set| &set.reps).collect();
    let [own, wrist] = own_and_wrist(sets);
    let of = |reps: &[&Repetition], value: fn(&Repetition) -> f64| -> Vec<f64> {
        reps.iter().map(|rep| value(rep)).collect()
    };
    let ranging = || sets.iter().filter(|set| set.ranges_count());
    let mut with_reps = ranging().filter(|set| !set.reps.is_empty()).peekable();
    let calibrated =
        with_reps.peek().is_some() && with_reps.all(|set| set.zero == Some(Zero::Calibration));
    let hurried = |rep: &&&Repetition| rep.verdict == Some(Verdict::Hurried);
    Some(GroupBrief {
        movement: first.movement,
        side: first.side,
        posture: first.posture,
        loaded: loaded(first),
        range_test: first.range_test,
        range_deg: median(&of(&wrist, |rep| rep.range_deg)),
        range_error_deg: usual_error(&wrist, |rep| rep.range_error_deg),
        start_deg: median(&of(&own, |rep| rep.start_deg)),
        calibrated,
        judged_count: whole(reps.iter().filter(|rep| rep.verdict.is_some()).count()),
        hurried_count: whole(reps.iter().filter(hurried).count()),
    })
}
