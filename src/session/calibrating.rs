//! Calibration by prompts: hold still, then one known movement out and back.
//!
//! Ours. The machine finds the two windows in the stream; whether they make a calibration is judged
//! by the pipeline alone, live and replayed alike, and comes back here as news of a step. A
//! movement is over when the hand has come back and is quiet, so that the set begins near the
//! neutral pose.

mod params;

use std::collections::VecDeque;

use nalgebra::UnitQuaternion;

pub use params::CalibratingParams;

use super::worn::LIES_S;
use super::{Output, Say};
use crate::joint::wear::WearKind;
use crate::movement::{Movement, Posture, Side};
use crate::orientation::{GAP_S, Oriented};
use crate::pipeline::live::{News, Step};
use crate::recording::{Calibration, EventKind};
use crate::sample::Place;

/// Where in the calibration a person is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Holding still.
    Still,
    /// Making the movement, or about to.
    Moving,
}

/// A calibration under way.
#[derive(Debug, Clone)]
pub struct Calibrating {
    params: CalibratingParams,
    movement: Movement,
    side: Side,
    posture: Posture,
    state: State,
    /// When the person was last told what to do, seconds; `None` before the first sample.
    told_s: Option<f64>,
    /// How often the hand turned by a few degrees while the movement was waited for, and whether it
    /// is doing so.
    small_turns: (u32, bool),
    before_s: f64,
    latest: VecDeque<Oriented>,
    done: bool,
}

/// The still pose.
#[derive(Debug, Clone, Copy)]
struct Still {
    since_s: f64,
    until_s: f64,
    world_from_sensor: UnitQuaternion<f64>,
}

#[derive(Debug, Clone, Copy)]
enum State {
    HoldStill(Option<Still>),
    Await(Still),
    Moving {
        still: Still,
        began_s: f64,
        farthest_deg: f64,
        told_back: bool,
    },
    Judged,
}

impl Calibrating {
    /// Begins with nothing seen.
    pub fn new(
        movement: Movement,
        side: Side,
        posture: Posture,
        params: CalibratingParams,
    ) -> Calibrating {
        Calibrating {
            params,
            movement,
            side,
            posture,
            state: State::HoldStill(None),
            told_s: None,
            small_turns: (0, false),
            before_s: f64::NEG_INFINITY,
            latest: VecDeque::new(),
            done: false,
        }
    }

    /// Whether a calibration was taken.
    pub fn is_done(&self) -> bool {
        self.done
    }

    /// What the person is to do.
    pub fn doing(&self) -> Doing {
        match self.state {
            State::HoldStill(_) => Doing::Still,
            State::Await(_) | State::Moving { .. } | State::Judged => Doing::Moving,
        }
    }

    /// Takes a step of the pipeline.
    pub fn step(&mut self, step: &Step) -> Vec<Output> {
        let mut out = Vec::new();
        if step.t_s - self.before_s > GAP_S && self.told_s.is_some() {
            self.interrupted(step.t_s, &mut out);
        }
        self.before_s = step.t_s;
        if self.told_s.is_none() {
            self.tell(Say::HoldStill, step.t_s, &mut out);
        }
        self.remember(step.oriented);
        for news in &step.news {
            self.judged(news, step.t_s, &mut out);
        }
        match self.state {
            State::HoldStill(still) => self.hold_still(still, step, &mut out),
            State::Await(still) => self.await_movement(still, step, &mut out),
            State::Moving { .. } => self.moving(step, &mut out),
            State::Judged => {}
        }
        out
    }

    fn tell(&mut self, say: Say, t_s: f64, out: &mut Vec<Output>) {
        self.told_s = Some(t_s);
        out.push(Output::Say(say));
    }

    /// Tells again what is waited for, when it was long ago.
    fn remind(&mut self, say: Say, t_s: f64, out: &mut Vec<Output>) {
        let told_s = self.told_s.unwrap_or(t_s);
        if t_s - told_s > self.params.patience_s {
            self.tell(say, t_s, out);
        }
    }

    fn again(&mut self, why: Say, t_s: f64, out: &mut Vec<Output>) {
        out.push(Output::Say(why));
        self.tell(Say::HoldStill, t_s, out);
        self.state = State::HoldStill(None);
    }

    /// A gap: what was seen before it does not go with what comes after.
    fn interrupted(&mut self, t_s: f64, out: &mut Vec<Output>) {
        self.latest.clear();
        match self.state {
            State::HoldStill(_) => self.state = State::HoldStill(None),
            State::Await(_) | State::Moving { .. } => self.again(Say::Interrupted, t_s, out),
            // The windows lie before the gap.
            State::Judged => {}
        }
    }

    fn remember(&mut self, oriented: Oriented) {
        self.latest.push_back(oriented);
        let from_s = oriented.t_s - self.params.quiet_s;
        while self
            .latest
            .get(1)
            .is_some_and(|second| second.t_s <= from_s)
        {
            self.latest.pop_front();
        }
    }

    fn quiet(&self) -> bool {
        let (Some(first), Some(last)) = (self.latest.front(), self.latest.back()) else {
            return false;
        };
        let turned_deg = |o: &Oriented| {
            let angle_rad = last.world_from_sensor.angle_to(&o.world_from_sensor);
            angle_rad.to_degrees()
        };
        last.t_s - first.t_s >= 0.9 * self.params.quiet_s
            && self
                .latest
                .iter()
                .all(|o| turned_deg(o) < self.params.quiet_deg)
    }

    fn judged(&mut self, news: &News, t_s: f64, out: &mut Vec<Output>) {
        if !matches!(self.state, State::Judged) {
            return;
        }
        match news {
            News::Aligned(alignment) => {
                self.done = true;
                out.push(Output::Say(Say::Calibrated {
                    travel_deg: alignment.travel_deg,
                }));
            }
            News::Refused(why) => self.again(Say::Refused(why.clone()), t_s, out),
            _ => {}
        }
    }

    fn hold_still(&mut self, still: Option<Still>, step: &Step, out: &mut Vec<Output>) {
        if !step.still {
            self.state = State::HoldStill(None);
            self.remind(Say::NotStillYet, step.t_s, out);
            return;
        }
        let still = Still {
            // The flag says that the whole second before was still.
            since_s: still.map_or(step.t_s - 1.0, |still| still.since_s),
            until_s: step.t_s,
            world_from_sensor: step.oriented.world_from_sensor,
        };
        self.state = State::HoldStill(Some(still));
        if still.until_s - still.since_s >= self.params.still_s {
            self.state = State::Await(still);
            self.tell(Say::MoveOnce(self.movement), step.t_s, out);
        }
    }

    fn await_movement(&mut self, still: Still, step: &Step, out: &mut Vec<Output>) {
        let away_deg = away_deg(&still, step);
        if away_deg >= self.params.leaves_deg {
            self.state = State::Moving {
                still,
                began_s: step.t_s,
                farthest_deg: away_deg,
                told_back: false,
            };
        } else if step.still {
            // Stillness that was broken by a fidget counts from when it began again.
            let broken = step.t_s - still.until_s > 0.5;
            self.state = State::Await(Still {
                since_s: if broken {
                    step.t_s - 1.0
                } else {
                    still.since_s
                },
                until_s: step.t_s,
                world_from_sensor: step.oriented.world_from_sensor,
            });
        }
        if matches!(self.state, State::Await(_)) {
            self.count_small_turn(away_deg);
            let (small_turns, _) = self.small_turns;
            let say = if step.lifeless_s >= LIES_S {
                Say::Worn(WearKind::LeftLying)
            } else if small_turns >= self.params.small_turns {
                Say::HardlyTurns(self.movement)
            } else {
                Say::NotMovedYet(self.movement)
            };
            self.remind(say, step.t_s, out);
        }
    }

    /// Bending the wrist turns a unit on the forearm by so much and no more.
    fn count_small_turn(&mut self, away_deg: f64) {
        let (count, is_away) = &mut self.small_turns;
        if !*is_away && away_deg >= self.params.small_turn_deg {
            *is_away = true;
            *count += 1;
        } else if away_deg < 0.5 * self.params.small_turn_deg {
            *is_away = false;
        }
    }

    fn moving(&mut self, step: &Step, out: &mut Vec<Output>) {
        let quiet = self.quiet();
        let State::Moving {
            still,
            began_s,
            farthest_deg,
            told_back,
        } = &mut self.state
        else {
            return;
        };
        let (still, began_s) = (*still, *began_s);
        let away_deg = away_deg(&still, step);
        *farthest_deg = farthest_deg.max(away_deg);
        let farthest_deg = *farthest_deg;
        let lasting_s = step.t_s - began_s;
        let back_deg = (self.params.back_ratio * farthest_deg).max(self.params.leaves_deg);
        if quiet && away_deg <= back_deg {
            if farthest_deg < self.params.fidget_deg {
                self.state = State::Await(still);
                self.told_s = Some(step.t_s);
                return;
            }
            out.push(Output::Record(self.windows(&still, step.t_s)));
            self.state = State::Judged;
        } else if quiet && lasting_s > self.params.out_s && !*told_back {
            *told_back = true;
            self.tell(Say::ComeBack, step.t_s, out);
        } else if lasting_s > self.params.longest_s {
            self.again(Say::NotBack, step.t_s, out);
        }
    }

    /// The windows of the pose and of the movement that ends now; to the millisecond.
    fn windows(&self, still: &Still, now_s: f64) -> EventKind {
        let still_end_s = still.until_s - self.params.edge_s;
        let still_start_s = (still.since_s + 0.05).max(still_end_s - self.params.still_s);
        let at = |t_s: f64| Some((t_s * 1e3).round() / 1e3);
        EventKind::Calibration(Calibration {
            place: Some(Place::Hand),
            side: Some(self.side),
            movement: Some(self.movement),
            posture: Some(self.posture),
            still_start_s: at(still_start_s),
            still_end_s: at(still_end_s),
            move_start_s: at(still_end_s),
            move_end_s: at(now_s),
        })
    }
}

fn away_deg(still: &Still, step: &Step) -> f64 {
    let now = &step.oriented.world_from_sensor;
    still.world_from_sensor.angle_to(now).to_degrees()
}
