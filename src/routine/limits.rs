//! When to stop: the limits of symptoms and the rule of form.

use serde::{Deserialize, Serialize};

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
    /// Whether a weight may be held on a day that starts with numb fingers; default no: what is
    /// not felt is not held safely.
    pub weight_when_numb: bool,
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            pain_max: 3,
            pain_rise_max: 2,
            tingling_rise_max: 0,
            numbness_rise_max: 0,
            weight_when_numb: false,
        }
    }
}

/// The form rule: when a set has become tired and is a good place to stop, its repetitions kept.
/// Both are settings of the routine; the defaults are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct FormRule {
    /// As many repetitions in a row that are hurried, or that fall short of
    /// [`FormRule::least_range_ratio`], end the set. Small values end it at a slip, large ones let
    /// it go on tired. 1 to 50; default 3.
    pub hurried_in_a_row: u32,
    /// Least range as a part of the usual range (median) of the set's first three repetitions.
    /// Small values let the range shrink, 0 lets it shrink to nothing, 1 allows no loss. 0 to 1;
    /// default 0.6.
    pub least_range_ratio: f64,
}

impl Default for FormRule {
    fn default() -> Self {
        FormRule {
            hurried_in_a_row: 3,
            least_range_ratio: 0.6,
        }
    }
}
