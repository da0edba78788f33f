//! Three or more who marked the same recordings, together: how much of what differs is the recordings
//! and how much the people.
//!
//! Source: that of `icc` (Shrout & Fleiss 1979), with a recording as the thing measured and its mean
//! over the repetitions that all have as the measurement. Ours: the means, as in `over`.

use serde::Serialize;

use super::icc::Icc;
use super::measured::Measured;
use super::over::correlated;
use super::pairs::paired;
use crate::recording::Mark;

/// Fewer are a comparison of two.
const LEAST_PEOPLE: usize = 3;

/// The correlation of one phase.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasureTogether {
    /// Which.
    pub measure: Measured,
    /// The correlations.
    pub icc: Option<Icc>,
    /// Why there are none.
    pub no_icc: Option<String>,
}

/// What all who marked say together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Together {
    /// Who.
    pub people: Vec<String>,
    /// Each of [`Measured::LENGTHS`].
    pub measures: Vec<MeasureTogether>,
}

impl Together {
    /// Of the people's marks of each recording, in the people's order; recordings that one of them
    /// did not mark do not come in. `None` of fewer than three people.
    pub fn of(people: &[&str], recordings: &[Vec<Option<&[Mark]>>]) -> Option<Together> {
        if people.len() < LEAST_PEOPLE {
            return None;
        }
        let of_measure = |measured: Measured| {
            let rows: Vec<Vec<f64>> = recordings
                .iter()
                .filter_map(|marks| {
                    row(
                        measured,
                        &marks.iter().copied().collect::<Option<Vec<_>>>()?,
                    )
                })
                .collect();
            let (icc, no_icc) = match correlated(&rows) {
                Ok(icc) => (Some(icc), None),
                Err(why) => (None, Some(why)),
            };
            MeasureTogether {
                measure: measured,
                icc,
                no_icc,
            }
        };
        Some(Together {
            people: people.iter().map(|name| (*name).to_owned()).collect(),
            measures: Measured::LENGTHS.map(of_measure).into(),
        })
    }
}

/// Each person's mean of a measure over the repetitions that all have it of; `None` without one.
fn row(measured: Measured, people: &[&[Mark]]) -> Option<Vec<f64>> {
    let (first, others) = people.split_first()?;
    let mut reps: Vec<Vec<f64>> = first
        .iter()
        .map(|mark| measured.of(mark).into_iter().collect())
        .collect();
    for marks in others {
        for pair in paired(first, marks).pairs {
            let value = marks.get(pair.counted).and_then(|mark| measured.of(mark));
            if let (Some(rep), Some(value)) = (reps.get_mut(pair.mark), value) {
                rep.push(value);
            }
        }
    }
    reps.retain(|values| values.len() == people.len());
    let count = reps.len() as f64;
    let mean = |place: usize| reps.iter().filter_map(|rep| rep.get(place)).sum::<f64>() / count;
    (!reps.is_empty()).then(|| (0..people.len()).map(mean).collect())
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::super::examples::marks;
    use super::*;

    #[test]
    fn a_row_is_of_the_repetitions_that_all_have() {
        let (a, b) = (marks(&[2.0, 4.0, 9.0]), marks(&[3.0, 5.0, 8.0]));
        let c = marks(&[1.0, 2.0]);
        let found = row(Measured::Lower, &[&a, &b, &c]);
        assert_eq!(found, Some(vec![3.0, 4.0, 1.5]));
        assert_eq!(row(Measured::Lift, &[&a, &b, &c]), None);
    }

    #[test]
    fn recordings_that_one_did_not_mark_do_not_come_in() {
        let own = [marks(&[2.0]), marks(&[3.0]), marks(&[5.0]), marks(&[9.0])];
        let all = |marks: &'_ Vec<Mark>| vec![Some(marks.as_slice().to_vec()); 3];
        let kept: Vec<Vec<Option<Vec<Mark>>>> = own.iter().map(all).collect();
        let mut rows: Vec<Vec<Option<&[Mark]>>> = kept
            .iter()
            .map(|row| row.iter().map(|marks| marks.as_deref()).collect())
            .collect();
        rows[3][1] = None;
        let people = ["a", "b", "c"];
        let found = Together::of(&people, &rows).unwrap();
        let icc = found.measures[2].icc.unwrap();
        assert_eq!(icc.target_count, 3);
        assert!((icc.agreement - 1.0).abs() < 1e-12, "{icc:?}");
        assert!(found.measures[0].no_icc.is_some());
        assert_eq!(Together::of(&people[..2], &rows), None);
    }
}
