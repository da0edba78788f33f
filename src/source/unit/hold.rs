//! Puts samples in order: each once, by its number.
//!
//! Ours. What follows on directly passes at once, so that holding back costs nothing while nothing
//! is missing. What comes after a hole waits until the hole is filled, or for [`HOLD_US`], no
//! longer: a hole is nearly always a loss, because the radio link itself keeps the order.

use std::collections::{BTreeMap, VecDeque};
use std::ops::Range;

use super::packet::RawReading;

/// How long samples wait for a hole before them to be filled, microseconds of arrival. Long enough
/// for a neighbouring packet of 50 ms, short enough not to be seen on a screen.
pub(super) const HOLD_US: i64 = 60_000;
/// Most samples that wait: beyond, the hole is given up at once.
const MOST_WAITING: usize = 1024;
/// Most holes that are remembered, to tell what came too late from what came again.
const MOST_HOLES: usize = 64;

/// A sample that passes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Passed {
    pub index: i64,
    pub unit_us: i64,
    pub raw: RawReading,
}

/// What became of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Taken {
    /// It passes or waits, and is the newest so far.
    InOrder,
    /// It passes or waits, and later ones came before it.
    PutBack,
    /// Its place has been given up.
    Late,
    /// It has come before.
    Repeated,
}

#[derive(Debug, Clone, Copy)]
struct Waiting {
    sample: Passed,
    arrival_us: i64,
}

/// Samples in order.
#[derive(Debug, Clone)]
pub(super) struct Hold {
    next: i64,
    newest: i64,
    waiting: BTreeMap<i64, Waiting>,
    /// Since when the hole before what waits is known, microseconds.
    hole_since_us: Option<i64>,
    given_up: VecDeque<Range<i64>>,
}

impl Hold {
    /// Begins with the sample of that number; what lies before is late.
    pub(super) fn new(first: i64) -> Hold {
        Hold {
            next: first,
            newest: first - 1,
            waiting: BTreeMap::new(),
            hole_since_us: None,
            given_up: std::iter::once(i64::MIN..first).collect(),
        }
    }

    pub(super) fn waiting_count(&self) -> usize {
        self.waiting.len()
    }

    /// Takes a sample; adds to `passed` what passes on now.
    pub(super) fn take(
        &mut self,
        sample: Passed,
        arrival_us: i64,
        passed: &mut Vec<Passed>,
    ) -> Taken {
        let index = sample.index;
        if index < self.next {
            let is_late = self.given_up.iter().any(|hole| hole.contains(&index));
            return if is_late {
                Taken::Late
            } else {
                Taken::Repeated
            };
        }
        if self.waiting.contains_key(&index) {
            return Taken::Repeated;
        }
        let taken = if index > self.newest {
            Taken::InOrder
        } else {
            Taken::PutBack
        };
        self.newest = self.newest.max(index);
        if index == self.next {
            self.next += 1;
            passed.push(sample);
            if !self.waiting.is_empty() {
                self.pass_what_follows(passed);
            }
        } else {
            self.waiting.insert(index, Waiting { sample, arrival_us });
            self.hole_since_us.get_or_insert(arrival_us);
            if self.waiting.len() > MOST_WAITING {
                self.give_up_hole(passed);
            }
        }
        taken
    }

    /// Gives up the holes that have been waited for long enough at `now_us`.
    pub(super) fn give_up_until(&mut self, now_us: i64, passed: &mut Vec<Passed>) {
        while self
            .hole_since_us
            .is_some_and(|since_us| now_us - since_us >= HOLD_US)
        {
            self.give_up_hole(passed);
        }
    }

    /// Gives up all holes.
    pub(super) fn give_up_all(&mut self, passed: &mut Vec<Passed>) {
        while !self.waiting.is_empty() {
            self.give_up_hole(passed);
        }
    }

    fn give_up_hole(&mut self, passed: &mut Vec<Passed>) {
        if let Some((&first, _)) = self.waiting.first_key_value() {
            self.given_up.push_back(self.next..first);
            if self.given_up.len() > MOST_HOLES {
                self.given_up.pop_front();
            }
            self.next = first;
        }
        self.pass_what_follows(passed);
    }

    fn pass_what_follows(&mut self, passed: &mut Vec<Passed>) {
        let before = self.next;
        while let Some(own) = self.waiting.remove(&self.next) {
            passed.push(own.sample);
            self.next += 1;
        }
        if before != self.next || self.waiting.is_empty() {
            // Another hole is known since the first sample behind it came.
            self.hole_since_us = self.waiting.values().map(|own| own.arrival_us).min();
        }
    }
}
