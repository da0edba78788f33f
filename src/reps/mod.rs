//! From joint angle to phases and repetitions.
//!
//! One set of rules serves twice: [`refined::read`] looks at a whole set, [`online::Online`] at
//! what has come so far.

pub mod carried;
pub mod curve;
pub mod elbow;
pub mod excursion;
pub mod hidden;
pub mod measure;
pub mod online;
pub mod phases;
pub mod refined;
pub mod smoothness;
pub mod stated;
pub mod turns;
pub(crate) mod wander;

pub use curve::{Curve, Grid};
pub use excursion::CountParams;
pub use measure::{Doubt, Repetition};
