//! The guided session: from "how do you feel" to "well done", hands-free while a weight is held.
//!
//! Ours. One screen at a time; what a person does, what the pipeline finds and how time passes move
//! from one to the next. A press that does not fit the screen changes nothing. Whatever happens, a
//! set that is open is closed in the recording before anything else follows it, and a set that
//! stopped never goes on by itself.

pub mod aloud;
mod answers;
mod course;
pub mod exercise;
mod fitting;
mod late;
pub mod limits;
pub mod line;
mod passing;
mod plan;
pub mod posture;
pub mod press;
mod pressed;
pub mod resting;
mod screen;
mod second;
mod sets;
pub mod starting;
mod summary;
mod timed;
pub mod view;
pub mod working;

pub use plan::{GuidedPlan, SetKey};
pub use summary::compared_deg;

use self::fitting::Fit;
use self::limits::Hands;
use self::line::Line;
use self::summary::PartDone;
use self::timed::Timed;
use self::view::{LatestView, SensorView};
use self::working::{Stopped, Working};
use super::{Calibrating, Output as AnyOutput};
use crate::movement::Side;
use crate::pipeline::live::Phase;
use crate::recording::When;
use crate::routine::{CountedItem, Item, Part, PartHands, Weights};

/// What a guided session wants done.
pub type Output = AnyOutput<Line>;

/// A tap of the strap for so long shows whether it tingles, seconds.
const WEARING_S: f64 = 60.0;
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
    /// Worse the morning after: was the clinician asked?
    AskFirst,
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
    Hurt {
        /// A set or a timed item was paused; else it had not begun.
        paused: bool,
    },
    Settling {
        may_go_on: bool,
    },
    Remark,
    Summary,
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
    /// The unit on the forearm, where one is worn or is to be.
    forearm: Option<SensorView>,
    fit: Fit,
    /// Its fitting takes long, did not work or hurts: going on without is offered.
    without_offered: bool,
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
    forearm_battery_said: bool,
    forearm_away_said: bool,
    /// Something beyond questions was begun.
    worked: bool,
    /// No more than "as far as is comfortable" is said of range after pain.
    pain_said: bool,
    /// Short repetitions in a row.
    short_in_a_row: u32,
    /// A set is announced in the recording and not ended.
    set_open: bool,
    /// The sensor was worn strangely in the set: it is put on and fitted anew before the next.
    misworn: bool,
    /// Repetitions of the part done before a stop.
    done_before: u32,
    /// A set that was ended, until it is known what there is of it.
    ended: Option<late::Ended>,
    /// Repetitions of the set that was done last, and how many were asked for.
    set_done: Option<[u32; 2]>,
    /// It ended since it was out of form.
    set_tired: bool,
    /// After that many of the part it was asked for tingling.
    asked_after: Option<u32>,
    /// The strap was put on anew because it tingled.
    strap_tingled: bool,
    /// The hands feel worse after the work than the routine allows.
    worse_after: bool,
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
        let done_before = plan.already_counted;
        let course = plan.routine.course(&hands);
        let weights = plan.routine.weights_on(plan.today) == Weights::Allowed;
        Guided {
            part: plan.already_done.min(course.len()),
            planned: course.clone(),
            forearm: plan.forearm.then(SensorView::default),
            plan,
            course,
            at: At::Welcome,
            now_s: 0.0,
            sensor: SensorView::default(),
            fit: Fit::Unknown,
            without_offered: false,
            strapped: None,
            wearing_asked: false,
            heard: None,
            before: Hands::default(),
            weights,
            over_limits_count: 0,
            over_limits_since_s: None,
            battery_said: false,
            forearm_battery_said: false,
            forearm_away_said: false,
            worked: false,
            pain_said: false,
            short_in_a_row: 0,
            set_open: false,
            misworn: false,
            ended: None,
            set_done: None,
            set_tired: false,
            done_before,
            asked_after: None,
            strap_tingled: false,
            worse_after: false,
            latest: None,
            done: Vec::new(),
            stopped_for_symptoms: false,
            wrong: None,
            phase_said: (Phase::None, 0),
            angle_deg: None,
        }
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
        let item = self.item()?.counted_in(part.set)?;
        match part.hands {
            PartHands::One(side) => Some((exercise::today(&item, self.weights), part, side)),
            PartHands::Both => None,
        }
    }
}
