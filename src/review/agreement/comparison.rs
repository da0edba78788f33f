//! Two people's marks of one recording, or a person's and the program's: which repetitions both have,
//! and how far apart they put them.
//!
//! Ours: plain differences, the first less the second. From one recording nothing more is made of
//! them: several repetitions of one person are not independent.

use serde::Serialize;

use super::measured::{EachMeasured, Measured};
use super::pairs::paired;
use crate::recording::Mark;
use crate::review::figures::quantile;

/// A repetition that both have.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pair {
    /// As the first has it.
    pub first: Mark,
    /// As the second has it.
    pub second: Mark,
    /// The first less the second.
    pub differences: EachMeasured,
}

/// A repetition that one of them alone has.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Alone {
    /// Its number.
    pub rep: u32,
    /// Its earliest time, seconds.
    pub start_s: f64,
    /// Its latest time, seconds.
    pub end_s: f64,
}

/// Differences of one measure, in short; seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// The middle one.
    pub median_s: f64,
    /// The lowest.
    pub lowest_s: f64,
    /// The highest.
    pub highest_s: f64,
    /// How many there are.
    pub pair_count: usize,
}

/// One recording, compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Repetitions of the first.
    pub first_count: usize,
    /// Repetitions of the second.
    pub second_count: usize,
    /// Those that both have, in order of time.
    pub pairs: Vec<Pair>,
    /// Those of the first alone.
    pub only_first: Vec<Alone>,
    /// Those of the second alone.
    pub only_second: Vec<Alone>,
}

impl Comparison {
    /// Compares marks, each list in order of time.
    pub fn of(first: &[Mark], second: &[Mark]) -> Comparison {
        let pairing = paired(first, second);
        let alone = |marks: &[Mark], places: &[usize]| -> Vec<Alone> {
            places
                .iter()
                .filter_map(|place| Alone::of(marks.get(*place)?))
                .collect()
        };
        let pairs = pairing.pairs.iter().filter_map(|pair| {
            let (first, second) = (first.get(pair.mark)?, second.get(pair.counted)?);
            Some(Pair {
                first: *first,
                second: *second,
                differences: EachMeasured::by(|measured| {
                    Some(measured.of(first)? - measured.of(second)?)
                }),
            })
        });
        Comparison {
            first_count: first.len(),
            second_count: second.len(),
            only_first: alone(first, &pairing.only_marked),
            only_second: alone(second, &pairing.only_counted),
            pairs: pairs.collect(),
        }
    }

    /// The differences of one measure that are known, seconds.
    pub fn differences_s(&self, measured: Measured) -> Vec<f64> {
        self.pairs
            .iter()
            .filter_map(|pair| pair.differences.get(measured))
            .collect()
    }

    /// Both values of one measure where both are known, seconds.
    pub fn values_s(&self, measured: Measured) -> Vec<(f64, f64)> {
        self.pairs
            .iter()
            .filter_map(|pair| Some((measured.of(&pair.first)?, measured.of(&pair.second)?)))
            .collect()
    }

    /// The differences of one measure in short; `None` where none is known.
    pub fn spread(&self, measured: Measured) -> Option<Spread> {
        let differences_s = self.differences_s(measured);
        Some(Spread {
            median_s: quantile(&differences_s, 0.5)?,
            lowest_s: quantile(&differences_s, 0.0)?,
            highest_s: quantile(&differences_s, 1.0)?,
            pair_count: differences_s.len(),
        })
    }
}

impl Alone {
    fn of(mark: &Mark) -> Option<Alone> {
        let (start_s, end_s) = mark.span_s()?;
        Some(Alone {
            rep: mark.rep,
            start_s,
            end_s,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::*;

    fn mark(rep: u32, times_s: [Option<f64>; 4]) -> Mark {
        let [lift_start_s, lift_end_s, lower_start_s, lower_end_s] = times_s;
        Mark {
            rep,
            lift_start_s,
            lift_end_s,
            lower_start_s,
            lower_end_s,
        }
    }

    #[test]
    fn differences_are_the_first_less_the_second_and_unknown_stays_unknown() {
        let mine = [
            mark(1, [Some(1.0), Some(3.0), Some(4.0), Some(8.5)]),
            mark(2, [None, None, Some(13.0), None]),
            mark(3, [Some(30.0), Some(31.0), Some(31.0), Some(33.0)]),
        ];
        let theirs = [
            mark(1, [Some(1.5), Some(3.0), Some(4.0), Some(8.0)]),
            mark(2, [Some(9.0), Some(11.0), Some(12.5), Some(16.0)]),
            mark(3, [Some(17.0), Some(19.0), Some(20.0), Some(24.0)]),
        ];
        let found = Comparison::of(&mine, &theirs);
        assert_eq!(found.pairs.len(), 2);
        assert_eq!(found.differences_s(Measured::Lift), [0.5]);
        assert_eq!(found.differences_s(Measured::Hold), [0.0]);
        assert_eq!(found.differences_s(Measured::Lower), [0.5]);
        assert_eq!(found.differences_s(Measured::LowerStart), [0.0, 0.5]);
        assert_eq!(found.only_first[0].start_s, 30.0);
        assert_eq!(found.only_second[0].rep, 3);
        let spread = found.spread(Measured::LowerStart).unwrap();
        assert_eq!((spread.lowest_s, spread.highest_s), (0.0, 0.5));
        assert_eq!((spread.median_s, spread.pair_count), (0.25, 2));
        assert_eq!(Comparison::of(&[], &theirs).spread(Measured::Lift), None);
    }

    /// What one clock calls zero moves no difference.
    #[test]
    fn a_common_shift_of_the_clock_changes_nothing() {
        let at = |shift_s: f64| {
            let times = [1.0, 2.0, 3.5, 6.0].map(|t_s| Some(t_s + shift_s));
            let other = [1.25, 2.0, 3.25, 6.5].map(|t_s| Some(t_s + shift_s));
            Comparison::of(&[mark(1, times)], &[mark(1, other)]).pairs[0].differences
        };
        assert_eq!(at(0.0), at(1024.0));
    }
}
