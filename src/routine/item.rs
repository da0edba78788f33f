//! The items of a routine.

use serde::{Deserialize, Deserializer, Serialize};

use super::{Pace, RangeTestItem, StretchItem, Tempo, TimedItem};
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
    /// How far a joint goes with the empty hand, each direction by itself.
    RangeTest(RangeTestItem),
    /// A stretch or hold with a timer.
    Stretch(StretchItem),
    /// Something done for a time, which the sensor does not count.
    Timed(TimedItem),
}

impl Item {
    /// The counted movement; `None` for anything else, a range test included.
    pub fn counted(&self) -> Option<&CountedItem> {
        match self {
            Item::Counted(item) => Some(item),
            Item::RangeTest(_) | Item::Stretch(_) | Item::Timed(_) => None,
        }
    }

    /// The movements whose repetitions are counted: of a range test its two directions, each with
    /// one set.
    pub fn all_counted(&self) -> Vec<CountedItem> {
        match self {
            Item::Counted(item) => vec![item.clone()],
            Item::RangeTest(item) => item.sets().to_vec(),
            Item::Stretch(_) | Item::Timed(_) => Vec::new(),
        }
    }

    /// What is counted in a set of it, from 1; `None` where nothing is.
    pub fn counted_in(&self, set: u32) -> Option<CountedItem> {
        match self {
            Item::Counted(item) => Some(item.clone()),
            Item::RangeTest(item) => {
                let index = usize::try_from(set).ok()?.checked_sub(1)?;
                item.sets().into_iter().nth(index)
            }
            Item::Stretch(_) | Item::Timed(_) => None,
        }
    }

    /// For which hand it is.
    pub fn side(&self) -> ItemSide {
        match self {
            Item::Counted(item) => item.side,
            Item::RangeTest(item) => item.side,
            Item::Stretch(item) => item.side,
            Item::Timed(item) => item.side,
        }
    }

    /// Which hands it takes at a time.
    pub fn hands(&self) -> Hands {
        match self {
            Item::Counted(_) | Item::RangeTest(_) => Hands::OneAtATime,
            Item::Stretch(item) => item.stretch.hands(),
            Item::Timed(item) => item.what.hands(),
        }
    }

    /// Sets of a counted item in one round, directions of a range test, holds of a stretch, else 1.
    pub fn sets(&self) -> u32 {
        match self {
            Item::Counted(item) => item.sets,
            Item::RangeTest(_) => 2,
            Item::Stretch(item) => item.times,
            Item::Timed(_) => 1,
        }
    }

    /// Pause after each set or hold in seconds; `None` is not prescribed.
    pub fn rest_s(&self) -> Option<f64> {
        match self {
            Item::Counted(item) => item.rest_s,
            Item::RangeTest(_) => None,
            Item::Stretch(item) => item.rest_s,
            Item::Timed(_) => None,
        }
    }

    /// The clinician's own words.
    pub fn words(&self) -> Option<&str> {
        match self {
            Item::Counted(item) => item.words.as_deref(),
            Item::RangeTest(item) => item.words.as_deref(),
            Item::Stretch(item) => item.words.as_deref(),
            Item::Timed(item) => item.words.as_deref(),
        }
    }

    /// Whether it can bring on tingling, so that half-way is asked for it.
    pub fn provokes(&self) -> bool {
        match self {
            Item::Counted(item) => item.provokes(),
            Item::RangeTest(item) => item.provokes(),
            Item::Stretch(item) => item.provokes(),
            Item::Timed(item) => item.provokes(),
        }
    }

    /// Whether it cannot be done without the sensor on the hand that works.
    pub fn needs_sensor(&self) -> bool {
        matches!(self, Item::Counted(_) | Item::RangeTest(_))
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
    /// How slowly; `None` is not prescribed. Filled in from `push_s` and `back_s` of a rotation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tempo: Option<Tempo>,
    /// How far; `None` is not prescribed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub range: Option<RangeBand>,
    /// How the arm is held; `None` is the movement's usual posture.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub posture: Option<Posture>,
    /// Of a direction of a range test alone: how long the hand stays at the end, seconds. Such a
    /// set has no weight, no tempo and no eccentric phase.
    #[serde(skip)]
    pub range_test_hold_s: Option<f64>,
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
        if self.is_range_test() {
            return None;
        }
        self.movement
            .eccentric(&self.posture(), self.load_kg, self.load_shape)
    }

    /// Whether it is a direction of a range test.
    pub fn is_range_test(&self) -> bool {
        self.range_test_hold_s.is_some()
    }

    /// Whether half-way is asked for tingling: as the routine says, else as the catalogue.
    pub fn provokes(&self) -> bool {
        self.provokes.unwrap_or_else(|| self.movement.provokes())
    }

    /// The same with an empty hand: each way takes as long as with the weight, also where it was
    /// the weight that made the way out the lowering.
    pub fn without_weight(&self) -> CountedItem {
        let mut item = self.clone();
        (item.load_kg, item.load_lb, item.load_shape) = (Some(0.0), None, None);
        if self.eccentric() == Some(MovingPhase::Lift) && item.eccentric().is_none() {
            item.tempo = self.tempo.map(|tempo| Tempo {
                lower_s: tempo.lift_s,
                rest_s: tempo.hold_s,
                lift_s: tempo.lower_s,
                hold_s: tempo.rest_s,
            });
        }
        item
    }

    /// The tempo of a push outward for so long and a way back in so long, without pauses. Which of
    /// the two is the lowering depends on movement, posture and load.
    pub fn pushed(&self, push_s: f64, back_s: f64) -> Tempo {
        let (lower_s, lift_s) = match self.eccentric() {
            Some(MovingPhase::Lift) => (push_s, back_s),
            Some(MovingPhase::Lower) | None => (back_s, push_s),
        };
        Tempo {
            lower_s: Pace::Seconds(lower_s),
            rest_s: 0.0,
            lift_s: Pace::Seconds(lift_s),
            hold_s: 0.0,
        }
    }

    /// The pauses that the tempo asks for as they happen, seconds: at the end of the way out, and
    /// before the next repetition. Where the way out lets the weight down, it ends at the bottom.
    pub fn pauses_s(&self) -> Option<(f64, f64)> {
        if let Some(hold_s) = self.range_test_hold_s {
            return Some((hold_s, 0.0));
        }
        let tempo = self.tempo?;
        Some(match self.eccentric() {
            Some(MovingPhase::Lift) => (tempo.rest_s, tempo.hold_s),
            Some(MovingPhase::Lower) | None => (tempo.hold_s, tempo.rest_s),
        })
    }

    /// The tempo in the patient's words, in the order in which it happens in this posture, or what a
    /// range test is; `None` is not prescribed.
    pub fn tempo_words(&self) -> Option<String> {
        if let Some(hold_s) = self.range_test_hold_s {
            let unit = if hold_s == 1.0 { "second" } else { "seconds" };
            return Some(format!(
                "slowly out as far as is comfortable, stay there {hold_s} {unit}, slowly back"
            ));
        }
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
            push_s: Option<f64>,
            back_s: Option<f64>,
            range: Option<RangeBand>,
            posture: Option<Posture>,
        }
        let written = AsWritten::deserialize(deserializer)?;
        let mut item = CountedItem {
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
            range_test_hold_s: None,
        };
        if let (None, Some(push_s), Some(back_s)) = (item.tempo, written.push_s, written.back_s) {
            let tempo = item.pushed(push_s, back_s).checked();
            item.tempo = Some(tempo.map_err(serde::de::Error::custom)?);
        }
        Ok(item)
    }
}

/// A change of load in percent of the load before; `None` from no load or an unknown one, where a
/// percentage has no meaning.
pub fn load_step_percent(before_kg: f64, change_kg: f64) -> Option<f64> {
    let percent = 100.0 * change_kg / before_kg;
    (before_kg > 0.0 && percent.is_finite()).then_some(percent)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;
    use crate::routine::Routine;

    #[test]
    fn an_empty_hand_goes_each_way_as_slowly_as_the_weight() {
        let text = "title = \"T\"\n[[items]]\nkind = \"counted\"\nmovement = \"supination\"\nside = \"left\"\nrepetitions = 6\nload_kg = 0.5\nload_shape = \"one-sided\"\ntempo = \"4-1-2-3\"\n";
        let routine = Routine::from_toml(text).unwrap();
        let item = routine.items.first().and_then(Item::counted).unwrap();
        let empty = item.without_weight();
        for phase in [MovingPhase::Lift, MovingPhase::Lower] {
            assert_eq!(
                empty.tempo.unwrap().prescribed(phase, empty.eccentric()),
                item.tempo.unwrap().prescribed(phase, item.eccentric()),
            );
        }
        assert_eq!(
            empty.tempo_words().unwrap(),
            "out in four, hold one at the end, back in two, wait three at the start"
        );
        let curl = text.replace("supination", "wrist-flexion");
        let routine = Routine::from_toml(&curl).unwrap();
        let item = routine.items.first().and_then(Item::counted).unwrap();
        assert_eq!(item.without_weight().tempo, item.tempo);
    }
}
