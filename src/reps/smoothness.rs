//! How smooth a movement is, from its speed profile.
//!
//! Source: SPARC and LDLJ, S. Balasubramanian, A. Melendez-Calderon, E. Burdet, "A robust and
//! sensitive metric for quantifying movement smoothness", IEEE Trans Biomed Eng 59:2126-2136, 2012,
//! doi:10.1109/TBME.2011.2179545; S. Balasubramanian, A. Melendez-Calderon, A. Roby-Brami, E. Burdet,
//! "On the analysis of movement smoothness", J NeuroEng Rehabil 12:112, 2015,
//! doi:10.1186/s12984-015-0090-9. Nothing changed: zero padding by four levels, 10 Hz, amplitude
//! threshold 0.05.
//!
//! Both are negative; nearer to 0 is smoother. A minimum-jerk movement has a SPARC of −1.41, whatever
//! its length; stops and tremor make it more negative. LDLJ is shown beside it, never alone: it ranks
//! a half sine above minimum jerk.

use std::sync::Arc;

use rustfft::{Fft, FftPlanner, num_complex::Complex};

/// Zero padding: the transform is 2^4 times the profile's length, at the next power of two.
const PAD_LEVEL: u32 = 4;

/// Highest frequency that counts, Hz.
const MAX_CUT_OFF_HZ: f64 = 10.0;

/// Share of the largest amplitude below which the spectrum has ended.
const AMPLITUDE_RATIO: f64 = 0.05;

/// Computes smoothness of many profiles; keeps the transforms of the lengths it has met.
pub struct Smoothness {
    planner: FftPlanner<f64>,
    fft: Option<Arc<dyn Fft<f64>>>,
    spectrum: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
}

impl Default for Smoothness {
    fn default() -> Self {
        Self::new()
    }
}

impl Smoothness {
    /// Nothing met yet.
    pub fn new() -> Self {
        Self {
            planner: FftPlanner::new(),
            fft: None,
            spectrum: Vec::new(),
            scratch: Vec::new(),
        }
    }

    /// Spectral arc length of a speed profile at an even spacing, dimensionless, negative.
    ///
    /// The unit of the speed does not matter. `None` for fewer than two values, for a profile that is
    /// zero throughout or not finite, and for a rate that is not positive.
    pub fn sparc(&mut self, speed: &[f64], rate_hz: f64) -> Option<f64> {
        if speed.len() < 2 || !(rate_hz > 0.0 && rate_hz.is_finite()) {
            return None;
        }
        let length = speed
            .len()
            .checked_next_power_of_two()?
            .checked_mul(1 << PAD_LEVEL)?;
        let fft = match &self.fft {
            Some(fft) if fft.len() == length => Arc::clone(fft),
            _ => self.planner.plan_fft_forward(length),
        };
        self.fft = Some(Arc::clone(&fft));
        self.spectrum.clear();
        self.spectrum
            .extend(speed.iter().map(|v| Complex::new(*v, 0.0)));
        self.spectrum.resize(length, Complex::new(0.0, 0.0));
        self.scratch
            .resize(fft.get_inplace_scratch_len(), Complex::new(0.0, 0.0));
        fft.process_with_scratch(&mut self.spectrum, &mut self.scratch);

        let spacing_hz = rate_hz / length as f64;
        // The other half of the spectrum is the mirror image of this one.
        let half = self.spectrum.get(..=length / 2)?;
        let largest = half
            .iter()
            .map(Complex::norm_sqr)
            .fold(0.0, f64::max)
            .sqrt();
        if !(largest > 0.0 && largest.is_finite()) {
            return None;
        }
        let amplitudes: Vec<f64> = half
            .iter()
            .enumerate()
            .take_while(|(k, _)| *k as f64 * spacing_hz <= MAX_CUT_OFF_HZ)
            .map(|(_, c)| c.norm_sqr().sqrt() / largest)
            .collect();
        let first = amplitudes.iter().position(|a| *a >= AMPLITUDE_RATIO)?;
        let last = amplitudes.iter().rposition(|a| *a >= AMPLITUDE_RATIO)?;
        if last == first {
            return None;
        }
        let step_squared = (1.0 / (last - first) as f64).powi(2);
        let arc: f64 = amplitudes
            .get(first..=last)?
            .windows(2)
            .map(|pair| match pair {
                [a, b] => (step_squared + (b - a).powi(2)).sqrt(),
                _ => 0.0,
            })
            .sum();
        Some(-arc)
    }
}

/// Spectral arc length of one speed profile; see [`Smoothness::sparc`], which is faster for many.
pub fn sparc(speed: &[f64], rate_hz: f64) -> Option<f64> {
    Smoothness::new().sparc(speed, rate_hz)
}

/// Log dimensionless jerk of a speed profile at an even spacing, negative.
///
/// −ln( T³ / v² · ∫ (d²v/dt²)² dt ) with the duration T and the peak speed v. The unit of the speed
/// does not matter. `None` for fewer than four values, for a profile that is zero throughout, without
/// any jerk or not finite, and for a rate that is not positive.
pub fn ldlj(speed: &[f64], rate_hz: f64) -> Option<f64> {
    if speed.len() < 4 || !(rate_hz > 0.0 && rate_hz.is_finite()) {
        return None;
    }
    let peak = speed.iter().fold(0.0_f64, |peak, v| peak.max(v.abs()));
    let jerk_squared: f64 = speed
        .windows(3)
        .map(|three| match three {
            [a, b, c] => (a - 2.0 * b + c).powi(2),
            _ => 0.0,
        })
        .sum();
    // T = count / rate, the derivative twice by rate⁴, dt = 1 / rate: the rate cancels out.
    let dimensionless = (speed.len() as f64).powi(3) * jerk_squared / (peak * peak);
    (dimensionless > 0.0 && dimensionless.is_finite()).then(|| -dimensionless.ln())
}
