//! A closed lid: a computer that was asleep between two turns of the loop.
//!
//! Ours. A monotonic clock may stand still while a computer sleeps, so the wall clock is asked. A
//! wall clock that is set forward looks the same; the session then pauses, which harms nobody.

use std::time::{Duration, SystemTime};

use serde_json::json;

use super::Sitting;
use crate::recording::{EventKind, Gap};
use crate::sample::Place;
use crate::session::{Link, Machine};

/// More time than this between two turns is sleep; turns are some ten milliseconds apart.
const ASLEEP: Duration = Duration::from_secs(5);

/// Looks at the wall clock once a turn.
#[derive(Debug, Default)]
pub struct Lid {
    before: Option<SystemTime>,
}

impl Lid {
    /// A turn. Returns for how long the computer slept before it, if it did.
    pub fn turn(&mut self, now: SystemTime) -> Option<Duration> {
        let before = self.before.replace(now)?;
        let passed = now.duration_since(before).ok()?;
        (passed > ASLEEP).then_some(passed)
    }
}

impl<M: Machine> Sitting<'_, M> {
    /// A computer that was asleep: what the hand did meanwhile is not known. It is written down,
    /// the time that is missing as a gap, and the session's machine is told.
    pub(super) fn look_at_lid(&mut self, now_s: f64, wall: SystemTime) {
        let before_s = std::mem::replace(&mut self.turned_s, now_s);
        let Some(slept) = self.lid.turn(wall).filter(|_| !self.over) else {
            return;
        };
        let slept_s = slept.as_secs_f64().round();
        if self.opened {
            let detail = json!({ "slept_s": slept_s });
            let name = "asleep".to_owned();
            self.record(now_s, EventKind::Unknown { name, detail });
        }
        let coming = self
            .heard_s
            .is_some_and(|heard_s| before_s - heard_s <= super::SILENT_S);
        if coming {
            self.asleep = true;
            // By a clock that may have slept too: the sleep itself is in the event before.
            self.record(
                now_s,
                EventKind::Gap(Gap {
                    place: Some(Place::Hand),
                    start_s: Some(before_s),
                    end_s: Some(now_s),
                    lost_count: None,
                }),
            );
        }
        let outputs = self.machine.asleep(slept_s);
        self.carry_out(now_s, outputs);
        if coming {
            let outputs = self.machine.link(Link::Stalled);
            self.carry_out(now_s, outputs);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_turns_are_sleep_and_a_clock_set_back_is_not() {
        let mut lid = Lid::default();
        let start = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000);
        let mut slept = |seconds| lid.turn(start + Duration::from_secs(seconds));
        assert_eq!(slept(100), None, "the first turn");
        assert_eq!(slept(105), None);
        assert_eq!(slept(111), Some(Duration::from_secs(6)));
        assert_eq!(slept(20), None, "set back");
        assert_eq!(slept(21), None);
    }
}
