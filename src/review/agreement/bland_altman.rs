//! Bias and limits of agreement.
//!
//! Sources: Bland & Altman, Lancet 1986;1:307-310 (one pair a subject; its intervals of the limits are
//! symmetric and hold the truth too seldom with few subjects, so that ours are Zou's there, too); Bland & Altman, J Biopharm Stat 17:571-582, 2007 (several pairs a subject, the true value
//! varying: one-way analysis of variance of the differences); Zou, Stat Methods Med Res 22:630-642,
//! 2013 (confidence limits by recovering variances). What is a subject there is a recording here.

use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::quantiles::chi_squared;

/// The interval that a bias or limit lies in, of 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Between {
    /// From.
    pub low: f64,
    /// To.
    pub high: f64,
}

/// Bias and 95 % limits of agreement, in the unit of the differences.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limits {
    /// Mean of the differences.
    pub bias: f64,
    /// Where the bias lies.
    pub bias_between: Between,
    /// Standard deviation of the differences: of one pair, in a recording taken at random.
    pub deviation: f64,
    /// The part of it within a recording; `None` where no recording has two pairs.
    pub within_deviation: Option<f64>,
    /// Lower limit of agreement.
    pub lower: f64,
    /// Where that lies.
    pub lower_between: Between,
    /// Upper limit of agreement.
    pub upper: f64,
    /// Where that lies.
    pub upper_between: Between,
    /// Pairs.
    pub pair_count: usize,
    /// Recordings with pairs.
    pub recording_count: usize,
}

/// Standard deviations from the bias to a limit: 95 % of a normal distribution lie within. The paper of
/// 1986 takes 2.
const WITHIN_95: f64 = 1.96;

/// Bias and limits of the differences of several recordings; `None` with fewer than two recordings,
/// from which nothing can be said of the next.
pub fn limits(recordings: &[Vec<f64>]) -> Option<Limits> {
    limits_at(recordings, WITHIN_95)
}

/// The same with limits so many standard deviations from the bias.
fn limits_at(recordings: &[Vec<f64>], width: f64) -> Option<Limits> {
    let groups: Vec<&[f64]> = recordings
        .iter()
        .map(Vec::as_slice)
        .filter(|group| !group.is_empty())
        .collect();
    let (k, n) = (groups.len(), groups.iter().map(|group| group.len()).sum());
    if k < 2 {
        return None;
    }
    let parts = Parts::of(&groups, n);
    let t = StudentsT::new(0.0, 1.0, (k - 1) as f64)
        .ok()?
        .inverse_cdf(0.975);
    let deviation = parts.total.sqrt();
    // Of the mean of all differences: recordings, not pairs, are what is drawn at random.
    let bias_error = parts.bias_variance.sqrt();
    let reach = width * deviation;
    let single = n == k;
    let (low, high) = parts.total_between()?;
    let side = |bound: f64| (t * bias_error).hypot(width * (bound.sqrt() - deviation));
    let spread = (side(low), side(high));
    let bias = parts.mean;
    Some(Limits {
        bias,
        bias_between: Between {
            low: bias - t * bias_error,
            high: bias + t * bias_error,
        },
        deviation,
        within_deviation: (!single).then(|| parts.within.sqrt()),
        lower: bias - reach,
        lower_between: Between {
            low: bias - reach - spread.1,
            high: bias - reach + spread.0,
        },
        upper: bias + reach,
        upper_between: Between {
            low: bias + reach - spread.0,
            high: bias + reach + spread.1,
        },
        pair_count: n,
        recording_count: k,
    })
}

/// The analysis of variance of differences in recordings.
struct Parts {
    mean: f64,
    /// Mean square within recordings; 0 where no recording has two pairs.
    within: f64,
    /// Variance of one difference in a recording at random.
    total: f64,
    /// Variance of the mean of all.
    bias_variance: f64,
    /// Mean square of the recordings' means, each taken as one.
    of_means: f64,
    /// Mean of 1 / pairs over recordings.
    inverse: f64,
    k: usize,
    n: usize,
}

impl Parts {
    fn of(groups: &[&[f64]], n: usize) -> Parts {
        let k = groups.len();
        let means: Vec<f64> = groups.iter().map(|group| mean(group)).collect();
        let all = groups.iter().copied().flatten().sum::<f64>() / n as f64;
        let within_squares: f64 = groups
            .iter()
            .zip(&means)
            .map(|(group, mean)| group.iter().map(|own| (own - mean).powi(2)).sum::<f64>())
            .sum();
        let within = if n > k {
            within_squares / (n - k) as f64
        } else {
            0.0
        };
        let middle = mean(&means);
        let of_means = means.iter().map(|own| (own - middle).powi(2)).sum::<f64>() / (k - 1) as f64;
        let inverse = groups
            .iter()
            .map(|group| 1.0 / group.len() as f64)
            .sum::<f64>()
            / k as f64;
        // Between recordings: what is left of the means' variance without that of their pairs.
        let between = (of_means - inverse * within).max(0.0);
        let squares: f64 = groups
            .iter()
            .map(|group| (group.len() as f64).powi(2))
            .sum();
        let n_ = n as f64;
        Parts {
            mean: all,
            within,
            total: between + within,
            bias_variance: between * squares / (n_ * n_) + within / n_,
            of_means,
            inverse,
            k,
            n,
        }
    }

    /// The interval of the total variance (Zou 2013): the two mean squares' own intervals, recovered.
    /// With one pair a recording there is but the one of the means.
    fn total_between(&self) -> Option<(f64, f64)> {
        let bounds = |square: f64, freedom: usize| {
            let sum = square * freedom as f64;
            Some((
                sum / chi_squared(freedom, 0.975)?,
                sum / chi_squared(freedom, 0.025)?,
            ))
        };
        let means = bounds(self.of_means, self.k - 1)?;
        if self.n == self.k {
            return Some(means);
        }
        let within = bounds(self.within, self.n - self.k)?;
        let share = 1.0 - self.inverse;
        let apart = |mean: f64, other: f64| {
            ((mean - self.of_means).powi(2) + (share * (other - self.within)).powi(2)).sqrt()
        };
        let total = self.of_means + share * self.within;
        Some((
            (total - apart(means.0, within.0)).max(0.0),
            total + apart(means.1, within.1),
        ))
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::super::examples::METERS;
    use super::*;
    use crate::source::simulator::random::Random;

    #[test]
    fn the_worked_example_of_1986() {
        let recordings: Vec<Vec<f64>> = METERS.iter().map(|(a, b)| vec![a - b]).collect();
        // The paper takes twice the deviation.
        let found = limits_at(&recordings, 2.0).unwrap();
        let near = |own: f64, published: f64| {
            assert!(
                (own - published).abs() < 0.06 + 0.001 * published.abs(),
                "{own} {published}"
            );
        };
        near(found.bias, -2.1);
        near(found.deviation, 38.8);
        near(found.lower, -79.7);
        near(found.upper, 75.5);
        near(found.bias_between.low, -22.0);
        near(found.bias_between.high, 17.8);
        // The paper's intervals of the limits, -114.3 to -45.1 and 40.9 to 110.1, are symmetric (its
        // standard error is the root of 3 s^2 / n). Ours lie farther out: little less on the inner
        // side, more on the outer, where the spread of few may truly be larger.
        let [inner, outer] = [
            40.9 - found.upper_between.low,
            found.upper_between.high - 110.1,
        ];
        assert!(
            (-15.0..0.0).contains(&inner) && (0.0..25.0).contains(&outer),
            "{found:?}"
        );
        let mirrored = found.lower_between.low + found.upper_between.high;
        assert!((mirrored - 2.0 * found.bias).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn one_recording_says_nothing_of_the_next() {
        assert_eq!(limits(&[vec![1.0, 2.0, 3.0]]), None);
        assert_eq!(limits(&[vec![1.0], vec![]]), None);
        assert_eq!(limits(&[]), None);
    }

    /// Balanced groups in closed form: between = variance of the means - within / m.
    #[test]
    fn several_pairs_a_recording_in_closed_form() {
        let recordings = vec![vec![1.0, 3.0], vec![4.0, 6.0], vec![1.0, 5.0]];
        let found = limits(&recordings).unwrap();
        // Means 2, 5, 3: variance 7/3. Within: (2 + 2 + 8) / 3 = 4.
        let (within, between): (f64, f64) = (4.0, 7.0 / 3.0 - 2.0);
        assert!((found.bias - 10.0 / 3.0).abs() < 1e-12);
        assert!((found.within_deviation.unwrap() - within.sqrt()).abs() < 1e-12);
        assert!((found.deviation - (within + between).sqrt()).abs() < 1e-12);
        // The bias's variance is that of the means over their number.
        let t = 4.302_652_729_911_275;
        let half = t * (7.0_f64 / 9.0).sqrt();
        assert!((found.bias_between.high - found.bias - half).abs() < 1e-6);
        assert!(found.lower_between.low < found.lower && found.lower < found.lower_between.high);
        assert!(found.upper_between.low < found.upper && found.upper < found.upper_between.high);
    }

    /// One degree of freedom between two recordings, and one within them: wide, but numbers.
    #[test]
    fn two_recordings_have_wide_intervals_and_no_holes() {
        for recordings in [
            [vec![0.1, 0.3, 0.2], vec![0.4, 0.35, 0.5]],
            [vec![0.1, 0.3], vec![0.4]],
            [vec![0.1, 0.1], vec![0.1, 0.1]],
        ] {
            let found = limits(&recordings).unwrap();
            for between in [found.bias_between, found.lower_between, found.upper_between] {
                assert!(
                    between.low.is_finite() && between.high.is_finite(),
                    "{found:?}"
                );
            }
            assert!(
                found.upper_between.low <= found.upper && found.upper <= found.upper_between.high
            );
        }
    }

    /// The intervals hold the truth as often as they say, by drawing from a known one.
    #[test]
    fn the_intervals_hold_the_truth_about_as_often_as_they_say() {
        // Pairs of each recording: many, one each of few, and hardly more than one. Of so few the
        // intervals are rather too wide than too narrow.
        let many: Vec<usize> = (0..12).map(|one| 6 + one % 5).collect();
        let few: [&[usize]; 4] = [&[1; 3], &[1; 5], &[1; 17], &[2, 1, 1, 1, 1]];
        let all = few.map(|counts| (counts, 0.999));
        for (counts, most) in [(many.as_slice(), 0.975)].into_iter().chain(all) {
            let mut random = Random::new(20_261);
            let (between, within, bias) = (0.3, 0.5, 0.1);
            let truth = bias + WITHIN_95 * f64::hypot(between, within);
            let (mut bias_held, mut limit_held, trials) = (0, 0, 2000);
            for _ in 0..trials {
                let mut recording = |count: &usize| {
                    let own = bias + between * random.normal();
                    let pair = |_| own + within * random.normal();
                    (0..*count).map(pair).collect::<Vec<f64>>()
                };
                let recordings: Vec<Vec<f64>> = counts.iter().map(&mut recording).collect();
                let found = limits(&recordings).unwrap();
                let holds =
                    |between: Between, truth: f64| between.low <= truth && truth <= between.high;
                bias_held += usize::from(holds(found.bias_between, bias));
                limit_held += usize::from(holds(found.upper_between, truth));
            }
            for held in [bias_held, limit_held] {
                let share = held as f64 / f64::from(trials);
                assert!((0.93..=most).contains(&share), "{counts:?}: {share}");
            }
        }
    }
}
