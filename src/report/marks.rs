//! An analysed set as the marks of a chart: shared by the report and by the charts of one
//! recording.

use crate::chart::{RepetitionMark, Stretch, TempoBand, TempoRepetition, TempoVerdict, TracePoint};
use crate::movement::MovingPhase;
use crate::pipeline::forearm::ForearmPart;
use crate::pipeline::motion::Zero;
use crate::pipeline::{BandTimes, ONE_SENSOR_NOTE, SetDetail, SetResult, TWO_SENSORS_NOTE};
use crate::reps::curve::STEP_S;
use crate::reps::{Doubt, Repetition};
use crate::routine::Verdict;

/// Every so many points of the grid of 100 Hz are drawn.
const EVERY_POINTS: usize = 4;

/// The phase that is timed: the eccentric one, or the lowering.
pub fn timed_phase(set: &SetResult) -> MovingPhase {
    set.eccentric.unwrap_or(MovingPhase::Lower)
}

/// Whether a set counts whole turns, which have no phases.
pub fn goes_round(detail: &SetDetail) -> bool {
    detail
        .motion
        .as_ref()
        .is_some_and(|motion| motion.circles.is_some())
}

/// The brackets of a set's repetitions.
pub fn repetition_marks(set: &SetResult) -> Vec<RepetitionMark> {
    let mark = |rep: &Repetition| RepetitionMark {
        lift_start_s: rep.lift_start_s,
        lift_end_s: rep.lift_end_s,
        lower_start_s: rep.lower_start_s,
        lower_end_s: rep.lower_end_s,
        doubts: rep.doubts.iter().map(|d| d.name().to_owned()).collect(),
    };
    set.reps.iter().map(mark).collect()
}

/// The times of one phase of a set's repetitions; a phase that the record cuts has none.
pub fn tempo_marks(set: &SetResult, phase: MovingPhase) -> Vec<TempoRepetition> {
    let mark = |rep: &Repetition| {
        let (duration_s, cut) = match phase {
            MovingPhase::Lift => (rep.lift_s(), Doubt::StartCut),
            MovingPhase::Lower => (rep.lower_s(), Doubt::EndCut),
        };
        TempoRepetition {
            duration_s: (!rep.doubts.contains(&cut)).then_some(duration_s),
            verdict: rep.verdict.map(|verdict| match verdict {
                Verdict::InBand => TempoVerdict::InBand,
                Verdict::Hurried => TempoVerdict::Hurried,
                Verdict::Slower => TempoVerdict::Slower,
            }),
            doubtful: !rep.doubts.is_empty(),
        }
    };
    set.reps.iter().map(mark).collect()
}

/// The band of a tempo chart.
pub fn tempo_band(band: BandTimes) -> TempoBand {
    TempoBand {
        low_s: band.low_s,
        high_s: band.high_s,
        prescribed_s: band.prescribed_s,
    }
}

/// The curve of a set against its zero, and its gaps.
pub fn trace_and_gaps(detail: &SetDetail) -> (Vec<TracePoint>, Vec<Stretch>) {
    let Some(motion) = &detail.motion else {
        return (Vec::new(), Vec::new());
    };
    let curve = &motion.curve;
    let trace = (0..curve.len())
        .step_by(EVERY_POINTS)
        .map(|index| TracePoint {
            t_s: curve.time_s(index),
            angle_deg: curve.angle(index) - motion.zero_deg,
            uncertainty_deg: None,
        })
        .collect();
    let mut gaps: Vec<Stretch> = Vec::new();
    for index in (0..curve.len()).filter(|index| curve.is_gap(*index)) {
        let (start_s, end_s) = (curve.time_s(index), curve.time_s(index + 1));
        match gaps.last_mut() {
            Some(gap) if start_s - gap.end_s < 0.5 * STEP_S => gap.end_s = end_s,
            _ => gaps.push(Stretch { start_s, end_s }),
        }
    }
    (trace, gaps)
}

/// What the angles of a set mean, by one sensor or two.
pub fn set_note(set: &SetResult) -> String {
    let two = set.forearm.as_ref().is_some_and(ForearmPart::two_sensors);
    match (two, set.zero) {
        (false, zero) => angle_note(zero),
        (true, Some(Zero::Calibration)) => TWO_SENSORS_NOTE.to_owned(),
        (true, _) => "Two sensors, no calibration: a turn of the hand against the forearm about its main axis; a forearm that moves along is taken off."
            .to_owned(),
    }
}

/// What angles of one sensor mean: the shared note speaks of a neutral pose, which only a
/// calibration knows.
pub fn angle_note(zero: Option<Zero>) -> String {
    match zero {
        Some(Zero::Calibration) => ONE_SENSOR_NOTE,
        _ => {
            "One sensor, no calibration: a turn of the hand about its main axis; a forearm that moves along is part of it."
        }
    }
    .to_owned()
}
