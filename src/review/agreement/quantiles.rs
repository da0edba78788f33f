//! Quantiles that the library does not give everywhere.

use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Halvings that take any bracket to the last digit.
const HALVINGS: usize = 200;

/// A quantile of chi-squared, by halving: the library's own search gives no number with one degree of
/// freedom and a rough one with some three hundred.
pub(super) fn chi_squared(freedom: usize, share_ratio: f64) -> Option<f64> {
    let chi = ChiSquared::new(freedom as f64).ok()?;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        if chi.cdf(high) >= share_ratio {
            break;
        }
        (low, high) = (high, 2.0 * high);
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if chi.cdf(middle) < share_ratio {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// Printed tables of chi-squared.
    #[test]
    fn the_quantiles_are_those_of_the_tables() {
        for (freedom, low, high) in [
            (1, 0.000_982, 5.024),
            (2, 0.0506, 7.378),
            (10, 3.247, 20.48),
        ] {
            let found = (
                chi_squared(freedom, 0.025).unwrap(),
                chi_squared(freedom, 0.975).unwrap(),
            );
            assert!((found.0 - low).abs() < 0.001 * low.max(0.01), "{found:?}");
            assert!((found.1 - high).abs() < 0.001 * high, "{found:?}");
        }
    }
}
