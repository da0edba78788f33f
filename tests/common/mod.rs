//! Shared by tests.

pub mod reference;
