//! From joint angle to phases and repetitions.

pub mod curve;
pub mod excursion;
pub mod phases;
