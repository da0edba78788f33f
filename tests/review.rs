//! The review and its report, on invented sessions: facts and structure, not bytes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise"
)]

#[path = "review/caseload.rs"]
mod caseload;
#[path = "review/command.rs"]
mod command;
#[path = "review/history.rs"]
mod history;
#[path = "review/invented.rs"]
mod invented;
#[path = "review/long.rs"]
mod long;
#[path = "review/odd.rs"]
mod odd;
#[path = "review/page.rs"]
mod page;
#[path = "review/paper.rs"]
mod paper;
#[path = "common/paper.rs"]
mod printing;
#[path = "review/range_tests.rs"]
mod range_tests;
#[path = "review/stored.rs"]
mod stored;
#[path = "review/stories.rs"]
mod stories;
#[path = "review/told.rs"]
mod told;
#[path = "review/worn.rs"]
mod worn;
