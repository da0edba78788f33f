//! The program against marks made by hand: what `carpotempo compare` prints, refuses and writes.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

mod marked;
mod names;
mod one;
mod practice;
mod refusals;
mod several;
