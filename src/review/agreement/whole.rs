//! Everything that marks made by hand say together: everybody against the program, against each other,
//! against themselves, and against the truth where it is known.

use serde::Serialize;

use super::comparison::Comparison;
use super::measured::Measured;
use super::over::Over;
use super::repeatability::{Markings, Repeatability, repeatability};
use super::together::Together;
use super::{AGREEMENT_NOTE, ONE_RECORDING_NOTE};
use crate::recording::Mark;

/// What the program is called among those who mark.
pub const PROGRAM: &str = "the program";
/// What the truth is called among those who mark.
pub const TRUTH: &str = "the truth";

/// A person's marks of a recording, made at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Marking {
    /// Who.
    pub by: String,
    /// What, in order of time.
    pub marks: Vec<Mark>,
}

/// A recording and all who marked it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MarkedRecording {
    /// Its name.
    pub name: String,
    /// The program's repetitions, in order of time.
    pub program: Vec<Mark>,
    /// Everybody's markings; several of one person in the order in which they were made.
    pub markings: Vec<Marking>,
    /// The true repetitions, where they are known.
    pub truth: Option<Vec<Mark>>,
}

/// Two who marked one recording.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InRecording {
    /// Which recording.
    pub recording: String,
    /// What they have.
    #[serde(flatten)]
    pub comparison: Comparison,
}

/// Two who marked the same recordings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparisons {
    /// The one.
    pub first: String,
    /// The other; differences are the first less the second.
    pub second: String,
    /// Recording by recording.
    pub recordings: Vec<InRecording>,
    /// Over the recordings; `None` with fewer than two that have pairs.
    pub over: Option<Over>,
    /// Why not.
    pub no_over: Option<&'static str>,
}

/// How well one person's own markings repeat.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnRepeatability {
    /// Whose.
    pub by: String,
    /// Each measure that was marked twice.
    pub measures: Vec<Repeatability>,
}

/// Everything.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Agreement {
    /// Everybody against the program, then each other, then the truth.
    pub comparisons: Vec<Comparisons>,
    /// Three or more people together.
    pub together: Option<Together>,
    /// Those who marked a recording more than once.
    pub repeatability: Vec<OwnRepeatability>,
    /// To be said wherever agreement is shown.
    pub note: &'static str,
}

impl MarkedRecording {
    /// Somebody's first marking, the program's or the true repetitions.
    fn of(&self, name: &str) -> Option<&[Mark]> {
        match name {
            PROGRAM => Some(&self.program),
            TRUTH => self.truth.as_deref(),
            _ => {
                let mut own = self.markings.iter().filter(|marking| marking.by == name);
                own.next().map(|marking| marking.marks.as_slice())
            }
        }
    }
}

impl Agreement {
    /// Puts everything together. A later marking of the same person serves that person's repeatability
    /// alone: who marks again remembers what the comparison said.
    pub fn of(recordings: &[MarkedRecording]) -> Agreement {
        let mut people: Vec<&str> = Vec::new();
        for marking in recordings.iter().flat_map(|own| &own.markings) {
            if !people.contains(&marking.by.as_str()) {
                people.push(&marking.by);
            }
        }
        let with = |other| people.iter().map(move |by| (*by, other));
        let mut asked: Vec<(&str, &str)> = with(PROGRAM).collect();
        for (place, first) in people.iter().enumerate() {
            asked.extend(
                people
                    .iter()
                    .skip(place + 1)
                    .map(|second| (*first, *second)),
            );
        }
        asked.push((PROGRAM, TRUTH));
        asked.extend(with(TRUTH));
        Agreement {
            comparisons: asked
                .into_iter()
                .filter_map(|(first, second)| Comparisons::of(recordings, first, second))
                .collect(),
            together: Together::of(
                &people,
                &recordings
                    .iter()
                    .map(|own| people.iter().map(|by| own.of(by)).collect())
                    .collect::<Vec<_>>(),
            ),
            repeatability: people
                .iter()
                .filter_map(|by| OwnRepeatability::of(recordings, by))
                .collect(),
            note: AGREEMENT_NOTE,
        }
    }
}

impl Comparisons {
    fn of(recordings: &[MarkedRecording], first: &str, second: &str) -> Option<Comparisons> {
        let both = |own: &MarkedRecording| {
            Some(InRecording {
                recording: own.name.clone(),
                comparison: Comparison::of(own.of(first)?, own.of(second)?),
            })
        };
        let found: Vec<InRecording> = recordings.iter().filter_map(both).collect();
        if found.is_empty() {
            return None;
        }
        let comparisons: Vec<&Comparison> = found.iter().map(|own| &own.comparison).collect();
        let over = Over::of(&comparisons);
        Some(Comparisons {
            first: first.to_owned(),
            second: second.to_owned(),
            no_over: over.is_none().then_some(ONE_RECORDING_NOTE),
            over,
            recordings: found,
        })
    }
}

impl OwnRepeatability {
    fn of(recordings: &[MarkedRecording], by: &str) -> Option<OwnRepeatability> {
        let markings: Vec<Markings<'_>> = recordings
            .iter()
            .map(|own| {
                let of_person = own.markings.iter().filter(|marking| marking.by == by);
                of_person.map(|marking| marking.marks.as_slice()).collect()
            })
            .collect();
        let measures: Vec<Repeatability> = Measured::ALL
            .into_iter()
            .filter_map(|measured| repeatability(measured, &markings))
            .collect();
        (!measures.is_empty()).then(|| OwnRepeatability {
            by: by.to_owned(),
            measures,
        })
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    fn marks(start_s: f64, lower_s: f64) -> Vec<Mark> {
        vec![Mark {
            rep: 1,
            lift_start_s: Some(start_s),
            lift_end_s: Some(start_s + 2.0),
            lower_start_s: Some(start_s + 3.0),
            lower_end_s: Some(start_s + 3.0 + lower_s),
        }]
    }

    fn by(name: &str, lower_s: f64) -> Marking {
        Marking {
            by: name.to_owned(),
            marks: marks(10.0, lower_s),
        }
    }

    #[test]
    fn everybody_is_held_against_the_program_each_other_and_the_truth() {
        let recording = MarkedRecording {
            name: "a".to_owned(),
            program: marks(10.0, 4.0),
            markings: vec![by("you", 4.5), by("anna", 4.25), by("you", 4.75)],
            truth: Some(marks(10.0, 4.0)),
        };
        let found = Agreement::of(&[recording]);
        let pairs: Vec<(&str, &str)> = found
            .comparisons
            .iter()
            .map(|own| (own.first.as_str(), own.second.as_str()))
            .collect();
        assert_eq!(
            pairs,
            [
                ("you", PROGRAM),
                ("anna", PROGRAM),
                ("you", "anna"),
                (PROGRAM, TRUTH),
                ("you", TRUTH),
                ("anna", TRUTH)
            ]
        );
        // The first marking alone is held against others.
        let mine = found.comparisons.first().unwrap().recordings.first();
        let own = &mine.unwrap().comparison;
        assert_eq!(own.differences_s(Measured::Lower), [0.5]);
        let [repeated] = found.repeatability.as_slice() else {
            unreachable!("one marked twice")
        };
        assert_eq!((repeated.by.as_str(), repeated.measures.len()), ("you", 7));
    }
}
