//! The one pipeline: from a recording's samples to its analysed sets, for replay and review, and
//! sample by sample for live use.
//!
//! [`analyse`] looks at a whole recording with the smoother; [`live::Live`] takes samples and
//! events as they come. Everything after the orientation is shared.

mod elbow;
pub mod forearm;
pub mod live;
mod live_set;
mod live_sight;
mod live_start;
pub mod motion;
mod refined;
mod set;
mod sets;
mod sight;
pub mod summary;
mod trouble;
mod wear;

pub use live_start::UNKNOWN_RATE_HZ;
pub use refined::{Detail, SetDetail, analyse, analyse_in_detail};
pub use set::{Analysis, BandTimes, SetResult, Trend, own_and_wrist};
pub use sets::{Expectation, ExpectationError, SetSpec, band_of, set_specs};

/// Version of the analysis: it changes whenever a number may, and summaries are made anew.
pub const ANALYSIS_VERSION: u32 = 6;

/// What every angle of two sensors means; shown wherever such angles are.
pub const TWO_SENSORS_NOTE: &str = "Two sensors: angles are the hand against the forearm, and a forearm that moves along is taken off.";

/// What angles mean where some are of one sensor and some of two.
pub const BOTH_NOTE: &str = "Some angles are of two sensors, the hand against the forearm; the others are the hand against its neutral pose, and a forearm that moves along is part of them.";

/// What every angle of one sensor means; shown wherever angles are.
pub const ONE_SENSOR_NOTE: &str = "One sensor: angles are the hand against its neutral pose, and a forearm that moves along is part of them.";
