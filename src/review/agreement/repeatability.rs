//! One's own repeatability: the same recording marked again later by the same person.
//!
//! Source: J. M. Bland, D. G. Altman, "Measuring agreement in method comparison studies", Stat Methods
//! Med Res 8:135-160, 1999, doi:10.1177/096228029900800204: the within-subject standard deviation s_w
//! by one-way analysis of variance, and the repeatability coefficient 1.96 sqrt(2) s_w, which two
//! markings of the same thing differ by at most in 95 of 100; the repeatability limit of ISO 5725-6:1994
//! with the factor 2.8 rounded. Changed: what is measured twice is a repetition of a recording.

use serde::Serialize;

use super::measured::Measured;
use super::pairs::paired;
use crate::recording::Mark;

/// Two markings of one thing differ by at most so many s_w in 95 of 100.
const COEFFICIENT: f64 = 1.96 * std::f64::consts::SQRT_2;

/// How well one's own markings repeat, of one measure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Repeatability {
    /// Which.
    pub measure: Measured,
    /// Standard deviation within a repetition, s_w, seconds.
    pub within_deviation_s: f64,
    /// 1.96 sqrt(2) s_w, seconds.
    pub coefficient_s: f64,
    /// Mean of the later markings less the first, seconds: a habit that changed.
    pub shift_s: f64,
    /// Repetitions marked more than once.
    pub rep_count: usize,
    /// Recordings they are of.
    pub recording_count: usize,
}

/// The markings of one recording by one person, in the order in which they were made.
pub type Markings<'a> = Vec<&'a [Mark]>;

/// The repeatability of one measure over recordings; `None` where no repetition has it twice.
pub fn repeatability(measured: Measured, recordings: &[Markings<'_>]) -> Option<Repeatability> {
    let mut squares = 0.0;
    let mut freedom = 0_usize;
    let mut shifts: Vec<f64> = Vec::new();
    let (mut rep_count, mut recording_count) = (0, 0);
    for markings in recordings {
        let groups = groups(measured, markings);
        recording_count += usize::from(!groups.is_empty());
        rep_count += groups.len();
        for group in groups {
            let mean = group.iter().sum::<f64>() / group.len() as f64;
            squares += group.iter().map(|own| (own - mean).powi(2)).sum::<f64>();
            freedom += group.len() - 1;
            if let Some((first, later)) = group.split_first() {
                shifts.extend(later.iter().map(|own| own - first));
            }
        }
    }
    if freedom == 0 {
        return None;
    }
    let within_deviation_s = (squares / freedom as f64).sqrt();
    Some(Repeatability {
        measure: measured,
        within_deviation_s,
        coefficient_s: COEFFICIENT * within_deviation_s,
        shift_s: shifts.iter().sum::<f64>() / shifts.len() as f64,
        rep_count,
        recording_count,
    })
}

/// For each repetition of the first marking its values in all markings that have it, where at least
/// two have.
fn groups(measured: Measured, markings: &[&[Mark]]) -> Vec<Vec<f64>> {
    let Some((first, later)) = markings.split_first() else {
        return Vec::new();
    };
    let mut groups: Vec<Vec<f64>> = first
        .iter()
        .map(|mark| measured.of(mark).into_iter().collect())
        .collect();
    for marks in later {
        for pair in paired(first, marks).pairs {
            let value = marks.get(pair.counted).and_then(|mark| measured.of(mark));
            let known = groups.get_mut(pair.mark).filter(|own| !own.is_empty());
            if let (Some(group), Some(value)) = (known, value) {
                group.push(value);
            }
        }
    }
    groups.retain(|group| group.len() > 1);
    groups
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::super::examples::marks;
    use super::*;

    /// Of pairs s_w squared is the sum of the squared differences over twice their number.
    #[test]
    fn two_markings_in_closed_form() {
        let (first, second) = (marks(&[4.0, 3.0, 5.0]), marks(&[4.5, 2.75, 5.25]));
        let found = repeatability(Measured::Lower, &[vec![&first, &second]]).unwrap();
        let s_w = ((0.25_f64 + 0.0625 + 0.0625) / 6.0).sqrt();
        assert!((found.within_deviation_s - s_w).abs() < 1e-12);
        assert!((found.coefficient_s - 1.96 * 2f64.sqrt() * s_w).abs() < 1e-12);
        assert!((found.shift_s - 0.5 / 3.0).abs() < 1e-12);
        assert_eq!((found.rep_count, found.recording_count), (3, 1));
    }

    /// Three markings: deviations from their mean over two degrees of freedom each; a repetition that
    /// was marked once says nothing.
    #[test]
    fn three_markings_and_a_second_recording() {
        let (a, b, c) = (marks(&[4.0, 7.0]), marks(&[4.3]), marks(&[3.7]));
        let (d, e) = (marks(&[2.0]), marks(&[2.4]));
        let found = repeatability(Measured::Lower, &[vec![&a, &b, &c], vec![&d, &e]]).unwrap();
        let variance: f64 = (0.09 + 0.09 + 0.08) / 3.0;
        assert!((found.within_deviation_s - variance.sqrt()).abs() < 1e-12);
        assert_eq!((found.rep_count, found.recording_count), (2, 2));
        assert_eq!(repeatability(Measured::Lift, &[vec![&a, &b]]), None);
        assert_eq!(repeatability(Measured::Lower, &[vec![&a]]), None);
    }

    #[test]
    fn the_coefficient_is_the_published_2_77_times() {
        assert!((COEFFICIENT - 2.77).abs() < 0.005);
    }
}
