//! What an analysed set says.

use serde::{Deserialize, Serialize};

use super::elbow::told;
use super::forearm::ForearmPart;
use super::motion::{AxisFrom, Zero};
use super::sets::SetSpec;
use super::wear::doubt_after_slip;
use crate::joint::wear::{WearFinding, angles_stand};
use crate::movement::{Movement, MovingPhase, Posture, Side};
use crate::recording::{ItemRef, SetEndReason};
use crate::reps::Repetition;
use crate::reps::elbow::{ElbowReading, ElbowShare};
use crate::reps::excursion::median;
use crate::routine::Tempo;

/// The analysis of a recording.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    /// Its sets, in order.
    pub sets: Vec<SetResult>,
    /// What a reader should know, in plain words.
    pub warnings: Vec<String>,
}

/// The band that the eccentric phase is held against, seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BandTimes {
    /// Shorter is hurried.
    pub low_s: f64,
    /// Longer is slower than asked.
    pub high_s: f64,
    /// The prescribed time.
    pub prescribed_s: f64,
}

/// How a set changes from its first repetition to its last: slopes by Theil and Sen, which a few
/// odd repetitions do not bend.
///
/// Source: P. K. Sen, J Am Stat Assoc 63:1379-1389, 1968, doi:10.1080/01621459.1968.10480934.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Trend {
    /// Change of range, degrees for each repetition.
    pub range_deg_per_rep: f64,
    /// Change of the lowering time, seconds for each repetition.
    pub lower_s_per_rep: f64,
}

/// One analysed set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetResult {
    /// The movement; `None` where it is not named.
    pub movement: Option<Movement>,
    /// Which hand.
    pub side: Option<Side>,
    /// Load, kg; 0 is the empty hand.
    pub load_kg: Option<f64>,
    /// Start of the set, seconds.
    pub start_s: f64,
    /// End of the set, seconds.
    pub end_s: f64,
    /// Its repetitions, in order.
    pub reps: Vec<Repetition>,
    /// Repetitions begun and cut by the end of the record.
    pub incomplete_count: usize,
    /// The item of the routine.
    pub item: Option<ItemRef>,
    /// How the arm was held.
    pub posture: Option<Posture>,
    /// Prescribed repetitions.
    pub target_reps: Option<u32>,
    /// Whether it is a direction of a range test; written only where it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub range_test: bool,
    /// What the forearm's unit adds; written only where a recording has one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub forearm: Option<ForearmPart>,
    /// Why the set ended.
    pub end_reason: Option<SetEndReason>,
    /// Prescribed tempo.
    pub tempo: Option<Tempo>,
    /// The tempo in words.
    pub tempo_words: Option<String>,
    /// Which moving phase is eccentric; the tempo's first number is held against it.
    pub eccentric: Option<MovingPhase>,
    /// The band that the verdicts rest on.
    pub tempo_band: Option<BandTimes>,
    /// What angle zero is.
    pub zero: Option<Zero>,
    /// Where the measured axis comes from.
    pub axis_from: Option<AxisFrom>,
    /// Time in lifts and lowerings, seconds.
    pub time_under_tension_s: f64,
    /// The same with the holds, and with the pauses between one repetition and the next, seconds.
    pub time_under_tension_with_pauses_s: f64,
    /// Change within the set; `None` of fewer than four repetitions.
    pub trend: Option<Trend>,
    /// What is strange about the way the sensor was worn; written only where something is.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub wear: Vec<WearFinding>,
    /// How much of it the forearm did; written only where it was asked: a named movement of the
    /// wrist, with repetitions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elbow: Option<ElbowShare>,
}

impl SetResult {
    /// Whether its angles belong among the person's own: strange wear makes them another thing.
    pub fn ranges_count(&self) -> bool {
        angles_stand(&self.wear)
    }
}

/// Of several sets the repetitions whose angles are the person's own, and of those the ones of which
/// nothing says that their ranges are not the wrist's: where the forearm helped, or may have, a
/// range is no measure of the joint.
pub fn own_and_wrist<'a>(sets: &[&'a SetResult]) -> [Vec<&'a Repetition>; 2] {
    let counting = sets.iter().filter(|set| set.ranges_count());
    let own: Vec<&Repetition> = counting.flat_map(|set| &set.reps).collect();
    let of_the_wrist = own.iter().copied().filter(|rep| rep.is_of_the_wrist());
    let wrist = of_the_wrist.collect();
    [own, wrist]
}

/// What was found of a set's motion, whichever way.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Repetitions with their own doubts.
    pub reps: Vec<Repetition>,
    /// Repetitions cut by the end.
    pub incomplete_count: usize,
    /// What angle zero is.
    pub zero: Option<Zero>,
    /// Where the axis comes from.
    pub axis_from: Option<AxisFrom>,
    /// What is strange about the way the sensor was worn.
    pub wear: Vec<WearFinding>,
    /// What the forearm's unit adds.
    pub forearm: Option<ForearmPart>,
    /// What the hand's unit alone shows of how much of it the forearm did.
    pub elbow: Option<ElbowReading>,
}

/// Puts together what was asked and what was found.
pub fn set_result(spec: &SetSpec, found: Found) -> SetResult {
    let eccentric = spec.eccentric();
    let tempo_band = spec.band_times();
    let mut reps = found.reps;
    // A sensor that is worn elsewhere turns about other joints; angles against the forearm are the
    // wrist's, whatever the forearm does.
    let by_two = found.forearm.as_ref().is_some_and(ForearmPart::two_sensors);
    let reading = found.elbow.filter(|_| angles_stand(&found.wear) && !by_two);
    let elbow = told(reading.as_ref(), &mut reps);
    for repetition in &mut reps {
        repetition.verdict = spec.verdict(repetition);
    }
    doubt_after_slip(&found.wear, &mut reps);
    let moving_s = total_s(reps.iter().map(|r| r.lift_s() + r.lower_s()));
    let holds_s = total_s(reps.iter().map(Repetition::hold_s));
    let next = reps.iter().skip(1);
    let rests_s = reps.iter().zip(next).map(|(before, after)| {
        let rest_s: f64 = after.lift_start_s - before.lower_end_s;
        rest_s.max(0.0)
    });
    let rests_s = total_s(rests_s);
    SetResult {
        movement: spec.movement,
        side: spec.side,
        load_kg: spec.load_kg,
        start_s: spec.start_s,
        end_s: spec.end_s,
        incomplete_count: found.incomplete_count,
        item: spec.item.clone(),
        posture: spec.posture,
        target_reps: spec.target_reps,
        range_test: spec.range_test,
        forearm: found.forearm,
        end_reason: spec.end_reason,
        tempo: spec.tempo,
        tempo_words: spec.tempo.map(|tempo| tempo.words_for(eccentric)),
        eccentric,
        tempo_band,
        zero: found.zero,
        axis_from: found.axis_from,
        time_under_tension_s: moving_s,
        time_under_tension_with_pauses_s: moving_s + holds_s + rests_s,
        trend: trend(&reps),
        elbow,
        reps,
        wear: found.wear,
    }
}

/// Times together; of none 0, where a sum of none is -0 and is written so.
pub(super) fn total_s(times_s: impl Iterator<Item = f64>) -> f64 {
    times_s.fold(0.0, |sum_s, time_s| sum_s + time_s)
}

/// Repetitions that a trend needs at least.
const TREND_COUNT: usize = 4;

fn trend(reps: &[Repetition]) -> Option<Trend> {
    if reps.len() < TREND_COUNT {
        return None;
    }
    let ranges: Vec<f64> = reps.iter().map(|r| r.range_deg).collect();
    let lowers: Vec<f64> = reps.iter().map(Repetition::lower_s).collect();
    Some(Trend {
        range_deg_per_rep: theil_sen(&ranges)?,
        lower_s_per_rep: theil_sen(&lowers)?,
    })
}

/// Median of the slopes between all pairs of values one step apart and more. From many values,
/// pairs of the first and second half are enough.
fn theil_sen(values: &[f64]) -> Option<f64> {
    let mut slopes = Vec::new();
    for (i, a) in values.iter().enumerate() {
        for (j, b) in values.iter().enumerate().skip(i + 1) {
            slopes.push((b - a) / (j - i) as f64);
        }
    }
    median(&slopes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_survives_an_odd_value() {
        let values = [60.0, 58.0, 56.0, 90.0, 52.0, 50.0, 48.0];
        assert_eq!(theil_sen(&values), Some(-2.0));
    }
}
