//! What the page is told of a recording, all but the curves.

use serde::Serialize;

use super::outline::Outline;
use super::way::{PART_S, Way};
use crate::pipeline::motion::Zero;
use crate::pipeline::{Analysis, Detail, SetDetail, SetResult, own_and_wrist};
use crate::recording::{EventKind, Recording};
use crate::report::marks::{goes_round, set_note};
use crate::reps::Repetition;
use crate::reps::excursion::median;
use crate::source::simulator::session::SIMULATED;

/// A recording.
#[derive(Debug, Serialize)]
pub struct Told<'a> {
    name: &'a str,
    samples_count: usize,
    /// Of the first sample; `None` of no samples.
    start_s: Option<f64>,
    /// Of the last sample.
    end_s: Option<f64>,
    /// The recording says that it was played by the simulator.
    simulated: bool,
    /// As `replay --json` prints it.
    analysis: &'a Analysis,
    /// What goes with each set of the analysis, in the same order.
    sets: Vec<ToldSet<'a>>,
}

/// What goes with a set.
#[derive(Debug, Serialize)]
struct ToldSet<'a> {
    /// The movement's title; `None` where it is not named.
    title: Option<&'static str>,
    /// The movement's own words for up and down; `None` where it names no direction of a joint.
    directions: Option<Directions>,
    /// Angles are poses of the joint, since a neutral pose is known.
    posed: bool,
    /// Whole turns are counted, which have no phases.
    goes_round: bool,
    /// What the angles mean.
    note: String,
    /// Of the wrist's repetitions, as the table has them; `None` of none, or of a set that was worn
    /// strangely.
    median_range_deg: Option<f64>,
    /// Of all repetitions.
    median_lower_s: Option<f64>,
    /// Times of the phases of each repetition.
    phases: Vec<Phases>,
    /// `None` where nothing moved.
    curve: Option<ToldCurve<'a>>,
}

/// The movement's own words for up and down.
#[derive(Debug, Serialize)]
pub struct Directions {
    up: &'static str,
    down: &'static str,
}

/// The words for up and down; `None` where the movement names no direction of a joint.
pub fn directions(set: &SetResult, goes_round: bool) -> Option<Directions> {
    set.movement
        .filter(|movement| !goes_round && movement.joint_axis().is_some())
        .map(|movement| Directions {
            up: movement.direction_word(),
            down: movement.opposite_word(),
        })
}

/// Whether a recording says that it was played by the simulator.
pub fn is_simulated(recording: &Recording) -> bool {
    let of_it =
        |kind: &EventKind| matches!(kind, EventKind::Unknown { name, .. } if name == SIMULATED);
    recording.events.iter().any(|event| of_it(&event.kind))
}

/// How long each phase lasts, seconds.
#[derive(Debug, Serialize)]
struct Phases {
    lift_s: f64,
    hold_s: f64,
    lower_s: f64,
    /// Until the next repetition; `None` of the last.
    rest_s: Option<f64>,
}

#[derive(Debug, Serialize)]
struct ToldCurve<'a> {
    start_s: f64,
    end_s: f64,
    /// Length of the parts in which the curve is sent, seconds.
    part_s: f64,
    gaps_s: &'a [[f64; 2]],
    outline: &'a Outline,
}

/// What is told.
pub fn told<'a>(recording: &'a Recording, detail: &'a Detail, ways: &'a [Option<Way>]) -> Told<'a> {
    let sets = detail.analysis.sets.iter().zip(&detail.sets).zip(ways);
    Told {
        name: &recording.name,
        samples_count: recording.hand.len(),
        start_s: recording.hand.first().map(|sample| sample.t_s),
        end_s: recording.hand.last().map(|sample| sample.t_s),
        simulated: is_simulated(recording),
        analysis: &detail.analysis,
        sets: sets
            .map(|((set, own), way)| told_set(set, own, way.as_ref()))
            .collect(),
    }
}

fn told_set<'a>(set: &SetResult, own: &SetDetail, way: Option<&'a Way>) -> ToldSet<'a> {
    let goes_round = goes_round(own);
    let directions = directions(set, goes_round);
    let [_, wrist] = own_and_wrist(&[set]);
    let ranges_deg: Vec<f64> = wrist
        .iter()
        .map(|repetition| repetition.range_deg)
        .collect();
    let lowers_s: Vec<f64> = set.reps.iter().map(Repetition::lower_s).collect();
    ToldSet {
        title: set.movement.map(|movement| movement.title()),
        posed: directions.is_some() && set.zero == Some(Zero::Calibration),
        directions,
        goes_round,
        note: set_note(set),
        median_range_deg: median(&ranges_deg),
        median_lower_s: median(&lowers_s),
        phases: phases(&set.reps),
        curve: way.map(|way| ToldCurve {
            start_s: way.start_s,
            end_s: way.end_s,
            part_s: PART_S,
            gaps_s: &way.gaps_s,
            outline: &way.outline,
        }),
    }
}

fn phases(reps: &[Repetition]) -> Vec<Phases> {
    let next = reps.iter().skip(1).map(Some).chain([None]);
    reps.iter()
        .zip(next)
        .map(|(repetition, next)| Phases {
            lift_s: repetition.lift_s(),
            hold_s: repetition.hold_s(),
            lower_s: repetition.lower_s(),
            rest_s: next.map(|next| next.lift_start_s - repetition.lower_end_s),
        })
        .collect()
}
