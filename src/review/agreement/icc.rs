//! Intraclass correlation of two (or more) ways of measuring the same things.
//!
//! Source: Shrout & Fleiss, Psychol Bull 86:420-428, 1979: ICC(2,1), agreement with raters drawn at
//! random, and ICC(3,1), consistency of these raters, with their confidence limits.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

use super::bland_altman::Between;

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
    let error = ((squares - k_ * rows_squares - n_ * judges_squares) / freedom).max(0.0);
    if between <= 0.0 {
        return None;
    }
    let agreement = (between - error) / (between + (k_ - 1.0) * error + k_ * (judges - error) / n_);
    let consistency = (between - error) / (between + (k_ - 1.0) * error);
    Some(Icc {
        agreement,
        agreement_between: agreement_between(between, judges, error, agreement, n_, k_)?,
        consistency,
        consistency_between: consistency_between(between, error, n_, k_)?,
        target_count: n,
    })
}

/// The 97.5th percentile of F with these degrees of freedom.
fn f_975(numerator: f64, denominator: f64) -> Option<f64> {
    let f = FisherSnedecor::new(numerator, denominator).ok()?;
    Some(f.inverse_cdf(0.975))
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
    between: f64,
    judges: f64,
    error: f64,
    icc: f64,
    n: f64,
    k: f64,
) -> Option<Between> {
    if error <= 0.0 {
        return Some(Between {
            low: icc,
            high: icc,
        });
    }
    let ratio = judges / error;
    let inner = k * icc * ratio + n * (1.0 + (k - 1.0) * icc) - k * icc;
    let top = (k - 1.0) * (n - 1.0) * inner.powi(2);
    let bottom =
        (n - 1.0) * (k * icc * ratio).powi(2) + (n * (1.0 + (k - 1.0) * icc) - k * icc).powi(2);
    let freedom = top / bottom;
    let low_f = f_975(n - 1.0, freedom)?;
    let high_f = f_975(freedom, n - 1.0)?;
    let rest = k * judges + (k * n - k - n) * error;
    Some(Between {
        low: n * (between - low_f * error) / (low_f * rest + n * between),
        high: n * (high_f * between - error) / (rest + n * high_f * between),
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
}
