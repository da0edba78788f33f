//! Repetitions as they end.
//!
//! Ours: the points since the last repetition are kept, and a few times a second the same search
//! that reads whole sets looks at those whose smoothing no later sample can change. So the online
//! figures differ from the refined ones only by what comes later: the rest of the set, and the
//! smoother's view of the angle.

use std::collections::VecDeque;

use super::curve::{AT_EDGE_COUNT, Curve, Grid, LOOK_AHEAD_COUNT, STEP_S};
use super::excursion::{CountParams, Excursion, find, median};
use super::hidden::with_hidden_starts;
use super::measure::{Doubt, Repetition, repetition};
use super::smoothness::Smoothness;
use super::stated::Unsteadiness;
use crate::joint::AnglePoint;

/// When a repetition is called over.
#[derive(Debug, Clone, PartialEq)]
pub struct OnlineParams {
    /// The counting rule.
    pub count: CountParams,
    /// Time between two looks, seconds (0.05). Longer announces later, shorter costs more.
    pub look_every_s: f64,
    /// A lowering that ends within this share of the travel of the start level is over at once
    /// (0.12); one that stops higher may go on.
    pub near_start_ratio: f64,
    /// A lowering that stops higher is over after this long, seconds (1.5): one that goes in steps
    /// rests a second between two of them.
    pub patience_s: f64,
    /// Points are kept so long without a repetition, seconds (120).
    pub memory_s: f64,
    /// Travels of so many repetitions tell what is usual (5).
    pub usual_of_count: usize,
}

impl Default for OnlineParams {
    fn default() -> Self {
        OnlineParams {
            count: CountParams::default(),
            look_every_s: 0.05,
            near_start_ratio: 0.12,
            patience_s: 1.5,
            memory_s: 120.0,
            usual_of_count: 5,
        }
    }
}

/// Finds repetitions in a stream of angle points.
#[derive(Debug, Clone)]
pub struct Online {
    params: OnlineParams,
    grid: Grid,
    /// Where in the grid the next repetition may start.
    clear_from: usize,
    looked_s: f64,
    travels_deg: VecDeque<f64>,
    starts_deg: VecDeque<f64>,
    zero_deg: f64,
    unsteadiness: Unsteadiness,
    /// Whether the first point of the stream is no longer the first point kept.
    forgot: bool,
}

impl Online {
    /// Starts with nothing; angles are reported against `zero_deg`.
    pub fn new(params: OnlineParams, zero_deg: f64) -> Online {
        Online {
            params,
            grid: Grid::new(),
            clear_from: 0,
            looked_s: f64::NEG_INFINITY,
            travels_deg: VecDeque::new(),
            starts_deg: VecDeque::new(),
            zero_deg,
            unsteadiness: Unsteadiness::default(),
            forgot: false,
        }
    }

    /// Takes the next point; a repetition that has just ended comes back.
    pub fn push(&mut self, point: AnglePoint) -> Option<Repetition> {
        let t_s = point.t_s;
        self.grid.push(point);
        if t_s - self.looked_s < self.params.look_every_s {
            return None;
        }
        self.looked_s = t_s;
        if self.grid.spread_deg() < self.params.count.least_travel_deg {
            self.forget();
            return None;
        }
        let curve = self.grid.curve();
        let settled = curve.len().saturating_sub(LOOK_AHEAD_COUNT);
        let curve = self.with_hidden_starts(curve.upto(settled));
        self.take(&curve, false)
    }

    /// The end of the stream: a repetition that ends with it, and whether another was begun.
    pub fn finish(&mut self) -> (Vec<Repetition>, usize) {
        let curve = self.with_hidden_starts(self.grid.curve());
        let mut ended = Vec::new();
        while let Some(repetition) = self.take(&curve, true) {
            ended.push(repetition);
        }
        let unfinished = find(
            &curve,
            &self.params.count,
            self.usual_deg(),
            self.clear_from,
        )
        .unfinished
        .is_some();
        (ended, usize::from(unfinished))
    }

    fn usual_deg(&self) -> Option<f64> {
        usual(&self.travels_deg)
    }

    fn with_hidden_starts(&self, curve: Curve) -> Curve {
        let known = usual(&self.starts_deg).zip(self.usual_deg());
        known
            .and_then(|(start_deg, usual_deg)| with_hidden_starts(&curve, start_deg, usual_deg))
            .unwrap_or(curve)
    }

    fn take(&mut self, curve: &Curve, at_end: bool) -> Option<Repetition> {
        let found = find(curve, &self.params.count, self.usual_deg(), self.clear_from);
        let first = found.repetitions.first()?;
        if found.repetitions.len() < 2 && !at_end && !self.is_over(curve, first) {
            return None;
        }
        let mut result = repetition(curve, first, self.zero_deg, &mut Smoothness::new());
        if !self.forgot && first.lift.start < AT_EDGE_COUNT {
            result.doubt(Doubt::StartCut);
        }
        if at_end && first.lower.end + AT_EDGE_COUNT >= curve.len() {
            result.doubt(Doubt::EndCut);
        }
        self.unsteadiness.take(curve, first);
        let within = [self.clear_from, curve.len().saturating_sub(1)];
        self.unsteadiness.state(curve, first, within, &mut result);
        let most = self.params.usual_of_count;
        remember(&mut self.travels_deg, first.travel_deg(curve), most);
        remember(&mut self.starts_deg, curve.angle(first.lift.start), most);
        self.clear_from = first.lower.end;
        if !at_end {
            self.forget_before(first.lower.end);
        }
        Some(result)
    }

    fn is_over(&self, curve: &Curve, excursion: &Excursion) -> bool {
        let end = excursion.lower.end;
        let travel_deg = excursion.travel_deg(curve);
        let above_deg = curve.angle(end) - curve.angle(excursion.lift.start);
        let since_s = curve.len().saturating_sub(1 + end) as f64 * STEP_S;
        let needed_s = if above_deg <= self.params.near_start_ratio * travel_deg {
            STEP_S
        } else {
            self.params.patience_s
        };
        since_s >= needed_s
    }

    /// Keeps what the smoothing of the points after an index needs.
    fn forget_before(&mut self, index: usize) {
        let drop = index.saturating_sub(2 * LOOK_AHEAD_COUNT);
        self.grid.drop_front(drop);
        self.forgot |= drop > 0;
        self.clear_from = self.clear_from.saturating_sub(drop);
    }

    fn forget(&mut self) {
        let most = (self.params.memory_s / STEP_S) as usize;
        if self.grid.len() > most {
            self.forget_before(self.grid.len() - most / 2);
        }
    }
}

fn usual(latest: &VecDeque<f64>) -> Option<f64> {
    let values: Vec<f64> = latest.iter().copied().collect();
    median(&values)
}

fn remember(latest: &mut VecDeque<f64>, value: f64, most: usize) {
    latest.push_back(value);
    if latest.len() > most {
        latest.pop_front();
    }
}
