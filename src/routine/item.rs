//! The items of a routine.

use serde::{Deserialize, Deserializer, Serialize};

use super::{StretchItem, Tempo, TimedItem};
use crate::movement::{Hands, LoadShape, Movement, MovingPhase, Posture, Side};

/// Kilograms of one avoirdupois pound (exact: International Yard and Pound Agreement, 1959).
pub const KG_PER_LB: f64 = 0.453_592_37;

/// One thing to do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Item {
    /// A movement whose repetitions are counted and timed.
    Counted(CountedItem),
    /// A stretch or hold with a timer.
    Stretch(StretchItem),
    /// Something done for a time, which the sensor does not count.
    Timed(TimedItem),
}

impl Item {
    /// The counted movement; `None` for anything else.
    pub fn counted(&self) -> Option<&CountedItem> {
        match self {
            Item::Counted(item) => Some(item),
            Item::Stretch(_) | Item::Timed(_) => None,
        }
    }

    /// For which hand it is.
    pub fn side(&self) -> ItemSide {
        match self {
            Item::Counted(item) => item.side,
            Item::Stretch(item) => item.side,
            Item::Timed(item) => item.side,
        }
    }

    /// Which hands it takes at a time.
    pub fn hands(&self) -> Hands {
        match self {
            Item::Counted(_) => Hands::OneAtATime,
            Item::Stretch(item) => item.stretch.hands(),
            Item::Timed(item) => item.what.hands(),
        }
    }

    /// Sets of a counted item in one round, holds of a stretch, else 1.
    pub fn sets(&self) -> u32 {
        match self {
            Item::Counted(item) => item.sets,
            Item::Stretch(item) => item.times,
            Item::Timed(_) => 1,
        }
    }

    /// Pause after each set or hold in seconds; `None` is not prescribed.
    pub fn rest_s(&self) -> Option<f64> {
        match self {
            Item::Counted(item) => item.rest_s,
            Item::Stretch(item) => item.rest_s,
            Item::Timed(_) => None,
        }
    }

    /// The clinician's own words.
    pub fn words(&self) -> Option<&str> {
        match self {
            Item::Counted(item) => item.words.as_deref(),
            Item::Stretch(item) => item.words.as_deref(),
            Item::Timed(item) => item.words.as_deref(),
        }
    }

    /// Whether it can bring on tingling, so that half-way is asked for it.
    pub fn provokes(&self) -> bool {
        match self {
            Item::Counted(item) => item.provokes(),
            Item::Stretch(item) => item.provokes(),
            Item::Timed(item) => item.provokes(),
        }
    }

    /// Whether it cannot be done without the sensor on the hand that works.
    pub fn needs_sensor(&self) -> bool {
        self.counted().is_some()
    }
}

/// For which hand an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ItemSide {
    /// The left hand.
    Left,
    /// The right hand.
    Right,
    /// One hand after the other, or both at once where the item takes both.
    Both,
}

impl ItemSide {
    /// The hands, in order.
    pub fn sides(self) -> &'static [Side] {
        match self {
            ItemSide::Left => &[Side::Left],
            ItemSide::Right => &[Side::Right],
            ItemSide::Both => &[Side::Left, Side::Right],
        }
    }
}

/// A counted movement and its dose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CountedItem {
    /// The movement.
    pub movement: Movement,
    /// For which hand.
    pub side: ItemSide,
    /// Sets in one round.
    pub sets: u32,
    /// Repetitions of one set.
    pub repetitions: u32,
    /// Repetitions that may at most be done beyond these, if it goes easily; 0 is none.
    pub extra_repetitions_max: u32,
    /// Load in kg; 0 is the empty hand, `None` is not prescribed. Filled in from `load_lb`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_kg: Option<f64>,
    /// The load as written, where it was written in pounds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_lb: Option<f64>,
    /// Where the mass of the load lies.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub load_shape: Option<LoadShape>,
    /// Pause after a set in seconds; `None` is not prescribed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest_s: Option<f64>,
    /// Whether it can bring on tingling; `None` is as the catalogue says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub provokes: Option<bool>,
    /// The clinician's own words for this item.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// How slowly; `None` is not prescribed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<Tempo>,
    /// How far; `None` is not prescribed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<RangeBand>,
    /// How the arm is held; `None` is the movement's usual posture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub posture: Option<Posture>,
}

/// How far a movement is to go, in degrees of its own direction from the neutral pose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RangeBand {
    /// Where to reach; `None` is not prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_deg: Option<f64>,
    /// Where to turn back at the latest; `None` is not prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub no_further_deg: Option<f64>,
}

impl CountedItem {
    /// The posture prescribed, or the movement's usual one.
    pub fn posture(&self) -> Posture {
        self.posture
            .unwrap_or_else(|| self.movement.usual_posture())
    }

    /// The phase that the tempo's first number is held against; `None` where neither lengthens a
    /// loaded muscle.
    pub fn eccentric(&self) -> Option<MovingPhase> {
        self.movement
            .eccentric(&self.posture(), self.load_kg, self.load_shape)
    }

    /// Whether half-way is asked for tingling: as the routine says, else as the catalogue.
    pub fn provokes(&self) -> bool {
        self.provokes.unwrap_or_else(|| self.movement.provokes())
    }

    /// The pauses that the tempo asks for as they happen, seconds: at the end of the way out, and
    /// before the next repetition. Where the way out lets the weight down, it ends at the bottom.
    pub fn pauses_s(&self) -> Option<(f64, f64)> {
        let tempo = self.tempo?;
        Some(match self.eccentric() {
            Some(MovingPhase::Lift) => (tempo.rest_s, tempo.hold_s),
            Some(MovingPhase::Lower) | None => (tempo.hold_s, tempo.rest_s),
        })
    }

    /// The tempo in the patient's words, in the order in which it happens in this posture; `None`
    /// is not prescribed.
    pub fn tempo_words(&self) -> Option<String> {
        Some(self.tempo?.words_for(self.eccentric()))
    }
}

impl<'de> Deserialize<'de> for CountedItem {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        struct AsWritten {
            movement: Movement,
            side: ItemSide,
            #[serde(default = "super::one")]
            sets: u32,
            repetitions: u32,
            // Recordings may hold the earlier name; in TOML it is refused before this.
            #[serde(default, alias = "extra_repetitions")]
            extra_repetitions_max: u32,
            load_kg: Option<f64>,
            load_lb: Option<f64>,
            load_shape: Option<LoadShape>,
            rest_s: Option<f64>,
            provokes: Option<bool>,
            words: Option<String>,
            tempo: Option<Tempo>,
            range: Option<RangeBand>,
            posture: Option<Posture>,
        }
        let written = AsWritten::deserialize(deserializer)?;
        Ok(CountedItem {
            movement: written.movement,
            side: written.side,
            sets: written.sets,
            repetitions: written.repetitions,
            extra_repetitions_max: written.extra_repetitions_max,
            load_kg: written
                .load_kg
                .or_else(|| written.load_lb.map(|pounds| pounds * KG_PER_LB)),
            load_lb: written.load_lb,
            load_shape: written.load_shape,
            rest_s: written.rest_s,
            provokes: written.provokes,
            words: written.words,
            tempo: written.tempo,
            range: written.range,
            posture: written.posture,
        })
    }
}

/// A change of load in percent of the load before; `None` from no load or an unknown one, where a
/// percentage has no meaning.
pub fn load_step_percent(before_kg: f64, change_kg: f64) -> Option<f64> {
    let percent = 100.0 * change_kg / before_kg;
    (before_kg > 0.0 && percent.is_finite()).then_some(percent)
}
