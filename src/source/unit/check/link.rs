//! What the times and arrivals of a unit's samples say of its clock and of the link.

use std::cmp::Ordering;

use super::Arrived;
use crate::source::unit::clock::{ClockEnvelope, ClockEstimate};

/// A step of more than so many usual ones is a loss.
const LOSS_RATIO: f64 = 1.5;

/// Figures of the link and of the clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LinkFigures {
    /// The usual time between two samples, seconds.
    pub spacing_s: f64,
    /// From the first sample to the last, seconds of the unit's clock.
    pub span_s: f64,
    /// Root mean square of the steps about the usual one, seconds.
    pub jitter_s: f64,
    /// Half of the samples came later than this against the fastest, seconds.
    pub latency_median_s: Option<f64>,
    /// One in twenty came later, seconds.
    pub latency_p95_s: Option<f64>,
    /// Share of the samples that repeat the one before on all six axes.
    pub same_ratio: f64,
    pub clock: Option<ClockEstimate>,
}

/// Measures; `None` with fewer than three samples, or where their times do not go on.
pub(super) fn measure(arrived: &[Arrived]) -> Option<LinkFigures> {
    let (first, last) = (arrived.first()?, arrived.last()?);
    let mut steps: Vec<f64> = arrived
        .windows(2)
        .filter_map(|two| match two {
            [a, b] => Some(b.sample.t_s - a.sample.t_s),
            _ => None,
        })
        .collect();
    if steps.len() < 2 {
        return None;
    }
    steps.sort_by(f64::total_cmp);
    let spacing_s = share(&steps, 0.5).filter(|spacing_s| *spacing_s > 0.0)?;
    let usual = steps.partition_point(|step_s| *step_s <= LOSS_RATIO * spacing_s);
    let usual = steps.get(..usual)?;
    let mean_s = usual.iter().sum::<f64>() / usual.len().max(1) as f64;
    let squares: f64 = usual.iter().map(|step_s| (step_s - mean_s).powi(2)).sum();

    let mut envelope = ClockEnvelope::new();
    for packet in arrived.chunk_by(|a, b| a.arrival_s.total_cmp(&b.arrival_s) == Ordering::Equal) {
        if let Some(newest) = packet.last() {
            envelope.push(newest.sample.t_s, newest.arrival_s);
        }
    }
    let reference = envelope.reference();
    let mut late: Vec<f64> = arrived
        .iter()
        .filter_map(|own| reference.lateness_s(own.sample.t_s, own.arrival_s))
        .collect();
    late.sort_by(f64::total_cmp);
    let same = arrived.windows(2).filter(|two| match two {
        [a, b] => {
            a.sample.accel_m_s2 == b.sample.accel_m_s2 && a.sample.gyro_rad_s == b.sample.gyro_rad_s
        }
        _ => false,
    });
    Some(LinkFigures {
        spacing_s,
        span_s: last.sample.t_s - first.sample.t_s,
        jitter_s: (squares / usual.len().max(1) as f64).sqrt(),
        latency_median_s: share(&late, 0.5),
        latency_p95_s: share(&late, 0.95),
        same_ratio: same.count() as f64 / steps.len() as f64,
        clock: envelope.estimate(),
    })
}

/// The value that this share of the sorted values does not exceed.
fn share(sorted: &[f64], ratio: f64) -> Option<f64> {
    let at = (ratio * sorted.len() as f64).ceil() as usize;
    sorted.get(at.max(1) - 1).copied()
}
