//! Fewer samples by averaging.
//!
//! Ours: the mean of the rates over a block turns as far as the samples of the block did, but for
//! the second-order terms of turning about changing axes; picking every n-th sample would alias
//! tremor and vibration into the movement.

use crate::sample::Sample;

/// Averages whole blocks of samples so that the rate comes to at most `max_rate_hz`.
///
/// Each block's mean carries the time of its last sample: the mean rate since the block before, as
/// [`RateMeaning::SincePrevious`](super::RateMeaning::SincePrevious) has it. A block never reaches across a step longer than
/// [`GAP_S`](super::GAP_S); what is left over at the end or before a gap is averaged too. Samples that are slow
/// enough come back as they are. `rate_hz` is the rate of the samples given.
pub fn decimate_by_mean(samples: &[Sample], rate: DecimateRates) -> Vec<Sample> {
    let factor = (rate.from_hz / rate.to_at_most_hz - 1e-9).ceil();
    if !(factor > 1.0 && factor.is_finite()) {
        return samples.to_vec();
    }
    let mut means = Vec::with_capacity((samples.len() as f64 / factor) as usize + 2);
    let mut block: Option<(Sample, f64)> = None;
    for sample in samples {
        block = match block {
            Some((sum, count)) if sample.t_s - sum.t_s > super::GAP_S => {
                means.push(mean(sum, count));
                Some((*sample, 1.0))
            }
            Some((sum, count)) => Some((
                Sample {
                    t_s: sample.t_s,
                    accel_m_s2: sum.accel_m_s2 + sample.accel_m_s2,
                    gyro_rad_s: sum.gyro_rad_s + sample.gyro_rad_s,
                },
                count + 1.0,
            )),
            None => Some((*sample, 1.0)),
        };
        if let Some((sum, count)) = block
            && count >= factor
        {
            means.push(mean(sum, count));
            block = None;
        }
    }
    if let Some((sum, count)) = block {
        means.push(mean(sum, count));
    }
    means
}

fn mean(sum: Sample, count: f64) -> Sample {
    Sample {
        t_s: sum.t_s,
        accel_m_s2: sum.accel_m_s2 / count,
        gyro_rad_s: sum.gyro_rad_s / count,
    }
}

/// The two rates of [`decimate_by_mean`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DecimateRates {
    /// Rate of the samples given, Hz.
    pub from_hz: f64,
    /// Rate not to be passed, Hz.
    pub to_at_most_hz: f64,
}
