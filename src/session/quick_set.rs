//! One set, prompted: waiting for the sensor, calibration, repetitions, end.
//!
//! Ours. A recording without announced sets is taken for one set as a whole, so a sitting that is
//! ended before its set began announces one that is over at once: what was moved while calibrating
//! is not exercise.

use super::calibrating::{Calibrating, CalibratingParams, Doing};
use super::{Link, Output, Press, Say, Second};
use crate::movement::{Movement, MovingPhase, Posture, Side};
use crate::pipeline::live::{News, Step};
use crate::recording::{EventKind, SetEnd, SetEndReason, SetStart};

/// What is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct QuickSetPlan {
    /// What is announced at the set's start.
    pub start: SetStart,
    /// No calibration: the movement shows its own axis. A movement without a joint axis, and a set
    /// without a named movement and side, is always so.
    pub raw: bool,
    /// Ends by itself so long after the sensor's first connection, seconds.
    pub for_s: Option<f64>,
    /// A unit is worn on the forearm too.
    pub forearm: bool,
    /// Ends by itself when the repetitions asked for are done. Circles are counted at the end only,
    /// so they do not end it.
    pub until_reached: bool,
}

impl QuickSetPlan {
    /// What a calibration needs, where one is made.
    pub fn calibrated(&self) -> Option<(Movement, Side, Posture)> {
        let movement = self.start.movement.filter(|m| m.joint_axis().is_some())?;
        let side = self.start.side?;
        (!self.raw).then_some((movement, side, self.posture(movement)))
    }

    fn posture(&self, movement: Movement) -> Posture {
        self.start
            .posture
            .unwrap_or_else(|| movement.usual_posture())
    }
}

/// Where in the sitting a person is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// No sample yet.
    Waiting,
    /// Holding still for the calibration.
    HoldStill,
    /// Making the calibration's movement.
    Move,
    /// The set.
    Set,
    /// Over.
    Over,
}

/// The state machine of a quick set.
#[derive(Debug, Clone)]
pub struct QuickSet {
    plan: QuickSetPlan,
    state: State,
    connected_s: Option<f64>,
    seen: bool,
    reps_count: usize,
    /// The forearm's unit is out of reach, and that was said.
    forearm_away: bool,
}

#[derive(Debug, Clone)]
enum State {
    Waiting,
    Calibrating(Box<Calibrating>),
    Set,
    Over,
}

impl QuickSet {
    /// Begins with no sensor.
    pub fn new(plan: QuickSetPlan) -> QuickSet {
        QuickSet {
            plan,
            state: State::Waiting,
            connected_s: None,
            seen: false,
            reps_count: 0,
            forearm_away: false,
        }
    }

    /// What is asked for.
    pub fn plan(&self) -> &QuickSetPlan {
        &self.plan
    }

    /// Where the person is.
    pub fn stage(&self) -> Stage {
        match &self.state {
            State::Waiting => Stage::Waiting,
            State::Calibrating(calibrating) => match calibrating.doing() {
                Doing::Still => Stage::HoldStill,
                Doing::Moving => Stage::Move,
            },
            State::Set => Stage::Set,
            State::Over => Stage::Over,
        }
    }

    /// What is said before anything else.
    pub fn opening(&self) -> Vec<Say> {
        let start = &self.plan.start;
        let mut says = vec![Say::Caution(start.movement)];
        if self.plan.forearm {
            says.push(Say::WearBoth);
        }
        if let Some(movement) = start.movement {
            says.push(Say::TakePosture {
                movement,
                side: start.side,
                posture: self.plan.posture(movement),
                load_kg: start.load_kg,
            });
        }
        let eccentric = start.movement.map_or(Some(MovingPhase::Lower), |movement| {
            let posture = self.plan.posture(movement);
            movement.eccentric(&posture, start.load_kg, start.load_shape)
        });
        says.extend(start.tempo.map(|tempo| Say::TempoAsked(tempo, eccentric)));
        says
    }

    /// A sensor is connected.
    pub fn connected(&mut self, now_s: f64) {
        self.connected_s.get_or_insert(now_s);
    }

    /// Takes a step of the pipeline.
    pub fn step(&mut self, step: &Step) -> Vec<Output> {
        self.seen = true;
        let mut out = Vec::new();
        if matches!(self.state, State::Waiting) {
            match self.plan.calibrated() {
                Some((movement, side, posture)) => {
                    let params = CalibratingParams::default();
                    let calibrating = Calibrating::new(movement, side, posture, params);
                    self.state = State::Calibrating(Box::new(calibrating));
                }
                None => {
                    self.begin(&mut out);
                    let circles = self.plan.start.movement == Some(Movement::ArmCircles);
                    out.push(Output::Say(if circles {
                        Say::BeginCircles
                    } else {
                        Say::BeginRaw
                    }));
                }
            }
        }
        match &mut self.state {
            State::Calibrating(calibrating) => {
                out.append(&mut calibrating.step(step));
                if calibrating.is_done() {
                    self.begin(&mut out);
                    out.push(Output::Say(Say::Begin {
                        target_reps: self.plan.start.target_reps,
                    }));
                }
            }
            State::Set => self.in_set(step, &mut out),
            State::Waiting | State::Over => {}
        }
        out
    }

    fn begin(&mut self, out: &mut Vec<Output>) {
        out.push(Output::Record(EventKind::SetStart(self.plan.start.clone())));
        self.state = State::Set;
    }

    fn in_set(&mut self, step: &Step, out: &mut Vec<Output>) {
        for news in &step.news {
            match news {
                News::Counted(number, repetition) => {
                    self.reps_count = *number;
                    out.push(Output::Say(Say::Counted {
                        number: *number,
                        repetition: repetition.clone(),
                    }));
                }
                News::Worn(finding) => out.push(Output::Say(Say::Worn(finding.kind))),
                _ => {}
            }
        }
        let target = self.plan.start.target_reps.map(|target| target as usize);
        if self.plan.until_reached && target.is_some_and(|target| self.reps_count >= target) {
            self.end(Some(SetEndReason::Reached), out);
        }
    }

    /// Time passes.
    pub fn time(&mut self, now_s: f64) -> Vec<Output> {
        let mut out = Vec::new();
        let begun_s = self.connected_s.zip(self.plan.for_s);
        if begun_s.is_some_and(|(connected_s, for_s)| now_s - connected_s >= for_s) {
            self.end(None, &mut out);
        }
        out
    }

    /// The person asks for something.
    pub fn press(&mut self, press: Press) -> Vec<Output> {
        let mut out = Vec::new();
        match press {
            Press::Stop => self.end(Some(SetEndReason::Stop), &mut out),
        }
        out
    }

    /// The link changes.
    pub fn link(&mut self, link: Link) -> Vec<Output> {
        let mut out = Vec::new();
        match link {
            Link::Lost => out.push(Output::Say(Say::LinkLost)),
            Link::Stalled => out.push(Output::Say(Say::Stalled)),
            Link::Back => out.push(Output::Say(Say::Back)),
            Link::Gone => self.end(Some(SetEndReason::Lost), &mut out),
        }
        out
    }

    /// Something becomes of the forearm's unit: said when it changes, and the set goes on.
    pub fn second(&mut self, second: Second) -> Vec<Output> {
        let (away, say) = match second {
            Second::Link(Link::Lost | Link::Stalled) => (true, Say::ForearmAway),
            Second::Link(Link::Gone) => {
                self.forearm_away = true;
                return vec![Output::Say(Say::ForearmGone)];
            }
            Second::Link(Link::Back) => (false, Say::ForearmBack),
            Second::Connected | Second::Battery(_) => return Vec::new(),
        };
        if std::mem::replace(&mut self.forearm_away, away) == away {
            return Vec::new();
        }
        vec![Output::Say(say)]
    }

    fn end(&mut self, reason: Option<SetEndReason>, out: &mut Vec<Output>) {
        let before = match self.state {
            State::Over => return,
            State::Set => false,
            State::Waiting | State::Calibrating(_) => true,
        };
        if before && self.seen {
            self.begin(out);
        }
        if self.seen {
            out.push(Output::Record(EventKind::SetEnd(SetEnd {
                reason,
                ..SetEnd::default()
            })));
        }
        out.push(Output::Say(if before {
            Say::EndedBefore
        } else {
            Say::Ended(reason)
        }));
        out.push(Output::Done);
        self.state = State::Over;
    }
}
