//! The guided session: from "how do you feel" to "well done", hands-free while a weight is held.
//!
//! Ours. One screen at a time; what a person does, what the pipeline finds and how time passes move
//! from one to the next. A press that does not fit the screen changes nothing. Whatever happens, a
//! set that is open is closed in the recording before anything else follows it, and a set that
//! stopped never goes on by itself.

mod answers;
mod course;
pub mod exercise;
pub mod limits;
pub mod line;
pub mod posture;
pub mod press;
pub mod resting;
mod screen;
mod sets;
pub mod starting;
mod summary;
pub mod view;
pub mod working;

use jiff::civil::Date;

use self::course::tingling;
use self::limits::Hands;
use self::line::Line;
use self::press::Press;
use self::summary::PartDone;
use self::view::{LatestView, LinkView, SensorView};
use self::working::{Stopped, Working};
use super::{Calibrating, Link, Output as AnyOutput};
use crate::joint::Alignment;
use crate::movement::{Movement, Side};
use crate::pipeline::live::{News, Phase, Step};
use crate::recording::{EventKind, Note, Reason, When};
use crate::routine::{CountedItem, Item, Part, PartHands, Routine, Weights};

/// What a guided session wants done.
pub type Output = AnyOutput<Line>;

/// What a guided session begins with.
#[derive(Debug, Clone, PartialEq)]
pub struct GuidedPlan {
    /// The prescription.
    pub routine: Routine,
    /// The day.
    pub today: Date,
    /// No session was ever done under this code.
    pub first_time: bool,
    /// Ranges of the last session, in the order of [`SetKey`]: what this one is compared with.
    pub last_ranges_deg: Vec<(SetKey, f64)>,
    /// Items of the course that an unfinished session has already done.
    pub already_done: usize,
    /// Whether an invented person plays.
    pub simulated: bool,
}

/// Which sets are compared with each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SetKey {
    /// The movement.
    pub movement: Movement,
    /// Which hand.
    pub side: Side,
}

/// A tap of the strap for so long shows whether it tingles, seconds.
const WEARING_S: f64 = 60.0;
/// A rest that the routine does not prescribe, seconds (common practice, no source).
const USUAL_REST_S: f64 = 60.0;
/// More time is this much more, seconds.
const MORE_REST_S: f64 = 30.0;
/// Symptoms beyond the limits that have not settled after so long end the session, seconds (common
/// practice, no source).
const SETTLES_WITHIN_S: f64 = 600.0;
/// A battery at or under this is warned of before a set, percent.
const BATTERY_LOW_PERCENT: u8 = 15;

/// Where the session is.
#[derive(Debug, Clone)]
enum At {
    Welcome,
    FirstQuestions,
    NotToday {
        heading: &'static str,
        words: String,
    },
    Night {
        only: bool,
    },
    Cautions,
    Symptoms(When),
    Place {
        change: bool,
    },
    Hearing,
    Calibrating(Box<Calibrating>),
    Wearing {
        looser: bool,
    },
    Intro,
    Working(Box<Working>),
    Timed(Timed),
    Rest {
        until_s: f64,
    },
    Paused {
        why: Stopped,
    },
    Hurt,
    Settling {
        may_go_on: bool,
    },
    Remark,
    Summary,
}

/// Something done by the clock.
#[derive(Debug, Clone)]
struct Timed {
    began_s: f64,
    lasting_s: f64,
    provokes: bool,
    /// Tingling is being asked about since then.
    asking_since_s: Option<f64>,
    asked: bool,
}

/// The state machine of a guided session.
#[derive(Debug, Clone)]
pub struct Guided {
    plan: GuidedPlan,
    /// What was to be done, and what still is: items that are left out go.
    planned: Vec<Part>,
    course: Vec<Part>,
    /// The part that is done now or next.
    part: usize,
    at: At,
    now_s: f64,
    sensor: SensorView,
    alignment: Option<Alignment>,
    /// The hand that wears the sensor, and since when, seconds.
    strapped: Option<(Side, f64)>,
    wearing_asked: bool,
    heard: Option<bool>,
    before: Hands,
    weights: bool,
    /// How often symptoms went beyond the limits,
    over_limits_count: u32,
    /// and since when they have not been seen to settle, seconds.
    over_limits_since_s: Option<f64>,
    battery_said: bool,
    /// Something beyond questions was begun.
    worked: bool,
    /// No more than "as far as is comfortable" is said of range after pain.
    pain_said: bool,
    /// Short repetitions in a row.
    short_in_a_row: u32,
    /// A set is announced in the recording and not ended.
    set_open: bool,
    /// Repetitions of the part done before a stop.
    done_before: u32,
    latest: Option<LatestView>,
    done: Vec<PartDone>,
    stopped_for_symptoms: bool,
    wrong: Option<String>,
    /// The phase whose seconds are being counted, and how many were said.
    phase_said: (Phase, u32),
    angle_deg: Option<f64>,
}

impl Guided {
    /// Begins with the first screen.
    pub fn new(plan: GuidedPlan) -> Guided {
        let hands = plan.routine.hands();
        let course = plan.routine.course(&hands);
        let weights = plan.routine.weights_on(plan.today) == Weights::Allowed;
        Guided {
            part: plan.already_done.min(course.len()),
            planned: course.clone(),
            plan,
            course,
            at: At::Welcome,
            now_s: 0.0,
            sensor: SensorView::default(),
            alignment: None,
            strapped: None,
            wearing_asked: false,
            heard: None,
            before: Hands::default(),
            weights,
            over_limits_count: 0,
            over_limits_since_s: None,
            battery_said: false,
            worked: false,
            pain_said: false,
            short_in_a_row: 0,
            set_open: false,
            done_before: 0,
            latest: None,
            done: Vec::new(),
            stopped_for_symptoms: false,
            wrong: None,
            phase_said: (Phase::None, 0),
            angle_deg: None,
        }
    }

    /// Takes a step of the pipeline.
    pub fn step(&mut self, step: &Step) -> Vec<Output> {
        let mut out = Vec::new();
        self.angle_deg = step.measured_deg;
        for news in &step.news {
            if let News::Aligned(alignment) = news {
                self.alignment = Some(*alignment);
            }
        }
        match &mut self.at {
            At::Calibrating(calibrating) => {
                let outputs = calibrating.step(step);
                let done = calibrating.is_done();
                self.calibrating(outputs, done, &mut out);
            }
            At::Working(working) => {
                let happened = working.step(step);
                self.happened(happened, &mut out);
                self.count_the_phase(step.t_s, &mut out);
            }
            _ => {}
        }
        out
    }

    /// Takes a press of the page.
    pub fn press(&mut self, press: Press) -> Vec<Output> {
        let mut out = Vec::new();
        if press == Press::FinishHere {
            self.finish_here(&mut out);
            return out;
        }
        if let Press::Remark { text } = &press
            && matches!(self.at, At::Remark)
        {
            if !text.trim().is_empty() {
                out.push(Output::Record(EventKind::Note(Note {
                    text: Some(text.trim().to_owned()),
                })));
            }
            self.at = At::Summary;
            return out;
        }
        match (&self.at, press) {
            (At::Welcome, Press::Begin) => self.begin(&mut out),
            (At::Welcome, Press::OnlyQuestions) => self.at = At::Night { only: true },
            (At::FirstQuestions, Press::Applies) => self.not_today(
                "Not today: please ask your clinician",
                "One of these needs a word with your clinician before you exercise.",
                "first questions",
                &mut out,
            ),
            (At::FirstQuestions, Press::NoneApplies) => self.at = At::Cautions,
            (&At::Night { only }, Press::Night(answer)) => {
                out.extend(answer.events().into_iter().map(Output::Record));
                self.at = if only { At::Summary } else { At::Cautions };
            }
            (At::Cautions, Press::Next) => self.at = At::Symptoms(When::Before),
            (&At::Symptoms(when), Press::Symptoms { left, right }) => {
                self.symptoms(when, left, right, &mut out);
            }
            (At::Place { .. }, Press::Next) if self.sensor.link == LinkView::There => {
                self.placed(&mut out);
            }
            (At::Hearing, Press::Yes | Press::No) => self.heard(&mut out),
            (At::Wearing { .. }, Press::Yes) => {
                out.push(tingling(self.strapped.map(|(side, _)| side), "strap"));
                self.at = At::Wearing { looser: true };
                out.push(Output::Say(Line::LooserStrap));
            }
            (At::Wearing { looser: true }, Press::Next) => {
                // The strap sits otherwise: it is fitted and asked about anew.
                self.alignment = None;
                self.wearing_asked = false;
                self.calibrate(&mut out);
            }
            (At::Wearing { looser: false }, Press::No) => self.show_part(&mut out),
            (At::Intro, Press::Next) => self.start_part(&mut out),
            (
                At::Intro
                | At::Timed(_)
                | At::Rest { .. }
                | At::Paused { .. }
                | At::Settling { may_go_on: true },
                Press::Skip { reason },
            ) => {
                out.push(Output::Record(EventKind::Skipped(Reason { reason })));
                self.next_item(&mut out);
            }
            (At::Working(_), Press::Enough) => self.enough(&mut out),
            (At::Working(_), _) => self.stop(Stopped::Asked, &mut out),
            (At::Timed(_), Press::Yes) => self.tingles(&mut out),
            (At::Timed(_), Press::No) => self.tingles_not(),
            (At::Timed(_), Press::Pause) => self.stop(Stopped::Asked, &mut out),
            (&At::Rest { until_s }, Press::MoreTime) => {
                let until_s = until_s + MORE_REST_S;
                self.at = At::Rest { until_s };
            }
            (At::Rest { .. }, Press::Next) => self.show_part(&mut out),
            (At::Rest { .. } | At::Intro | At::Paused { .. }, Press::Pause | Press::Yes) => {
                self.at = At::Hurt;
                out.push(Output::Say(Line::HowMuch));
            }
            (At::Paused { .. }, Press::No | Press::GoOn) => self.go_on(&mut out),
            (At::Hurt, Press::Hurts { felt, side, like }) => {
                self.hurts(felt, side, like, &mut out);
            }
            (At::Hurt, Press::No) => self.go_on(&mut out),
            (At::Settling { may_go_on: true }, Press::GoOn) => self.go_on(&mut out),
            (At::Settling { may_go_on: true }, Press::Next) => self.next_item(&mut out),
            (At::Settling { may_go_on: false }, Press::Next) => {
                self.at = At::Symptoms(When::During);
            }
            (At::Summary | At::NotToday { .. }, Press::Next) => out.push(Output::Done),
            _ => {}
        }
        out
    }

    /// Takes a change of the link.
    pub fn link(&mut self, link: Link) -> Vec<Output> {
        let mut out = Vec::new();
        self.sensor.link = match link {
            Link::Back => LinkView::There,
            Link::Lost => LinkView::Lost,
            Link::Stalled => LinkView::Stalled,
            Link::Gone => LinkView::Gone,
        };
        if link != Link::Back {
            match &self.at {
                At::Working(_) => self.stop(Stopped::Sensor, &mut out),
                At::Calibrating(_) => out.push(Output::Say(Line::SensorLost)),
                _ => {}
            }
        }
        out
    }

    /// A sensor is connected.
    pub fn connected(&mut self) {
        self.sensor.link = LinkView::There;
    }

    /// The charge of its battery is known, 0 to 100.
    pub fn battery(&mut self, percent: u8) {
        self.sensor.battery_percent = Some(percent);
    }

    /// Time passes.
    pub fn time(&mut self, now_s: f64) -> Vec<Output> {
        self.now_s = now_s;
        let mut out = Vec::new();
        match &mut self.at {
            At::Rest { until_s } if now_s >= *until_s => self.show_part(&mut out),
            At::Timed(timed) => {
                let half_s = timed.began_s + 0.5 * timed.lasting_s;
                if timed.asking_since_s.is_some() {
                } else if timed.provokes && !timed.asked && now_s >= half_s {
                    timed.asked = true;
                    timed.asking_since_s = Some(now_s);
                    out.push(Output::Say(Line::AnyTingling));
                } else if now_s >= timed.began_s + timed.lasting_s {
                    out.push(Output::Say(Line::TimeIsUp));
                    self.part_over(&mut out);
                }
            }
            _ => {}
        }
        out
    }

    fn item(&self) -> Option<&Item> {
        let part = self.course.get(self.part)?;
        self.plan
            .routine
            .items
            .get((part.item as usize).checked_sub(1)?)
    }

    fn counted(&self) -> Option<(CountedItem, Part, Side)> {
        let part = *self.course.get(self.part)?;
        match (self.item()?, part.hands) {
            (Item::Counted(item), PartHands::One(side)) => {
                Some((exercise::today(item, self.weights), part, side))
            }
            _ => None,
        }
    }
}
