//! Agreement over several recordings: bias and limits for repeated measures, and intraclass
//! correlations of the recordings' means.
//!
//! Sources: those of `bland_altman` and `icc`. What is drawn at random is a recording; its repetitions
//! are repeated measures of it. Ours: a correlation is of the means over each recording's pairs, since
//! the repetitions of one recording are not independent things to be told apart.

use serde::Serialize;

use super::bland_altman::{Limits, limits};
use super::comparison::Comparison;
use super::icc::{Icc, icc};
use super::measured::Measured;

/// Recordings needed for a correlation.
const LEAST_FOR_ICC: usize = 3;

/// Why one recording gives differences only.
pub const ONE_RECORDING_NOTE: &str = "From one recording there are differences only: several repetitions of one person are not independent, so limits of agreement or a correlation from them would claim more than was seen.";

/// How the counts of several recordings agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct CountAgreement {
    /// Recordings.
    pub recording_count: usize,
    /// Recordings with the same number of repetitions.
    pub same_count: usize,
    /// Recordings that differ by at most one.
    pub within_one_count: usize,
    /// Repetitions of the first.
    pub first_count: usize,
    /// Repetitions of the second.
    pub second_count: usize,
    /// Repetitions that both have.
    pub paired_count: usize,
}

/// One measure over several recordings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureOver {
    /// Which.
    pub measure: Measured,
    /// The unit of the limits.
    pub unit: &'static str,
    /// Bias and limits; `None` where fewer than two recordings have a pair.
    pub limits: Option<Limits>,
    /// Correlations of the recordings' means; `None` of times, and where the data do not allow it.
    pub icc: Option<Icc>,
    /// Why there is no correlation; `None` of times.
    pub no_icc: Option<String>,
}

/// Agreement over several recordings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Over {
    /// The counts.
    pub counts: CountAgreement,
    /// Each of [`Measured::ALL`].
    pub measures: Vec<MeasureOver>,
}

impl Over {
    /// What several comparisons say together; `None` where fewer than two have a pair.
    pub fn of(comparisons: &[&Comparison]) -> Option<Over> {
        let with_pairs = comparisons.iter().filter(|own| !own.pairs.is_empty());
        if with_pairs.count() < 2 {
            return None;
        }
        Some(Over {
            counts: CountAgreement::of(comparisons),
            measures: Measured::ALL
                .into_iter()
                .map(|measured| MeasureOver::of(measured, comparisons))
                .collect(),
        })
    }
}

impl CountAgreement {
    fn of(comparisons: &[&Comparison]) -> CountAgreement {
        let within = |most: usize| {
            let apart = |own: &&&Comparison| own.first_count.abs_diff(own.second_count) <= most;
            comparisons.iter().filter(apart).count()
        };
        let sum = |count: fn(&Comparison) -> usize| comparisons.iter().map(|own| count(own)).sum();
        CountAgreement {
            recording_count: comparisons.len(),
            same_count: within(0),
            within_one_count: within(1),
            first_count: sum(|own| own.first_count),
            second_count: sum(|own| own.second_count),
            paired_count: sum(|own| own.pairs.len()),
        }
    }
}

impl MeasureOver {
    fn of(measured: Measured, comparisons: &[&Comparison]) -> MeasureOver {
        let differences_s: Vec<Vec<f64>> = comparisons
            .iter()
            .map(|own| own.differences_s(measured))
            .collect();
        let correlation = measured.is_length().then(|| {
            let rows: Vec<Vec<f64>> = comparisons
                .iter()
                .filter_map(|own| means(&own.values_s(measured)))
                .collect();
            correlated(&rows)
        });
        let (icc, no_icc) = match correlation {
            None => (None, None),
            Some(Ok(icc)) => (Some(icc), None),
            Some(Err(why)) => (None, Some(why)),
        };
        MeasureOver {
            measure: measured,
            unit: "s",
            limits: limits(&differences_s),
            icc,
            no_icc,
        }
    }
}

/// The means of both; `None` of no pairs.
fn means(values: &[(f64, f64)]) -> Option<Vec<f64>> {
    let count = values.len() as f64;
    let sum = values
        .iter()
        .fold((0.0, 0.0), |sum, own| (sum.0 + own.0, sum.1 + own.1));
    (count > 0.0).then(|| vec![sum.0 / count, sum.1 / count])
}

/// Correlations of rows of means, or why there are none.
pub(super) fn correlated(rows: &[Vec<f64>]) -> Result<Icc, String> {
    if rows.len() < LEAST_FOR_ICC {
        return Err(format!(
            "a correlation needs {LEAST_FOR_ICC} recordings with this phase, there are {}",
            rows.len()
        ));
    }
    icc(rows).ok_or_else(|| "the recordings do not differ in this phase".to_owned())
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::super::examples::METERS;
    use super::*;
    use crate::recording::Mark;

    /// A recording with lowerings of these lengths, as the first and the second have them.
    fn recording(lowerings_s: &[(f64, f64)]) -> Comparison {
        let marks = |lengths: Vec<f64>| -> Vec<Mark> {
            let mark = |(place, lower_s): (usize, f64)| Mark {
                rep: place as u32 + 1,
                lift_start_s: Some(1000.0 * place as f64),
                lift_end_s: Some(1000.0 * place as f64 + 1.0),
                lower_start_s: Some(1000.0 * place as f64 + 2.0),
                lower_end_s: Some(1000.0 * place as f64 + 2.0 + lower_s),
            };
            lengths.into_iter().enumerate().map(mark).collect()
        };
        let first = marks(lowerings_s.iter().map(|own| own.0).collect());
        let second = marks(lowerings_s.iter().map(|own| own.1).collect());
        Comparison::of(&first, &second)
    }

    /// Peak flow of 17 people by two meters (Bland & Altman, Lancet 1986;1:307-310, table), as the
    /// length of one lowering each, marked by the one and by the other: bias -2.1, deviation 38.8.
    #[test]
    fn the_worked_example_of_1986_as_marks() {
        let recordings: Vec<Comparison> = METERS.iter().map(|own| recording(&[*own])).collect();
        let over = Over::of(&recordings.iter().collect::<Vec<_>>()).unwrap();
        let lower = &over.measures[2];
        let found = lower.limits.unwrap();
        assert!((found.bias + 2.1).abs() < 0.05, "{}", found.bias);
        assert!((found.deviation - 38.8).abs() < 0.05, "{}", found.deviation);
        // The paper takes twice the deviation, we 1.96 times: 75.5 becomes 73.9.
        assert!((found.upper - (75.5 - 0.04 * 38.8)).abs() < 0.1);
        assert_eq!(lower.icc.unwrap().target_count, 17);
        // All lifts are the same: nothing that could correlate.
        let lift = &over.measures[0];
        assert_eq!((lift.limits.unwrap().deviation, lift.icc), (0.0, None));
        assert!(lift.no_icc.as_ref().unwrap().contains("do not differ"));
        assert_eq!(over.measures[3].no_icc, None);
    }

    #[test]
    fn one_recording_gives_differences_only() {
        let alone = recording(&[(2.0, 2.5), (3.0, 3.0)]);
        let empty = recording(&[]);
        assert_eq!(Over::of(&[&alone]), None);
        assert_eq!(Over::of(&[&alone, &empty]), None);
        let over = Over::of(&[&alone, &recording(&[(4.0, 4.5)]), &empty]).unwrap();
        assert_eq!(over.counts.recording_count, 3);
        assert_eq!((over.counts.same_count, over.counts.paired_count), (3, 3));
        let lower = &over.measures[2];
        assert!(lower.limits.is_some() && lower.icc.is_none());
        assert!(lower.no_icc.as_ref().unwrap().contains("needs 3"));
    }
}
