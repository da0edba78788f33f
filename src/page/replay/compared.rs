//! What a person marked beside what the program did, and where it is known beside the truth.
//!
//! Ours. [`Comparison`] pairs and subtracts, so that page and command agree.

use serde::Serialize;

use super::marking::Truth;
use crate::recording::{Mark, Marks};
use crate::reps::Repetition;
use crate::review::agreement::{AGREEMENT_NOTE, Comparison, Measured, ONE_RECORDING_NOTE, Spread};

/// Both beside each other; everywhere the difference is what the person has more.
#[derive(Debug, Serialize)]
pub struct Compared {
    /// To be said wherever this is shown.
    note: &'static str,
    /// Why there are differences only.
    one_recording_note: &'static str,
    /// The file of the marks.
    file: String,
    /// The person's first, the program's second.
    comparison: Comparison,
    /// Differences of the phases over all pairs.
    phases: Vec<PhaseSpread>,
    /// What is known to be so.
    truth: Option<BesideTruth>,
}

#[derive(Debug, Serialize)]
struct PhaseSpread {
    phase: Measured,
    /// `None` where no pair has both its ends.
    spread: Option<Spread>,
}

/// Both against what is known to be so.
#[derive(Debug, Serialize)]
struct BesideTruth {
    true_count: usize,
    /// How it is done.
    words: Option<&'static str>,
    person: Vec<PhaseSpread>,
    program: Vec<PhaseSpread>,
}

/// The program's repetitions of a set as marks.
pub fn as_marks(reps: &[Repetition]) -> impl Iterator<Item = Mark> {
    reps.iter().zip(1..).map(|(rep, number)| Mark {
        rep: number,
        lift_start_s: Some(rep.lift_start_s),
        lift_end_s: Some(rep.lift_end_s),
        lower_start_s: Some(rep.lower_start_s),
        lower_end_s: Some(rep.lower_end_s),
    })
}

/// Compares a person's marks with the program's, and both with the truth where there is one.
pub fn compared(file: String, marks: &Marks, program: &[Mark], truth: Option<&Truth>) -> Compared {
    let comparison = Comparison::of(marks.reps(), program);
    let beside = |truth: &Truth| BesideTruth {
        true_count: truth.marks.reps().len(),
        words: truth.words,
        person: spreads(&Comparison::of(marks.reps(), truth.marks.reps())),
        program: spreads(&Comparison::of(program, truth.marks.reps())),
    };
    Compared {
        note: AGREEMENT_NOTE,
        one_recording_note: ONE_RECORDING_NOTE,
        file,
        phases: spreads(&comparison),
        comparison,
        truth: truth.map(beside),
    }
}

fn spreads(comparison: &Comparison) -> Vec<PhaseSpread> {
    let spread = |phase: Measured| PhaseSpread {
        phase,
        spread: comparison.spread(phase),
    };
    Measured::LENGTHS.map(spread).into()
}
