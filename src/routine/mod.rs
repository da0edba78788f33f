//! The prescription: what is to be done, how often, how slowly, with what load and limits.
//!
//! A routine is a TOML file that a person can read, checked by [`Routine::from_toml`]: a key that
//! the format does not know is an error there, because a misspelt limit must not be silently lost.
//! Within a recording the routine is JSON, written by this program after that check: there unknown
//! keys are ignored, so that an older program still opens the recordings of a newer one.

mod band;
mod check;
mod date;
mod item;
pub(crate) mod nearest;
mod schema;
mod starting;
mod tempo;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

pub use band::{TempoBand, Verdict};
pub use check::RoutineError;
pub use item::{CountedItem, Item, ItemSide, KG_PER_LB, RangeBand, load_step_percent};
pub use starting::{STARTING, Starting};
pub use tempo::{LONGEST_PART_S, Pace, Tempo, TempoError};

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

/// When a set or a session stops. All are settings of the routine; the defaults are common
/// practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Limits {
    /// Highest pain to go on with, 0 to 10; default 3.
    pub pain_max: u8,
    /// Highest rise of pain above the day's start, 0 to 10; default 2.
    pub pain_rise_max: u8,
    /// Highest rise of tingling above the day's start, 0 to 10; default 0: any ends the set.
    pub tingling_rise_max: u8,
    /// Highest rise of numbness above the day's start, 0 to 10; default 0: any ends the set.
    pub numbness_rise_max: u8,
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            pain_max: 3,
            pain_rise_max: 2,
            tingling_rise_max: 0,
            numbness_rise_max: 0,
        }
    }
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
