//! The pages over plain HTTP: their doors, events, numbers, and whole sessions by the program; the
//! replay's page in a browser, too.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise, and says what it does not check"
)]

#[cfg(unix)]
mod asleep;
/// See `led`.
const PROGRAMS_AT_ONCE: usize = 1;

#[cfg(target_os = "linux")]
#[path = "../common/bluez/mod.rs"]
mod bluez;
#[path = "../common/browser/mod.rs"]
mod browser;
mod client;
mod clinic;
mod doors;
mod events;
#[path = "../common/led.rs"]
mod led;
mod program;
mod range;
mod replay;
mod saving;
#[allow(dead_code, reason = "other tests use the rest of it")]
#[path = "../common/session.rs"]
mod session;
#[allow(dead_code, reason = "other tests use the rest of it")]
#[path = "../common/shown.rs"]
mod shown;
mod two;
mod whole;
