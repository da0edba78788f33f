//! From joint angle to phases and repetitions.

pub mod smoothness;
