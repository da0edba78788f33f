//! Two units: the true wrist angle while the forearm moves.
//!
//! Truth and bounds: simulated sets, closed forms, the reference data's check vectors, and the
//! heading that the package qmt finds; the figures are the project's own goals (common practice, no
//! source).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

mod closed_forms;
mod played;
mod qmt;
#[path = "../common/reference.rs"]
mod reference;
mod sets;
#[path = "../common/two_units.rs"]
#[allow(dead_code, reason = "the benchmark uses the rest")]
mod two_units;
