//! One set, live: prompts, calibration, count, end; the recording it leaves, whatever happens; and
//! the program that does it.
//!
//! Truth: the simulated person's own; a replay of the recording; an uninterrupted run. Bounds are
//! the project's own goals (common practice, no source) where nothing else is named.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

#[cfg(target_os = "linux")]
#[path = "../common/bluez/mod.rs"]
mod bluez;
mod calibrating;
mod command;
mod killed;
#[cfg(target_os = "linux")]
mod over_the_air;
mod run;
mod same;
#[cfg(unix)]
mod terminal;
#[cfg(unix)]
mod trouble;
mod two;
