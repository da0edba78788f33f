//! A repetition that is counted only when its set has ended: the hand turned back as the weight was
//! put down, and the recording counts it. So does the session, or the two would differ.

use super::exercise::told;
use super::summary::{PartDone, compared_deg};
use super::{At, Guided, SetKey};
use crate::pipeline::SetResult;
use crate::routine::{CountedItem, Part, Verdict};

/// A set that was ended, until the pipeline has said what there is of it.
#[derive(Debug, Clone)]
pub(super) struct Ended {
    item: CountedItem,
    part: Part,
    /// Repetitions that were counted while it went on.
    counted: usize,
}

impl Guided {
    /// The set at hand ends.
    pub(super) fn ends(&mut self) {
        self.ended = match (&self.at, self.counted()) {
            (At::Working(working), Some((item, part, _))) => Some(Ended {
                counted: working.counted() as usize,
                item,
                part,
            }),
            _ => None,
        };
    }

    /// What the pipeline has found in a set that ended: what was not counted yet is now.
    pub(super) fn found(&mut self, set: &SetResult) {
        let Some(ended) = self.ended.take() else {
            return;
        };
        let Some(side) = set.side else {
            return;
        };
        if self.is_misworn(&set.wear) {
            self.sits_elsewhere();
        }
        // Only now it is known of each whether its range is the wrist's.
        let from = self.done.len().saturating_sub(ended.counted);
        for (one, repetition) in self.done.iter_mut().skip(from).zip(&set.reps) {
            one.range_deg = compared_deg(set, repetition);
        }
        let late = set.reps.get(ended.counted..).unwrap_or_default();
        for repetition in late {
            let verdict = told(&ended.item, &self.plan.routine.tempo_band, repetition);
            self.done.push(PartDone {
                item: ended.part.item,
                key: SetKey::new(
                    ended.item.movement,
                    side,
                    ended.item.posture(),
                    ended.item.load_kg,
                ),
                range_deg: compared_deg(set, repetition),
                hurried: verdict == Some(Verdict::Hurried),
                judged: verdict.is_some(),
            });
        }
        let late_count = u32::try_from(late.len()).unwrap_or(u32::MAX);
        let same = self.course.get(self.part) == Some(&ended.part);
        match (&self.at, &mut self.set_done) {
            (At::Paused { .. } | At::Hurt { .. } | At::Settling { .. }, _) if same => {
                self.done_before = self.done_before.saturating_add(late_count);
            }
            (At::Rest { .. }, Some([done, _])) => *done = done.saturating_add(late_count),
            _ => {}
        }
    }
}
