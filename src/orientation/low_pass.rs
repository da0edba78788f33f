//! A low pass of second order for vectors.
//!
//! Source: Butterworth low pass of second order by the bilinear transform, as in A. Oppenheim,
//! R. Schafer, "Discrete-Time Signal Processing", 3rd ed., chapter 7 (from memory, check); the time
//! constant to cut-off relation fc = sqrt(2) / (2 pi tau) is that of Laidig & Seel 2023, section 3.3
//! (from memory, check the section).

use nalgebra::Vector3;

/// Coefficients and state of one low pass.
#[derive(Debug, Clone)]
pub(crate) struct LowPass {
    b0: f64,
    a1: f64,
    a2: f64,
    s1: Vector3<f64>,
    s2: Vector3<f64>,
    last: Vector3<f64>,
}

impl LowPass {
    /// A low pass with the time constant `tau_s` for values every `spacing_s`.
    pub(crate) fn new(tau_s: f64, spacing_s: f64) -> Self {
        let c = (std::f64::consts::FRAC_1_SQRT_2 * spacing_s / tau_s).tan();
        let d = c * c + std::f64::consts::SQRT_2 * c + 1.0;
        Self {
            b0: c * c / d,
            a1: 2.0 * (c * c - 1.0) / d,
            a2: (1.0 - std::f64::consts::SQRT_2 * c + c * c) / d,
            s1: Vector3::zeros(),
            s2: Vector3::zeros(),
            last: Vector3::zeros(),
        }
    }

    /// Sets the state as if `value` had come for ever.
    pub(crate) fn settle(&mut self, value: &Vector3<f64>) {
        self.s1 = value * (1.0 - self.b0);
        self.s2 = value * (self.b0 - self.a2);
        self.last = *value;
    }

    /// Takes one value and gives the filtered one.
    pub(crate) fn push(&mut self, x: &Vector3<f64>) -> Vector3<f64> {
        let bx = x * self.b0;
        let y = bx + self.s1;
        self.s1 = bx * 2.0 - y * self.a1 + self.s2;
        self.s2 = bx - y * self.a2;
        self.last = y;
        y
    }

    /// The last filtered value.
    pub(crate) fn last(&self) -> Vector3<f64> {
        self.last
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn at_its_cut_off_a_sine_comes_out_with_half_its_power() {
        // Closed form: Butterworth, |H|² = 1/2 at fc = sqrt(2) / (2 pi tau).
        let (tau_s, spacing_s) = (0.5, 0.001);
        let w = std::f64::consts::SQRT_2 / tau_s;
        let mut low_pass = LowPass::new(tau_s, spacing_s);
        let mut power = 0.0;
        let period = std::f64::consts::TAU / w;
        let count = (10.0 * period / spacing_s).round();
        for i in 0..40_000 {
            let y = low_pass
                .push(&Vector3::new(
                    (w * f64::from(i) * spacing_s).sin(),
                    0.0,
                    0.0,
                ))
                .x;
            if f64::from(i) >= 40_000.0 - count {
                power += y * y / count;
            }
        }
        assert!((power - 0.25).abs() < 1e-3, "{power}");
    }

    #[test]
    fn a_settled_low_pass_lets_a_constant_through() {
        let mut low_pass = LowPass::new(3.0, 0.01);
        let value = Vector3::new(1.0, -2.0, 9.81);
        low_pass.settle(&value);
        for _ in 0..100 {
            assert!((low_pass.push(&value) - value).norm() < 1e-9);
        }
    }
}
