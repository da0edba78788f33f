//! A rigid-body simulator of a hand with a sensor on it, with truth: the demo's sensor, and one of
//! several judges of the segmenter.

pub mod body;
pub mod patient;
pub mod random;
pub mod timeline;
pub mod truth;
pub mod unit;
