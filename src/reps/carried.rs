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
/// The curve's smoothing adds less than the rest to a travel.
const KERNEL_RATIO: f64 = 0.8;
/// Fewer repetitions than this do not show what repeats.
const LEAST_COUNT: usize = 3;
/// Time between two moments at which the height is reckoned, seconds.
const STEP_S: f64 = 0.05;
/// Half the base of the triangle under which the acceleration is averaged, seconds: at the 7 to
/// 11 Hz of a tremor it leaves at most a twentieth, at 0.7 Hz it takes as much.
const SPREAD_S: f64 = 0.2;
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
    let moments = moments(oriented)?;
    let height_m = height_m(&moments)?;
    let (low_m, high_m) = height_m
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), height| {
            (low.min(*height), high.max(*height))
        });
    // No repetition can travel farther than all of them, but for what the curve's kernel adds.
    if high_m - low_m < KERNEL_RATIO * LEAST_TRAVEL_M {
        return None;
    }
    // Height as the turn on an arm's length that would carry the hand so far.
    let mut grid = Grid::new();
    for (moment, height_m) in moments.iter().zip(height_m) {
        grid.push(AnglePoint {
            t_s: moment.t_s,
            measured_deg: (height_m / ARM_M).to_degrees(),
            across_deg: [0.0; 2],
            up_in_sensor: moment.up_in_sensor,
            isb: None,
        });
    }
    let upward = grid.into_curve();
    let (downward, _) = lifts_downward(&upward, params, None);
    let mut curve = if downward { upward.negated() } else { upward };
    let reading = read(&mut curve, params, 0);
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

/// A moment of the evenly spaced record.
struct Moment {
    t_s: f64,
    vertical_m_s2: f64,
    up_in_sensor: Vector3<f64>,
}

/// Where a hand that starts at rest would be if its vertical acceleration were the whole truth.
#[derive(Clone, Copy)]
struct Flight {
    t_s: f64,
    accel_m_s2: f64,
    speed_m_s: f64,
    height_m: f64,
}

impl Flight {
    fn height_at_m(&self, t_s: f64) -> f64 {
        let span_s = t_s - self.t_s;
        self.height_m + span_s * (self.speed_m_s + 0.5 * span_s * self.accel_m_s2)
    }
}

/// The vertical acceleration at even moments, as the second difference of the height that it adds
/// up to: that is its mean under a triangle, which lets no tremor through, whatever the rate and
/// jitter of the samples. `None` where a hole is too long.
fn moments(oriented: &[Oriented]) -> Option<Vec<Moment>> {
    let (first, last) = (oriented.first()?, oriented.last()?);
    let vertical_m_s2: Vec<f64> = oriented.iter().map(vertical_m_s2).collect();
    let mean_m_s2 = vertical_m_s2.iter().sum::<f64>() / oriented.len() as f64;
    let mut flight: Vec<Flight> = Vec::with_capacity(oriented.len());
    for (one, vertical_m_s2) in oriented.iter().zip(vertical_m_s2) {
        let accel_m_s2 = vertical_m_s2 - mean_m_s2;
        let next = match flight.last() {
            Some(before) if one.t_s - before.t_s > MOST_GAP_S => return None,
            Some(before) => {
                let span_s = one.t_s - before.t_s;
                let accel_m_s2 = 0.5 * (before.accel_m_s2 + accel_m_s2);
                Flight {
                    t_s: one.t_s,
                    accel_m_s2: 0.0,
                    speed_m_s: before.speed_m_s + span_s * accel_m_s2,
                    height_m: before.height_m
                        + span_s * (before.speed_m_s + 0.5 * span_s * accel_m_s2),
                }
            }
            None => Flight {
                t_s: one.t_s,
                accel_m_s2: 0.0,
                speed_m_s: 0.0,
                height_m: 0.0,
            },
        };
        flight.push(Flight { accel_m_s2, ..next });
    }
    let count = ((last.t_s - first.t_s) / STEP_S) as usize + 1;
    // Each of the three places goes through the record once.
    let [mut early, mut now, mut late] = [0, 0, 0];
    let height_m = |place: &mut usize, t_s: f64| {
        while flight.get(*place + 1).is_some_and(|next| next.t_s <= t_s) {
            *place += 1;
        }
        flight.get(*place).map_or(0.0, |at| at.height_at_m(t_s))
    };
    let mut moments = Vec::with_capacity(count);
    for step in 0..count {
        let t_s = first.t_s + step as f64 * STEP_S;
        let around_m = height_m(&mut early, t_s - SPREAD_S) + height_m(&mut late, t_s + SPREAD_S);
        let rise_m = around_m - 2.0 * height_m(&mut now, t_s);
        moments.push(Moment {
            t_s,
            vertical_m_s2: rise_m / (SPREAD_S * SPREAD_S),
            up_in_sensor: oriented.get(now)?.world_from_sensor.inverse() * Vector3::z(),
        });
    }
    Some(moments)
}

fn vertical_m_s2(oriented: &Oriented) -> f64 {
    (oriented.world_from_sensor * oriented.accel_in_sensor_m_s2).z
}

/// Height against its mean over some repetitions, metres; `None` where nothing repeats.
fn height_m(moments: &[Moment]) -> Option<Vec<f64>> {
    let accel_m_s2: Vec<f64> = moments.iter().map(|m| m.vertical_m_s2).collect();
    let period = period_count(&accel_m_s2)?;
    let lead = CONTINUED_COUNT * period;
    let mut long_m_s2 = continued(accel_m_s2, period, lead);
    long_m_s2.reverse();
    let mut long_m_s2 = continued(long_m_s2, period, lead);
    long_m_s2.reverse();

    let corner_rad = CORNER_RATIO * std::f64::consts::TAU / period as f64;
    let kept = (-corner_rad).exp();
    let leak = |sum: &mut f64, value: &mut f64| {
        *sum = kept * *sum + *value * STEP_S;
        *value = *sum;
    };
    let mut sum = 0.0;
    long_m_s2.iter_mut().for_each(|value| leak(&mut sum, value));
    sum = 0.0;
    let backward = long_m_s2.iter_mut().rev();
    backward.for_each(|value| leak(&mut sum, value));
    // What the corner takes from a sinusoid of this period.
    let taken = 1.0 + CORNER_RATIO * CORNER_RATIO;
    let within = long_m_s2.iter().skip(lead).take(moments.len());
    Some(within.map(|value| -taken * value).collect())
}

/// Time after which the values are most like themselves, in steps.
fn period_count(values: &[f64]) -> Option<usize> {
    let [shortest, longest] = PERIOD_S.map(|period_s| (period_s / STEP_S) as usize);
    let likeness = |lag: usize| -> f64 {
        let later = values.get(lag..).unwrap_or_default();
        let now = values.get(..later.len()).unwrap_or_default();
        // Four sums at once, which need not wait for each other.
        let mut sums = [0.0; 4];
        let (now, later) = (now.chunks_exact(4), later.chunks_exact(4));
        let rest: f64 = now
            .remainder()
            .iter()
            .zip(later.remainder())
            .map(|(a, b)| a * b)
            .sum();
        for (now, later) in now.zip(later) {
            for (sum, (a, b)) in sums.iter_mut().zip(now.iter().zip(later)) {
                *sum += a * b;
            }
        }
        sums.iter().sum::<f64>() + rest
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

#[cfg(test)]
mod tests {
    use nalgebra::UnitQuaternion;

    use super::*;
    use crate::orientation::Oriented;

    /// A hand that goes up and down by so much in two seconds, ten times, and turns twice as often
    /// by so much, with its angle.
    fn rowing(up_m: f64, turn_deg: f64) -> (Vec<Oriented>, Curve) {
        let mut grid = Grid::new();
        let oriented = (0..1000)
            .map(|step| {
                let t_s = f64::from(step) / 50.0;
                let rate_rad_s = std::f64::consts::PI;
                let angle_deg = 0.5 * turn_deg * (1.0 - (2.0 * rate_rad_s * t_s).cos());
                let turn = Vector3::x() * angle_deg.to_radians();
                let world_from_sensor = UnitQuaternion::from_scaled_axis(turn);
                // Height is up/2 (1 - cos): its second derivative in closed form.
                let rise_m_s2 = 0.5 * up_m * rate_rad_s.powi(2) * (rate_rad_s * t_s).cos();
                grid.push(AnglePoint {
                    t_s,
                    measured_deg: angle_deg,
                    across_deg: [0.0; 2],
                    up_in_sensor: world_from_sensor.inverse() * Vector3::z(),
                    isb: None,
                });
                Oriented {
                    t_s,
                    world_from_sensor,
                    gyro_in_sensor_rad_s: Vector3::zeros(),
                    accel_in_sensor_m_s2: world_from_sensor.inverse()
                        * Vector3::new(0.0, 0.0, 9.81 + rise_m_s2),
                }
            })
            .collect();
        (oriented, grid.into_curve())
    }

    #[test]
    fn a_hand_that_goes_up_once_and_turns_twice_has_done_one() {
        let (oriented, angle) = rowing(0.5, 20.0);
        let carried = carried(&oriented, &angle, &CountParams::default()).unwrap_or_default();
        assert_eq!(carried.repetitions.len(), 10);
        for (index, repetition) in carried.repetitions.iter().enumerate() {
            let top_s = 2.0 * index as f64 + 1.0;
            assert!(
                (repetition.lift_end_s - top_s).abs() < 0.15,
                "{repetition:?}"
            );
        }
    }

    #[test]
    fn a_hand_that_its_turn_could_carry_is_not_carried() {
        let (oriented, angle) = rowing(0.5, 60.0);
        assert_eq!(carried(&oriented, &angle, &CountParams::default()), None);
        let (oriented, angle) = rowing(0.1, 5.0);
        assert_eq!(carried(&oriented, &angle, &CountParams::default()), None);
    }
}
