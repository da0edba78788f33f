//! The elbow's share while a set goes on, with what is kept of it bounded.
//!
//! Ours: as soon as a block and the few repetitions that might join it are there, the block is
//! settled and its samples are forgotten.

use super::blocks::{BLOCK_S, MARGIN_S, blocks, complete};
use super::model::block_of;
use super::{ElbowParams, ElbowReading, Estimate, HandInSensor, Lift, reading_of};
use crate::orientation::Oriented;

/// Follows a set's repetitions as they come.
#[derive(Debug, Clone)]
pub struct ElbowFollow {
    params: ElbowParams,
    hand: Option<HandInSensor>,
    oriented: Vec<Oriented>,
    /// Repetitions that are not settled yet.
    lifts: Vec<Lift>,
    settled: Vec<(Estimate, f64)>,
    /// Whether a block was looked at, with a fit or without.
    looked: bool,
    each: Vec<Option<Estimate>>,
}

impl ElbowFollow {
    /// A set that begins. `hand` is known by a calibration.
    pub fn new(params: ElbowParams, hand: Option<HandInSensor>) -> ElbowFollow {
        ElbowFollow {
            params,
            hand,
            oriented: Vec::new(),
            lifts: Vec::new(),
            settled: Vec::new(),
            looked: false,
            each: Vec::new(),
        }
    }

    /// Takes the next sample's orientation.
    pub fn push(&mut self, oriented: &Oriented) {
        self.oriented.push(*oriented);
        // What is older than two blocks belongs to no block that could be looked at.
        let oldest_s = self.oriented.first().map_or(oriented.t_s, |o| o.t_s);
        if oriented.t_s - oldest_s > 2.0 * BLOCK_S {
            self.forget_before(oriented.t_s - BLOCK_S);
        }
    }

    /// Takes the next repetition.
    pub fn counted(&mut self, lift: Lift) {
        self.lifts.push(lift);
        let least = self.params.least_count;
        while let Some(first) = complete(&self.oriented, &self.lifts, least) {
            self.settle(first);
        }
    }

    /// The share of the repetitions so far.
    pub fn so_far(&self) -> ElbowReading {
        let mut all = self.clone();
        all.settle_rest();
        reading_of(all.each, all.looked, &all.settled, &self.params)
    }

    /// The share of the whole set.
    pub fn finish(mut self) -> ElbowReading {
        self.settle_rest();
        reading_of(self.each, self.looked, &self.settled, &self.params)
    }

    fn settle_rest(&mut self) {
        for _ in 0..=self.lifts.len() {
            let blocks = blocks(&self.oriented, &self.lifts, self.params.least_count);
            match blocks.first().cloned() {
                Some(first) => self.settle(first),
                None => break,
            }
        }
        self.each.extend(self.lifts.drain(..).map(|_| None));
    }

    /// Settles a block; what lies before it belongs to none, and too few repetitions are none.
    fn settle(&mut self, block: std::ops::Range<usize>) {
        self.each.extend((0..block.start).map(|_| None));
        let own = self.lifts.get(block.clone()).unwrap_or(&[]);
        let enough = own.len() >= self.params.least_count;
        self.looked |= enough;
        let fit = enough.then(|| block_of(&self.oriented, own, self.hand.as_ref(), &self.params));
        match fit.flatten() {
            Some(fit) => {
                self.settled.push((fit.set, own.len() as f64));
                self.each.extend(fit.each.into_iter().map(Some));
            }
            None => self.each.extend(own.iter().map(|_| None)),
        }
        self.lifts.drain(..block.end.min(self.lifts.len()));
        if let Some(next) = self.lifts.first() {
            self.forget_before(next.lift_start_s - MARGIN_S);
        }
    }

    fn forget_before(&mut self, t_s: f64) {
        let forget = self.oriented.partition_point(|o| o.t_s < t_s);
        self.oriented.drain(..forget);
    }
}
