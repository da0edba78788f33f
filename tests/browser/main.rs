//! The patient's page in a real browser: headless Chromium, driven as a person does it, before the
//! real program with an invented person's hand.
//!
//! Truth: what the recording replays to, the routine that was asked for, and what the page has to
//! hold (the project's own rules; common practice, no source).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and says what it did not check"
)]

/// See `led`: mostly they wait.
const PROGRAMS_AT_ONCE: usize = 2;

#[path = "../common/browser/mod.rs"]
mod browser;
mod comings;
mod desk;
mod keyboard;
#[path = "../common/led.rs"]
mod led;
mod looks;
#[path = "../common/paper.rs"]
mod paper;
mod patient;
mod rare;
mod stops;
mod whole;
