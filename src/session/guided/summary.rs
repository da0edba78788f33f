//! What was done, in two or three sentences; when the next session is due.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::{GuidedPlan, SetKey};
use crate::pipeline::SetResult;
use crate::pipeline::motion::Zero;
use crate::reps::Repetition;
use crate::reps::excursion::median;
use crate::routine::Part;

/// A repetition that was done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartDone {
    /// Number of the item in the routine, from 1.
    pub item: u32,
    /// What it is compared with.
    pub key: SetKey,
    /// Its range, degrees, where it is compared with last time; known when its set has ended.
    pub range_deg: Option<f64>,
    /// Its lowering was hurried.
    pub hurried: bool,
    /// Its tempo was judged.
    pub judged: bool,
}

/// The range of a repetition where it is compared with last time: of a hand whose neutral pose is
/// known, not of a range test, which is no record to beat.
pub fn compared_deg(set: &SetResult, repetition: &Repetition) -> Option<f64> {
    let counts = set.ranges_count() && set.zero == Some(Zero::Calibration) && !set.range_test;
    (counts && repetition.is_of_the_wrist()).then_some(repetition.range_deg)
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
            0 => "No lowering was hurried.".to_owned(),
            1 => format!("One of {judged} lowerings was hurried."),
            _ => format!("{hurried} of {judged} lowerings were hurried."),
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
            .filter(|one| one.key == *key)
            .filter_map(|one| one.range_deg)
            .collect();
        Some((*key, median(&ranges)? - before_deg))
    };
    let (key, change_deg) = plan
        .last_ranges_deg
        .iter()
        .filter(|(key, _)| key.is_loaded.is_some())
        .filter_map(change)
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let movement = key.movement.said_first(&key.posture);
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
///
/// As evenly as whole days allow, and never more of them in any seven days than are asked for: a hand
/// that has worked on three days in a row may have to wait longer.
pub fn next_session(plan: &GuidedPlan) -> Option<String> {
    let a_week = plan.routine.sessions_a_week.filter(|count| *count > 0)?;
    let evenly = match a_week {
        4 => 2,
        _ => i64::from((7 / a_week).max(1)),
    };
    let worked_before = |days: i64| {
        let since = plan.today.checked_add((days - 6).days()).ok();
        let earlier = plan.worked_on.iter().filter(|day| Some(**day) >= since);
        earlier.count() + usize::from(days <= 6)
    };
    let days = (evenly..=7)
        .find(|days| worked_before(*days) < a_week as usize)
        .unwrap_or(7);
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use crate::routine::Routine;

    /// Days of sessions over four weeks of somebody who comes on each day that is named.
    fn days_of(a_week: u32) -> Vec<Date> {
        let toml = format!(
            "title = \"T\"\nsessions_a_week = {a_week}\n[[items]]\nkind = \"timed\"\nwhat = \"breathing\"\nseconds = 20\n"
        );
        let routine = Routine::from_toml(&toml).unwrap();
        let first: Date = "2026-03-02".parse().unwrap();
        let mut days = vec![first];
        while let Some(today) = days.last().copied() {
            let mut plan = GuidedPlan::new(routine.clone(), today);
            plan.worked_on = days
                .iter()
                .copied()
                .filter(|day| *day < today && (today - *day).get_days() < 7)
                .collect();
            let told = next_session(&plan).unwrap();
            let next = (1..=7)
                .map(|ahead| today.checked_add(i64::from(ahead).days()).unwrap())
                .find(|day| told.ends_with(&format!("{:?}", day.weekday())))
                .unwrap();
            if (next - first).get_days() >= 28 {
                break;
            }
            days.push(next);
        }
        days
    }

    #[test]
    fn whoever_comes_when_told_comes_as_often_as_asked_and_never_oftener() {
        for a_week in 1..=7 {
            let days = days_of(a_week);
            for day in &days {
                let within = |other: &&Date| (0..7).contains(&(**other - *day).get_days());
                let seen = days.iter().filter(within).count();
                assert!(seen <= a_week as usize, "{a_week} a week: {days:?}");
            }
            // Four a week every other day are three and a half.
            let least = if a_week == 4 { 14 } else { 4 * a_week as usize };
            assert!(days.len() >= least, "{a_week} a week: {days:?}");
        }
    }
}
