//! Prescriptions: written, checked and printed by the program.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise"
)]

mod command;
mod handout;
#[path = "../common/paper.rs"]
mod printing;
#[path = "../cli/run.rs"]
#[allow(dead_code, reason = "not all of it is used here")]
mod run;
