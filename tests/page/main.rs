//! The patient's page over plain HTTP: its doors, its events, and whole sessions by the program.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

#[cfg(unix)]
mod asleep;
/// See `led`.
const PROGRAMS_AT_ONCE: usize = 1;

mod client;
mod doors;
mod events;
#[path = "../common/led.rs"]
mod led;
mod program;
mod whole;
