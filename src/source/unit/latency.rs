//! How late packets come, in bounded memory.

/// Width of a step, seconds.
const STEP_S: f64 = 1e-3;
/// Steps up to a second; later ones share the last.
const STEPS: usize = 1000;

/// How late packets came against the fastest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Latency {
    /// Half of the packets came later, seconds, to 1 ms.
    pub median_s: f64,
    /// One packet in twenty came later, seconds, to 1 ms; 1 s stands for 1 s and more.
    pub p95_s: f64,
    /// The latest, seconds.
    pub worst_s: f64,
}

/// Counts of lateness.
#[derive(Debug, Clone)]
pub(super) struct LatencyCounts {
    counts: Vec<u64>,
    all: u64,
    worst_s: f64,
}

impl LatencyCounts {
    pub(super) fn new() -> LatencyCounts {
        LatencyCounts {
            counts: vec![0; STEPS + 1],
            all: 0,
            worst_s: 0.0,
        }
    }

    pub(super) fn push(&mut self, late_s: f64) {
        let step = ((late_s / STEP_S).max(0.0) as usize).min(STEPS);
        if let Some(count) = self.counts.get_mut(step) {
            *count += 1;
            self.all += 1;
            self.worst_s = self.worst_s.max(late_s);
        }
    }

    fn share_s(&self, ratio: f64) -> f64 {
        let wanted = (ratio * self.all as f64).ceil() as u64;
        let mut seen = 0;
        let step = self.counts.iter().position(|count| {
            seen += count;
            seen >= wanted
        });
        // The middle of the step.
        let middle_s = (step.unwrap_or(STEPS) as f64 + 0.5) * STEP_S;
        middle_s.min(self.worst_s)
    }

    pub(super) fn latency(&self) -> Option<Latency> {
        (self.all > 0).then(|| Latency {
            median_s: self.share_s(0.5),
            p95_s: self.share_s(0.95),
            worst_s: self.worst_s,
        })
    }
}
