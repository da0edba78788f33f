//! What a person who marks a recording is told of it: the curves, and nothing that was concluded.
//!
//! Ours. No repetition, phase, count, verdict or warning is among it, and no zero that was read from
//! repetitions. The curve itself rests on the program's axis and sign, which is said on the page.

use serde::Serialize;

use super::outline::Outline;
use super::told::{Directions, directions, is_simulated};
use super::way::{PART_S, Way};
use crate::movement::{Movement, Side};
use crate::pipeline::motion::Zero;
use crate::pipeline::{Detail, SetDetail, SetResult};
use crate::recording::Recording;
use crate::report::marks::goes_round;

/// A recording to be marked.
#[derive(Debug, Serialize)]
pub struct Blind<'a> {
    /// Marks are saved, and the program's may be looked at.
    pub saved: bool,
    name: &'a str,
    /// Of the first sample; `None` of no samples.
    start_s: Option<f64>,
    /// Of the last sample.
    end_s: Option<f64>,
    simulated: bool,
    sets: Vec<BlindSet<'a>>,
}

/// A set to be marked.
#[derive(Debug, Serialize)]
struct BlindSet<'a> {
    title: Option<&'static str>,
    movement: Option<Movement>,
    side: Option<Side>,
    loaded: bool,
    start_s: f64,
    end_s: f64,
    /// What angle zero is; `None` also where it was read from the repetitions.
    zero: Option<Zero>,
    directions: Option<Directions>,
    posed: bool,
    /// Whole turns have no phases to mark.
    goes_round: bool,
    /// `None` where nothing moved.
    curve: Option<BlindCurve<'a>>,
}

#[derive(Debug, Serialize)]
struct BlindCurve<'a> {
    start_s: f64,
    end_s: f64,
    part_s: f64,
    gaps_s: &'a [[f64; 2]],
    outline: &'a Outline,
}

/// What is told.
pub fn blind<'a>(
    recording: &'a Recording,
    detail: &'a Detail,
    ways: &'a [Option<Way>],
) -> Blind<'a> {
    let sets = detail.analysis.sets.iter().zip(&detail.sets).zip(ways);
    Blind {
        saved: false,
        name: &recording.name,
        start_s: recording.hand.first().map(|sample| sample.t_s),
        end_s: recording.hand.last().map(|sample| sample.t_s),
        simulated: is_simulated(recording),
        sets: sets
            .map(|((set, own), way)| blind_set(set, own, way.as_ref()))
            .collect(),
    }
}

fn blind_set<'a>(set: &SetResult, own: &SetDetail, way: Option<&'a Way>) -> BlindSet<'a> {
    let goes_round = goes_round(own);
    let directions = directions(set, goes_round);
    BlindSet {
        title: set.movement.map(|movement| movement.title()),
        movement: set.movement,
        side: set.side,
        loaded: set.load_kg.is_some_and(|load_kg| load_kg > 0.0),
        start_s: set.start_s,
        end_s: set.end_s,
        zero: set.zero.filter(|zero| *zero != Zero::UsualStart),
        posed: directions.is_some() && set.zero == Some(Zero::Calibration),
        directions,
        goes_round,
        curve: way.map(|way| BlindCurve {
            start_s: way.start_s,
            end_s: way.end_s,
            part_s: PART_S,
            gaps_s: &way.gaps_s,
            outline: &way.outline,
        }),
    }
}
