//! Which rises and falls of the angle are repetitions.
//!
//! Ours: turning points by hysteresis, then the counting rule of this project's plan: a repetition
//! travels at least max(6 deg, 0.35 x usual) and at least 70 % of that comes back. What the rule
//! leaves open is decided here: a level that was only passed through on the way from elsewhere is
//! not the start level, a shake is too fast to be a repetition, and a turn about another axis is
//! not this movement.

use super::curve::{Curve, STEP_S};
use super::phases::{SPEED_FLOOR_DEG_S, SPEED_RATIO, Stroke, stroke};
use super::wander::wandered;

/// What counts as a repetition.
#[derive(Debug, Clone, PartialEq)]
pub struct CountParams {
    /// Least travel, degrees (6). Smaller counts fidgets, greater misses very short ranges.
    pub least_travel_deg: f64,
    /// Least travel as a share of the usual one (0.35).
    pub least_usual_ratio: f64,
    /// Share of the travel that has to come back (0.70).
    pub least_return_ratio: f64,
    /// Shortest moving phase, seconds (0.25): the promise begins at 0.7 s, half a period of a
    /// shake ends below 0.2 s.
    pub least_stroke_s: f64,
    /// Rotation across the axis over travel about it, above which it is another movement (0.85:
    /// 40 degrees between the two axes; the natural flexion axis is oblique by 26.6 +- 4.4, Crisco
    /// et al., JBJS-A 93:169-177, 2011). A set whose movement as a rule has much of it is given
    /// more room: see [`find_all`].
    pub most_across_ratio: f64,
    /// A stop this long is a rest or a hold, seconds (0.3).
    pub dwell_s: f64,
    /// Speed under which the hand dwells, deg/s (3.0).
    pub dwell_speed_deg_s: f64,
}

impl Default for CountParams {
    fn default() -> Self {
        CountParams {
            least_travel_deg: 6.0,
            least_usual_ratio: 0.35,
            least_return_ratio: 0.70,
            least_stroke_s: 0.25,
            most_across_ratio: 0.85,
            dwell_s: 0.3,
            dwell_speed_deg_s: 3.0,
        }
    }
}

impl CountParams {
    /// Least travel of a repetition where this travel is usual, degrees.
    pub fn least_travel(&self, usual_deg: Option<f64>) -> f64 {
        let share_deg = self.least_usual_ratio * usual_deg.unwrap_or(0.0);
        self.least_travel_deg.max(share_deg)
    }
}

/// A rise from a base to a peak and the fall after it, as points of the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Excursion {
    /// Where it rises from.
    pub base: usize,
    /// Its highest point.
    pub peak: usize,
    /// Lowest point after it.
    pub back: usize,
    /// The rise.
    pub lift: Stroke,
    /// The fall.
    pub lower: Stroke,
}

impl Excursion {
    /// Travel of the lift, degrees.
    pub fn travel_deg(&self, curve: &Curve) -> f64 {
        curve.angle(self.peak) - curve.angle(self.lift.start)
    }
}

/// What was found in a stretch of the curve.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Found {
    /// Repetitions, in order.
    pub repetitions: Vec<Excursion>,
    /// Base and peak of a repetition that the end of the curve cuts.
    pub unfinished: Option<[usize; 2]>,
}

/// Repetitions of the curve from a point on, where this travel is usual (`None`: nothing known yet).
pub fn find(
    curve: &Curve,
    params: &CountParams,
    usual_deg: Option<f64>,
    clear_from: usize,
) -> Found {
    find_with(curve, params, usual_deg, clear_from, None)
}

fn find_with(
    curve: &Curve,
    params: &CountParams,
    usual_deg: Option<f64>,
    clear_from: usize,
    wandered: Option<&[usize]>,
) -> Found {
    let least_deg = params.least_travel(usual_deg);
    let mut walk = Walk {
        wandered,
        curve,
        params,
        least_deg,
        usual_deg,
        base: clear_from,
        clear_from,
        peak: None,
        before: None,
        found: Found::default(),
    };
    for turn in turning_points(&curve.angle_deg, params.least_return_ratio * least_deg) {
        match turn {
            Turn::Low(index) if index >= clear_from => walk.low(index),
            Turn::High(index) if index >= clear_from => walk.high(index),
            Turn::Low(_) | Turn::High(_) => {}
        }
    }
    walk.finish()
}

/// Repetitions of a whole set, from a point on: usual is the median travel of what is accepted, found by repeating.
/// A movement that is not about one axis has much rotation across it in every repetition: what is
/// twice the usual share, and more than the parameters allow, is another movement.
pub fn find_all(curve: &Curve, params: &CountParams, clear_from: usize) -> Found {
    let any_axis = CountParams {
        most_across_ratio: f64::INFINITY,
        ..params.clone()
    };
    let candidates = find(curve, &any_axis, None, clear_from);
    let across_ratio =
        |r: &Excursion| curve.across_between_deg(r.lift.start, r.peak) / r.travel_deg(curve);
    let shares: Vec<f64> = candidates.repetitions.iter().map(across_ratio).collect();
    let usual_share = median(&shares).unwrap_or(0.0);
    let params = &CountParams {
        most_across_ratio: params.most_across_ratio.max(2.0 * usual_share),
        ..params.clone()
    };
    let fitting: Vec<f64> = candidates
        .repetitions
        .iter()
        .filter(|r| across_ratio(r) <= params.most_across_ratio)
        .map(|r| r.travel_deg(curve))
        .collect();
    let Some(mut usual_deg) = likely_usual(&fitting) else {
        return find(curve, params, None, clear_from);
    };
    let mut found = Found::default();
    for _ in 0..10 {
        let candidates = find_with(curve, &any_axis, Some(usual_deg), clear_from, Some(&[]));
        // Where none turned about another axis the search with the limit finds the same.
        let all_fit = |found: &Found| {
            let fits = |r: &Excursion| {
                let across_deg = curve.across_between_deg(r.lift.start, r.peak);
                across_deg <= params.most_across_ratio * r.travel_deg(curve)
            };
            found.repetitions.iter().all(fits)
        };
        found = if all_fit(&candidates) {
            candidates
        } else {
            let wandered = wandered(curve, params, &candidates);
            find_with(curve, params, Some(usual_deg), clear_from, Some(&wandered))
        };
        let Some(median_deg) = median(&travels(curve, &found)) else {
            break;
        };
        if median_deg == usual_deg {
            break;
        }
        usual_deg = median_deg;
    }
    found
}

fn travels(curve: &Curve, found: &Found) -> Vec<f64> {
    let travel = |excursion: &Excursion| excursion.travel_deg(curve);
    found.repetitions.iter().map(travel).collect()
}

/// Median, or `None` of nothing.
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let upper = sorted.get(sorted.len() / 2)?;
    let lower = sorted.get(sorted.len().saturating_sub(1) / 2)?;
    Some(0.5 * (upper + lower))
}

/// The travel around which most of the movement gathers: neither the many small fidgets nor one
/// or two large moves may set the scale.
fn likely_usual(travels_deg: &[f64]) -> Option<f64> {
    let score = |usual_deg: f64| {
        let alike = travels_deg
            .iter()
            .filter(|travel| (0.5 * usual_deg..=2.0 * usual_deg).contains(*travel))
            .count();
        alike as f64 * usual_deg.sqrt()
    };
    travels_deg
        .iter()
        .copied()
        .max_by(|a, b| score(*a).total_cmp(&score(*b)))
}

/// A turning point of the angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Turn {
    /// A lowest point.
    Low(usize),
    /// A highest point.
    High(usize),
}

/// Lows and highs, alternating, each confirmed by a way back of at least `hysteresis_deg`; the
/// last one may be unconfirmed.
pub fn turning_points(angle_deg: &[f64], hysteresis_deg: f64) -> Vec<Turn> {
    let mut turns = Vec::new();
    let Some(&first_deg) = angle_deg.first() else {
        return turns;
    };
    let (mut low, mut low_deg) = (0, first_deg);
    let (mut high, mut high_deg) = (0, first_deg);
    // +1 rising towards a high, -1 falling towards a low, 0 not known yet.
    let mut heading = 0;
    for (index, &value_deg) in angle_deg.iter().enumerate() {
        if value_deg > high_deg {
            (high, high_deg) = (index, value_deg);
        }
        if value_deg < low_deg {
            (low, low_deg) = (index, value_deg);
        }
        if heading >= 0 && high_deg - value_deg >= hysteresis_deg {
            if heading == 0 && high == 0 {
                // The record begins by falling: its first point is no turning point.
            } else {
                if heading == 0 {
                    turns.push(Turn::Low(low.min(high)));
                }
                turns.push(Turn::High(high));
            }
            heading = -1;
            (low, low_deg) = (index, value_deg);
        } else if heading <= 0 && value_deg - low_deg >= hysteresis_deg {
            turns.push(Turn::Low(low));
            heading = 1;
            (high, high_deg) = (index, value_deg);
        }
    }
    match heading {
        1 => turns.push(Turn::High(high)),
        -1 => turns.push(Turn::Low(low)),
        _ => {}
    }
    turns
}

/// The walk over turning points that puts excursions together.
struct Walk<'a> {
    curve: &'a Curve,
    params: &'a CountParams,
    least_deg: f64,
    usual_deg: Option<f64>,
    /// Peaks of lifts that are about another axis and yet of the set, where the whole set is looked
    /// at.
    wandered: Option<&'a [usize]>,
    /// Lowest point since the last repetition.
    base: usize,
    /// A lift may not start before this point: a shake or the last repetition lies there.
    clear_from: usize,
    /// Highest point since the base.
    peak: Option<usize>,
    /// A low that did not come back far enough, and the peak before it.
    before: Option<usize>,
    found: Found,
}

impl Walk<'_> {
    fn high(&mut self, index: usize) {
        let higher = |peak: usize| self.curve.angle(index) > self.curve.angle(peak);
        if self.peak.is_none_or(higher) {
            self.peak = Some(index);
        }
    }

    fn low(&mut self, index: usize) {
        let Some(peak) = self.peak else {
            self.base = index;
            return;
        };
        if self.comes_back(self.base, peak, index) {
            self.close(self.base, peak, index);
        } else if let Some(base) = self.shelf_before(peak, index) {
            self.close(base, peak, index);
        } else if let Some(base) = self.before {
            // Twice not enough of the way back: judge what came since the last low by itself.
            let high = self.highest(base, index);
            if self.comes_back(base, high, index) {
                self.close(base, high, index);
            } else {
                self.before = Some(index);
            }
        } else {
            self.before = Some(index);
        }
    }

    fn highest(&self, from: usize, to: usize) -> usize {
        (from..=to)
            .max_by(|&a, &b| self.curve.angle(a).total_cmp(&self.curve.angle(b)))
            .unwrap_or(from)
    }

    fn comes_back(&self, base: usize, peak: usize, back: usize) -> bool {
        let up_deg = self.curve.angle(peak) - self.curve.angle(base);
        let down_deg = self.curve.angle(peak) - self.curve.angle(back);
        // A lift from deeper than usual is over when the hand is back where it usually starts.
        let due_deg = self
            .usual_deg
            .map_or(up_deg, |usual_deg| up_deg.min(usual_deg));
        up_deg > 0.0 && down_deg >= self.params.least_return_ratio * due_deg
    }

    /// A stop on the way up, from which the rise to the peak is matched by the fall after it: the
    /// hand came from elsewhere, rested, and only then lifted.
    fn shelf_before(&self, peak: usize, back: usize) -> Option<usize> {
        let down_deg = self.curve.angle(peak) - self.curve.angle(back);
        let lowest_deg = self.curve.angle(peak) - down_deg / self.params.least_return_ratio;
        let highest_deg = self.curve.angle(back) + 0.3 * down_deg;
        self.last_dwell(self.base, peak, lowest_deg, highest_deg)
    }

    /// The last stop between two points at a level between two angles: a point within it, so long
    /// before its end that whatever leaves it slowly starts after that point.
    fn last_dwell(&self, from: usize, to: usize, low_deg: f64, high_deg: f64) -> Option<usize> {
        let needed = (self.params.dwell_s / STEP_S) as usize;
        let angles_deg = self.curve.angle_deg.get(from..=to)?.iter();
        let speeds_deg_s = self.curve.speed_deg_s.get(from..=to)?.iter();
        let mut length = 0;
        let points = angles_deg.rev().zip(speeds_deg_s.rev());
        for (index, (angle_deg, speed_deg_s)) in (from..=to).rev().zip(points) {
            if speed_deg_s.abs() < self.params.dwell_speed_deg_s
                && (low_deg..=high_deg).contains(angle_deg)
            {
                length += 1;
                if length >= needed {
                    return Some(index);
                }
            } else {
                length = 0;
            }
        }
        None
    }

    fn first_dwell(&self, from: usize, to: usize, low_deg: f64, high_deg: f64) -> Option<usize> {
        let needed = (self.params.dwell_s / STEP_S) as usize;
        let mut length = 0;
        for index in from..=to {
            let level = (low_deg..=high_deg).contains(&self.curve.angle(index));
            if level && self.curve.speed(index).abs() < self.params.dwell_speed_deg_s {
                length += 1;
                if length >= needed {
                    return Some(index);
                }
            } else {
                length = 0;
            }
        }
        None
    }

    /// Takes a rise and fall as a repetition if it is one, and starts afresh from its low.
    fn close(&mut self, base: usize, peak: usize, back: usize) {
        match self.judge(base, peak, back) {
            Judgement::Repetition(excursion) => {
                self.clear_from = excursion.lower.end;
                self.found.repetitions.push(excursion);
            }
            Judgement::Shake => self.clear_from = back,
            Judgement::Nothing => {}
        }
        self.base = back;
        self.peak = None;
        self.before = None;
    }

    fn judge(&self, base: usize, peak: usize, back: usize) -> Judgement {
        let Some(excursion) = self.place(base.max(self.clear_from), peak, back) else {
            return Judgement::Nothing;
        };
        let lasting_s = |stroke: &Stroke| (stroke.end - stroke.start) as f64 * STEP_S;
        let shortest_s = lasting_s(&excursion.lift).min(lasting_s(&excursion.lower));
        if shortest_s < self.params.least_stroke_s {
            return Judgement::Shake;
        }
        let travel_deg = excursion.travel_deg(self.curve);
        let across_deg = self
            .curve
            .across_between_deg(excursion.lift.start, excursion.peak);
        let another = across_deg > self.params.most_across_ratio * travel_deg
            && !self
                .wandered
                .is_some_and(|peaks| peaks.contains(&excursion.peak));
        if travel_deg < self.least_deg || another {
            return Judgement::Nothing;
        }
        Judgement::Repetition(excursion)
    }

    /// Places the two strokes, having first set aside what the hand did in the rests around them.
    fn place(&self, base: usize, peak: usize, back: usize) -> Option<Excursion> {
        let base = self.last_stop_before(base, peak, back).unwrap_or(base);
        let base = self.arrival(base, peak, back).unwrap_or(base);
        let lift = stroke(self.curve, base, peak, 1.0)?;
        let level_deg = self.curve.angle(lift.start);
        let near_deg = 0.15 * (self.curve.angle(peak) - level_deg);
        // A very slow end still falls, within the stop: the stroke may go on until it does not.
        let until = self
            .first_dwell(peak, back, level_deg - near_deg, level_deg + near_deg)
            .and_then(|stop| (stop..=back).find(|&i| self.curve.speed(i) > -SPEED_FLOOR_DEG_S))
            .unwrap_or(back);
        let lower = stroke(self.curve, peak, until, -1.0)?;
        Some(Excursion {
            base,
            peak,
            back: until,
            lift,
            lower,
        })
    }

    /// The last stop before a rise, near the level that it comes from or goes back to, or from
    /// which the repetition before was lifted: what the hand did in the rest before that stop is no
    /// part of the lift.
    fn last_stop_before(&self, base: usize, peak: usize, back: usize) -> Option<usize> {
        let stop_near = |level: usize| {
            let level_deg = self.curve.angle(level);
            let near_deg = 0.2 * (self.curve.angle(peak) - level_deg).abs();
            self.last_dwell(base, peak, level_deg - near_deg, level_deg + near_deg)
        };
        let before = self.found.repetitions.last();
        let started = before.and_then(|repetition| stop_near(repetition.lift.start));
        stop_near(base).max(stop_near(back)).max(started)
    }

    /// Where a hand that was brought up from elsewhere arrived before the first lift: the last moment
    /// at which it stood, however briefly, at the level that the lift comes back to.
    fn arrival(&self, base: usize, peak: usize, back: usize) -> Option<usize> {
        if self.wandered.is_none() || !self.found.repetitions.is_empty() {
            return None;
        }
        let level_deg = self.curve.angle(back);
        let travel_deg = self.curve.angle(peak) - level_deg;
        let deeper_deg = level_deg - self.curve.angle(base);
        if deeper_deg < self.params.least_usual_ratio * travel_deg {
            return None;
        }
        let rise = base..=peak;
        let fastest_deg_s = rise
            .clone()
            .map(|i| self.curve.speed(i))
            .fold(0.0, f64::max);
        let stands_deg_s = (SPEED_RATIO * fastest_deg_s).max(SPEED_FLOOR_DEG_S);
        rise.rev().find(|&index| {
            let off_deg = (self.curve.angle(index) - level_deg).abs();
            off_deg <= 0.2 * travel_deg && self.curve.speed(index).abs() < stands_deg_s
        })
    }

    fn finish(mut self) -> Found {
        if let Some(peak) = self.peak {
            let base = self.base.max(self.clear_from);
            if self.curve.angle(peak) - self.curve.angle(base) >= self.least_deg {
                self.found.unfinished = Some([base, peak]);
            }
        }
        self.found
    }
}

enum Judgement {
    Repetition(Excursion),
    Shake,
    Nothing,
}
