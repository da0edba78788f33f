//! This computer's monotonic clock, as seconds since the recording's start.

use std::cell::Cell;
use std::time::Instant;

/// What time it is.
#[derive(Debug)]
pub enum Clock {
    /// By this computer.
    Computer {
        /// The recording's start.
        origin: Instant,
        /// Seconds of the recording in a second; other than 1 only where a simulator plays faster.
        pace_ratio: f64,
    },
    /// By the latest signal alone: for what was all told beforehand.
    Signals(Cell<f64>),
}

impl Clock {
    /// A clock that starts now.
    pub fn starting() -> Clock {
        Clock::Computer {
            origin: Instant::now(),
            pace_ratio: 1.0,
        }
    }

    /// A clock that signals set.
    pub fn of_signals() -> Clock {
        Clock::Signals(Cell::new(0.0))
    }

    /// Seconds since the recording's start.
    pub fn now_s(&self) -> f64 {
        match self {
            Clock::Computer { origin, pace_ratio } => origin.elapsed().as_secs_f64() * pace_ratio,
            Clock::Signals(latest_s) => latest_s.get(),
        }
    }

    /// A signal came at this time.
    pub fn seen(&self, at_s: f64) {
        if let Clock::Signals(latest_s) = self {
            latest_s.set(latest_s.get().max(at_s));
        }
    }
}
