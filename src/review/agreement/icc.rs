//! Intraclass correlation of two (or more) ways of measuring the same things.
//!
//! Source: Shrout & Fleiss, Psychol Bull 86:420-428, 1979: ICC(2,1), agreement with raters drawn at
//! random, and ICC(3,1), consistency of these raters, with their confidence limits.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::bland_altman::Between;

/// Fewer degrees of freedom are none that a quantile could be told of.
const LEAST_FREEDOM: f64 = 0.05;

/// Intraclass correlations of single measurements.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Icc {
    /// ICC(2,1): agreement.
    pub agreement: f64,
    /// Its 95 % interval.
    pub agreement_between: Between,
    /// ICC(3,1): consistency.
    pub consistency: f64,
    /// Its 95 % interval.
    pub consistency_between: Between,
    /// Things measured.
    pub target_count: usize,
}

/// The correlations of rows of as many measurements each, a row a thing; `None` with fewer than three
/// rows, with rows of unequal or less than two measurements, or where nothing differs.
pub fn icc(rows: &[Vec<f64>]) -> Option<Icc> {
    let n = rows.len();
    let k = rows.first()?.len();
    if n < 3 || k < 2 || rows.iter().any(|row| row.len() != k) {
        return None;
    }
    let (n_, k_) = (n as f64, k as f64);
    let all = rows.iter().flatten().sum::<f64>() / (n_ * k_);
    let row_mean = |row: &Vec<f64>| row.iter().sum::<f64>() / k_;
    let rows_squares: f64 = rows.iter().map(|row| (row_mean(row) - all).powi(2)).sum();
    let judges_squares: f64 = (0..k)
        .map(|judge| {
            let own = rows.iter().filter_map(|row| row.get(judge)).sum::<f64>() / n_;
            (own - all).powi(2)
        })
        .sum();
    let squares: f64 = rows.iter().flatten().map(|own| (own - all).powi(2)).sum();
    let between = k_ * rows_squares / (n_ - 1.0);
    let judges = n_ * judges_squares / (k_ - 1.0);
    let freedom = (n_ - 1.0) * (k_ - 1.0);
    let error = (squares - k_ * rows_squares - n_ * judges_squares) / freedom;
    // What rounding leaves of sums of equal values is nothing.
    let largest = rows.iter().flatten().map(|own| own.abs());
    let nothing = f64::EPSILON * largest.fold(0.0, f64::max).powi(2);
    let some = |square: f64| if square > nothing { square } else { 0.0 };
    let [between, judges, error] = [between, judges, error].map(some);
    if between <= 0.0 {
        return None;
    }
    let agreement = (between - error) / (between + (k_ - 1.0) * error + k_ * (judges - error) / n_);
    let consistency = (between - error) / (between + (k_ - 1.0) * error);
    Some(Icc {
        agreement,
        agreement_between: agreement_between([between, judges, error], agreement, n_, k_)?,
        consistency,
        consistency_between: consistency_between(between, error, n_, k_)?,
        target_count: n,
    })
}

/// The 97.5th percentile of F with these degrees of freedom; with next to none it is beyond all numbers.
fn f_975(numerator: f64, denominator: f64) -> Option<f64> {
    let f = FisherSnedecor::new(numerator, denominator).ok()?;
    let found = f.inverse_cdf(0.975);
    Some(if found.is_nan() { f64::INFINITY } else { found })
}

fn consistency_between(between: f64, error: f64, n: f64, k: f64) -> Option<Between> {
    if error <= 0.0 {
        return Some(Between {
            low: 1.0,
            high: 1.0,
        });
    }
    let ratio = between / error;
    let freedom = (n - 1.0) * (k - 1.0);
    let low = ratio / f_975(n - 1.0, freedom)?;
    let high = ratio * f_975(freedom, n - 1.0)?;
    Some(Between {
        low: (low - 1.0) / (low + k - 1.0),
        high: (high - 1.0) / (high + k - 1.0),
    })
}

fn agreement_between(
    [between, judges, error]: [f64; 3],
    icc: f64,
    n: f64,
    k: f64,
) -> Option<Between> {
    if error <= 0.0 && judges <= 0.0 {
        return Some(Between {
            low: 1.0,
            high: 1.0,
        });
    }
    let freedom = if error > 0.0 {
        let ratio = judges / error;
        let of_judges = k * icc * ratio;
        let of_error = n * (1.0 + (k - 1.0) * icc) - k * icc;
        let top = (k - 1.0) * (n - 1.0) * (of_judges + of_error).powi(2);
        let bottom = (n - 1.0) * of_judges.powi(2) + of_error.powi(2);
        (top / bottom).max(LEAST_FREEDOM)
    } else {
        // The limit without error: all that is not known is the judges' few.
        k - 1.0
    };
    let rest = k * judges + (k * n - k - n) * error;
    // Both written so that they stay numbers where F is beyond all.
    let low_share = f_975(n - 1.0, freedom)?.recip();
    let high_share = f_975(freedom, n - 1.0)?.recip();
    Some(Between {
        low: n * (low_share * between - error) / (rest + n * low_share * between),
        high: n * (between - high_share * error) / (high_share * rest + n * between),
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// Four judges, six targets: Shrout & Fleiss 1979, table 2; the paper gives ICC(2,1) = 0.29 and
    /// ICC(3,1) = 0.71. (The intervals are those that reference implementations of the paper's formulas
    /// give for this table: 0.02 to 0.76 and 0.34 to 0.95.)
    const JUDGED: [[f64; 4]; 6] = [
        [9.0, 2.0, 5.0, 8.0],
        [6.0, 1.0, 3.0, 2.0],
        [8.0, 4.0, 6.0, 8.0],
        [7.0, 1.0, 2.0, 6.0],
        [10.0, 5.0, 6.0, 9.0],
        [6.0, 2.0, 4.0, 7.0],
    ];

    #[test]
    fn the_worked_example_of_1979() {
        let rows: Vec<Vec<f64>> = JUDGED.iter().map(|row| row.to_vec()).collect();
        let found = icc(&rows).unwrap();
        let near = |own: f64, published: f64| {
            assert!((own - published).abs() < 0.005, "{own} {published}");
        };
        near(found.agreement, 0.29);
        near(found.consistency, 0.71);
        near(found.agreement_between.low, 0.02);
        near(found.agreement_between.high, 0.76);
        near(found.consistency_between.low, 0.34);
        near(found.consistency_between.high, 0.95);
    }

    #[test]
    fn what_cannot_be_said_is_not() {
        assert_eq!(icc(&[vec![1.0, 2.0], vec![2.0, 3.0]]), None);
        assert_eq!(icc(&[vec![1.0, 2.0], vec![2.0], vec![3.0, 4.0]]), None);
        assert_eq!(icc(&[vec![1.0, 1.0], vec![1.0, 1.0], vec![1.0, 1.0]]), None);
        let same = icc(&[vec![1.0, 1.0], vec![2.0, 2.0], vec![4.0, 4.0]]).unwrap();
        assert!((same.agreement - 1.0).abs() < 1e-12);
    }

    /// A judge that is always half a second above: with one more judge, the next may be anywhere.
    #[test]
    fn a_constant_shift_of_two_judges_is_told_with_its_width() {
        let rows = |jitter: f64| -> Vec<Vec<f64>> {
            let values = [3.0, 3.5, 4.0, 4.25, 4.5, 5.0];
            let jittered = values.iter().zip([1.0, -1.0, 1.0, -1.0, 1.0, -1.0]);
            jittered
                .map(|(x, sign)| vec![*x, x + 0.5 + jitter * sign])
                .collect()
        };
        let (exact, nearly) = (icc(&rows(0.0)).unwrap(), icc(&rows(0.001)).unwrap());
        assert!((exact.agreement - 0.80).abs() < 0.005, "{exact:?}");
        assert!(exact.agreement_between.low < 0.01, "{exact:?}");
        assert!(exact.agreement_between.high > 0.97, "{exact:?}");
        let apart = |of: fn(&Icc) -> f64| (of(&exact) - of(&nearly)).abs();
        assert!(apart(|icc| icc.agreement_between.low) < 0.001, "{nearly:?}");
        assert!(
            apart(|icc| icc.agreement_between.high) < 0.001,
            "{nearly:?}"
        );
    }

    #[test]
    fn what_rounding_leaves_of_equal_values_correlates_with_nothing() {
        // Ends less starts, on tenths: 0.3 all of them.
        let rows: Vec<Vec<f64>> = (0..5)
            .map(|n| vec![f64::from(n) * 0.1 + 0.3 - f64::from(n) * 0.1, 1.6 - 1.3])
            .collect();
        assert!(rows.iter().flatten().any(|own| *own != 0.3));
        assert_eq!(icc(&rows), None);
    }

    /// Three things and no signal: the freedom gets small, and the interval stays a pair of numbers.
    #[test]
    fn small_tables_without_signal_have_intervals_that_are_numbers() {
        let mut random = crate::source::simulator::random::Random::new(1_979);
        for _ in 0..3000 {
            let row = |_| (0..2).map(|_| random.normal()).collect::<Vec<f64>>();
            let rows: Vec<Vec<f64>> = (0..3).map(row).collect();
            let found = icc(&rows).unwrap();
            for Between { low, high } in [found.agreement_between, found.consistency_between] {
                assert!(low.is_finite() && high.is_finite(), "{rows:?} {found:?}");
            }
        }
    }
}
