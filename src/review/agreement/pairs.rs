//! Which repetition marked by hand is which of the program's: by the largest overlap in time.

use serde::{Deserialize, Serialize};

/// The times of a repetition, seconds of the recording.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Spans {
    /// Start of the lift.
    pub lift_start_s: f64,
    /// End of the lift.
    pub lift_end_s: f64,
    /// Start of the lowering.
    pub lower_start_s: f64,
    /// End of the lowering.
    pub lower_end_s: f64,
}

impl Spans {
    /// How long both last at once, seconds; 0 where they do not meet.
    fn overlap_s(&self, other: &Spans) -> f64 {
        let from = self.lift_start_s.max(other.lift_start_s);
        let to = self.lower_end_s.min(other.lower_end_s);
        (to - from).max(0.0)
    }

    /// The lowering, seconds.
    pub fn lower_s(&self) -> f64 {
        self.lower_end_s - self.lower_start_s
    }

    /// The lift, seconds.
    pub fn lift_s(&self) -> f64 {
        self.lift_end_s - self.lift_start_s
    }

    /// The hold, seconds.
    pub fn hold_s(&self) -> f64 {
        self.lower_start_s - self.lift_end_s
    }
}

/// A repetition of both.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Marked {
    /// Its place among the marks, from 0.
    pub mark: usize,
    /// Its place among the program's, from 0.
    pub counted: usize,
}

/// What belongs together, and what is left.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Pairing {
    /// Pairs, in the order of the marks.
    pub pairs: Vec<Marked>,
    /// Marks that the program has nothing for, by their places.
    pub only_marked: Vec<usize>,
    /// Repetitions of the program that are not marked, by their places.
    pub only_counted: Vec<usize>,
}

/// Pairs marks with the program's repetitions: the pair that overlaps longest first, each used once.
pub fn paired(marks: &[Spans], counted: &[Spans]) -> Pairing {
    let mut meetings: Vec<(f64, usize, usize)> = Vec::new();
    for (mark, of_hand) in marks.iter().enumerate() {
        for (place, own) in counted.iter().enumerate() {
            let overlap_s = of_hand.overlap_s(own);
            if overlap_s > 0.0 {
                meetings.push((overlap_s, mark, place));
            }
        }
    }
    meetings.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut pairs: Vec<Marked> = Vec::new();
    for (_, mark, place) in meetings {
        let free = |own: &Marked| own.mark != mark && own.counted != place;
        if pairs.iter().all(free) {
            pairs.push(Marked {
                mark,
                counted: place,
            });
        }
    }
    pairs.sort_by_key(|pair| pair.mark);
    Pairing {
        only_marked: (0..marks.len())
            .filter(|mark| pairs.iter().all(|pair| pair.mark != *mark))
            .collect(),
        only_counted: (0..counted.len())
            .filter(|place| pairs.iter().all(|pair| pair.counted != *place))
            .collect(),
        pairs,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(start_s: f64, long_s: f64) -> Spans {
        Spans {
            lift_start_s: start_s,
            lift_end_s: start_s + 0.3 * long_s,
            lower_start_s: start_s + 0.4 * long_s,
            lower_end_s: start_s + long_s,
        }
    }

    fn pair(mark: usize, counted: usize) -> Marked {
        Marked { mark, counted }
    }

    #[test]
    fn the_longest_overlap_decides_and_each_is_used_once() {
        let marks = [at(0.0, 4.0), at(5.0, 4.0), at(20.0, 4.0)];
        // The first of the program's is late by most of a repetition; one is not marked.
        let counted = [at(3.5, 2.0), at(5.5, 4.0), at(12.0, 4.0)];
        let found = paired(&marks, &counted);
        assert_eq!(found.pairs, [pair(0, 0), pair(1, 1)]);
        assert_eq!(found.only_marked, [2]);
        assert_eq!(found.only_counted, [2]);
    }

    #[test]
    fn what_only_touches_is_no_pair() {
        let found = paired(&[at(0.0, 4.0)], &[at(4.0, 4.0)]);
        assert!(found.pairs.is_empty());
        assert_eq!(paired(&[], &[]), Pairing::default());
    }
}
