//! An invented person with a simulated unit, live, who does what a guided session asks for: puts the
//! sensor on, holds still, makes the one movement, takes up the weight, does the repetitions, puts
//! the weight down and rests.
//!
//! Ours. What is asked for is a [`Cue`]; the person looks at it between two pieces of movement, each
//! of them smooth from rest to rest, and acts the next piece. So the session may wait, stop and go
//! on as it likes, and the person with it; whoever is stopped in the middle of a repetition finishes
//! that one.

use std::collections::VecDeque;
use std::sync::mpsc::Sender;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

use nalgebra::Vector3;

use super::body::{Body, Worn};
use super::circles::CircleManner;
use super::live::wait_for;
use super::live_unit::LiveUnit;
use super::mishap::{Mishap, MishapKind};
use super::patient::SetManner;
use super::random::Random;
use super::session::strapped;
use super::stage::{Stage, stand};
use super::timeline::Timeline;
use super::units::{ForearmPlan, Units};
use super::way::Stand;
use super::wear::Wear;
use crate::movement::{Movement, Posture, Side};
use crate::routine::{Pace, Tempo};
use crate::session::guided::view::{ExerciseView, LiveView, Screen};
use crate::source::signal::Signal;

/// What is asked of the person now.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Cue {
    /// Nothing: the hand rests on the table.
    #[default]
    Rest,
    /// The sensor goes on that hand.
    Strap(Side),
    /// Hold still, then the one movement.
    Calibrate {
        /// The movement.
        movement: Movement,
        /// How the arm is held.
        posture: Posture,
        /// Whether the movement is asked for, once; else stillness.
        move_now: bool,
    },
    /// A set.
    Set(SetCue),
}

impl Cue {
    /// What a screen of the guided session asks for; `set` says how this person goes about a set.
    pub fn of(screen: &Screen, set: impl FnOnce(&ExerciseView, &LiveView) -> SetCue) -> Cue {
        match screen {
            Screen::Working { exercise, live } => Cue::Set(set(exercise, live)),
            Screen::Place { side, .. } => Cue::Strap(*side),
            Screen::Calibrate {
                movement,
                posture,
                move_now,
                ..
            } => Cue::Calibrate {
                movement: *movement,
                posture: *posture,
                move_now: *move_now,
            },
            _ => Cue::Rest,
        }
    }
}

/// A set that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SetCue {
    /// The movement.
    pub movement: Movement,
    /// How the arm is held.
    pub posture: Posture,
    /// The tempo, if one is prescribed.
    pub tempo: Option<Tempo>,
    /// Repetitions that are still asked for when the set begins.
    pub repetitions: u32,
    /// How far to go, degrees; `None` is as far as this person likes.
    pub target_deg: Option<f64>,
    /// Whether the session is ready for the first lift; until then the hand is still.
    pub ready: bool,
}

/// Tells the person what is asked for.
#[derive(Debug, Clone, Default)]
pub struct Prompter(Arc<Mutex<Asked>>);

/// What was asked last.
#[derive(Debug, Clone, Default)]
struct Asked {
    /// Number of the cue.
    number: u64,
    cue: Cue,
    /// Where the sensor was asked to be: who looks up late puts it on all the same.
    strap: Option<Side>,
}

impl Prompter {
    /// From now on this; the same again is nothing new.
    pub fn ask(&self, cue: Cue) {
        let mut asked = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Cue::Strap(side) = cue {
            asked.strap = Some(side);
        }
        if asked.cue != cue {
            asked.number += 1;
            asked.cue = cue;
        }
    }

    fn asked(&self) -> Asked {
        let asked = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        asked.clone()
    }
}

/// Who follows the page, and what goes amiss.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct AttentivePlan {
    /// Lost links: from when and for how long, seconds by the recording's start.
    pub losses_s: Vec<[f64; 2]>,
    /// What goes amiss in sets, in this order.
    pub mishaps: Vec<Mishap>,
    /// A second unit, on the forearm; the hand's tells the same with it and without.
    pub forearm: Option<ForearmPlan>,
    /// Which person.
    pub seed: u64,
}

/// A link that is lost in mid-repetition is lost so long after its beginning, seconds.
const MID_REPETITION_S: f64 = 1.0;
/// A slip takes so long, seconds.
const SLIPS_WITHIN_S: f64 = 0.5;
/// Wakes this often to look at the cue, seconds.
const LOOKS_S: f64 = 0.2;
/// The unit is connected so long after it was sought, seconds.
const CONNECTS_S: f64 = 0.3;

/// The person, the unit and its link, as a stream of signals without an end.
#[derive(Debug)]
pub struct AttentivePerson {
    stage: Stage,
    /// When the stage's time began, seconds by the recording's start.
    begins_s: f64,
    units: Units,
    prompter: Prompter,
    random: Random,
    forearm_m: f64,
    lever_m: f64,
    worn: Option<Worn>,
    /// Where the arm lies while the sensor is fitted.
    fitting: Stand,
    /// Number of the cue that is being done.
    cue: u64,
    /// Repetitions of the set that are left, and how it is done.
    set: Option<Doing>,
    mishaps: VecDeque<Mishap>,
}

#[derive(Debug)]
struct Doing {
    left: u32,
    done: u32,
    body: Body,
    place: Stand,
    manner: SetManner,
}

impl AttentivePerson {
    /// A person whose unit is sought at that time by the recording's start, seconds.
    pub fn new(sought_s: f64, prompter: Prompter, plan: AttentivePlan) -> AttentivePerson {
        let seed = plan.seed;
        let mut random = Random::new(seed);
        let begins_s = sought_s + CONNECTS_S;
        let unit_random = Random::new(seed.wrapping_add(1));
        let hand = LiveUnit::new(begins_s, 0.0, plan.losses_s, unit_random);
        AttentivePerson {
            stage: Stage::new(&mut random),
            begins_s: begins_s - 0.1,
            units: Units::new(hand, plan.forearm.as_ref(), begins_s, seed),
            prompter,
            forearm_m: random.between(0.23, 0.29),
            lever_m: random.between(0.06, 0.08),
            fitting: stand(&mut random),
            random,
            worn: None,
            cue: 0,
            set: None,
            mishaps: plan.mishaps.into(),
        }
    }

    /// Acts the next piece.
    fn act(&mut self) {
        let Asked { number, cue, strap } = self.prompter.asked();
        if let Some(side) = strap.filter(|side| self.worn.is_none_or(|worn| worn.side != *side)) {
            return self.strap(side);
        }
        let new = number != self.cue;
        self.cue = number;
        match cue {
            Cue::Calibrate {
                movement,
                posture,
                move_now,
            } if new => self.calibrate(movement, posture, move_now),
            Cue::Calibrate { .. } => self.stage.stay(LOOKS_S),
            Cue::Set(set) if new && !(set.ready && self.is_at(&set)) => self.begin(&set),
            Cue::Set(set) if set.ready => self.go_on(),
            Cue::Set(_) => self.stage.stay(LOOKS_S),
            Cue::Strap(_) | Cue::Rest if self.set.take().is_some() => {
                self.stage.wander(1, &mut self.random);
                self.stage.rest(&mut self.random);
            }
            Cue::Strap(_) | Cue::Rest => self.stage.stay(LOOKS_S),
        }
    }

    fn strap(&mut self, side: Side) {
        let worn = Worn {
            side,
            forearm_m: self.forearm_m,
            lever_m: self.lever_m + 0.004 * self.random.normal(),
            height_m: 0.02,
            hand_from_sensor: strapped(&mut self.random),
        };
        self.worn = Some(worn);
        self.stage.strap(worn, &mut self.random);
        // Ready for what comes next: palm down on the table, and still.
        let movement = Movement::WristExtension;
        self.fitting = stand(&mut self.random);
        if let Some(body) = self.body(movement, movement.usual_posture()) {
            self.hold(body, self.fitting);
        }
    }

    fn body(&self, movement: Movement, posture: Posture) -> Option<Body> {
        let worn = self.worn?;
        Some(Body {
            movement,
            side: worn.side,
            posture,
            forearm_m: worn.forearm_m,
            lever_m: worn.lever_m,
            height_m: worn.height_m,
            hand_from_sensor: worn.hand_from_sensor,
        })
    }

    fn calibrate(&mut self, movement: Movement, posture: Posture, move_now: bool) {
        let Some(body) = self.body(movement, posture) else {
            return self.stage.stay(LOOKS_S);
        };
        if !move_now {
            return self.hold(body, self.fitting);
        }
        let manner = SetManner {
            lift_s: 1.5,
            hold_s: 0.3,
            lower_s: 1.5,
            still_start_s: 0.5,
            ..SetManner::ordinary(1, self.random.between(32.0, 42.0))
        };
        let timeline = manner.timeline(&mut self.random);
        self.stage
            .exercise(body, timeline, self.fitting, &mut self.random);
    }

    /// Goes to where a movement begins, and is still there.
    fn hold(&mut self, body: Body, place: Stand) {
        let timeline = Timeline {
            duration_s: 1.2,
            ..Timeline::default()
        };
        self.stage.exercise(body, timeline, place, &mut self.random);
    }

    /// Takes up the weight and is still in the start posture.
    fn begin(&mut self, set: &SetCue) {
        let Some(body) = self.body(set.movement, set.posture) else {
            return self.stage.stay(LOOKS_S);
        };
        self.stage.wander(2, &mut self.random);
        let place = stand(&mut self.random);
        let manner = manner(set, &mut self.random);
        self.hold(body.clone(), place);
        self.set = Some(Doing {
            left: set.repetitions,
            done: 0,
            body,
            place,
            manner,
        });
    }

    /// Whether that set is under way: whoever looks up late may have missed the rest before it.
    fn is_at(&self, asked: &SetCue) -> bool {
        self.set.as_ref().is_some_and(|doing| {
            let worn = self.worn.map(|worn| worn.side);
            doing.left > 0 && doing.body.movement == asked.movement && Some(doing.body.side) == worn
        })
    }

    /// The next repetition, or the hand comes to rest.
    fn go_on(&mut self) {
        let Some(doing) = self.set.as_mut().filter(|doing| doing.left > 0) else {
            return self.stage.stay(LOOKS_S);
        };
        let due = |mishap: &Mishap| mishap.after_count == doing.done;
        let mishap = self.mishaps.front().copied().filter(due);
        let mut timeline = if doing.body.movement == Movement::ArmCircles {
            // Circles are one movement.
            circles(std::mem::take(&mut doing.left)).timeline()
        } else {
            doing.left -= 1;
            doing.done += 1;
            stroke(&doing.manner, &mut self.random)
        };
        if let Some(mishap) = mishap {
            self.mishaps.pop_front();
            let from_s = self.stage.now_s() + MID_REPETITION_S;
            match mishap.kind {
                MishapKind::Lost { lasting_s } => {
                    self.units.lose(self.begins_s + from_s, lasting_s);
                }
                MishapKind::Slips { turn_deg } => self.stage.worn(Wear::Slips {
                    at_s: from_s,
                    lasting_s: SLIPS_WITHIN_S,
                    // Round the hand and about the way out of it at once.
                    turn_rad: Vector3::new(1.0, 1.0, 0.0).normalize() * turn_deg.to_radians(),
                }),
                MishapKind::Still | MishapKind::Down => {
                    // Up, and no farther.
                    let top_s = timeline.intended.last().map(|own| own.lift_to_s + 0.1);
                    timeline.duration_s = top_s.unwrap_or(timeline.duration_s);
                    doing.left = 0;
                }
            }
        }
        let (body, place) = (doing.body.clone(), doing.place);
        self.stage.exercise(body, timeline, place, &mut self.random);
        if mishap.is_some_and(|mishap| mishap.kind == MishapKind::Down) {
            self.stage.wander(1, &mut self.random);
            self.stage.rest(&mut self.random);
        }
    }
}

/// One repetition, without the long stillness after a whole set.
fn stroke(manner: &SetManner, random: &mut Random) -> Timeline {
    let mut timeline = manner.timeline(random);
    if let Some(intended) = timeline.intended.last() {
        timeline.duration_s = timeline.duration_s.min(intended.lower_to_s + manner.rest_s);
    }
    timeline
}

fn circles(turns: u32) -> CircleManner {
    CircleManner {
        turns: turns as usize,
        turn_s: 3.0,
        half_angle_deg: 25.0,
        still_s: 1.0,
    }
}

/// One repetition of a set.
fn manner(set: &SetCue, random: &mut Random) -> SetManner {
    let seconds = |pace: Option<Pace>, usual_s: f64| match pace {
        Some(Pace::Seconds(time_s)) => time_s,
        Some(Pace::Fast) => 0.7,
        None => usual_s,
    };
    let usual_deg = match set.movement {
        Movement::RadialDeviation => 18.0,
        Movement::UlnarDeviation => 26.0,
        Movement::Supination | Movement::Pronation => 62.0,
        Movement::WristExtension | Movement::WristFlexion | Movement::ArmCircles => 48.0,
    };
    let travel_deg = set
        .target_deg
        .map_or(usual_deg, |target_deg| target_deg + 4.0);
    SetManner {
        lift_s: seconds(set.tempo.map(|tempo| tempo.lift_s), 2.0),
        lower_s: seconds(set.tempo.map(|tempo| tempo.lower_s), 3.0),
        hold_s: set.tempo.map_or(0.5, |tempo| tempo.hold_s),
        rest_s: set.tempo.map_or(0.0, |tempo| tempo.rest_s) + 0.3,
        still_start_s: 0.3,
        ..SetManner::ordinary(1, travel_deg + random.between(-1.5, 1.5))
    }
}

impl Iterator for AttentivePerson {
    type Item = Signal;

    fn next(&mut self) -> Option<Signal> {
        loop {
            if let Some(signal) = self.units.take() {
                return Some(signal);
            }
            while self.begins_s + self.stage.now_s() < self.units.packet_end_s() {
                self.act();
            }
            self.units.packet(self.stage.way(), self.begins_s);
        }
    }
}

/// Plays a person from now on, `pace_ratio` times as fast as life; the unit is sought now. The
/// thread ends soon after nobody listens any more.
///
/// # Errors
/// Where the system gives no thread.
pub fn play(
    signals: Sender<Signal>,
    origin: Instant,
    pace_ratio: f64,
    prompter: Prompter,
    plan: AttentivePlan,
) -> std::io::Result<()> {
    std::thread::Builder::new()
        .name("simulator".to_owned())
        .spawn(move || {
            let sought_s = origin.elapsed().as_secs_f64() * pace_ratio;
            for signal in AttentivePerson::new(sought_s, prompter, plan) {
                wait_for(&signal, origin, pace_ratio);
                if signals.send(signal).is_err() {
                    return;
                }
            }
        })?;
    Ok(())
}
