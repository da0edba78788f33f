//! The analysis of a whole recording: smoothed orientation, refined repetitions.

use super::elbow;
use super::forearm::{doubt_unheard, warnings_of, widen_by_forearm};
use super::motion::{Motion, MotionInput, read_motion};
use super::set::{Analysis, Found, SetResult, set_result};
use super::sets::{Expectation, ExpectationError, SetSpec, set_specs};
use super::sight::Forearm;
use super::trouble::{Ranges, doubt_samples};
use super::wear::{lifeless_s, wear_warnings, worn};
use crate::joint::{Alignment, CalibrationFault, CalibrationParams, CalibrationWindows, align};
use crate::movement::{Movement, Side};
use crate::orientation::{
    Oriented, RateMeaning, SmootherParams, StillParams, StillSpan, smooth, still_spans,
};
use crate::recording::{Calibration, Event, EventKind, Recording};
use crate::reps::curve::AT_EDGE_COUNT;
use crate::reps::excursion::Excursion;
use crate::reps::measure::{Repetition, by_times, repetition, whole_turn};
use crate::reps::smoothness::Smoothness;
use crate::reps::stated::Unsteadiness;
use crate::reps::turns::Circles;
use crate::reps::{CountParams, Curve, Doubt};
use crate::sample::{Place, Sample};

/// Analyses a recording.
///
/// # Errors
/// [`ExpectationError`] where an expectation contradicts the recording.
pub fn analyse(
    recording: &Recording,
    expected: &Expectation,
) -> Result<Analysis, ExpectationError> {
    analyse_in_detail(recording, expected).map(|detail| detail.analysis)
}

/// An analysis with what it rests on.
#[derive(Debug, Clone, Default)]
pub struct Detail {
    /// The analysis.
    pub analysis: Analysis,
    /// Orientation of the hand sensor, one for each of its samples.
    pub oriented: Vec<Oriented>,
    /// What each set rests on, in the same order.
    pub sets: Vec<SetDetail>,
}

/// What one set rests on.
#[derive(Debug, Clone, Default)]
pub struct SetDetail {
    /// First and one past the last of the set's orientations.
    pub span: std::ops::Range<usize>,
    /// The calibration in force.
    pub alignment: Option<Alignment>,
    /// The motion; `None` where nothing moved.
    pub motion: Option<Motion>,
    /// The orientations that the motion rests on, one for each of the span, where they are those of
    /// the hand seen from the forearm.
    pub seen: Option<Vec<Oriented>>,
}

impl SetDetail {
    /// The orientation that the angle of a sample of the recording rests on.
    pub fn orientation<'a>(&'a self, index: usize, own: &'a Oriented) -> &'a Oriented {
        let seen = self.seen.as_ref();
        seen.and_then(|seen| seen.get(index.checked_sub(self.span.start)?))
            .unwrap_or(own)
    }
}

/// Analyses a recording and keeps what the analysis rests on, for traces and charts.
///
/// # Errors
/// [`ExpectationError`] where an expectation contradicts the recording.
pub fn analyse_in_detail(
    recording: &Recording,
    expected: &Expectation,
) -> Result<Detail, ExpectationError> {
    let specs = set_specs(recording, expected)?;
    let mut warnings = recording.warnings.clone();
    let still = still_spans(&recording.hand, &StillParams::default());
    let oriented = smooth(
        &recording.hand,
        &still,
        &SmootherParams {
            rate_meaning: RateMeaning::AtInstant,
            ..SmootherParams::default()
        },
    );
    let ranges = Ranges::of(recording);
    let forearm = Forearm::of(
        recording,
        &specs,
        &calibrations(recording),
        &oriented,
        &still,
    );
    let lifeless_s = lifeless_s(&recording.hand);
    let mut sets = Vec::new();
    let mut details = Vec::new();
    for spec in &specs {
        let from = oriented.partition_point(|o| o.t_s < spec.start_s);
        let to = oriented.partition_point(|o| o.t_s < spec.end_s).max(from);
        let own = oriented.get(from..to).unwrap_or(&[]);
        let windows = windows_for(recording, spec);
        let sight = forearm
            .as_ref()
            .map(|forearm| forearm.sight(spec, windows.as_ref(), &oriented, own));
        let neutral = sight.as_ref().and_then(|sight| sight.calibration.as_ref());
        let alignment = windows.and_then(|windows| {
            let aligned = match neutral {
                // The forearm says itself how it is held.
                Some(seen) => align(seen, &windows, &CalibrationParams::default()),
                None => alone(&windows, spec, &oriented, own),
            };
            trusted(aligned, &windows, &mut warnings)
        });
        let seen = sight.as_ref().and_then(|sight| sight.seen.as_ref());
        let input = MotionInput {
            oriented: seen.map_or(own, |seen| seen.oriented.as_slice()),
            still: &still,
            alignment,
            movement: spec.movement,
            of_wrist: seen.is_some(),
        };
        let motion = read_motion(&input, &CountParams::default());
        if alignment.is_none() && still_nowhere(&still, spec) {
            warnings.push(format!(
                "set at {:.1} s: no second of stillness to take angle zero and the gyroscope's bias from; zero is the usual start level",
                spec.start_s
            ));
        }
        if motion.as_ref().is_some_and(|m| m.carried.is_some()) {
            warnings.push(format!(
                "set at {:.1} s: the hand goes farther up and down than its turn could carry it on an arm's length; repetitions and their times are read from its height",
                spec.start_s
            ));
        }
        let samples = recording.hand.get(from..to).unwrap_or(&[]);
        let mut found = motion
            .as_ref()
            .map(|motion| found_in(motion, samples, &ranges))
            .unwrap_or_default();
        // Whether the elbow helps is judged by the hand's unit alone.
        let by_hand = match neutral {
            Some(_) => windows.and_then(|windows| alone(&windows, spec, &oriented, own).ok()),
            None => alignment,
        };
        let against_forearm = sight.as_ref().is_some_and(|sight| sight.part.two_sensors());
        if !against_forearm {
            found.elbow = elbow::reading_of(spec.movement, own, by_hand.as_ref(), &found.reps);
        }
        let loosely = sight.as_ref().and_then(|sight| sight.loosely_seen.as_ref());
        let of_wrist = seen.or(loosely).map(|seen| seen.oriented.as_slice());
        found.wear = worn(
            recording,
            &lifeless_s,
            &specs,
            spec,
            alignment,
            &oriented,
            of_wrist,
        );
        warnings.extend(wear_warnings(spec.start_s, &found.wear));
        if let Some(sight) = &sight {
            let unheard_s = seen.map_or(&[][..], |seen| seen.unheard_s.as_slice());
            doubt_unheard(unheard_s, &mut found.reps);
            widen_by_forearm(&sight.part, &mut found.reps);
            warnings.extend(warnings_of(spec, &sight.part, unheard_s));
            found.forearm = Some(sight.part.clone());
        }
        let mut ended = spec.clone();
        if ended.end_s.is_infinite() {
            let last_s = recording.hand.last().map_or(spec.start_s, |last| last.t_s);
            ended.end_s = last_s.max(spec.start_s);
        }
        sets.push(set_result(&ended, found));
        details.push(SetDetail {
            span: from..to,
            alignment,
            motion,
            seen: sight.and_then(|sight| sight.seen).map(|seen| seen.oriented),
        });
    }
    no_eccentric_warnings(&sets, &mut warnings);
    Ok(Detail {
        analysis: Analysis { sets, warnings },
        oriented,
        sets: details,
    })
}

fn still_nowhere(still: &[StillSpan], spec: &SetSpec) -> bool {
    !still.iter().any(|span| span.start_s < spec.end_s)
}

fn no_eccentric_warnings(sets: &[SetResult], warnings: &mut Vec<String>) {
    for set in sets {
        if let (Some(movement), Some(tempo), None) = (set.movement, set.tempo, set.eccentric) {
            warnings.push(format!(
                "set at {:.1} s: no phase of {} is known to be eccentric with this posture and load, so the tempo {} is not judged",
                set.start_s,
                movement.name(),
                tempo.code()
            ));
        }
    }
}

/// The calibrations of a recording.
fn calibrations(recording: &Recording) -> Vec<CalibrationWindows> {
    let any_side = SetSpec::default();
    recording
        .events
        .iter()
        .filter_map(|event| match &event.kind {
            EventKind::Calibration(calibration) => calibration_windows(calibration, &any_side),
            _ => None,
        })
        .collect()
}

/// The calibration in force for a set: the last one of its side before it, unless it was left out
/// since.
fn windows_for(recording: &Recording, spec: &SetSpec) -> Option<CalibrationWindows> {
    let in_force = |event: &Event| {
        let EventKind::Calibration(calibration) = &event.kind else {
            return None;
        };
        if leaves_out(calibration, spec) && event.t_s <= spec.start_s {
            return Some(None);
        }
        let windows = calibration_windows(calibration, spec)?;
        (windows.move_end_s <= spec.start_s).then_some(Some(windows))
    };
    recording.events.iter().rev().find_map(in_force).flatten()
}

/// Whether it says that the hand of a set has no calibration any more.
pub fn leaves_out(calibration: &Calibration, spec: &SetSpec) -> bool {
    calibration.is_left_out() && side_of(calibration, spec).is_some()
}

/// The side of a calibration of the hand's unit, if it may be that of a set.
fn side_of(calibration: &Calibration, spec: &SetSpec) -> Option<Side> {
    let side = calibration.side.or(spec.side)?;
    let other_hand = spec.side.is_some_and(|asked| asked != side);
    (!other_hand && calibration.place != Some(Place::Forearm)).then_some(side)
}

/// The alignment by the hand's unit alone, as it holds for a set.
fn alone(
    windows: &CalibrationWindows,
    spec: &SetSpec,
    oriented: &[Oriented],
    own: &[Oriented],
) -> Result<Alignment, CalibrationFault> {
    let alignment = align(oriented, windows, &CalibrationParams::default())?;
    Ok(match own.first() {
        Some(first) => for_set(alignment, windows, spec, first),
        None => alignment,
    })
}

/// The alignment, where the calibration can be trusted; else that is said, once.
fn trusted(
    aligned: Result<Alignment, CalibrationFault>,
    windows: &CalibrationWindows,
    warnings: &mut Vec<String>,
) -> Option<Alignment> {
    match aligned {
        Ok(alignment) => Some(alignment),
        Err(fault) => {
            let warning = format!(
                "calibration at {:.1} s: {fault}; the axis is taken from the movement itself",
                windows.still_start_s
            );
            if !warnings.contains(&warning) {
                warnings.push(warning);
            }
            None
        }
    }
}

/// A calibration as it holds for a set that begins with this sample: in the set's posture, with the
/// forearm pointing where it points now.
pub fn for_set(
    alignment: Alignment,
    windows: &CalibrationWindows,
    spec: &SetSpec,
    first: &Oriented,
) -> Alignment {
    let posture = spec.posture.unwrap_or(windows.posture);
    alignment
        .at_posture(&windows.posture, &posture)
        .facing(first)
}

/// A calibration event as windows, if it is of the set's hand and complete.
pub fn calibration_windows(
    calibration: &Calibration,
    spec: &SetSpec,
) -> Option<CalibrationWindows> {
    let side = side_of(calibration, spec)?;
    let movement: Movement = calibration.movement?;
    let (still_start_s, still_end_s) = calibration.still_s()?;
    let (move_start_s, move_end_s) = calibration.move_s()?;
    Some(CalibrationWindows {
        side,
        movement,
        posture: calibration
            .posture
            .unwrap_or_else(|| movement.usual_posture()),
        still_start_s,
        still_end_s,
        move_start_s,
        move_end_s,
    })
}

/// Angle between the measured axis and the movement's own above which it is doubted, degrees: the
/// natural flexion axis is oblique by 26.6 ± 4.4 degrees (Crisco et al., JBJS-A 93:169-177, 2011).
pub const AXIS_UNLIKELY_DEG: f64 = 40.0;

fn found_in(motion: &Motion, samples: &[Sample], ranges: &Ranges) -> Found {
    let curve = &motion.curve;
    let (mut reps, incomplete_count) = match (&motion.circles, &motion.carried) {
        (Some(circles), _) => circled(curve, circles, motion.zero_deg),
        (None, Some(carried)) => {
            let judged = |times| by_times(curve, times, motion.zero_deg);
            let reps = carried.repetitions.iter().map(judged).collect();
            (reps, carried.incomplete_count)
        }
        (None, None) => {
            let mut smoothness = Smoothness::new();
            let judged = |excursion| judged(curve, excursion, motion.zero_deg, &mut smoothness);
            let excursions = &motion.reading.repetitions;
            let mut reps: Vec<Repetition> = excursions.iter().map(judged).collect();
            state_errors(curve, excursions, &mut reps);
            (reps, motion.reading.incomplete_count)
        }
    };
    doubt_samples(samples, ranges, &mut reps);
    if motion.axis_off_deg > AXIS_UNLIKELY_DEG {
        for repetition in &mut reps {
            repetition.doubt(Doubt::AxisUnlikely);
        }
    }
    Found {
        reps,
        incomplete_count,
        zero: Some(motion.zero),
        axis_from: Some(motion.axis_from),
        ..Found::default()
    }
}

/// States the errors of all repetitions of a set, by what all of them show.
fn state_errors(curve: &Curve, excursions: &[Excursion], reps: &mut [Repetition]) {
    let mut unsteadiness = Unsteadiness::default();
    for excursion in excursions {
        unsteadiness.take(curve, excursion);
    }
    let starts = excursions.iter().skip(1).map(|next| next.lift.start);
    let last = curve.len().saturating_sub(1);
    let mut before = 0;
    for ((excursion, next), repetition) in excursions.iter().zip(starts.chain([last])).zip(reps) {
        unsteadiness.state(curve, excursion, [before, next], repetition);
        before = excursion.lower.end;
    }
}

fn judged(
    curve: &Curve,
    excursion: &Excursion,
    zero_deg: f64,
    smoothness: &mut Smoothness,
) -> Repetition {
    let mut result = repetition(curve, excursion, zero_deg, smoothness);
    if excursion.lift.start < AT_EDGE_COUNT {
        result.doubt(Doubt::StartCut);
    }
    if excursion.lower.end + AT_EDGE_COUNT >= curve.len() {
        result.doubt(Doubt::EndCut);
    }
    result
}

/// Whole turns as repetitions, and how many were cut by the end.
pub fn circled(curve: &Curve, circles: &Circles, zero_deg: f64) -> (Vec<Repetition>, usize) {
    let reps = circles
        .turns
        .iter()
        .map(|turn| whole_turn(curve, turn, zero_deg))
        .collect();
    (reps, usize::from(circles.unfinished))
}
