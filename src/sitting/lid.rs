//! A closed lid: a computer that was asleep between two turns of the loop.
//!
//! Ours. A monotonic clock may stand still while a computer sleeps, so the wall clock is asked. A
//! wall clock that is set forward looks the same; the session then pauses, which harms nobody.

use std::time::{Duration, SystemTime};

/// More time than this between two turns is sleep; turns are some ten milliseconds apart.
const ASLEEP: Duration = Duration::from_secs(5);

/// Looks at the wall clock once a turn.
#[derive(Debug, Default)]
pub struct Lid {
    before: Option<SystemTime>,
}

impl Lid {
    /// A turn. Returns whether the computer slept before it.
    pub fn turn(&mut self, now: SystemTime) -> bool {
        self.before
            .replace(now)
            .and_then(|before| now.duration_since(before).ok())
            .is_some_and(|passed| passed > ASLEEP)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_turns_are_sleep_and_a_clock_set_back_is_not() {
        let mut lid = Lid::default();
        let start = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000);
        let after = |seconds| start + Duration::from_secs(seconds);
        assert!(!lid.turn(after(100)), "the first turn");
        assert!(!lid.turn(after(105)));
        assert!(lid.turn(after(111)));
        assert!(!lid.turn(after(20)), "set back");
        assert!(!lid.turn(after(21)));
    }
}
