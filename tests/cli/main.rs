//! The program as a person or a script meets it: arguments, output, exit status.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

mod bad_input;
mod foreign;
mod launcher;
mod manners;
mod replay;
mod run;
mod visit;
