//! The prescription: what is to be done, how often, how slowly, with what load and limits.
//!
//! A routine is a TOML file that a person can read, checked by [`Routine::from_toml`]: a key that
//! the format does not know is an error there, because a misspelt limit must not be silently lost.
//! Within a recording the routine is JSON, written by this program after that check: there unknown
//! keys are ignored, so that an older program still opens the recordings of a newer one.

mod agreement;
mod band;
mod check;
mod course;
mod date;
pub mod draft;
mod duration;
mod error;
mod fields;
mod item;
mod limits;
pub(crate) mod nearest;
mod range_test;
mod remarks;
mod schema;
mod starting;
mod stretch;
mod tempo;
mod timed;
mod weights;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

pub use band::{HARDLY_TOLD_DEG_S, TempoBand, Verdict};
pub use course::{Order, Part, PartHands, strap_changes};
pub use duration::{Duration, USUAL_REST_S};
pub use error::RoutineError;
pub use fields::fields;
pub use item::{CountedItem, Item, ItemSide, KG_PER_LB, RangeBand, load_step_percent};
pub use limits::{FormRule, Limits};
pub use range_test::RangeTestItem;
pub use remarks::Remark;
pub use starting::{STARTING, Starting};
pub use stretch::StretchItem;
pub use tempo::{LONGEST_PART_S, Pace, Tempo, TempoError};
pub use timed::{TimedDose, TimedItem};
pub use weights::Weights;

/// A prescription.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Routine {
    /// Its name, for headings.
    pub title: String,
    /// Where the dose comes from, in words: a publication, or "common practice, no source".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// The clinician's own words for the whole routine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// How often the items are gone through in one session; at least 1.
    #[serde(default = "one")]
    pub rounds: u32,
    /// In which order the hands take turns.
    #[serde(default)]
    pub order: Order,
    /// Sessions asked for in a week; `None` is not prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sessions_a_week: Option<u32>,
    /// The day on which the questions before the first session were gone through.
    #[serde(default, with = "date", skip_serializing_if = "Option::is_none")]
    pub screened_on: Option<Date>,
    /// Whom to ask and how, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contact: Option<String>,
    /// The day by which the routine is to be looked at again.
    #[serde(default, with = "date", skip_serializing_if = "Option::is_none")]
    pub review_by: Option<Date>,
    /// When to stop.
    #[serde(default)]
    pub limits: Limits,
    /// When a set has become tired.
    #[serde(default)]
    pub form: FormRule,
    /// What counts as in tempo.
    #[serde(default)]
    pub tempo_band: TempoBand,
    /// What is done, in order.
    #[serde(default)]
    pub items: Vec<Item>,
}

fn one() -> u32 {
    1
}

impl Routine {
    /// Reads and checks a routine.
    ///
    /// # Errors
    /// The first of [`Routine::problems`].
    pub fn from_toml(text: &str) -> Result<Routine, RoutineError> {
        check::read(text).map_err(|mut problems| problems.remove(0))
    }

    /// Everything that is wrong with the text of a routine, in the order of the file; empty when
    /// [`Routine::from_toml`] reads it.
    pub fn problems(text: &str) -> Vec<RoutineError> {
        check::read(text).err().unwrap_or_default()
    }

    /// The routine as TOML that [`Routine::from_toml`] reads back to the same routine.
    ///
    /// # Errors
    /// [`RoutineError::Unwritable`] when a value has no TOML form; none of a checked routine has.
    pub fn to_toml(&self) -> Result<String, RoutineError> {
        toml::to_string(self).map_err(|error| RoutineError::Unwritable {
            message: error.to_string(),
        })
    }
}
