//! The guided session without a clock or a browser: an invented person's movement is pushed through
//! the live pipeline, and every screen is answered at once.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

#[path = "../common/acted.rs"]
#[allow(dead_code, reason = "the benchmark shows the rest")]
mod acted;
mod any;
mod between;
mod course;
mod drive;
mod fed;
mod fitting;
mod kinds;
mod many;
#[path = "../common/outcome.rs"]
#[allow(dead_code, reason = "the benchmark shows the rest")]
mod outcome;
mod range;
mod said;
mod second;
#[path = "../common/simulated.rs"]
#[allow(dead_code, reason = "other tests use the rest")]
mod sets;
mod sleep;
mod stops;
mod worn;
