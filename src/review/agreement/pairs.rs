//! Which repetition marked by hand is which of the program's: by the largest overlap in time. Where one
//! time of a repetition is all that was marked, it goes to the nearest of its name, within half of a
//! repetition: late and early alike, so that differences are not cut off on one side.

use serde::Serialize;

use crate::recording::Mark;

/// Two lone times are one and the same repetition's within this, seconds.
const LONE_REACH_S: f64 = 1.0;

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

/// How surely two are one repetition, seconds: how long both last at once, from the first time that is
/// marked to the last; 0 where they are none.
fn meeting_s(a: &Mark, b: &Mark) -> f64 {
    let (Some((a_from_s, a_to_s)), Some((b_from_s, b_to_s))) = (a.span_s(), b.span_s()) else {
        return 0.0;
    };
    let lone = |mark: &Mark| mark.times_s().iter().flatten().count() == 1;
    if lone(a) || lone(b) {
        let mut both = a.times_s().into_iter().zip(b.times_s());
        if let Some((a_s, b_s)) = both.find_map(|(a_s, b_s)| a_s.zip(b_s)) {
            let longest_s = (a_to_s - a_from_s).max(b_to_s - b_from_s);
            let reach_s = if longest_s > 0.0 {
                0.5 * longest_s
            } else {
                LONE_REACH_S
            };
            return (reach_s - (a_s - b_s).abs()).max(0.0);
        }
    }
    let lasting_s = a_to_s.min(b_to_s) - a_from_s.max(b_from_s);
    // A time within the other's, of another name.
    let within = lasting_s == 0.0 && (lone(a) || lone(b));
    if within {
        f64::MIN_POSITIVE
    } else {
        lasting_s.max(0.0)
    }
}

/// Pairs marks with the program's repetitions: the pair that meets most surely first, each used once.
pub fn paired(marks: &[Mark], counted: &[Mark]) -> Pairing {
    let mut meetings: Vec<(f64, usize, usize)> = Vec::new();
    for (mark, of_hand) in marks.iter().enumerate() {
        for (place, own) in counted.iter().enumerate() {
            let meeting_s = meeting_s(of_hand, own);
            if meeting_s > 0.0 {
                meetings.push((meeting_s, mark, place));
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
    #![allow(
        clippy::indexing_slicing,
        reason = "a test stops at the first surprise"
    )]
    use super::*;

    fn at(start_s: f64, long_s: f64) -> Mark {
        let at = |share: f64| Some(start_s + share * long_s);
        Mark {
            rep: 1,
            lift_start_s: at(0.0),
            lift_end_s: at(0.3),
            lower_start_s: at(0.4),
            lower_end_s: at(1.0),
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

    /// Ends alone, early and late by turns, next to each other's repetitions: all are paired.
    #[test]
    fn a_lone_time_goes_to_the_nearest_of_its_name() {
        let counted: Vec<Mark> = (0..10).map(|n| at(4.0 * f64::from(n), 3.9)).collect();
        let marks: Vec<Mark> = counted
            .iter()
            .zip([-0.1, 0.3].into_iter().cycle())
            .map(|(own, by_s)| Mark {
                lift_start_s: None,
                lift_end_s: None,
                lower_start_s: None,
                lower_end_s: own.lower_end_s.map(|end_s| end_s + by_s),
                ..*own
            })
            .collect();
        let each: Vec<Marked> = (0..10).map(|n| pair(n, n)).collect();
        assert_eq!(paired(&marks, &counted).pairs, each);
        assert_eq!(paired(&counted, &marks).pairs, each);
        assert_eq!(paired(&marks, &marks).pairs, each);
        // Far from any end it is nobody's.
        let alone = Mark {
            lower_end_s: Some(60.0),
            ..marks[0]
        };
        assert_eq!(paired(&[alone], &counted).pairs, []);
    }
}
