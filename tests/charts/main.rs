//! Drawings from invented numbers: structure, room, legibility and refusal, not bytes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a failed check may stop the test"
)]

mod agreement;
mod angle;
mod colours;
mod gallery;
mod histories;
mod invented;
mod odd;
mod outputs;
mod room;
mod tempos;

use carpotempo::chart::palette::{self, Color};
use carpotempo::chart::*;
use carpotempo::movement::{Movement, MovingPhase, Side};
use carpotempo::pipeline::motion::Zero;
use invented::*;
use jiff::ToSpan;
use jiff::civil::{Date, date};
use room::*;
