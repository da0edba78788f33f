//! The exports, held against the program's own figures, published schemas and other people's
//! readers.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise and says why it did nothing"
)]

mod apart;
mod bundle;
mod cohort;
mod csv;
mod fhir;
#[path = "../review/invented.rs"]
#[allow(dead_code, reason = "the review's tests use the rest")]
mod invented;
mod origin;
#[cfg(feature = "parquet")]
mod parquet;
mod readers;
#[path = "../common/reference.rs"]
mod reference;
mod refusals;
mod rules;
