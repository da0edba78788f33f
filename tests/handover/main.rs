//! Sessions between two stores: sealed, opened, backed up, restored, removed; and everything that must
//! be refused.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

mod any;
mod clinic_file;
mod command;
mod crafted;
mod damaged;
mod hostile;
mod kept;
mod places;
mod sealed;
