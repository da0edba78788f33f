//! What the beat of sampling and connection interval hides of a drift.
//!
//! Ours. Packets leave a radio at the connection's events. Where sampling is in step with them, every
//! packet waits for the same time, or for one of a few; a drift changes that wait and the arrivals
//! show nothing, until a sample slips from one event to the next.

/// Width of the steps in which delays are counted, seconds, and their number.
const DELAY_STEP_S: f64 = 0.25e-3;
pub(super) const DELAY_STEPS: usize = 400;
/// Out of step, delays spread over a connection interval, which is 7.5 ms or more (Bluetooth Core
/// Specification, Vol 6, Part B, 4.5.1), or over a packet's time; in step they do not, seconds.
const LEAST_SPREAD_S: f64 = 5e-3;
/// A step counts as empty under this share of the fullest.
const EMPTY_RATIO: f64 = 0.02;
/// Delays beyond those of this share of the packets are repetitions of the radio, no beat.
const BEAT_RATIO: f64 = 0.9;
/// How many packets came so many steps later than the fastest.
#[derive(Debug, Clone)]
pub(super) struct Delays {
    counts: Vec<u32>,
}

impl Delays {
    pub(super) fn new() -> Delays {
        Delays {
            counts: vec![0; DELAY_STEPS],
        }
    }

    /// Takes a delay above the fastest, seconds.
    pub(super) fn push(&mut self, delay_s: f64) {
        let step = (delay_s / DELAY_STEP_S).max(0.0) as usize;
        if let Some(count) = self.counts.get_mut(step) {
            *count = count.saturating_add(1);
        }
    }

    /// How far the delays can all move without being seen to, seconds: the widest step between
    /// delays that occur, or a whole packet's time where they are all about the same.
    pub(super) fn hidden_s(&self, packet_s: f64) -> f64 {
        let all: u64 = self.counts.iter().map(|count| u64::from(*count)).sum();
        let fullest = self.counts.iter().max().copied().unwrap_or(0);
        let (mut seen, mut empty, mut widest, mut last) = (0, 0, 0, 0);
        for (step, count) in self.counts.iter().enumerate() {
            if f64::from(*count) <= EMPTY_RATIO * f64::from(fullest) {
                empty += 1;
            } else {
                widest = widest.max(empty);
                empty = 0;
                last = step;
            }
            seen += u64::from(*count);
            if seen as f64 >= BEAT_RATIO * all as f64 {
                break;
            }
        }
        if (last as f64) * DELAY_STEP_S < LEAST_SPREAD_S.min(packet_s / 2.0) {
            packet_s
        } else {
            f64::from(widest + 2) * DELAY_STEP_S
        }
    }
}
