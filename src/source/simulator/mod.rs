//! A rigid-body simulator of a hand with a sensor on it, with truth: the demo's sensor, and one of
//! several judges of the segmenter.
//!
//! A set is a [`body::Body`] that follows a [`timeline::Timeline`]. A [`session`] strings sets,
//! calibrations, pauses and the change of the strap together on one smooth [`way::Way`].

mod acted;
pub mod attentive;
pub mod body;
pub mod by_eye;
pub mod circles;
pub mod forearm;
pub mod four_weeks;
pub mod live;
mod live_unit;
pub mod mishap;
pub mod moving;
pub mod patient;
pub mod practice;
pub mod random;
pub mod session;
pub mod stage;
pub mod timeline;
pub mod truth;
pub mod unit;
pub mod units;
pub mod way;
pub mod wear;
