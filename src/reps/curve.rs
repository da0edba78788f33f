//! The measured angle on an even grid, smoothed without delay, with its speed.
//!
//! Ours: samples come at any rate, with jitter and holes; levels, peaks and speeds want an even
//! grid. The angle is interpolated to 100 Hz and smoothed by a symmetric kernel, so nothing moves
//! in time. The kernel is the fourth-order Gaussian K(t) = G(t) (3/2 - t²/(2 σ²)) (M. P. Wand and
//! M. C. Jones, Kernel Smoothing, 1995, sec. 2.8: G of order 4): its second moment is zero, so it
//! does not round off the smooth start and end of a stroke as a plain Gaussian would. Its gain is
//! (1 + u) exp(-u), u = (2 π f σ)²/2: with σ = 0.08 s it is 0.71 at 2.9 Hz, 0.015 at 7 Hz. A tremor
//! of 0.6 degrees at 7 Hz, 26 deg/s at its fastest, is left with 0.4 deg/s.

use std::sync::Arc;

use nalgebra::Vector3;

use crate::joint::AnglePoint;

/// Grid points a second.
pub const GRID_HZ: f64 = 100.0;
/// Time between grid points, seconds.
pub const STEP_S: f64 = 1.0 / GRID_HZ;
/// Width of the kernel, in steps.
const SIGMA_COUNT: f64 = 8.0;
/// Half-length of the kernel, in steps: 3.5 σ. The smoothed angle at a time needs the angle up to
/// this much later.
pub const LOOK_AHEAD_COUNT: usize = 28;
/// A stroke that starts or ends so near the record's edge, in steps, is cut by it.
pub const AT_EDGE_COUNT: usize = 2;
/// A hole between samples longer than this is a gap, seconds.
pub const GAP_S: f64 = 0.25;

/// Of a longer gap only so much gets grid points, seconds: nothing is known of the rest.
const LONGEST_GAP_S: f64 = 10.0;

/// Room is made for no more than this at once, seconds: time stamps may be absurd.
const MOST_ROOM_S: f64 = 4.0 * 3600.0;

/// Time that the grid leaps over within a long gap.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Leap {
    /// The first point after the leap.
    index: usize,
    /// How much time is left out, seconds.
    extra_s: f64,
}

/// What is known of a grid point beside its angle.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Beside {
    /// Rotation across the measured axis, degrees.
    across_deg: [f64; 2],
    /// Up, seen from the sensor.
    up_in_sensor: Vector3<f64>,
    /// No sample is near.
    gap: bool,
}

/// Angle points put on the even grid as they come.
#[derive(Debug, Clone, Default)]
pub struct Grid {
    start_s: f64,
    latest: Option<AnglePoint>,
    measured_deg: Vec<f64>,
    beside: Vec<Beside>,
    leaps: Vec<Leap>,
}

impl Grid {
    /// An empty grid; its first point falls on the first sample.
    pub fn new() -> Grid {
        Grid::default()
    }

    /// An empty grid with room for so many seconds without long gaps.
    pub fn lasting(seconds: f64) -> Grid {
        let count = (seconds.clamp(0.0, MOST_ROOM_S) * GRID_HZ) as usize + 2;
        Grid {
            measured_deg: Vec::with_capacity(count),
            beside: Vec::with_capacity(count),
            ..Grid::default()
        }
    }

    /// Takes the next sample; times must not decrease.
    pub fn push(&mut self, point: AnglePoint) {
        let Some(before) = self.latest else {
            self.start_s = point.t_s;
            let beside = Beside {
                across_deg: point.across_deg,
                up_in_sensor: point.up_in_sensor,
                gap: false,
            };
            self.append(point.measured_deg, beside);
            self.latest = Some(point);
            return;
        };
        let span_s = point.t_s - before.t_s;
        let is_gap = span_s > GAP_S;
        if span_s > LONGEST_GAP_S {
            self.leaps.push(Leap {
                index: self.measured_deg.len() + (0.5 * LONGEST_GAP_S * GRID_HZ) as usize,
                extra_s: span_s - LONGEST_GAP_S,
            });
        }
        loop {
            let next_s = time_at(self.start_s, &self.leaps, self.measured_deg.len() as f64);
            if next_s > point.t_s {
                break;
            }
            let share = if span_s > 0.0 {
                (next_s - before.t_s) / span_s
            } else {
                1.0
            };
            let mix = |a: f64, b: f64| a + (b - a) * share;
            let [a0, a1] = before.across_deg;
            let [b0, b1] = point.across_deg;
            let beside = Beside {
                across_deg: [mix(a0, b0), mix(a1, b1)],
                up_in_sensor: before.up_in_sensor.lerp(&point.up_in_sensor, share),
                gap: is_gap,
            };
            self.append(mix(before.measured_deg, point.measured_deg), beside);
        }
        self.latest = Some(point);
    }

    fn append(&mut self, measured_deg: f64, beside: Beside) {
        self.measured_deg.push(measured_deg);
        self.beside.push(beside);
    }

    /// Number of grid points.
    pub fn len(&self) -> usize {
        self.measured_deg.len()
    }

    /// Whether there is no point yet.
    pub fn is_empty(&self) -> bool {
        self.measured_deg.is_empty()
    }

    /// Highest less lowest angle of all points, degrees.
    pub fn spread_deg(&self) -> f64 {
        let low = self
            .measured_deg
            .iter()
            .copied()
            .fold(f64::INFINITY, f64::min);
        let high = self
            .measured_deg
            .iter()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        (high - low).max(0.0)
    }

    /// Forgets the first points.
    pub fn drop_front(&mut self, count: usize) {
        let count = count.min(self.len());
        self.measured_deg.drain(..count);
        self.beside.drain(..count);
        self.start_s = time_at(self.start_s, &self.leaps, count as f64);
        self.leaps.retain(|leap| leap.index > count);
        for leap in &mut self.leaps {
            leap.index -= count;
        }
    }

    /// The smoothed curve of all points; near both ends the angle is continued by its mirror
    /// image through the end point.
    pub fn curve(&self) -> Curve {
        self.clone().into_curve()
    }

    /// The same, for a grid that is not needed any more.
    pub fn into_curve(self) -> Curve {
        let angle_deg = smoothed(&self.measured_deg);
        let speed_deg_s = speeds(&angle_deg);
        Curve {
            start_s: self.start_s,
            angle_deg,
            speed_deg_s,
            beside: Arc::new(self.beside),
            leaps: self.leaps,
        }
    }
}

/// Time of a point of a grid, which may lie between two points, seconds.
fn time_at(start_s: f64, leaps: &[Leap], point: f64) -> f64 {
    let leapt_s: f64 = leaps
        .iter()
        .filter(|leap| leap.index as f64 <= point)
        .map(|leap| leap.extra_s)
        .sum();
    start_s + point * STEP_S + leapt_s
}

/// The smoothed angle and its speed on the grid.
#[derive(Debug, Clone, Default)]
pub struct Curve {
    /// Time of the first point, seconds.
    pub start_s: f64,
    /// Smoothed angle, degrees.
    pub angle_deg: Vec<f64>,
    /// Its derivative, deg/s.
    pub speed_deg_s: Vec<f64>,
    beside: Arc<Vec<Beside>>,
    leaps: Vec<Leap>,
}

impl Curve {
    /// Number of points.
    pub fn len(&self) -> usize {
        self.angle_deg.len()
    }

    /// Whether there is no point.
    pub fn is_empty(&self) -> bool {
        self.angle_deg.is_empty()
    }

    /// The first points alone.
    pub fn upto(mut self, count: usize) -> Curve {
        self.angle_deg.truncate(count);
        self.speed_deg_s.truncate(count);
        self
    }

    /// Time of a point, seconds.
    pub fn time_s(&self, index: usize) -> f64 {
        self.time_at_s(index as f64)
    }

    /// Time of a place between two points, seconds.
    pub fn time_at_s(&self, point: f64) -> f64 {
        time_at(self.start_s, &self.leaps, point)
    }

    /// The point nearest a time.
    pub fn index_of(&self, t_s: f64) -> usize {
        let last = self.len().saturating_sub(1);
        if self.leaps.is_empty() {
            let steps = ((t_s - self.start_s) * GRID_HZ).round().max(0.0) as usize;
            return steps.min(last);
        }
        let (mut low, mut high) = (0, last);
        while low < high {
            let middle = (low + high) / 2;
            if self.time_s(middle) + 0.5 * STEP_S < t_s {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        low
    }

    /// Smoothed angle at a point (the last one, where the index lies beyond).
    pub fn angle(&self, index: usize) -> f64 {
        nth(&self.angle_deg, index)
    }

    /// Speed at a point.
    pub fn speed(&self, index: usize) -> f64 {
        nth(&self.speed_deg_s, index)
    }

    /// Rotation across the axis between two points, degrees.
    pub fn across_between_deg(&self, from: usize, to: usize) -> f64 {
        let [first, second] = self.across_from_deg(from, to);
        first.hypot(second)
    }

    /// Turn from one point to another: about the measured axis and the two across it, degrees.
    pub fn turn_between_deg(&self, from: usize, to: usize) -> Vector3<f64> {
        let [first, second] = self.across_from_deg(from, to);
        Vector3::new(self.angle(to) - self.angle(from), first, second)
    }

    /// Mean rotation across the measured axis over so many points to both sides of one, degrees.
    pub fn mean_across_deg(&self, index: usize, half: usize) -> [f64; 2] {
        let from = index.saturating_sub(half);
        let own = self.beside.get(from..(index + half + 1).min(self.len()));
        let own = own.unwrap_or(&[]);
        let count = own.len().max(1) as f64;
        let sum = own.iter().fold([0.0; 2], |[a, b], beside| {
            let [own_a, own_b] = beside.across_deg;
            [a + own_a, b + own_b]
        });
        sum.map(|sum| sum / count)
    }

    /// Greatest rotation across the axis from the first of a span of points to any of them,
    /// degrees.
    pub fn most_across_deg(&self, from: usize, to: usize) -> f64 {
        let squared = |index: usize| {
            let [first, second] = self.across_from_deg(from, index);
            first * first + second * second
        };
        (from..=to).map(squared).fold(0.0, f64::max).sqrt()
    }

    fn across_from_deg(&self, from: usize, to: usize) -> [f64; 2] {
        match (self.beside.get(from), self.beside.get(to)) {
            (Some(a), Some(b)) => {
                let ([a0, a1], [b0, b1]) = (a.across_deg, b.across_deg);
                [b0 - a0, b1 - a1]
            }
            _ => [0.0; 2],
        }
    }

    /// By how much the hand is held otherwise at two points, whatever the heading, degrees.
    pub fn tilt_between_deg(&self, from: usize, to: usize) -> f64 {
        match (self.beside.get(from), self.beside.get(to)) {
            (Some(a), Some(b)) => a.up_in_sensor.angle(&b.up_in_sensor).to_degrees(),
            _ => 0.0,
        }
    }

    /// Whether no sample is near a point.
    pub fn is_gap(&self, index: usize) -> bool {
        self.beside.get(index).is_some_and(|beside| beside.gap)
    }

    /// Whether any point of the span lies in a gap.
    pub fn has_gap(&self, from: usize, to: usize) -> bool {
        (from..=to).any(|index| self.is_gap(index))
    }

    /// First and last point of each stretch without samples, with the sampled points beside it.
    pub fn gaps(&self) -> Vec<[usize; 2]> {
        let mut gaps: Vec<[usize; 2]> = Vec::new();
        for (index, _) in self
            .beside
            .iter()
            .enumerate()
            .take(self.len())
            .filter(|(_, beside)| beside.gap)
        {
            match gaps.last_mut() {
                Some([_, to]) if *to == index => *to = index + 1,
                _ => gaps.push([index.saturating_sub(1), index + 1]),
            }
        }
        gaps
    }

    /// Puts other angles in place of those from a point on.
    pub fn replace(&mut self, from: usize, angles_deg: &[f64]) {
        let until = from + angles_deg.len();
        for (angle, other) in self.angle_deg.iter_mut().skip(from).zip(angles_deg) {
            *angle = *other;
        }
        let first = from.saturating_sub(1);
        let around = self.angle_deg.get(first..self.len().min(until + 1));
        let inner = speeds(around.unwrap_or_default());
        let changed = inner.into_iter().skip(from - first).take(angles_deg.len());
        for (speed, other) in self.speed_deg_s.iter_mut().skip(from).zip(changed) {
            *speed = other;
        }
    }

    /// The same curve upside down: lifts become lowerings.
    pub fn negated(&self) -> Curve {
        Curve {
            angle_deg: self.angle_deg.iter().map(|angle| -angle).collect(),
            speed_deg_s: self.speed_deg_s.iter().map(|speed| -speed).collect(),
            ..self.clone()
        }
    }
}

fn nth(values: &[f64], index: usize) -> f64 {
    let last = values.len().saturating_sub(1);
    values.get(index.min(last)).copied().unwrap_or(0.0)
}

/// Kernel weights from the middle outward, summing to one over the whole kernel.
fn kernel() -> Vec<f64> {
    let half: Vec<f64> = (0..=LOOK_AHEAD_COUNT)
        .map(|k| {
            let x = k as f64 / SIGMA_COUNT;
            (-0.5 * x * x).exp() * (1.5 - 0.5 * x * x)
        })
        .collect();
    let outer: f64 = half.iter().skip(1).sum();
    let whole = half.first().copied().unwrap_or(1.0) + 2.0 * outer;
    half.into_iter().map(|weight| weight / whole).collect()
}

fn smoothed(values: &[f64]) -> Vec<f64> {
    let count = values.len();
    // The record between its mirror images through both end points.
    let mut padded = Vec::with_capacity(count + 2 * LOOK_AHEAD_COUNT);
    let (first, last) = (nth(values, 0), nth(values, count));
    for k in (1..=LOOK_AHEAD_COUNT).rev() {
        padded.push(2.0 * first - nth(values, k));
    }
    padded.extend_from_slice(values);
    for k in 1..=LOOK_AHEAD_COUNT {
        padded.push(2.0 * last - nth(values, count.saturating_sub(1 + k)));
    }
    // Weight by weight over the whole record, which the compiler can do several points at a time.
    let mut result = vec![0.0; count];
    for (k, weight) in kernel().into_iter().enumerate() {
        let before = padded.iter().skip(LOOK_AHEAD_COUNT - k);
        let after = padded.iter().skip(LOOK_AHEAD_COUNT + k);
        let share = if k == 0 { 0.5 * weight } else { weight };
        for (sum, (before, after)) in result.iter_mut().zip(before.zip(after)) {
            *sum += share * (before + after);
        }
    }
    result
}

fn speeds(angle_deg: &[f64]) -> Vec<f64> {
    let count = angle_deg.len();
    (0..count)
        .map(|index| {
            let (low, high) = (index.saturating_sub(1), (index + 1).min(count - 1));
            let steps = (high - low).max(1) as f64;
            (nth(angle_deg, high) - nth(angle_deg, low)) / steps * GRID_HZ
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(t_s: f64, measured_deg: f64) -> AnglePoint {
        AnglePoint {
            t_s,
            measured_deg,
            across_deg: [0.0; 2],
            up_in_sensor: Vector3::z(),
            isb: None,
        }
    }

    #[test]
    fn a_day_without_samples_costs_a_thousand_points_and_keeps_the_times() {
        let mut grid = Grid::new();
        for step in 0..200 {
            grid.push(point(step as f64 * 0.02, 1.0));
        }
        let day_s = 86_400.0;
        for step in 0..200 {
            grid.push(point(day_s + step as f64 * 0.02, 5.0));
        }
        let curve = grid.curve();
        assert!(curve.len() < 2_000, "{}", curve.len());
        let last_s = curve.time_s(curve.len() - 1);
        assert!((last_s - (day_s + 3.98)).abs() < 0.02, "{last_s}");
        for t_s in [1.5, day_s + 1.0] {
            let index = curve.index_of(t_s);
            assert!((curve.time_s(index) - t_s).abs() <= 0.5 * STEP_S + 1e-9);
        }
        let before = grid.curve().time_s(500);
        grid.drop_front(100);
        assert!((grid.curve().time_s(400) - before).abs() < 1e-9);
    }

    #[test]
    fn smoothing_leaves_a_parabola_as_it_is() {
        let mut grid = Grid::new();
        for step in 0..300 {
            let t_s = step as f64 * STEP_S;
            grid.push(point(t_s, 20.0 * t_s * t_s));
        }
        let curve = grid.curve();
        for index in 60..240 {
            let t_s = curve.time_s(index);
            // A plain Gaussian of this width would be off by 0.13 degrees.
            assert!((curve.angle(index) - 20.0 * t_s * t_s).abs() < 0.01);
            assert!((curve.speed(index) - 40.0 * t_s).abs() < 1e-2);
        }
    }

    /// The gain of the kernel as the documentation states it: (1 + u) exp(-u), u = (2 pi f s)^2 / 2.
    #[test]
    fn a_tremor_is_left_with_the_stated_gain() {
        for (frequency_hz, gain) in [(2.9, 0.71), (7.0, 0.015)] {
            let mut grid = Grid::new();
            for step in 0..1000 {
                let t_s = step as f64 * STEP_S;
                grid.push(point(
                    t_s,
                    (std::f64::consts::TAU * frequency_hz * t_s).sin(),
                ));
            }
            let curve = grid.curve();
            let most = (200..800).map(|i| curve.angle(i).abs()).fold(0.0, f64::max);
            assert!((most - gain).abs() < 0.01, "{frequency_hz} Hz: {most}");
        }
    }
}
