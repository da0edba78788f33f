//! What the page shows: one screen at a time, as numbers and words of the field. The page draws it
//! and knows nothing else.

use serde::Serialize;

pub use super::timed::HoldView;
use super::working::{Reach, Standing, Stopped};
use crate::movement::{LoadShape, Movement, Posture, Side};
use crate::recording::When;
use crate::routine::Verdict;

/// The page's state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// What is on the screen.
    pub screen: Screen,
    /// The link to the sensor.
    pub sensor: SensorView,
    /// The link to the one on the forearm, where one is worn or is to be.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub forearm: Option<SensorView>,
    /// Parts of what was planned that come before the one at hand, done or left out, and how many
    /// there are.
    pub done_of: [usize; 2],
    /// Whether weights are offered today.
    pub weights: bool,
    /// Whether the person hears what is said; `None` was not asked yet.
    pub heard: Option<bool>,
    /// Whether this is played by an invented person.
    pub simulated: bool,
}

/// The link to the sensor.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct SensorView {
    /// What is known of it.
    pub link: LinkView,
    /// Charge, 0 to 100, if it is known.
    pub battery_percent: Option<u8>,
    /// It is so low that it is warned of.
    pub battery_low: bool,
}

/// What is known of the link.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinkView {
    /// None yet.
    #[default]
    Looking,
    /// Samples come.
    There,
    /// Connected, and nothing comes.
    Stalled,
    /// Lost; it is looked for.
    Lost,
    /// It will not come back.
    Gone,
}

/// What is on the screen.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "screen", rename_all = "kebab-case")]
pub enum Screen {
    /// The first screen: one click or key starts.
    Welcome {
        /// The routine's title.
        title: String,
        /// An unfinished session is taken up.
        unfinished: bool,
        /// There was a session before whose night can be asked about.
        questions: bool,
        /// The session was set up for a clinic: saving for it is offered.
        clinic: bool,
    },
    /// The questions before the first session.
    FirstQuestions {
        /// Any of these: not today.
        questions: Vec<&'static str>,
    },
    /// Not today: what to do and whom to ask.
    NotToday {
        /// The heading.
        heading: String,
        /// What to do.
        words: String,
        /// Whom to ask, as the routine says.
        contact: Option<String>,
    },
    /// How the night and the morning were.
    Night,
    /// Worse the morning after: was the clinician asked?
    AskFirst {
        /// Whom to ask, as the routine says.
        contact: Option<String>,
    },
    /// The cautions.
    Cautions {
        /// In plain words.
        cautions: Vec<String>,
    },
    /// Pain, tingling, numbness.
    Symptoms {
        /// Which time.
        when: When,
        /// Hands that are asked about.
        sides: Vec<Side>,
    },
    /// Where the sensor goes.
    Place {
        /// Which hand.
        side: Side,
        /// It was on the other hand before.
        change: bool,
    },
    /// Can you hear me?
    Hearing,
    /// Hold still, or make the one movement.
    Calibrate {
        /// Which hand.
        side: Side,
        /// The movement.
        movement: Movement,
        /// How the arm is held.
        posture: Posture,
        /// Whether the movement is asked for, else stillness.
        move_now: bool,
        /// What was wrong last time.
        wrong: Option<String>,
        /// Whether going on without is offered.
        without: bool,
    },
    /// Does the strap tingle?
    Wearing {
        /// Which hand.
        side: Side,
        /// It did: looser or nearer the fingers.
        looser: bool,
    },
    /// What comes next.
    Intro(ExerciseView),
    /// A set.
    Working {
        /// What is done.
        exercise: ExerciseView,
        /// Where it is.
        live: LiveView,
    },
    /// A stretch, a hold, a glide, or another thing without repetitions.
    Timed {
        /// The item's heading.
        heading: String,
        /// How it is done.
        words: String,
        /// Which of the drawings.
        drawing: String,
        /// Which hand; `None` is both.
        side: Option<Side>,
        /// How long it is to last, seconds.
        lasts_s: f64,
        /// Time left, seconds; `None` before it was begun.
        left_s: Option<f64>,
        /// Which time of how many.
        time_of: [u32; 2],
        /// Any tingling? is asked.
        tingling: bool,
        /// How a stretch is held, where the sensor sees it.
        hold: Option<HoldView>,
        /// The position of a glide.
        position: Option<&'static str>,
    },
    /// A rest.
    Rest {
        /// Time left, seconds.
        left_s: f64,
        /// Repetitions of the set that was done, and how many were asked for.
        done: Option<[u32; 2]>,
        /// The set ended since it was out of form.
        good_place: bool,
        /// What comes next, in words.
        next: String,
        /// Whether a weight has to be put down.
        weight: bool,
    },
    /// Stopped: put the weight down; does it hurt?
    Paused {
        /// Why.
        why: Stopped,
        /// Whether a weight has to be put down.
        weight: bool,
        /// What was done can bring on tingling.
        provokes: bool,
        /// Something of the part was done, so that it may be enough.
        enough: bool,
    },
    /// How much, what kind, which hand.
    Hurt {
        /// Hands that may be meant.
        sides: Vec<Side>,
    },
    /// What comes of it: the exercise is over, or it may go on gently.
    Settling {
        /// What to do.
        words: String,
        /// Whether going on is offered.
        may_go_on: bool,
    },
    /// A remark for the clinician.
    Remark,
    /// The end.
    Summary {
        /// Something beyond questions was begun.
        worked: bool,
        /// What was done, in sentences.
        sentences: Vec<String>,
        /// When the next session is due, in words.
        next: Option<String>,
        /// The session was set up for a clinic: saving for it is offered.
        clinic: bool,
    },
}

/// An exercise as the page shows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExerciseView {
    /// The movement.
    pub movement: Movement,
    /// In patient words.
    pub words: String,
    /// Whether it is a direction of a range test.
    pub range_test: bool,
    /// Which hand.
    pub side: Side,
    /// How the arm is held.
    pub posture: Posture,
    /// Load, kg; 0 is the empty hand, `None` is not prescribed.
    pub load_kg: Option<f64>,
    /// Its shape.
    pub load_shape: Option<LoadShape>,
    /// The load in words.
    pub load_words: String,
    /// The tempo in words.
    pub tempo_words: Option<String>,
    /// The times of its phases, where a tempo is asked for.
    pub asked: Option<AskedView>,
    /// Repetitions asked for.
    pub target: u32,
    /// The round, and how many there are.
    pub round_of: [u32; 2],
    /// The set of the round, and how many there are.
    pub set_of: [u32; 2],
    /// The clinician's own words.
    pub own_words: Option<String>,
    /// The movement's own caution.
    pub caution: &'static str,
}

/// How long each phase is to take, seconds; `None` is as fast as possible.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AskedView {
    /// The way out.
    pub lift_s: Option<f64>,
    /// The pause at its end.
    pub hold_s: f64,
    /// The way back.
    pub lower_s: Option<f64>,
    /// The pause before the next.
    pub rest_s: f64,
}

/// A set as it goes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LiveView {
    /// Where the set is.
    pub standing: Standing,
    /// Repetitions done.
    pub count: u32,
    /// The phase: rest, lift, hold, lower or none.
    pub phase: &'static str,
    /// What it is called to the person; empty where nothing is said.
    pub word: &'static str,
    /// Half-way: any tingling? Shown until the next repetition.
    pub asks_tingling: bool,
    /// For how long it has lasted, seconds.
    pub phase_s: f64,
    /// How long the tempo asks for it, seconds; `None` where it asks nothing.
    pub asked_s: Option<f64>,
    /// Measured angle from the neutral pose, degrees.
    pub angle_deg: Option<f64>,
    /// Where to reach, degrees.
    pub target_deg: Option<f64>,
    /// Where to turn back, degrees.
    pub no_further_deg: Option<f64>,
    /// The latest repetition.
    pub latest: Option<LatestView>,
}

/// The latest repetition.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LatestView {
    /// How the tempo was kept.
    pub verdict: Option<Verdict>,
    /// How far it went, by the band.
    pub reach: Option<Reach>,
    /// Time of the lowering, seconds.
    pub lower_s: f64,
    /// Range, degrees.
    pub range_deg: f64,
}
