//! How far two ways of measuring agree: the program and marks made by hand. Agreement with the program
//! is not correctness.

mod bland_altman;
mod icc;
mod pairs;

pub use bland_altman::{Between, Limits, limits};
pub use icc::{Icc, icc};
pub use pairs::{Marked, Pairing, Spans, paired};

/// Said wherever agreement is shown.
pub const AGREEMENT_NOTE: &str = "Agreement with the program is not correctness.";
