//! A motion unit's profile, packets, stream, clock and check.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

mod checks;
mod clocks;
mod hard_times;
mod making;
mod packets;
mod places;
mod streams;
mod vectors;
