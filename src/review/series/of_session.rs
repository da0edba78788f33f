//! The figures of one session within a series.

use std::collections::BTreeMap;

use super::super::figures::{RangeFigures, TimeFigures, quantile};
use super::SeriesSession;
use crate::movement::MovingPhase;
use crate::pipeline::motion::Zero;
use crate::pipeline::summary::Summarised;
use crate::pipeline::{SetResult, own_and_wrist};
use crate::reps::stated::usual_error;
use crate::reps::{Doubt, Repetition};
use crate::routine::Verdict;

/// A start level within this of the neutral pose counts as neutral, degrees (ours: angles against
/// the own neutral pose are shown in whole degrees and settle within a few).
const AT_NEUTRAL_DEG: f64 = 5.0;

/// Whether a start level lies at the neutral pose of a calibration.
pub(in crate::review) fn at_neutral(calibrated: bool, start_deg: Option<f64>) -> bool {
    calibrated && start_deg.is_some_and(|deg| deg.abs() <= AT_NEUTRAL_DEG)
}

/// Sum of a count, in the size that is shown.
fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

pub(super) fn figures(
    index: usize,
    session: &Summarised,
    sets: &[&SetResult],
    prescribed_count: Option<u32>,
) -> SeriesSession {
    let reps: Vec<&Repetition> = sets.iter().flat_map(|set| &set.reps).collect();
    // Done is done, but not every angle is one of this hand, nor every range one of its wrist.
    let ranging = || sets.iter().filter(|set| set.ranges_count());
    let [own, wrist] = own_and_wrist(sets);
    let of = |reps: &[&Repetition], value: fn(&Repetition) -> f64| -> Vec<f64> {
        reps.iter().map(|rep| value(rep)).collect()
    };
    let timed_phase = sets
        .iter()
        .rev()
        .find_map(|set| set.eccentric)
        .unwrap_or(MovingPhase::Lower);
    let (cut, time_s): (Doubt, fn(&Repetition) -> f64) = match timed_phase {
        MovingPhase::Lift => (Doubt::StartCut, Repetition::lift_s),
        MovingPhase::Lower => (Doubt::EndCut, Repetition::lower_s),
    };
    let times_s: Vec<f64> = reps
        .iter()
        .filter(|rep| !rep.doubts.contains(&cut))
        .map(|rep| time_s(rep))
        .collect();
    let verdicts = |asked: Verdict| {
        let of = reps.iter().filter(|rep| rep.verdict == Some(asked));
        whole(of.count())
    };
    let start_deg = quantile(&of(&own, |rep| rep.start_deg), 0.5);
    let mut with_reps = ranging().filter(|set| !set.reps.is_empty()).peekable();
    let calibrated =
        with_reps.peek().is_some() && with_reps.all(|set| set.zero == Some(Zero::Calibration));
    let mut doubts: BTreeMap<&'static str, u32> = BTreeMap::new();
    for doubt in reps.iter().flat_map(|rep| &rep.doubts) {
        *doubts.entry(doubt.name()).or_default() += 1;
    }
    let changes = |change: fn(&SetResult) -> Option<f64>| {
        let all: Vec<f64> = ranging().filter_map(|set| change(set)).collect();
        quantile(&all, 0.5)
    };
    // A range test has no tempo: nothing of it is timed.
    let range_test = sets.iter().any(|set| set.range_test);
    let loads = || sets.iter().filter_map(|set| set.load_kg);
    SeriesSession {
        session: index,
        name: session.name.clone(),
        date: session.summary.day(),
        set_count: sets.len(),
        done_count: whole(reps.len()),
        prescribed_count,
        load_min_kg: loads().reduce(f64::min),
        load_max_kg: loads().reduce(f64::max),
        range: RangeFigures::of(&of(&wrist, |rep| rep.range_deg)),
        range_error_deg: usual_error(&wrist, |rep| rep.range_error_deg),
        reached_deg: quantile(&of(&wrist, |rep| rep.peak_deg), 0.5),
        start_deg,
        calibrated,
        from_neutral: at_neutral(calibrated, start_deg),
        timed_phase,
        timed: TimeFigures::of(&times_s).filter(|_| !range_test),
        timed_error_s: usual_error(
            &reps,
            match timed_phase {
                MovingPhase::Lift => |rep: &Repetition| rep.lift_error_s,
                MovingPhase::Lower => |rep: &Repetition| rep.lower_error_s,
            },
        )
        .filter(|_| !range_test),
        band: sets.iter().rev().find_map(|set| set.tempo_band),
        judged_count: whole(reps.iter().filter(|rep| rep.verdict.is_some()).count()),
        hurried_count: verdicts(Verdict::Hurried),
        slower_count: verdicts(Verdict::Slower),
        range_change_in_set_deg: changes(|set| {
            let steps = set.reps.len().checked_sub(1)? as f64;
            Some(set.trend?.range_deg_per_rep * steps)
        }),
        lower_change_in_set_s: changes(|set| {
            let steps = set.reps.len().checked_sub(1)? as f64;
            Some(set.trend?.lower_s_per_rep * steps)
        }),
        doubtful_count: whole(reps.iter().filter(|rep| !rep.doubts.is_empty()).count()),
        doubts,
        incomplete_count: sets.iter().map(|set| set.incomplete_count).sum(),
    }
}
