//! The repetitions of a whole set, seen from both ends.
//!
//! Ours. On top of the counting rule: which way is the lift where nothing told so before, and
//! which candidates are not of a piece with the rest of the set.

use super::curve::Curve;
use super::excursion::{CountParams, Excursion, Found, find_all, median};
use super::hidden::with_hidden_starts;

/// What a whole set holds.
#[derive(Debug, Clone, Default)]
pub struct Reading {
    /// Repetitions, in order.
    pub repetitions: Vec<Excursion>,
    /// Repetitions cut by the end of the record.
    pub incomplete_count: usize,
}

/// Reads a set whose lifts are upward on the curve, from a point on. Where gaps hide the start
/// level, it is put into the curve first.
pub fn read(curve: &mut Curve, params: &CountParams, from: usize) -> Reading {
    let read = |curve: &Curve| reading(curve, find_all(curve, params, from));
    let plain = read(curve);
    let start_deg = median_of(&plain.repetitions, |r| curve.angle(r.lift.start));
    let usual_deg = median_of(&plain.repetitions, |r| r.travel_deg(curve));
    if plain.repetitions.is_empty() {
        return plain;
    }
    match with_hidden_starts(curve, start_deg, usual_deg) {
        Some(amended) => {
            *curve = amended;
            read(curve)
        }
        None => plain,
    }
}

/// Whether the hand came to a point along the path of the reading's first lift, or through other
/// repetitions: then the set was already going on. Being brought there from elsewhere is another
/// way.
pub fn goes_on_from(curve: &Curve, reading: &Reading, from: usize) -> bool {
    let Some(first) = reading.repetitions.first() else {
        return false;
    };
    let usual_deg = median_of(&reading.repetitions, |r| r.travel_deg(curve));
    let on_the_path = |index: usize| {
        let nearest = (first.lift.start..=first.peak).min_by(|&a, &b| {
            let off_deg = |at: usize| (curve.angle(at) - curve.angle(index)).abs();
            off_deg(a).total_cmp(&off_deg(b))
        });
        nearest.is_some_and(|at| {
            (curve.angle(at) - curve.angle(index)).abs() < SAME_ANGLE_DEG
                && curve.tilt_between_deg(at, index) < SAME_POSE_DEG
        })
    };
    let away = |index: usize| {
        let along_deg = (curve.angle(index) - curve.angle(from)).abs();
        along_deg > MOVED_RATIO * usual_deg
    };
    (0..from).any(|index| away(index) && on_the_path(index))
}

/// Angles this near are the same, degrees.
const SAME_ANGLE_DEG: f64 = 5.0;
/// Poses this near are the same, degrees.
const SAME_POSE_DEG: f64 = 15.0;
/// More than this share of the usual travel is a stroke.
const MOVED_RATIO: f64 = 0.3;

fn reading(curve: &Curve, found: Found) -> Reading {
    Reading {
        incomplete_count: usize::from(found.unfinished.is_some()),
        repetitions: of_a_piece(curve, found.repetitions),
    }
}

/// Share of the usual travel by which a start may lie away from its neighbours' starts.
const MOST_START_SHIFT_RATIO: f64 = 0.6;
/// Least tilt that makes another pose, degrees.
const LEAST_POSE_SHIFT_DEG: f64 = 25.0;
/// Neighbours on either side that a repetition is compared with.
const NEIGHBOURS_COUNT: usize = 4;

/// Leaves out what, at either end of the set, starts from quite another pose than its neighbours
/// do (by gravity; the heading may drift): reaching for the weight and putting it away. In the middle of a set people may shift their
/// arm and go on.
fn of_a_piece(curve: &Curve, repetitions: Vec<Excursion>) -> Vec<Excursion> {
    if repetitions.len() < 3 {
        return repetitions;
    }
    let travels: Vec<f64> = repetitions.iter().map(|r| r.travel_deg(curve)).collect();
    let usual_deg = median(&travels).unwrap_or(0.0);
    let most_deg = (MOST_START_SHIFT_RATIO * usual_deg).max(LEAST_POSE_SHIFT_DEG);
    let fits = |index: usize, candidate: &Excursion| {
        let near = |other: usize| other != index && other.abs_diff(index) <= NEIGHBOURS_COUNT;
        let neighbours = repetitions
            .iter()
            .enumerate()
            .filter(|(other, _)| near(*other))
            .map(|(_, excursion)| excursion.lift.start);
        let shifts: Vec<f64> = neighbours
            .map(|start| curve.tilt_between_deg(candidate.lift.start, start))
            .collect();
        median(&shifts).is_none_or(|shift_deg| shift_deg <= most_deg)
    };
    let fitting: Vec<bool> = repetitions
        .iter()
        .enumerate()
        .map(|(index, candidate)| fits(index, candidate))
        .collect();
    let from = fitting.iter().position(|fits| *fits).unwrap_or(0);
    let to = fitting
        .iter()
        .rposition(|fits| *fits)
        .map_or(0, |last| last + 1);
    repetitions.get(from..to).unwrap_or(&[]).to_vec()
}

/// A stop this long before the first stroke or after the last shows the start level, in steps.
const START_DWELL_COUNT: usize = 70;
/// Speed under which it is a stop: this, deg/s,
const START_DWELL_SPEED_DEG_S: f64 = 3.0;
/// or this share of a fast moment's speed (nine tenths of all moments are slower), since an arm
/// that sways is never quite still,
const START_DWELL_SPEED_RATIO: f64 = 0.12;
/// but no more than this, deg/s.
const START_DWELL_SPEED_MOST_DEG_S: f64 = 6.0;
/// A stroke of more than this share of the usual travel that ends in the stop makes it doubtful.
const COMES_RATIO: f64 = 0.2;
/// It may end so long before the first stroke starts, in steps.
const START_SLACK_COUNT: usize = 50;
/// Pauses at one level must be so many times as long as those at the other,
const CLEAR_PAUSE_RATIO: f64 = 1.3;
/// and this much longer, in steps, to tell which of the two is the start level.
const CLEAR_PAUSE_COUNT: f64 = 10.0;
/// A record that begins with this share of a fast moment's speed begins within a stroke.
const IN_MOTION_RATIO: f64 = 0.2;

/// Whether the lifts of a curve go downward, judged where no calibration told the sense.
///
/// The first accepted travel away from the start level is the lift. The start level is where the
/// hand stood before its first stroke, else where it came to rest after its last one; else, where
/// the record begins within a stroke, the one that this stroke leaves; else the level at which the
/// hand clearly pauses longer between strokes; else the one it is seen to leave first. A record
/// that begins within a stroke shows by itself which travel came first, and a routine may ask for
/// a pause at either end; one that begins with other moves does not show it. `start_deg` is the start level, if
/// it is known from elsewhere. With the answer come the repetitions in that sense.
pub fn lifts_downward(
    curve: &Curve,
    params: &CountParams,
    start_deg: Option<f64>,
) -> (bool, Vec<Excursion>) {
    let up = of_a_piece(curve, find_all(curve, params, 0).repetitions);
    let turned = curve.negated();
    let down = of_a_piece(&turned, find_all(&turned, params, 0).repetitions);
    let downward = is_downward(curve, &turned, params, [&up, &down], start_deg);
    (downward, if downward { down } else { up })
}

fn is_downward(
    curve: &Curve,
    turned: &Curve,
    params: &CountParams,
    [up, down]: [&[Excursion]; 2],
    start_deg: Option<f64>,
) -> bool {
    let (Some(first_up), Some(first_down)) = (up.first(), down.first()) else {
        return up.is_empty() && !down.is_empty();
    };
    let first_stroke = first_up.lift.start.min(first_down.lift.start);
    let last_stroke = last_usual(curve, up).max(last_usual(turned, down));
    let travel_deg = first_up.travel_deg(curve);
    let dwells = dwells(curve);
    let before = dwells
        .iter()
        .rev()
        .find(|[from, _]| *from <= first_stroke)
        .filter(|[_, to]| to + START_SLACK_COUNT >= first_stroke)
        .filter(|[from, to]| !moves(curve, 0..*from, (from + to) / 2, COMES_RATIO * travel_deg));
    let after = dwells
        .iter()
        .find(|[from, _]| from + START_SLACK_COUNT >= last_stroke);
    let at_level = |[from, to]: &[usize; 2]| curve.angle((from + to) / 2);
    let up_level_deg = median_of(up, |r| curve.angle(r.lift.start));
    let down_level_deg = median_of(down, |r| curve.angle(r.lift.start));
    if let Some(level_deg) = start_deg.or(before.or(after).map(at_level)) {
        return (level_deg - down_level_deg).abs() < (level_deg - up_level_deg).abs();
    }
    let pause =
        |repetitions: &[Excursion]| median_of(repetitions, |r| (r.lower.start - r.lift.end) as f64);
    // Between an upward lift and its lowering lies the pause at the top.
    let (at_top, at_bottom) = (pause(up), pause(down));
    let begins_in_motion = curve.speed(0).abs() > IN_MOTION_RATIO * fast_deg_s(curve);
    if !begins_in_motion && at_bottom > CLEAR_PAUSE_RATIO * at_top + CLEAR_PAUSE_COUNT {
        return false;
    }
    if !begins_in_motion && at_top > CLEAR_PAUSE_RATIO * at_bottom + CLEAR_PAUSE_COUNT {
        return true;
    }
    first_travel_is_downward(curve, params.least_travel(Some(travel_deg)))
}

/// Whether the first travel that is large enough goes down.
fn first_travel_is_downward(curve: &Curve, least_deg: f64) -> bool {
    let (mut low_deg, mut high_deg) = (f64::INFINITY, f64::NEG_INFINITY);
    for angle_deg in &curve.angle_deg {
        low_deg = low_deg.min(*angle_deg);
        high_deg = high_deg.max(*angle_deg);
        if high_deg - low_deg >= least_deg {
            return *angle_deg == low_deg;
        }
    }
    false
}

/// Speed of a fast moment: nine tenths of all moments are slower, deg/s.
fn fast_deg_s(curve: &Curve) -> f64 {
    let mut speeds: Vec<f64> = curve.speed_deg_s.iter().map(|speed| speed.abs()).collect();
    let ninth_tenth = speeds.len() * 9 / 10;
    if speeds.is_empty() {
        return 0.0;
    }
    *speeds.select_nth_unstable_by(ninth_tenth, f64::total_cmp).1
}

/// All stops of some length, as first and last point.
fn dwells(curve: &Curve) -> Vec<[usize; 2]> {
    let mut spans: Vec<[usize; 2]> = Vec::new();
    let mut from = None;
    let stop_deg_s = (START_DWELL_SPEED_RATIO * fast_deg_s(curve))
        .clamp(START_DWELL_SPEED_DEG_S, START_DWELL_SPEED_MOST_DEG_S);
    let ends = std::iter::once(f64::INFINITY);
    for (index, speed) in curve.speed_deg_s.iter().copied().chain(ends).enumerate() {
        if speed.abs() < stop_deg_s {
            from = from.or(Some(index));
        } else if let Some(start) = from.take()
            && index - start >= START_DWELL_COUNT
        {
            spans.push([start, index - 1]);
        }
    }
    spans
}

/// End of the last repetition of about the usual travel.
fn last_usual(curve: &Curve, repetitions: &[Excursion]) -> usize {
    let usual_deg = median_of(repetitions, |r| r.travel_deg(curve));
    repetitions
        .iter()
        .rfind(|r| (0.6 * usual_deg..=1.5 * usual_deg).contains(&r.travel_deg(curve)))
        .map_or(0, |r| r.lower.end)
}

fn median_of(repetitions: &[Excursion], value: impl Fn(&Excursion) -> f64) -> f64 {
    let values: Vec<f64> = repetitions.iter().map(value).collect();
    median(&values).unwrap_or(0.0)
}

/// Whether the hand comes to a stop by a stroke of this movement: then it may as well be a hold. A move of the arm about another axis is no such stroke.
fn moves(curve: &Curve, span: std::ops::Range<usize>, stop: usize, least_deg: f64) -> bool {
    span.into_iter().any(|index| {
        let along_deg = (curve.angle(index) - curve.angle(stop)).abs();
        along_deg > least_deg && curve.across_between_deg(index, stop) < 0.6 * along_deg
    })
}
