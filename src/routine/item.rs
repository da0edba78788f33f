//! The items of a routine.

use serde::{Deserialize, Deserializer, Serialize};

use super::Tempo;
use crate::movement::{LoadShape, Movement, MovingPhase, Posture, Side};

/// Kilograms of one avoirdupois pound (exact: International Yard and Pound Agreement, 1959).
pub const KG_PER_LB: f64 = 0.453_592_37;

/// One thing to do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Item {
    /// A movement whose repetitions are counted and timed.
    Counted(CountedItem),
}

/// For which hand an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ItemSide {
    /// The left hand.
    Left,
    /// The right hand.
    Right,
    /// One hand after the other.
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
    /// Repetitions that may be done beyond these, if it goes easily; 0 is none.
    pub extra_repetitions: u32,
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
            #[serde(default)]
            extra_repetitions: u32,
            load_kg: Option<f64>,
            load_lb: Option<f64>,
            load_shape: Option<LoadShape>,
            rest_s: Option<f64>,
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
            extra_repetitions: written.extra_repetitions,
            load_kg: written
                .load_kg
                .or_else(|| written.load_lb.map(|pounds| pounds * KG_PER_LB)),
            load_lb: written.load_lb,
            load_shape: written.load_shape,
            rest_s: written.rest_s,
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
