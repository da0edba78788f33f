//! Circles of the arm in a guided set: counted as whole turns, since they have no angle.
//!
//! Ours. The set begins with the first whole circle, so that raising the arm begins nothing, and
//! stops when the hand has been still. How the arm is held is not watched: with the wrist held back
//! one sensor cannot tell it.

use super::{Happened, Standing, Stopped, Working};
use crate::movement::Movement;
use crate::pipeline::live::Step;
use crate::recording::SetEndReason;

/// A step that is still was so for this long already, seconds.
const STILL_IS_S: f64 = 1.0;

impl Working {
    pub(super) fn goes_round(&self) -> bool {
        self.item.movement == Movement::ArmCircles
    }

    pub(super) fn go_round(&mut self, step: &Step, happened: &mut Vec<Happened>) {
        let seen_count = u32::try_from(step.reps_count).unwrap_or(u32::MAX);
        while self.circles_count < seen_count && self.standing != Standing::Over {
            if self.standing == Standing::Ready {
                self.begin(happened);
                self.still_since_s = None;
            }
            self.circles_count += 1;
            happened.push(Happened::Circled(self.done()));
            self.ends(happened);
        }
        if self.standing != Standing::Going {
            return;
        }
        if !step.still {
            self.still_since_s = None;
            return;
        }
        let since_s = *self.still_since_s.get_or_insert(step.t_s);
        if step.t_s - since_s + STILL_IS_S < self.params.stop_still_s {
            return;
        }
        if self.done() >= self.item.repetitions {
            self.over(SetEndReason::Reached, happened);
        } else {
            self.standing = Standing::Over;
            happened.push(Happened::Stopped(Stopped::Still));
        }
    }
}
