//! One set of a guided session: it begins by itself, counts, keeps to the routine's rules, and stops
//! when the hand stops.
//!
//! Ours. A set is announced to the recording as soon as the hand has been still in the start posture
//! for a second, so that the angle has its zero and the first lift is whole; the person is told that
//! it began when the hand lifts. A hand that goes elsewhere first (to scratch, to drink) takes the
//! announcement back (`starting`). Hands that hold weights press nothing: stillness outside a hold
//! (`resting`), and leaving the posture, stop the set, and it never goes on by itself.

mod circles;
mod params;
mod stopping;

use nalgebra::UnitQuaternion;
pub use params::WorkingParams;
use serde::Serialize;

use super::posture::Held;
use super::resting::Resting;
use super::starting::Starting;
use crate::movement::{ForearmSupport, JointAxis};
use crate::pipeline::live::{News, Phase, Step};
use crate::recording::SetEndReason;
use crate::reps::Repetition;
use crate::reps::excursion::median;
use crate::routine::{CountedItem, FormRule, Verdict};
use crate::session::worn::LIES_S;

/// Why a set stopped without having ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stopped {
    /// The hand was still outside a hold.
    Still,
    /// The hand left the posture.
    LeftPosture,
    /// The sensor was lost.
    Sensor,
    /// A key, a click or a touch.
    Asked,
    /// The computer was asleep.
    Asleep,
}

impl Stopped {
    /// What the recording says of it.
    pub fn reason(self) -> SetEndReason {
        match self {
            Stopped::Still => SetEndReason::Idle,
            Stopped::LeftPosture | Stopped::Asked => SetEndReason::Stop,
            Stopped::Sensor | Stopped::Asleep => SetEndReason::Lost,
        }
    }
}

/// How far a repetition went, by the routine's band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reach {
    /// Not as far as asked.
    Short,
    /// Within the band.
    Within,
    /// Beyond the ceiling.
    FarEnough,
}

/// What a step brought about.
#[derive(Debug, Clone, PartialEq)]
pub enum Happened {
    /// Announce the set.
    Announce,
    /// Take the announcement back: the hand went elsewhere.
    TakeBack,
    /// The person has begun.
    Begun,
    /// The sensor shows no sign of life while a hand is waited for.
    Lifeless,
    /// The hand is still for long, and upside down against the start posture.
    NotThere,
    /// A repetition was counted; its number of the dose, from 1.
    Counted(u32, Box<Repetition>),
    /// A circle was counted; its number of the dose, from 1.
    Circled(u32),
    /// The set stopped.
    Stopped(Stopped),
    /// The set is over.
    Ended(SetEndReason),
    /// The dose is reached and more is allowed, up to so many.
    MoreAllowed(u32),
    /// The forearm, which is to lie still, did a large share; once in a set.
    ForearmMoved,
}

/// Where a set is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Waiting for a still hand in the start posture.
    AwaitStill,
    /// Ready: the next lift begins the set.
    Ready,
    /// Going on.
    Going,
    /// Stopped or over.
    Over,
}

/// A set under way.
#[derive(Debug, Clone)]
pub struct Working {
    params: WorkingParams,
    item: CountedItem,
    form: FormRule,
    held: Option<Held>,
    /// Repetitions of the dose done before a stop.
    done_before: u32,
    standing: Standing,
    /// The pose in which a weight was asked to be taken up; `None` once it was, or where there is
    /// none.
    asked_in: Option<UnitQuaternion<f64>>,
    /// Nothing was seen yet.
    fresh: bool,
    still_since_s: Option<f64>,
    ranges_deg: Vec<f64>,
    circles_count: u32,
    hurried_in_a_row: u32,
    small_in_a_row: u32,
    more_said: bool,
    forearm_said: bool,
    /// Angle at the announcement, the highest since, and the peaks of the repetitions.
    start_deg: Option<f64>,
    highest_deg: f64,
    peaks_deg: Vec<f64>,
    /// Tilt at the beginning that the movement cannot explain.
    start_off_deg: f64,
    starting: Starting,
    resting: Resting,
    left_since_s: Option<f64>,
    /// While a still hand is waited for: since when it is still upside down, and what was said.
    reversed_since_s: Option<f64>,
    hinted: [bool; 2],
    phase: Phase,
    phase_since_s: f64,
}

impl Working {
    /// A set of this item, of which so many repetitions are done already.
    pub fn new(
        item: CountedItem,
        form: FormRule,
        held: Option<Held>,
        done_before: u32,
        params: WorkingParams,
    ) -> Working {
        Working {
            starting: Starting::new(params.starting),
            resting: Resting::new(params.resting),
            params,
            item,
            form,
            held,
            done_before,
            standing: Standing::AwaitStill,
            asked_in: None,
            fresh: true,
            still_since_s: None,
            ranges_deg: Vec::new(),
            circles_count: 0,
            hurried_in_a_row: 0,
            small_in_a_row: 0,
            more_said: false,
            forearm_said: false,
            start_deg: None,
            highest_deg: f64::NEG_INFINITY,
            peaks_deg: Vec::new(),
            start_off_deg: 0.0,
            left_since_s: None,
            reversed_since_s: None,
            hinted: [false; 2],
            phase: Phase::None,
            phase_since_s: f64::NEG_INFINITY,
        }
    }

    /// Where the set is.
    pub fn standing(&self) -> Standing {
        self.standing
    }

    /// Repetitions of the dose done, with those before a stop.
    pub fn done(&self) -> u32 {
        let repetitions = u32::try_from(self.ranges_deg.len()).unwrap_or(u32::MAX);
        (self.done_before.saturating_add(repetitions)).saturating_add(self.circles_count)
    }

    /// Repetitions of this set alone.
    pub fn counted(&self) -> u32 {
        self.done().saturating_sub(self.done_before)
    }

    /// The phase, and for how long it has lasted at a time, seconds.
    pub fn phase(&self, now_s: f64) -> (Phase, f64) {
        let lasting_s = now_s - self.phase_since_s;
        // Circles have no phase.
        let lasting_s = if lasting_s.is_finite() {
            lasting_s.max(0.0)
        } else {
            0.0
        };
        (self.phase, lasting_s)
    }

    /// How far a repetition went by the item's band; `None` where no band is prescribed.
    pub fn reach(&self, repetition: &Repetition) -> Option<Reach> {
        let band = self.item.range?;
        let over = band
            .no_further_deg
            .is_some_and(|most_deg| repetition.peak_deg > most_deg);
        let short = band
            .target_deg
            .is_some_and(|least_deg| repetition.peak_deg < least_deg);
        Some(if over {
            Reach::FarEnough
        } else if short {
            Reach::Short
        } else {
            Reach::Within
        })
    }

    /// Takes a step of the pipeline.
    pub fn step(&mut self, step: &Step) -> Vec<Happened> {
        let mut happened = Vec::new();
        if step.phase != self.phase {
            (self.phase, self.phase_since_s) = (step.phase, step.t_s);
        }
        if self.standing != Standing::Going {
            self.starting.push(&step.oriented);
        }
        match self.standing {
            Standing::AwaitStill => {
                if self.is_ready(step) {
                    self.standing = Standing::Ready;
                    self.start_deg = None;
                    self.starting.announced();
                    happened.push(Happened::Announce);
                } else {
                    self.hint(step, &mut happened);
                }
            }
            Standing::Ready | Standing::Going if self.goes_round() => {
                self.go_round(step, &mut happened);
                return happened;
            }
            Standing::Ready => self.ready(step, &mut happened),
            Standing::Going => {}
            Standing::Over => return happened,
        }
        if matches!(self.standing, Standing::Ready | Standing::Going) {
            self.count(step, &mut happened);
        }
        if self.standing == Standing::Going {
            self.watch(step, &mut happened);
        }
        happened
    }

    /// The set stops from outside.
    pub fn stop(&mut self) {
        self.standing = Standing::Over;
    }

    /// Whether the hand, with the weight in it, is still in the start posture.
    fn is_ready(&mut self, step: &Step) -> bool {
        let pose = step.oriented.world_from_sensor;
        if std::mem::take(&mut self.fresh) && self.item.load_kg != Some(0.0) {
            self.asked_in = Some(pose);
        }
        let taken_up = |asked_in: UnitQuaternion<f64>| {
            asked_in.angle_to(&pose).to_degrees() >= self.params.taken_up_deg
        };
        if self.asked_in.is_some_and(taken_up) {
            self.asked_in = None;
        }
        if !self.starting.is_still() || !self.in_start_posture(step) {
            self.still_since_s = None;
            return false;
        }
        // It has been still for a while when that is seen.
        let seen_s = step.t_s - self.params.starting.still_s;
        let since_s = *self.still_since_s.get_or_insert(seen_s);
        self.asked_in.is_none() || step.t_s - since_s >= self.params.ready_anyway_s
    }

    /// What keeps the set from beginning is said once.
    fn hint(&mut self, step: &Step, happened: &mut Vec<Happened>) {
        let [lifeless, reversed] = &mut self.hinted;
        if step.lifeless_s >= LIES_S {
            if !std::mem::replace(lifeless, true) {
                happened.push(Happened::Lifeless);
            }
            return;
        }
        let upside_down = self
            .held
            .is_some_and(|held| held.is_reversed(&step.oriented));
        if !upside_down || !self.starting.is_still() {
            self.reversed_since_s = None;
            return;
        }
        let since_s = *self.reversed_since_s.get_or_insert(step.t_s);
        if step.t_s - since_s >= LIES_S && !std::mem::replace(reversed, true) {
            happened.push(Happened::NotThere);
        }
    }

    fn in_start_posture(&self, step: &Step) -> bool {
        let turn_deg = match self.item.movement.joint_axis() {
            Some(JointAxis::Rotation) => self.params.start_roll_deg,
            _ => self.params.start_turn_deg,
        };
        self.held.is_none_or(|held| {
            let off = held.off(&step.oriented);
            off.along_deg <= self.params.start_off_deg && off.about_deg.abs() <= turn_deg
        })
    }

    /// Tilt that the movement cannot explain, degrees.
    fn off_deg(&self, step: &Step) -> f64 {
        self.held
            .map_or(0.0, |held| held.off(&step.oriented).along_deg)
    }

    /// The angle; of a sensor that was not fitted, before its axis is known, the whole turn since the
    /// announcement: a set begins and stops by that as well.
    fn angle_deg(&self, step: &Step) -> Option<f64> {
        let turned_deg = || {
            let pose = &step.oriented.world_from_sensor;
            self.held
                .is_none()
                .then(|| self.starting.turned_to_deg(pose))
        };
        step.measured_deg.or_else(turned_deg)
    }

    fn ready(&mut self, step: &Step, happened: &mut Vec<Happened>) {
        if self.has_left(step) || self.starting.is_carried() {
            self.take_back(happened);
            return;
        }
        let Some(measured_deg) = self.angle_deg(step) else {
            return;
        };
        let start_deg = *self.start_deg.get_or_insert(measured_deg);
        let travel_deg = measured_deg - start_deg;
        if self.starting.is_elsewhere(travel_deg) {
            self.take_back(happened);
        } else if self.starting.lifts(travel_deg) && self.left_since_s.is_none() {
            self.start_off_deg = self.off_deg(step);
            self.begin(happened);
        }
    }

    fn take_back(&mut self, happened: &mut Vec<Happened>) {
        self.standing = Standing::AwaitStill;
        self.left_since_s = None;
        self.still_since_s = None;
        happened.push(Happened::TakeBack);
    }

    fn begin(&mut self, happened: &mut Vec<Happened>) {
        self.standing = Standing::Going;
        happened.push(Happened::Begun);
    }

    fn count(&mut self, step: &Step, happened: &mut Vec<Happened>) {
        for news in &step.news {
            let News::Counted(_, repetition) = news else {
                continue;
            };
            if self.standing == Standing::Ready {
                self.start_off_deg = self.off_deg(step);
                self.begin(happened);
            }
            if self.standing != Standing::Going {
                break;
            }
            self.keeps_form(repetition);
            self.ranges_deg.push(repetition.range_deg);
            self.peaks_deg.push(repetition.peak_deg);
            happened.push(Happened::Counted(self.done(), repetition.clone()));
            self.ends(happened);
            self.hints(repetition, happened);
        }
    }

    /// A forearm that is free may move, and nobody is told twice.
    fn hints(&mut self, repetition: &Repetition, happened: &mut Vec<Happened>) {
        let rests = self.item.posture().forearm == ForearmSupport::Rested;
        let going = self.standing == Standing::Going;
        if rests && going && !self.forearm_said && repetition.forearm_moved() {
            self.forearm_said = true;
            happened.push(Happened::ForearmMoved);
        }
    }

    fn keeps_form(&mut self, repetition: &Repetition) {
        // A range test has no form: it goes as far as it goes.
        if self.item.is_range_test() {
            return;
        }
        let row = |so_far: u32, one_more: bool| if one_more { so_far + 1 } else { 0 };
        let hurried = repetition.verdict == Some(Verdict::Hurried);
        self.hurried_in_a_row = row(self.hurried_in_a_row, hurried);
        let first = self.ranges_deg.get(..self.params.first_count);
        let small = first.and_then(median).is_some_and(|usual_deg| {
            repetition.range_deg < self.form.least_range_ratio * usual_deg
        });
        self.small_in_a_row = row(self.small_in_a_row, small);
    }

    fn ends(&mut self, happened: &mut Vec<Happened>) {
        let out_of_form = self.form.hurried_in_a_row;
        if self.hurried_in_a_row >= out_of_form || self.small_in_a_row >= out_of_form {
            self.over(SetEndReason::Tired, happened);
            return;
        }
        let done = self.done();
        let asked = self.item.repetitions;
        let most = asked.saturating_add(self.item.extra_repetitions_max);
        if done >= most {
            self.over(SetEndReason::Reached, happened);
        } else if done >= asked && !self.more_said {
            self.more_said = true;
            happened.push(Happened::MoreAllowed(most - done));
        }
    }

    fn over(&mut self, reason: SetEndReason, happened: &mut Vec<Happened>) {
        self.standing = Standing::Over;
        happened.push(Happened::Ended(reason));
    }
}
