//! Stretches and holds in a routine.

use serde::{Deserialize, Serialize};

use super::ItemSide;
use crate::movement::Stretch;

/// A stretch or hold with a timer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StretchItem {
    /// Which one.
    pub stretch: Stretch,
    /// For which hand; one that takes both hands at once is done once and is for both.
    pub side: ItemSide,
    /// How long it is held, seconds, 5 to 120.
    pub hold_s: f64,
    /// How often in one round, 1 to 10; default 1.
    #[serde(default = "super::one")]
    pub times: u32,
    /// Whether it can bring on tingling; `None` is as the catalogue says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub provokes: Option<bool>,
    /// Pause after each hold in seconds; `None` is not prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest_s: Option<f64>,
    /// The clinician's own words for this item.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

impl StretchItem {
    /// Whether half-way is asked for tingling: as the routine says, else as the catalogue.
    pub fn provokes(&self) -> bool {
        self.provokes.unwrap_or_else(|| self.stretch.provokes())
    }
}
