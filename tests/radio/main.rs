//! The real way to a sensor, from the command line through the Bluetooth library to a Bluetooth
//! service that the test plays on a bus of its own.
#![cfg(target_os = "linux")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise and says why it did nothing"
)]

#[path = "../common/bluez/mod.rs"]
mod bluez;
mod by_hand;
mod checking;
mod finding;
mod listener;
mod streaming;
mod trouble;
mod two;
