//! A hand that is carried up and down more than it is turned: its repetitions, read from its
//! height.
//!
//! Ours. A turn moves the hand by no more than the arm's length times the turn. Where the hand
//! travels farther up and down than that, the arm carries it, and the wrist turns as it pleases,
//! often twice on the way: then the height tells the repetitions, because it is what repeats once in
//! each. Height is the twice integrated vertical acceleration, held to the time of a repetition,
//! which comes from the acceleration's self-similarity (as in R. Cutler and L. Davis, IEEE TPAMI
//! 22:781-796, 2000, doi 10.1109/34.868681, on images: what is periodic is like itself one period
//! later). The integral is a leaky one, run once forward and once backward: the two phases cancel,
//! the gain on acceleration is 1/(ω² + w²), so that a slow error of gravity stays small. Beyond its
//! ends the record is continued by its own last and first repetition, for the integral to start on.

use nalgebra::Vector3;

use super::curve::{Curve, Grid};
use super::excursion::{CountParams, Excursion, median};
use super::phases::refined;
use super::refined::{lifts_downward, read};
use crate::joint::AnglePoint;
use crate::orientation::Oriented;

/// Length of an arm from the shoulder to the back of the hand, metres: 0.60 to the wrist and 0.07
/// to the unit, long for an adult (from memory, check: ANSUR II shoulder-elbow and radiale-stylion).
const ARM_M: f64 = 0.70;
/// Less travel up and down than this is not being carried, metres.
const LEAST_TRAVEL_M: f64 = 0.15;
/// Fewer repetitions than this do not show what repeats.
const LEAST_COUNT: usize = 3;
/// Time over which the vertical acceleration is averaged, seconds.
const BIN_S: f64 = 0.05;
/// A hole longer than this has no known height, seconds.
const MOST_GAP_S: f64 = 2.0;
/// Shortest and longest time of a repetition, seconds.
const PERIOD_S: [f64; 2] = [0.7, 8.0];
/// Least correlation of the acceleration with itself one repetition later.
const LEAST_LIKENESS_RATIO: f64 = 0.4;
/// The integral forgets with a corner at this share of the repetitions' own frequency.
const CORNER_RATIO: f64 = 0.5;
/// Repetitions that the record is continued by at either end.
const CONTINUED_COUNT: usize = 3;

/// One repetition of a carried hand, as times in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarriedRepetition {
    /// When the hand leaves its start.
    pub lift_start_s: f64,
    /// When it is there.
    pub lift_end_s: f64,
    /// When it starts back.
    pub lower_start_s: f64,
    /// When it is back.
    pub lower_end_s: f64,
}

/// The repetitions of a carried hand.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Carried {
    /// Repetitions, in order.
    pub repetitions: Vec<CarriedRepetition>,
    /// Repetitions cut by the end of the record.
    pub incomplete_count: usize,
}

/// Repetitions by the hand's height, if it travels farther than its turns could carry it;
/// `angle` is the curve of its turns.
pub fn carried(oriented: &[Oriented], angle: &Curve, params: &CountParams) -> Option<Carried> {
    let bins = bins(oriented)?;
    let height_m = height_m(&bins)?;
    // Height as the turn on an arm's length that would carry the hand so far.
    let mut grid = Grid::new();
    for (bin, height_m) in bins.iter().zip(height_m) {
        grid.push(AnglePoint {
            t_s: bin.t_s,
            measured_deg: (height_m / ARM_M).to_degrees(),
            across_deg: [0.0; 2],
            up_in_sensor: bin.up_in_sensor,
            isb: None,
        });
    }
    let upward = grid.into_curve();
    let (downward, _) = lifts_downward(&upward, params, None);
    let curve = if downward { upward.negated() } else { upward };
    let reading = read(&curve, params, 0);
    if reading.repetitions.len() < LEAST_COUNT {
        return None;
    }
    let travels: Vec<f64> = reading
        .repetitions
        .iter()
        .map(|r| r.travel_deg(&curve))
        .collect();
    let turns: Vec<f64> = reading
        .repetitions
        .iter()
        .map(|r| turn_deg(angle, &curve, r))
        .collect();
    let travel_deg = median(&travels)?;
    let least_deg = median(&turns)?.max((LEAST_TRAVEL_M / ARM_M).to_degrees());
    (travel_deg > least_deg).then(|| Carried {
        repetitions: reading
            .repetitions
            .iter()
            .map(|r| by_times(&curve, r))
            .collect(),
        incomplete_count: reading.incomplete_count,
    })
}

/// Greatest turn, about whatever axis, since a repetition's start, degrees.
fn turn_deg(angle: &Curve, height: &Curve, repetition: &Excursion) -> f64 {
    let [from, to] = [repetition.lift.start, repetition.lower.end]
        .map(|index| angle.index_of(height.time_s(index)));
    let turned = |index: usize| {
        let along_deg = angle.angle(index) - angle.angle(from);
        along_deg.hypot(angle.across_between_deg(from, index))
    };
    (from..=to).map(turned).fold(0.0, f64::max)
}

fn by_times(curve: &Curve, repetition: &Excursion) -> CarriedRepetition {
    let [lift_start, lift_end] = refined(curve, &repetition.lift, 1.0);
    let [lower_start, lower_end] = refined(curve, &repetition.lower, -1.0);
    CarriedRepetition {
        lift_start_s: curve.time_at_s(lift_start),
        lift_end_s: curve.time_at_s(lift_end),
        lower_start_s: curve.time_at_s(lower_start),
        lower_end_s: curve.time_at_s(lower_end),
    }
}

/// The mean over a short time.
struct Bin {
    t_s: f64,
    vertical_m_s2: f64,
    up_in_sensor: Vector3<f64>,
}

/// Means over short times; `None` where a hole is too long, or nothing is there.
fn bins(oriented: &[Oriented]) -> Option<Vec<Bin>> {
    let begin_s = oriented.first()?.t_s;
    let mut bins: Vec<Bin> = Vec::new();
    let mut rest = oriented;
    let mut before_s = begin_s;
    while let Some(first) = rest.first() {
        if first.t_s - before_s > MOST_GAP_S {
            return None;
        }
        let from_s = begin_s + bins.len() as f64 * BIN_S;
        let count = rest.iter().take_while(|o| o.t_s < from_s + BIN_S).count();
        let (within, later) = rest.split_at_checked(count)?;
        let t_s = from_s + 0.5 * BIN_S;
        match (within.last(), bins.last()) {
            (Some(last), _) => {
                let sum: f64 = within.iter().map(vertical_m_s2).sum();
                bins.push(Bin {
                    t_s,
                    vertical_m_s2: sum / within.len() as f64,
                    up_in_sensor: last.world_from_sensor.inverse() * Vector3::z(),
                });
                before_s = last.t_s;
            }
            (None, Some(before)) => bins.push(Bin { t_s, ..*before }),
            (None, None) => return None,
        }
        rest = later;
    }
    Some(bins)
}

fn vertical_m_s2(oriented: &Oriented) -> f64 {
    (oriented.world_from_sensor * oriented.accel_in_sensor_m_s2).z
}

/// Height against its mean over some repetitions, metres; `None` where nothing repeats.
fn height_m(bins: &[Bin]) -> Option<Vec<f64>> {
    let mean_m_s2 = bins.iter().map(|bin| bin.vertical_m_s2).sum::<f64>() / bins.len() as f64;
    let accel_m_s2: Vec<f64> = bins
        .iter()
        .map(|bin| bin.vertical_m_s2 - mean_m_s2)
        .collect();
    let period = period_count(&accel_m_s2)?;
    let lead = CONTINUED_COUNT * period;
    let mut long_m_s2 = continued(accel_m_s2, period, lead);
    long_m_s2.reverse();
    let mut long_m_s2 = continued(long_m_s2, period, lead);
    long_m_s2.reverse();

    let corner_rad = CORNER_RATIO * std::f64::consts::TAU / period as f64;
    let kept = (-corner_rad).exp();
    let leak = |sum: &mut f64, value: &mut f64| {
        *sum = kept * *sum + *value * BIN_S;
        *value = *sum;
    };
    let mut sum = 0.0;
    long_m_s2.iter_mut().for_each(|value| leak(&mut sum, value));
    sum = 0.0;
    let backward = long_m_s2.iter_mut().rev();
    backward.for_each(|value| leak(&mut sum, value));
    // What the corner takes from a sinusoid of this period.
    let taken = 1.0 + CORNER_RATIO * CORNER_RATIO;
    let within = long_m_s2.iter().skip(lead).take(bins.len());
    Some(within.map(|value| -taken * value).collect())
}

/// Time after which the values are most like themselves, in steps.
fn period_count(values: &[f64]) -> Option<usize> {
    let [shortest, longest] = PERIOD_S.map(|period_s| (period_s / BIN_S) as usize);
    let likeness = |lag: usize| -> f64 {
        let later = values.iter().skip(lag);
        values.iter().zip(later).map(|(a, b)| a * b).sum()
    };
    let whole = likeness(0);
    // Near no lag at all everything is like itself: past the first zero it is so again.
    let first = (1..shortest.max(longest)).find(|lag| likeness(*lag) < 0.0)?;
    let most = longest.min(values.len() / LEAST_COUNT);
    let (period, best) = (first.max(shortest)..=most)
        .map(|lag| (lag, likeness(lag)))
        .max_by(|(_, a), (_, b)| a.total_cmp(b))?;
    (best >= LEAST_LIKENESS_RATIO * whole && whole > 0.0).then_some(period)
}

/// Values that go on after their end as they went on one period before, where that period is the
/// one after which the end itself is most like what was before.
fn continued(mut values: Vec<f64>, period: usize, count: usize) -> Vec<f64> {
    let end = period / 2;
    let unlike = |lag: usize| -> f64 {
        let now = values.iter().rev().take(end);
        let before = values.iter().rev().skip(lag);
        now.zip(before).map(|(a, b)| (a - b) * (a - b)).sum()
    };
    let lags = (period * 3 / 4).max(1)..=period * 4 / 3;
    let lag = lags
        .min_by(|a, b| unlike(*a).total_cmp(&unlike(*b)))
        .unwrap_or(period);
    for _ in 0..count {
        let value = values.iter().rev().nth(lag - 1).copied().unwrap_or(0.0);
        values.push(value);
    }
    values
}
