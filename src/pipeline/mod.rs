//! The one pipeline: from a recording's samples to its analysed sets, for replay and review, and
//! sample by sample for live use.

pub mod motion;
