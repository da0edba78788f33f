//! From joint angle to phases and repetitions.
