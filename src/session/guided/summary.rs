//! What was done, in two or three sentences; when the next session is due.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::{GuidedPlan, SetKey};
use crate::movement::{Movement, Side};
use crate::reps::excursion::median;
use crate::routine::Part;

/// A repetition that was done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartDone {
    /// Number of the item in the routine, from 1.
    pub item: u32,
    /// The movement.
    pub movement: Movement,
    /// Which hand.
    pub side: Side,
    /// Its range, degrees, where it is compared with last time: a circle has none, and a range test
    /// is left to the review.
    pub range_deg: Option<f64>,
    /// Its lowering was hurried.
    pub hurried: bool,
    /// Its tempo was judged.
    pub judged: bool,
}

/// A change of range smaller than this is not mentioned, degrees: the least of the borrowed errors
/// (Reissner et al., J Orthop Surg Res 14, 2019: 8 degrees for extension).
const MENTIONED_DEG: f64 = 8.0;

/// What was done against what was asked, the lowering, the range against last time.
pub fn sentences(plan: &GuidedPlan, course: &[Part], done: &[PartDone]) -> Vec<String> {
    let asked: u32 = course
        .iter()
        .filter_map(|part| plan.routine.set_of(part))
        .map(|item| item.repetitions)
        .sum();
    let mut sentences = Vec::new();
    if asked == 0 && done.is_empty() {
        return sentences;
    }
    sentences.push(format!(
        "You did {} of {asked} repetitions today.",
        done.len()
    ));
    let judged = done.iter().filter(|one| one.judged).count();
    let hurried = done.iter().filter(|one| one.hurried).count();
    if judged > 0 {
        sentences.push(match hurried {
            0 => "Every lowering was as slow as asked.".to_owned(),
            1 => format!("One of {judged} lowerings was quicker than asked."),
            _ => format!("{hurried} of {judged} lowerings were quicker than asked."),
        });
    }
    sentences.extend(against_last_time(plan, done));
    sentences
}

/// The movement whose range differs most from last time, if it differs by more than the error.
fn against_last_time(plan: &GuidedPlan, done: &[PartDone]) -> Option<String> {
    let change = |(key, before_deg): &(SetKey, f64)| {
        let ranges: Vec<f64> = done
            .iter()
            .filter(|one| (one.movement, one.side) == (key.movement, key.side))
            .filter_map(|one| one.range_deg)
            .collect();
        Some((*key, median(&ranges)? - before_deg))
    };
    let (key, change_deg) = plan
        .last_ranges_deg
        .iter()
        .filter_map(change)
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    // Whichever way the arm was held: the words of the usual posture fit every one.
    let movement = key.movement.said_first(&key.movement.usual_posture());
    let which = format!("{movement}, {} hand", key.side.name());
    Some(if change_deg.abs() < MENTIONED_DEG {
        "Your range was about the same as last time.".to_owned()
    } else if change_deg > 0.0 {
        format!("{which}: {change_deg:.0} degrees more than last time.")
    } else {
        format!("{which}: {:.0} degrees less than last time.", -change_deg)
    })
}

/// When the next session is due, in words; `None` where the routine does not say how often.
pub fn next_session(plan: &GuidedPlan) -> Option<String> {
    let a_week = plan.routine.sessions_a_week.filter(|count| *count > 0)?;
    let days = i64::from((7 / a_week).max(1));
    let day: Date = plan.today.checked_add(days.days()).ok()?;
    let name = match day.weekday() {
        Weekday::Monday => "Monday",
        Weekday::Tuesday => "Tuesday",
        Weekday::Wednesday => "Wednesday",
        Weekday::Thursday => "Thursday",
        Weekday::Friday => "Friday",
        Weekday::Saturday => "Saturday",
        Weekday::Sunday => "Sunday",
    };
    Some(if days == 1 {
        format!("tomorrow, {name}")
    } else {
        name.to_owned()
    })
}
