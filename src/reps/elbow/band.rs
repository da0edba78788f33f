//! Signals of a set on an even grid, within the band in which a lift's acceleration lies, and their
//! derivatives.
//!
//! Ours. Everything linear may be done to both sides of a linear model: the reading and each of its
//! explanations pass through the same kernel and the same high pass, so that neither bends the
//! answer. The kernel is Gaussian (its derivatives are exact, so no noise is differentiated), the
//! high pass is what a one-pole low pass, run forwards and backwards twice, leaves.

use nalgebra::Vector3;

/// Time between two points of the grid, seconds.
pub(super) const STEP_S: f64 = 0.08;
/// Width of the kernel, seconds: gain 0.6 at 2.5 Hz, 0.02 at 7 Hz, where tremor begins.
const SIGMA_S: f64 = 0.064;
/// Half-length of the kernel, in widths: at 3.5 its derivatives would lose 0.6 %.
const REACH_SIGMAS: f64 = 4.5;
/// Spacing on which the kernel is laid over the straight lines between samples, seconds.
const FINE_S: f64 = 0.01;
/// Corner of the high pass, hertz: slower is what drifting tilt does.
const HIGH_PASS_HZ: f64 = 0.12;

/// How often a signal is differentiated on its way to the grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Derivative {
    /// The signal itself.
    None,
    /// Once.
    First,
    /// Twice.
    Second,
}

/// How much each sample counts at one point of the grid.
#[derive(Debug, Clone, Default)]
struct Row {
    from: usize,
    weights: [Vec<f64>; 3],
}

/// The way of a signal's samples onto the grid.
#[derive(Debug, Clone)]
pub(super) struct Band {
    rows: Vec<Row>,
}

impl Band {
    /// The grid over samples at these times, seconds, which must not decrease.
    pub(super) fn over(times_s: &[f64]) -> Band {
        let reach_s = REACH_SIGMAS * SIGMA_S;
        let (Some(first_s), Some(last_s)) = (times_s.first(), times_s.last()) else {
            return Band { rows: Vec::new() };
        };
        let mut rows = Vec::new();
        let mut at_s = first_s + reach_s;
        while at_s + reach_s < *last_s {
            rows.push(row(times_s, at_s, reach_s));
            at_s += STEP_S;
        }
        Band { rows }
    }

    /// Points of the grid.
    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    /// A signal, one value for each sample, on the grid and without what is slow.
    pub(super) fn through(
        &self,
        signal: &[Vector3<f64>],
        derivative: Derivative,
    ) -> Vec<Vector3<f64>> {
        let order = derivative as usize;
        let mut values: Vec<Vector3<f64>> = self
            .rows
            .iter()
            .map(|row| {
                let weights = row.weights.get(order).map_or(&[][..], Vec::as_slice);
                let samples = signal.get(row.from..).unwrap_or(&[]);
                let mut sum = Vector3::zeros();
                for (weight, sample) in weights.iter().zip(samples) {
                    sum += sample * *weight;
                }
                sum
            })
            .collect();
        high_passed(&mut values);
        values
    }
}

fn row(times_s: &[f64], at_s: f64, reach_s: f64) -> Row {
    let from = times_s
        .partition_point(|t_s| *t_s <= at_s - reach_s)
        .saturating_sub(1);
    let to = times_s.partition_point(|t_s| *t_s < at_s + reach_s) + 1;
    let own = times_s.get(from..to.min(times_s.len())).unwrap_or(&[]);
    let mut row = Row {
        from,
        weights: [const { Vec::new() }; 3],
    };
    for weights in &mut row.weights {
        weights.resize(own.len(), 0.0);
    }
    let steps = (reach_s / FINE_S).floor();
    let scale = FINE_S / (SIGMA_S * std::f64::consts::TAU.sqrt());
    let mut offset = -steps;
    while offset <= steps {
        let lag = offset * FINE_S / SIGMA_S;
        let bell = scale * (-0.5 * lag * lag).exp();
        // The derivatives of the smoothed signal at this time.
        let kernels = [
            bell,
            bell * lag / SIGMA_S,
            bell * (lag * lag - 1.0) / (SIGMA_S * SIGMA_S),
        ];
        let fine_s = at_s + offset * FINE_S;
        let after = own.partition_point(|t_s| *t_s <= fine_s).max(1);
        if let (Some(a_s), Some(b_s)) = (own.get(after - 1), own.get(after)) {
            let share = ((fine_s - a_s) / (b_s - a_s).max(1e-9)).clamp(0.0, 1.0);
            for (weights, kernel) in row.weights.iter_mut().zip(kernels) {
                if let Some([a, b]) = weights.get_mut(after - 1..=after) {
                    *a += kernel * (1.0 - share);
                    *b += kernel * share;
                }
            }
        }
        offset += 1.0;
    }
    row
}

/// Takes off what a one-pole low pass, forwards and backwards twice, lets through.
fn high_passed(values: &mut [Vector3<f64>]) {
    let keep = (-std::f64::consts::TAU * HIGH_PASS_HZ * STEP_S).exp();
    let mut slow = values.to_vec();
    for _ in 0..2 {
        let mut state = slow.first().copied().unwrap_or_default();
        for value in slow.iter_mut() {
            state = state * keep + *value * (1.0 - keep);
            *value = state;
        }
        let mut state = slow.last().copied().unwrap_or_default();
        for value in slow.iter_mut().rev() {
            state = state * keep + *value * (1.0 - keep);
            *value = state;
        }
    }
    for (value, slow) in values.iter_mut().zip(slow) {
        *value -= slow;
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;

    /// Closed form: the second derivative of a sine of 0.8 Hz, with the gains of both filters.
    #[test]
    fn a_sine_is_differentiated_with_the_gain_of_the_band() {
        let times_s: Vec<f64> = (0..4000).map(|i| 0.007 * f64::from(i)).collect();
        let rate_rad_s = std::f64::consts::TAU * 0.8;
        let signal: Vec<_> = times_s
            .iter()
            .map(|t_s| Vector3::x() * (rate_rad_s * t_s).sin())
            .collect();
        let band = Band::over(&times_s);
        let second = band.through(&signal, Derivative::Second);
        let middle = second.get(100..250).unwrap();
        let greatest = middle.iter().map(|v| v.x).fold(0.0, f64::max);
        let kernel_gain = (-0.5 * (rate_rad_s * SIGMA_S).powi(2)).exp();
        let low_gain = (1.0 + (0.8 / HIGH_PASS_HZ).powi(2)).powi(-2);
        let expected = rate_rad_s * rate_rad_s * kernel_gain * (1.0 - low_gain);
        assert!(
            (greatest / expected - 1.0).abs() < 0.02,
            "{greatest} {expected}"
        );
    }
}
