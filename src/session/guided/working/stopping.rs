//! When a set that goes on stops by itself: the hand rests outside a hold, or the arm leaves.

use super::{Happened, Standing, Stopped, Working};
use crate::pipeline::live::Step;
use crate::recording::SetEndReason;
use crate::reps::excursion::median;
use crate::routine::{Pace, Tempo};

impl Working {
    /// Whether the arm has been away from the posture for long enough.
    pub(super) fn has_left(&mut self, step: &Step) -> bool {
        let away = self
            .held
            .is_some_and(|held| held.off(&step.oriented).along_deg > self.params.left_off_deg);
        if !away {
            self.left_since_s = None;
            return false;
        }
        let since_s = *self.left_since_s.get_or_insert(step.t_s);
        step.t_s - since_s >= self.params.left_s
    }

    /// Stillness and leaving the posture.
    pub(super) fn watch(&mut self, step: &Step, happened: &mut Vec<Happened>) {
        let stopped = if self.has_left(step) {
            Some(Stopped::LeftPosture)
        } else if self.stands_still(step) {
            Some(Stopped::Still)
        } else {
            None
        };
        let Some(stopped) = stopped else {
            return;
        };
        // Whoever has done what was asked and puts the weight down has finished.
        if self.done() >= self.item.repetitions {
            self.over(SetEndReason::Reached, happened);
        } else {
            self.standing = Standing::Over;
            happened.push(Happened::Stopped(stopped));
        }
    }

    fn stands_still(&mut self, step: &Step) -> bool {
        let Some(angle_deg) = self.angle_deg(step) else {
            return false;
        };
        self.highest_deg = self.highest_deg.max(angle_deg);
        if !self.resting.push(angle_deg, &step.oriented) {
            return false;
        }
        let params = &self.params;
        let allowed_s = params.stop_still_s + params.pause_ratio * self.pause_asked_s(step);
        let slow_s = self.slowest_s();
        let [least_deg, most_deg] = params.sway_deg;
        let usual_deg = median(&self.ranges_deg).unwrap_or(0.0);
        let sway_deg = (params.sway_ratio * usual_deg).clamp(least_deg, most_deg);
        self.resting.rests_for_s() >= allowed_s + params.slow_end_ratio * slow_s
            || self.resting.within_for_s(sway_deg) >= allowed_s + params.sway_time_ratio * slow_s
    }

    /// The slowest stroke that the tempo asks for, seconds; where there is no tempo, as slow as
    /// people go.
    fn slowest_s(&self) -> f64 {
        let tempo = self.item.tempo.as_ref();
        let longest = |tempo: &Tempo| {
            let seconds = [tempo.lift_s, tempo.lower_s].map(Pace::seconds);
            seconds.into_iter().flatten().fold(SLOW_S[0], f64::max)
        };
        tempo.map_or(SLOW_S[1], longest)
    }

    /// The pause that the tempo asks for where the hand is: at the end of the way out, at the start,
    /// nowhere else.
    fn pause_asked_s(&self, step: &Step) -> f64 {
        // Where it has been resting, not where it is about to go.
        let rested_deg = self.resting.angle_deg(self.params.stop_still_s);
        let (Some((out_s, back_s)), Some(angle_deg)) = (self.item.pauses_s(), rested_deg) else {
            return 0.0;
        };
        if (self.off_deg(step) - self.start_off_deg).abs() > self.params.no_pause_off_deg {
            return 0.0;
        }
        let bottom_deg = self.start_deg.unwrap_or(0.0);
        let top_deg = median(&self.peaks_deg).unwrap_or(self.highest_deg);
        let share = (angle_deg - bottom_deg) / (top_deg - bottom_deg).max(1.0);
        if share >= NEAR_TOP {
            out_s
        } else if share <= NEAR_BOTTOM {
            back_s
        } else {
            0.0
        }
    }
}

/// The slowest stroke is at least so slow; without a tempo it may be so slow, seconds.
const SLOW_S: [f64; 2] = [4.0, 8.0];
/// From this share of the usual travel on the hand is at the top: a tired one goes 60 % of the way.
const NEAR_TOP: f64 = 0.5;
/// Up to this share it is at the bottom.
const NEAR_BOTTOM: f64 = 0.3;
