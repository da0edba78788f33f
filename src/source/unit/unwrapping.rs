//! The unit's 16-bit count and 32-bit time made into numbers that do not wrap, and whether a packet
//! belongs to what came before.
//!
//! Ours. The time wraps after 71.6 minutes and the count after 65,536 samples (11 minutes at 100 a
//! second), so the time is unwrapped by the arrival, and the count by the time:
//!
//! - no sample can arrive before it is measured, so the time is the latest one that is not ahead of
//!   the fastest packets so far by more than a second;
//! - the count is the one nearest to what the time says, which is right through losses of any
//!   number of samples as long as the rate is known to a few per cent;
//! - where the time is earlier by a second or more, or later than a unit can hold back, or the
//!   count does not go with it, the unit has started again.

use super::packet::Stamp;

/// Earlier by less than this is a packet out of order, by more a restart, microseconds.
pub(super) const RESTART_US: i64 = 1_000_000;
/// Longer than this no unit holds samples back, microseconds ("common practice, no source": 16 kB
/// at 12 bytes and 25 samples a second is under a minute).
const LATEST_US: i64 = 120_000_000;
/// Two clocks differ by no more than this (Bluetooth Core Specification, Vol 6, Part B, 4.2.2:
/// sleep clocks within 500 ppm; taken as the worst on either side).
const CLOCKS_PPM: i64 = 500;
/// The count may be off what the time says by this share, and by a second's samples besides.
const COUNT_RATIO: f64 = 0.05;
/// The spacing is measured from this many samples on; before, the nominal one is believed.
const MEASURED_COUNT: i64 = 50;
/// A measured spacing further from the nominal one than this share is not believed.
const SPACING_RATIO: f64 = 0.2;

const COUNT_WRAP: i64 = 1 << 16;
const TIME_WRAP_US: i64 = 1 << 32;

/// A sample's number and time, unwrapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Placed {
    /// Number of the sample.
    pub index: i64,
    /// Time on the unit's clock, microseconds.
    pub unit_us: i64,
}

/// What is known of a unit's count and time since it started.
#[derive(Debug, Clone)]
pub(super) struct Unwrapping {
    first: Placed,
    newest: Placed,
    newest_arrival_us: i64,
    /// Smallest arrival minus time so far, microseconds,
    floor_us: i64,
    /// and when it was seen.
    floor_arrival_us: i64,
    nominal_us: f64,
}

impl Unwrapping {
    /// Begins at a packet's first sample; `nominal_us` is the time between two samples.
    pub(super) fn new(stamp: Stamp, arrival_us: i64, nominal_us: f64) -> Unwrapping {
        let first = Placed {
            index: i64::from(stamp.sequence),
            unit_us: i64::from(stamp.time_us),
        };
        Unwrapping {
            first,
            newest: first,
            newest_arrival_us: arrival_us,
            floor_us: arrival_us - first.unit_us,
            floor_arrival_us: arrival_us,
            nominal_us: if nominal_us > 0.0 {
                nominal_us
            } else {
                10_000.0
            },
        }
    }

    /// Adds whole wraps to all times.
    pub(super) fn shift(&mut self, by_us: i64) {
        self.first.unit_us += by_us;
        self.newest.unit_us += by_us;
        self.floor_us -= by_us;
    }

    pub(super) fn newest(&self) -> Placed {
        self.newest
    }

    /// Time between two samples, microseconds.
    pub(super) fn spacing_us(&self) -> f64 {
        let count = self.newest.index - self.first.index;
        let measured_us = (self.newest.unit_us - self.first.unit_us) as f64 / count as f64;
        let is_likely = (measured_us / self.nominal_us - 1.0).abs() <= SPACING_RATIO;
        if count >= MEASURED_COUNT && is_likely {
            measured_us
        } else {
            self.nominal_us
        }
    }

    /// How far a time may seem ahead of the fastest packets, microseconds.
    fn ahead_us(&self, arrival_us: i64) -> i64 {
        let since_us = (arrival_us - self.floor_arrival_us).max(0);
        RESTART_US + since_us / 1_000_000 * CLOCKS_PPM
    }

    /// The unit's time, unwrapped by the arrival, and by how much the packet is late against the
    /// fastest, microseconds.
    fn time_us(&self, time_us: u32, arrival_us: i64) -> (i64, i64) {
        let latest_us = arrival_us - self.floor_us + self.ahead_us(arrival_us);
        let back_us = (latest_us - i64::from(time_us)).rem_euclid(TIME_WRAP_US);
        let unit_us = latest_us - back_us;
        (unit_us, arrival_us - unit_us - self.floor_us)
    }

    /// Where a packet's first sample belongs; `None` where the unit has started again, or the
    /// packet is a stray.
    pub(super) fn place(&self, stamp: Stamp, arrival_us: i64) -> Option<Placed> {
        let (unit_us, late_us) = self.time_us(stamp.time_us, arrival_us);
        let step_us = unit_us - self.newest.unit_us;
        if step_us <= -RESTART_US || late_us > LATEST_US {
            return None;
        }
        let spacing_us = self.spacing_us();
        let steps = step_us as f64 / spacing_us;
        let expected = self.newest.index + steps.round() as i64;
        let off = (i64::from(stamp.sequence) - expected + COUNT_WRAP / 2).rem_euclid(COUNT_WRAP)
            - COUNT_WRAP / 2;
        let most_off = RESTART_US as f64 / spacing_us + COUNT_RATIO * steps.abs();
        if off.abs() as f64 > most_off {
            return None;
        }
        let index = expected + off;
        // A unit that started again while nothing came, soon after it had started: its count and
        // its time go together, only they are late.
        if late_us > RESTART_US
            && self.could_be_young(stamp, arrival_us)
            && index != self.newest.index + 1
        {
            return None;
        }
        Some(Placed { index, unit_us })
    }

    /// Whether the unit's clock could have started from zero since the newest packet.
    pub(super) fn could_be_young(&self, stamp: Stamp, arrival_us: i64) -> bool {
        i64::from(stamp.time_us) <= arrival_us - self.newest_arrival_us
    }

    /// The unit's time in this stretch for a stamp whose count has started again, if the clock goes
    /// on: on time by at most a second.
    pub(super) fn same_clock_us(&self, stamp: Stamp, arrival_us: i64) -> Option<i64> {
        let (unit_us, late_us) = self.time_us(stamp.time_us, arrival_us);
        let slack_us = self.ahead_us(arrival_us) - RESTART_US + RESTART_US / 10;
        ((-slack_us..=RESTART_US).contains(&late_us) && unit_us >= self.newest.unit_us)
            .then_some(unit_us)
    }

    /// Takes note of a packet's last sample.
    pub(super) fn take(&mut self, last: Placed, arrival_us: i64) {
        if last.index > self.newest.index {
            self.newest = last;
            self.newest_arrival_us = arrival_us;
        }
        // What a slow clock may have cost since the floor was seen is given back, so that the floor
        // follows a drift either way.
        let floor_us = arrival_us - last.unit_us;
        let since_us = (arrival_us - self.floor_arrival_us).max(0);
        if floor_us <= self.floor_us + since_us / 1_000_000 * CLOCKS_PPM {
            self.floor_us = floor_us;
            self.floor_arrival_us = arrival_us;
        }
    }
}
