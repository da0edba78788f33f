//! How far two ways of measuring agree: the program and marks made by hand. Agreement with the program
//! is not correctness.

mod bland_altman;
mod comparison;
#[cfg(test)]
mod examples;
mod icc;
mod measured;
mod over;
mod pairs;
mod quantiles;
mod repeatability;
mod together;
mod whole;

pub use bland_altman::{Between, Limits, limits};
pub use comparison::{Alone, Comparison, Pair, Spread};
pub use icc::{Icc, icc};
pub use measured::{EachMeasured, Measured};
pub use over::{CountAgreement, MeasureOver, ONE_RECORDING_NOTE, Over};
pub use pairs::{Marked, Pairing, paired};
pub use repeatability::{Markings, Repeatability, repeatability};
pub use together::{MeasureTogether, Together};
pub use whole::{
    Agreement, Comparisons, InRecording, MarkedRecording, Marking, OwnRepeatability, PROGRAM, TRUTH,
};

/// Said wherever agreement is shown.
pub const AGREEMENT_NOTE: &str = "Agreement with the program is not correctness.";
