//! What a unit that lies still says of its sensors.

use nalgebra::Vector3;

use crate::orientation::{StillParams, still_spans};
use crate::sample::{GRAVITY_M_S2, Sample};

/// Means over this time are compared for the noise density, seconds: slow enough to be inside any
/// part's low pass, fast enough not to see a bias drift.
const DENSITY_S: f64 = 0.1;
/// Fewer pairs of means give no density.
const LEAST_PAIRS: usize = 20;
/// The shortest stillness that is judged, seconds.
pub(super) const LEAST_STILL_S: f64 = 3.0;
/// A larger bias than any unit should have, so that it is measured and called bad instead of taken
/// for movement, deg/s.
const MAX_BIAS_DEG_S: f64 = 60.0;

/// Noise, bias and norm, measured while still.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StillFigures {
    pub still_s: f64,
    pub gyro_rms_deg_s: f64,
    /// `None` where there are too few samples without a gap.
    pub gyro_density_deg_s_rthz: Option<f64>,
    pub gyro_bias_deg_s: f64,
    pub accel_rms_m_s2: f64,
    pub accel_density_micro_g_rthz: Option<f64>,
    pub accel_norm_m_s2: f64,
}

/// Measures in the longest stillness, if it is long enough.
///
/// Noise density: σ_A(τ) √(2 τ) with the Allan deviation σ_A of means over τ = 0.1 s, one-sided,
/// root mean square over the three axes. Source: D. W. Allan, "Statistics of atomic frequency
/// standards", Proc. IEEE 54(2):221-230, 1966 (for white noise of one-sided density N the Allan
/// variance is N² / (2 τ)); unlike the standard deviation over √(rate / 2) it does not depend on
/// where the part's low pass lies.
pub(super) fn measure(samples: &[Sample], spacing_s: f64) -> Option<StillFigures> {
    let params = StillParams {
        max_bias_deg_s: MAX_BIAS_DEG_S,
        ..StillParams::default()
    };
    let spans = still_spans(samples, &params);
    let longest = spans
        .iter()
        .max_by(|a, b| (a.end_s - a.start_s).total_cmp(&(b.end_s - b.start_s)))?;
    let still_s = longest.end_s - longest.start_s;
    if still_s < LEAST_STILL_S {
        return None;
    }
    let from = samples.partition_point(|s| s.t_s < longest.start_s);
    let to = samples.partition_point(|s| s.t_s <= longest.end_s);
    let own = samples.get(from..to)?;
    let gyro = |s: &Sample| s.gyro_rad_s.map(f64::to_degrees);
    let accel = |s: &Sample| s.accel_m_s2;
    let accel_density = density(own, spacing_s, accel);
    Some(StillFigures {
        still_s,
        gyro_rms_deg_s: rms(own, gyro),
        gyro_density_deg_s_rthz: density(own, spacing_s, gyro),
        gyro_bias_deg_s: mean(own, gyro).norm(),
        accel_rms_m_s2: rms(own, accel),
        accel_density_micro_g_rthz: accel_density.map(|density| 1e6 * density / GRAVITY_M_S2),
        accel_norm_m_s2: mean(own, accel).norm(),
    })
}

fn mean(samples: &[Sample], value: impl Fn(&Sample) -> Vector3<f64>) -> Vector3<f64> {
    samples.iter().map(value).sum::<Vector3<f64>>() / samples.len().max(1) as f64
}

/// Root mean square about the mean, of one axis on average.
fn rms(samples: &[Sample], value: impl Fn(&Sample) -> Vector3<f64>) -> f64 {
    let mean = mean(samples, &value);
    let squares: f64 = samples
        .iter()
        .map(|s| (value(s) - mean).norm_squared())
        .sum();
    (squares / 3.0 / samples.len().saturating_sub(1).max(1) as f64).sqrt()
}

fn density(
    samples: &[Sample],
    spacing_s: f64,
    value: impl Fn(&Sample) -> Vector3<f64>,
) -> Option<f64> {
    let size = ((DENSITY_S / spacing_s).round() as usize).max(1);
    let mut squares = 0.0;
    let mut pairs = 0_usize;
    for two in samples.windows(2 * size).step_by(size) {
        let (first, second) = two.split_at(size);
        // No pair across a loss.
        let span_s = second.last()?.t_s - first.first()?.t_s;
        if span_s < (2 * size) as f64 * spacing_s {
            squares += (mean(second, &value) - mean(first, &value)).norm_squared();
            pairs += 1;
        }
    }
    if pairs < LEAST_PAIRS {
        return None;
    }
    let allan = (squares / 3.0 / 2.0 / pairs as f64).sqrt();
    Some(allan * (2.0 * size as f64 * spacing_s).sqrt())
}
