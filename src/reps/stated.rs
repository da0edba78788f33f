//! How far a repetition's range and times may be off: half-widths of 95 % intervals.
//!
//! Ours. One sensor cannot tell a forearm that sways from a wrist that moves, but sway shows itself
//! twice: across the measured axis, where the movement does nothing (what is in proportion to the
//! angle is an axis that lies a little off, and is taken out), and about the measured axis in the
//! pauses. The first gives how far sway wanders in the time of a stroke for each deg/s of its
//! speed, the second its speed about the measured axis; speed beyond what the other axes make
//! likely is the wrist's own and no sway. Times are read once more with the speed threshold raised
//! and lowered by the speed's error: as far as a start or end moves, it may be off. A start or end
//! beside a gap may lie anywhere in it, and a highest or lowest angle there is unknown. Sway that
//! was seen in few pauses is known less well: its part is widened by Student's t.
//!
//! The sizes that a single recording cannot show (scale of the gyroscope, what smoothing does to a
//! quick start) were found with the simulator on seeds of their own; they stand for common consumer
//! parts and are no measurement of a real unit. `cargo bench --bench trust -- stated` counts on
//! fresh seeds how often the intervals hold the truth.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::curve::{Curve, STEP_S};
use super::excursion::{Excursion, median};
use super::measure::Repetition;
use super::phases::Stroke;

/// What errors are read and stated with.
#[derive(Debug, Clone, PartialEq)]
pub struct StatedParams {
    /// So much of a pause beside a stroke is its tail, in steps of the curve (10). Smaller takes
    /// the end of a stroke for sway.
    pub tail_count: usize,
    /// Speed across the axis is taken over twice so many steps, between means over as many to both
    /// sides (8): speed along it is smoothed alike, and a tremor is no sway in either.
    pub half_span_count: usize,
    /// Squared speed about the measured axis that squared speed across it makes likely, as a
    /// multiple (38.5): a sway whose direction is drawn at random exceeds it once in forty times.
    pub most_speed_ratio: f64,
    /// Where the other axes show nothing, sway wanders so far for each deg/s, seconds (1.2),
    pub usual_wander_s: f64,
    /// and so much speed across them is nothing, deg/s (0.1).
    pub nothing_deg_s: f64,
    /// Sway turns back: it never wanders farther than its speed in this time, seconds (2).
    pub most_wander_s: f64,
    /// A range takes the highest angle of a hold and the lower of two ends, of which sway makes
    /// more than its plain difference between two moments, as a multiple (1.65).
    pub extremes_ratio: f64,
    /// Standard error of the range in proportion to it (0.0031): scale and axis of the gyroscope.
    pub scale_ratio: f64,
    /// Standard error of the axis of a calibration, radians (0.03): so much of what turns across it is
    /// read as a turn about it. Where the axis is that of the movement itself, nothing lasting does.
    pub axis_rad: f64,
    /// Standard error of a range of nothing, degrees (0.05): noise of the unit.
    pub floor_deg: f64,
    /// The threshold of a phase is moved by so many standard deviations of the speed (2.4).
    pub threshold_count: f64,
    /// Standard deviation of the speed where nothing sways, deg/s (0.03).
    pub speed_floor_deg_s: f64,
    /// Degrees of freedom that a pause gives to what is known of sway (3): it turns back about once
    /// in a pause.
    pub pause_freedom_count: f64,
    /// Smoothing shifts a start or end by this over the time in which half the peak speed is
    /// reached, s² (0.0028): the quicker, the more.
    pub smoothing_s2: f64,
}

impl Default for StatedParams {
    fn default() -> StatedParams {
        StatedParams {
            tail_count: 10,
            half_span_count: 8,
            most_speed_ratio: 38.5,
            usual_wander_s: 1.2,
            nothing_deg_s: 0.1,
            most_wander_s: 2.0,
            extremes_ratio: 1.65,
            scale_ratio: 0.0031,
            axis_rad: 0.03,
            floor_deg: 0.05,
            threshold_count: 2.4,
            speed_floor_deg_s: 0.03,
            pause_freedom_count: 3.0,
            smoothing_s2: 0.0028,
        }
    }
}

/// 97.5th percentile of the standard normal distribution.
pub const NORMAL_95: f64 = 1.959_963_984_540_054;
/// The smoothing of a point reaches so far: three standard deviations, in steps of the curve.
const BESIDE_COUNT: usize = 24;
/// A start so quick is as quick as the smoothing lets it be, seconds.
const QUICKEST_S: f64 = 0.03;

/// One pause: mean squares of speed, (deg/s)².
#[derive(Debug, Clone, Copy, PartialEq)]
struct Pause {
    along: f64,
    across: f64,
}

/// The sway about the measured axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sway {
    /// Standard deviation of its speed, deg/s.
    pub speed_deg_s: f64,
    /// Standard deviation of how far it wanders in the time of a stroke, degrees.
    pub wander_deg: f64,
}

/// What the repetitions of a set show of the arm's unsteadiness, and what follows for their errors.
#[derive(Debug, Clone, Default)]
pub struct Unsteadiness {
    params: StatedParams,
    /// Turn of each stroke: about the measured axis and the two across it, degrees.
    strokes_deg: Vec<[f64; 3]>,
    holds: Vec<Pause>,
    rests: Vec<Pause>,
    /// Where the repetition before ended.
    last_end_s: Option<f64>,
}

impl Unsteadiness {
    /// Takes the next repetition of the set, on a curve that holds it and, as far as it is kept, the
    /// rest before it.
    pub fn take(&mut self, curve: &Curve, excursion: &Excursion) {
        let Excursion { lift, lower, .. } = excursion;
        for level in [lift.start, lower.end] {
            self.strokes_deg.push(turn_deg(
                curve,
                level,
                excursion.peak,
                self.params.half_span_count,
            ));
        }
        self.holds.extend(self.pause(curve, lift.end, lower.start));
        let end_s = curve.time_s(lower.end);
        if let Some(last_end_s) = self.last_end_s.replace(end_s) {
            let from = curve.index_of(last_end_s);
            self.rests.extend(self.pause(curve, from, lift.start));
        }
    }

    fn pause(&self, curve: &Curve, from: usize, to: usize) -> Option<Pause> {
        let half = self.params.half_span_count;
        let from = from + self.params.tail_count;
        let to = to.checked_sub(self.params.tail_count)?;
        if from >= to || curve.has_gap(from, to) {
            return None;
        }
        let span_s = 2.0 * half as f64 * STEP_S;
        let (mut along, mut across) = (0.0, 0.0);
        for index in from..to {
            let [_, y, z] = turn_deg(curve, index.saturating_sub(half), index + half, half);
            along += curve.speed(index).powi(2);
            across += 0.5 * (y.powi(2) + z.powi(2)) / span_s.powi(2);
        }
        let count = (to - from) as f64;
        Some(Pause {
            along: along / count,
            across: across / count,
        })
    }

    /// Turn across the axis for each degree about it, by least squares.
    fn oblique_ratio(&self) -> [f64; 2] {
        let strokes = &self.strokes_deg;
        let squares: f64 = strokes.iter().map(|[along, ..]| along * along).sum();
        let products = strokes.iter().fold([0.0, 0.0], |[y, z], stroke| {
            [y + stroke[0] * stroke[1], z + stroke[0] * stroke[2]]
        });
        products.map(|product: f64| {
            if squares > 0.0 {
                product / squares
            } else {
                0.0
            }
        })
    }

    /// Mean square of how far the arm wanders across the axis in a stroke, degrees², less what goes
    /// in proportion to the angle.
    fn wander_across(&self) -> f64 {
        let [y, z] = self.oblique_ratio();
        let left = self.strokes_deg.iter().map(|stroke| {
            (stroke[1] - y * stroke[0]).powi(2) + (stroke[2] - z * stroke[0]).powi(2)
        });
        // The slope takes one of them.
        let count = self.strokes_deg.len().saturating_sub(1).max(1) as f64;
        0.5 * left.sum::<f64>() / count
    }

    /// The sway that the repetitions taken so far show.
    pub fn sway(&self) -> Sway {
        let params = &self.params;
        let wander_across = self.wander_across();
        let median_of = |pauses: &[Pause], value: fn(&Pause) -> f64| {
            let values: Vec<f64> = pauses.iter().map(value).collect();
            median(&values)
        };
        // A hold may sag and a rest be fidgeted in: sway goes on in both.
        let along = match [&self.holds, &self.rests].map(|p| median_of(p, |pause| pause.along)) {
            [Some(hold), Some(rest)] => Some(hold.min(rest)),
            [hold, rest] => hold.or(rest),
        };
        let all: Vec<Pause> = self.holds.iter().chain(&self.rests).copied().collect();
        let across = median_of(&all, |pause| pause.across);
        let (along, across) = match (along, across) {
            (Some(along), Some(across)) => (along.min(params.most_speed_ratio * across), across),
            // Without a pause: as much as across.
            _ => [wander_across / params.usual_wander_s.powi(2); 2].into(),
        };
        let nothing = params.nothing_deg_s.powi(2);
        let usual = nothing * params.usual_wander_s.powi(2);
        let wander_s = ((wander_across + usual) / (across + nothing)).sqrt();
        let speed_deg_s = along.sqrt();
        Sway {
            speed_deg_s,
            wander_deg: speed_deg_s * wander_s.min(params.most_wander_s),
        }
    }

    /// By how much wider an interval has to be for sway that was seen so little: Student's t over
    /// the normal distribution.
    fn few_ratio(&self) -> f64 {
        let pauses = (self.holds.len() + self.rests.len()) as f64;
        let freedom = (self.params.pause_freedom_count * pauses).max(self.strokes_deg.len() as f64);
        let student = StudentsT::new(0.0, 1.0, freedom.max(1.0));
        student.map_or(1.0, |student| student.inverse_cdf(0.975) / NORMAL_95)
    }

    /// States the errors of a repetition that lies on the curve between two points, those of the
    /// strokes beside it.
    pub fn state(
        &self,
        curve: &Curve,
        excursion: &Excursion,
        within: [usize; 2],
        repetition: &mut Repetition,
    ) {
        let Excursion { lift, lower, .. } = excursion;
        let sway = self.sway();
        let speed_deg_s =
            (self.few_ratio() * sway.speed_deg_s).hypot(self.params.speed_floor_deg_s);
        let off_deg_s = self.params.threshold_count * speed_deg_s;
        let up = Edges::of(curve, lift, 1.0, off_deg_s, [within[0], lower.start]);
        let down = Edges::of(curve, lower, -1.0, off_deg_s, [lift.end, within[1]]);
        let length_s = |edges: [Edge; 2]| {
            let [a, b] = edges;
            let smoothed_s = edges.map(|e| self.params.smoothing_s2 / e.rise_s.max(QUICKEST_S));
            let moved_s = a.moved_s.hypot(b.moved_s);
            moved_s.hypot(smoothed_s.iter().sum())
        };
        repetition.lift_error_s = Some(length_s([up.start, up.end]));
        repetition.hold_error_s = Some(length_s([up.end, down.start]));
        repetition.lower_error_s = Some(length_s([down.start, down.end]));
        let levels = [
            [lift.start, lift.start],
            [lift.end, lower.start],
            [lower.end, lower.end],
        ];
        let hidden = levels.into_iter().any(|level| hides_level(curve, level));
        repetition.range_error_deg = (!hidden).then(|| {
            let scale_deg = self.params.scale_ratio * repetition.range_deg;
            let sway_deg = self.few_ratio() * self.params.extremes_ratio * sway.wander_deg;
            let [y, z] = self.oblique_ratio();
            let fitted_deg = self.params.axis_rad * y.hypot(z) * repetition.range_deg;
            let unit_deg = scale_deg.hypot(self.params.floor_deg);
            NORMAL_95 * unit_deg.hypot(sway_deg).hypot(fitted_deg)
        });
    }
}

/// Turn from one point to another: about the measured axis, and across it from mean to mean over so
/// many points to both sides, degrees.
fn turn_deg(curve: &Curve, from: usize, to: usize, half: usize) -> [f64; 3] {
    let [a, b] = [from, to].map(|index| curve.mean_across_deg(index, half));
    let along_deg = curve.angle(to) - curve.angle(from);
    [along_deg, b[0] - a[0], b[1] - a[1]]
}

/// One end of a stroke.
#[derive(Debug, Clone, Copy)]
struct Edge {
    /// As far as it may have moved, seconds.
    moved_s: f64,
    /// Time from here to half the peak speed, seconds.
    rise_s: f64,
}

/// Both ends of a stroke.
#[derive(Debug, Clone, Copy)]
struct Edges {
    start: Edge,
    end: Edge,
}

impl Edges {
    /// How far the ends of a stroke move, between two points at most, where its threshold is off by
    /// so much; `direction` is +1 for rising, -1 for falling.
    fn of(
        curve: &Curve,
        stroke: &Stroke,
        direction: f64,
        off_deg_s: f64,
        [first, last]: [usize; 2],
    ) -> Edges {
        let Stroke { start, end, .. } = *stroke;
        let (first, last) = (first.min(start), last.max(end));
        let speed = |index: usize| direction * curve.speed(index);
        let high = |index: &usize| speed(*index) >= stroke.threshold_deg_s + off_deg_s;
        let low = |index: &usize| speed(*index) < stroke.threshold_deg_s - off_deg_s;
        let fast = |index: &usize| speed(*index) >= 0.5 * stroke.peak_speed_deg_s;
        let middle = start + (end - start) / 2;
        let steps_s = |a: usize, b: usize| a.abs_diff(b) as f64 * STEP_S;
        let start_edge = Edge {
            moved_s: steps_s(start, (start..middle).find(high).unwrap_or(middle))
                .max(steps_s(
                    start,
                    (first..=start).rev().find(low).unwrap_or(first),
                ))
                .max(hidden_s(curve, start)),
            rise_s: steps_s(start, (start..=end).find(fast).unwrap_or(end)),
        };
        // A stroke that has just ended is not followed far: its end may move as its start does.
        let later_s = match (end..=last).find(low) {
            Some(later) => steps_s(end, later),
            None => steps_s(end, last).max(start_edge.moved_s),
        };
        let end_edge = Edge {
            moved_s: steps_s(end, (middle..=end).rev().find(high).unwrap_or(middle))
                .max(later_s)
                .max(hidden_s(curve, end)),
            rise_s: steps_s(end, (start..=end).rev().find(fast).unwrap_or(start)),
        };
        Edges {
            start: start_edge,
            end: end_edge,
        }
    }
}

/// How far the farther end of the gap is, where a point lies in one or so near that its smoothing
/// reaches into it, seconds.
fn hidden_s(curve: &Curve, index: usize) -> f64 {
    let mut around = index.saturating_sub(BESIDE_COUNT)..=index + BESIDE_COUNT;
    let Some(inside) = around.find(|&point| curve.is_gap(point)) else {
        return 0.0;
    };
    gap_around(curve, inside)
        .map(|end| (curve.time_s(end) - curve.time_s(index)).abs())
        .into_iter()
        .fold(0.0, f64::max)
}

/// Whether a gap may hide how far the hand went between two points.
fn hides_level(curve: &Curve, [from, to]: [usize; 2]) -> bool {
    curve.has_gap(from.saturating_sub(BESIDE_COUNT), to + BESIDE_COUNT)
}

/// The points on both sides of the gap that a point lies in.
fn gap_around(curve: &Curve, inside: usize) -> [usize; 2] {
    let before = (0..inside).rev().find(|&point| !curve.is_gap(point));
    let after = (inside..curve.len()).find(|&point| !curve.is_gap(point));
    let last = curve.len().saturating_sub(1);
    [before.unwrap_or(0), after.unwrap_or(last)]
}

/// Median of stated errors, which is that of the median of what they belong to: what shifts one
/// repetition of a session often shifts all. `None` where more than half are unknown.
pub fn usual_error(reps: &[&Repetition], error: fn(&Repetition) -> Option<f64>) -> Option<f64> {
    let known: Vec<f64> = reps.iter().filter_map(|rep| error(rep)).collect();
    median(&known).filter(|_| 2 * known.len() >= reps.len())
}

#[cfg(test)]
mod tests;
