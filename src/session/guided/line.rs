//! Everything that a guided session says aloud, in one place, ready for translation. The page speaks
//! the words with a local voice, or shows them large.

use super::super::Say;
use super::super::worn::told;
use super::aloud::second;
use crate::joint::wear::WearKind;
use crate::movement::{GlidePosition, Plane, Side};
use crate::routine::{CountedItem, Item};

/// Something said.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// The routine is to be looked at again.
    ReviewDue,
    /// Numb fingers: no weight today.
    NoWeightWhenNumb,
    /// The sensor goes on that hand.
    PutOn {
        /// Which.
        side: Side,
        /// It is on the other one.
        change: bool,
    },
    /// The sensors go on that hand and on its forearm.
    PutOnBoth {
        /// Which.
        side: Side,
        /// They are on the other one.
        change: bool,
    },
    /// Can you hear me?
    CanYouHearMe,
    /// The sensor is fitted next.
    CalibrateFirst,
    /// Both sensors are fitted next.
    CalibrateBothFirst,
    /// A prompt of the calibration.
    Calibration(Say),
    /// A range test is left out, since the sensor was not fitted.
    NoRangeUnfitted,
    /// Does the strap tingle?
    DoesTheStrapTingle,
    /// Does it tingle under one of two straps?
    DoTheStrapsTingle,
    /// Looser, or nearer the fingers.
    LooserStrap,
    /// The same of one of two straps.
    LooserStraps,
    /// What comes next, by its title.
    Next(String),
    /// Take up the weight, or your place.
    TakeUp {
        /// There is a weight.
        weight: bool,
    },
    /// The next lift begins the set.
    Ready,
    /// The same of a direction of a range test.
    ReadyForRange,
    /// Held for as long as asked at the end of a range: and back.
    AndBack,
    /// A second of a phase: its word first, then the number.
    Second {
        /// The phase's word, as a person is told.
        word: &'static str,
        /// From 1.
        number: u32,
    },
    /// A repetition's number.
    Count(u32),
    /// So many to go.
    MoreToGo(u32),
    /// The dose is done; up to so many more if they are easy.
    MoreAllowed(u32),
    /// Beyond the ceiling of the range.
    FarEnough,
    /// Short of the range, three times in a row.
    AsFarAsComfortable,
    /// The lowering was hurried.
    Slower,
    /// The sensor is worn strangely.
    Worn(WearKind),
    /// The hand is still, and not where the exercise begins.
    NotInStartPosture,
    /// The forearm is to stay where it lies.
    ForearmDown,
    /// The dose is done.
    DoseDone,
    /// Out of form.
    GoodPlaceToStop {
        /// There is a weight to be put down.
        weight: bool,
    },
    /// A rest begins.
    Rest {
        /// There is a weight to be put down.
        weight: bool,
    },
    /// There is no rest, and a weight to be put down.
    PutDown,
    /// Half of a counted item that can provoke is done: going on is no.
    HalfWay,
    /// The position of a glide.
    Position(GlidePosition),
    /// A timed item begins.
    BeginTimed,
    /// A timed item is over.
    TimeIsUp,
    /// Half-way through something that can provoke.
    AnyTingling,
    /// Stopped: does it hurt?
    DoesItHurt {
        /// There is a weight to be put down.
        weight: bool,
        /// What was done can bring on tingling.
        provokes: bool,
    },
    /// How much, and where?
    HowMuch,
    /// Within the limits.
    WithinLimits,
    /// This exercise is over for today.
    EndOfItem,
    /// Wait until it has settled.
    NotSettled,
    /// The session is over for today.
    EndOfSession,
    /// The battery is low.
    BatteryLow,
    /// Only questions were answered.
    AnswersKept,
    /// The sensor is lost.
    SensorLost,
    /// The forearm's sensor sends nothing.
    ForearmAway,
    /// The battery of the forearm's sensor is low.
    ForearmBatteryLow,
    /// The computer was asleep.
    Asleep {
        /// There is a weight to be put down.
        weight: bool,
    },
    /// The work is over: how is it now?
    WorkIsOver,
    /// A hand feels worse than at the day's start.
    WorseAfter,
    /// A hand felt worse the morning after than when the last session began.
    WorseMorning,
    /// The strap tingles again.
    StrapTinglesAgain,
}

impl Line {
    /// The words.
    pub fn words(&self) -> String {
        let fixed = match self {
            Line::PutOn { side, change } => {
                let does = if *change {
                    "Move the sensor to"
                } else {
                    "Put the sensor on"
                };
                return format!(
                    "{does} your {} hand. Put any weight down first.",
                    side.name()
                );
            }
            Line::PutOnBoth { side, change } => {
                let does = if *change {
                    "Move both sensors to"
                } else {
                    "Put both sensors on"
                };
                return format!(
                    "{does} your {} arm: one on the back of the hand, one on the forearm. Put any weight down first.",
                    side.name()
                );
            }
            Line::Calibration(say) => return say.words(),
            Line::Next(title) => return format!("Next: {title}."),
            Line::Second { word, number } => return second(word, *number),
            Line::Position(position) => return sentence(position.words()),
            Line::Count(number) => return number.to_string(),
            Line::MoreToGo(1) => "One more.",
            Line::MoreToGo(left) => return format!("{left} more."),
            Line::MoreAllowed(most) => {
                return format!(
                    "That is your dose. Stop here, or up to {most} more if it is easy."
                );
            }
            Line::TakeUp { weight: true } => "Take up the weight and hold still to begin.",
            Line::TakeUp { weight: false } => "Take your place and hold still to begin.",
            Line::DoesItHurt { weight, provokes } => match (weight, provokes) {
                (true, false) => "Put the weight down. Does it hurt?",
                (false, false) => "Rest your hand. Does it hurt?",
                (true, true) => "Put the weight down. Does it hurt or tingle?",
                (false, true) => "Rest your hand. Does it hurt or tingle?",
            },
            Line::ReviewDue => {
                "Your routine is due for a look. Ask your clinician; until then, no weights."
            }
            Line::NoWeightWhenNumb => "Your fingers feel numb, so no weight today.",
            Line::CanYouHearMe => "Can you hear me?",
            Line::CalibrateFirst => {
                "First the sensor has to learn how it sits. Forearm on the table, palm down, empty hand."
            }
            Line::CalibrateBothFirst => {
                "First the sensors have to learn how they sit. Forearm on the table, palm down, empty hand."
            }
            Line::NoRangeUnfitted => {
                "How far the hand goes is left out today: for that the sensor has to be fitted."
            }
            Line::DoTheStrapsTingle => "Does it tingle under one of the straps?",
            Line::DoesTheStrapTingle => "Does the hand tingle under the strap?",
            Line::LooserStraps => "Take off the one that tingles, and put it on looser.",
            Line::LooserStrap => "Take the sensor off. Put it on looser, or nearer to the fingers.",
            Line::Ready => "Ready. Begin when you like.",
            Line::ReadyForRange => {
                "Ready. Slowly out, as far as is comfortable; stay there, and slowly back."
            }
            Line::AndBack => "And back.",
            Line::FarEnough => "Far enough.",
            Line::Worn(kind) => told(*kind),
            Line::NotInStartPosture => {
                "Not in the start position yet. If you are, the sensor may sit the other way round: please check the strap."
            }
            Line::AsFarAsComfortable => "As far as is comfortable.",
            Line::Slower => "Slower on the way down.",
            Line::ForearmDown => "Keep the forearm down on the table.",
            Line::DoseDone => "That is all of this set.",
            Line::GoodPlaceToStop { weight: true } => "A good place to stop. Put it down.",
            Line::GoodPlaceToStop { weight: false } => "A good place to stop.",
            Line::Rest { weight: true } => "Put the weight down. Rest.",
            Line::Rest { weight: false } => "Rest.",
            Line::PutDown => "Put the weight down.",
            Line::HalfWay => "Half-way. Any tingling? Then be still. If not, go on.",
            Line::BeginTimed => "Begin.",
            Line::TimeIsUp => "And let go.",
            Line::AnyTingling => "Any tingling?",
            Line::HowMuch => "How much does it hurt, and where?",
            Line::WithinLimits => {
                "Rest a moment. You may go on gently, or leave this exercise out."
            }
            Line::EndOfItem => "That is enough of this exercise for today. Rest the hand.",
            Line::NotSettled => {
                "Rest the hand until it feels as it did at the start. Then press Next, and I will ask again."
            }
            Line::BatteryLow => "The sensor's battery is low. Charge it after this session.",
            Line::ForearmBatteryLow => {
                "The battery of the forearm sensor is low. Charge it after this session."
            }
            Line::ForearmAway => "The forearm sensor is out of reach. Go on: the other one counts.",
            Line::AnswersKept => "Thank you. Your answers are kept.",
            Line::EndOfSession => {
                "That is enough for today. Rest the hand, and ask your clinician before the next session."
            }
            Line::SensorLost => {
                "The sensor is out of reach. Put the weight down; I am looking for it."
            }
            Line::Asleep { weight: true } => {
                "The computer was asleep. Put the weight down. Shall we go on?"
            }
            Line::Asleep { weight: false } => "The computer was asleep. Shall we go on?",
            Line::WorseAfter => {
                "Your hand feels worse than at the start. Rest it. If it is not as before by tomorrow morning, ask your clinician before the next session."
            }
            Line::WorseMorning => {
                "Your hand felt worse this morning than before the last session. Ask your clinician before the next one."
            }
            Line::StrapTinglesAgain => {
                "It tingles again, so take the sensor off and leave it off today. Tell your clinician."
            }
            Line::WorkIsOver => "Well done. Put everything down. How do your hands feel now?",
        };
        fixed.to_owned()
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    format!("{first}{}.", letters.as_str())
}

/// The title of an item in a patient's words.
pub fn item_title(item: &Item) -> &'static str {
    match item {
        Item::Counted(item) => item.movement.said_first(&item.posture()),
        Item::RangeTest(item) => match item.plane {
            Plane::FlexionExtension => "How far the wrist bends",
            Plane::RadialUlnarDeviation => "How far the hand goes to the sides",
            Plane::PronationSupination => "How far the palm turns",
        },
        Item::Stretch(item) => item.stretch.title(),
        Item::Timed(item) => item.what.title(),
    }
}

/// The title of a part of an item: each direction of a range test has its own.
pub fn part_title(item: &Item, set: u32) -> String {
    match item.counted_in(set).filter(CountedItem::is_range_test) {
        Some(direction) => range_title(&direction),
        None => item_title(item).to_owned(),
    }
}

/// The title of a direction of a range test.
pub fn range_title(direction: &CountedItem) -> String {
    let said = direction.movement.said(&direction.posture());
    format!("How far: {said}")
}

/// The questions before the first session: any of them is for the clinician. Facts of the trade,
/// common practice, no source.
pub const FIRST_QUESTIONS: [&str; 7] = [
    "A joint is hot, red or swollen, or you have a fever.",
    "You hurt this arm, or had an injection or an operation on it, not long ago.",
    "There is sudden or new weakness, the muscle at the base of the thumb has become thin, or you drop things.",
    "Fingers are numb all the time.",
    "You have trouble with your neck, or trouble in both hands together with other complaints.",
    "You are pregnant.",
    "Pain at night that nothing eases.",
];

/// The cautions before each session (common practice, no source).
pub const CAUTIONS: [&str; 5] = [
    "Stop when it hurts: put the weight down, or press any key.",
    "Tingling in thumb, index or middle finger is not soreness. Stop, and say so.",
    "Sit upright at a table, the weight over the table and not over your feet.",
    "Breathe on. Do not hold your breath.",
    "A tired forearm for a day or two is ordinary. Catching, locking or painful clicking is not: tell your clinician.",
];
