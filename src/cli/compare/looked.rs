//! A recording with its marks, read and analysed.

use std::path::Path;

use serde::Serialize;

use super::given::GivenRecording;
use super::truth::{self, Truth};
use crate::cli::exit::WrongArguments;
use crate::cli::replay::ForeignArguments;
use crate::movement::Movement;
use crate::pipeline::{Analysis, Expectation, analyse};
use crate::recording::{Mark, Marks, Recording, open_any};
use crate::reps::{Doubt, Repetition};
use crate::review::agreement::{MarkedRecording, Marking};
use crate::review::quantile;

/// Marks lie at most so far outside of the recording, seconds.
const OUTSIDE_S: f64 = 1.0;

/// What was given of a recording and what is known of it.
#[derive(Debug, Serialize)]
pub struct Looked {
    /// Its name.
    pub name: String,
    /// Repetitions of the program.
    pub program_count: usize,
    /// The middle of their ranges, degrees.
    pub program_range_deg: Option<f64>,
    /// Repetitions of which the program says that the forearm moved, so that their range is not the
    /// wrist's.
    pub forearm_moved_count: usize,
    /// Who marked it, with what.
    pub markings: Vec<LookedMarking>,
    /// Whose data these are not, where it says so.
    pub invented: bool,
    /// What it truly was, where that is known.
    pub truth: Option<Truth>,
    /// For the comparison.
    #[serde(skip)]
    pub marked: MarkedRecording,
    /// From the start to the end of each set, seconds.
    #[serde(skip)]
    pub sets_s: Vec<(f64, f64)>,
    /// What a reader should know.
    #[serde(skip)]
    pub warnings: Vec<String>,
}

/// A file of marks.
#[derive(Debug, Serialize)]
pub struct LookedMarking {
    /// Whose.
    pub by: String,
    /// The file.
    pub file: String,
    /// Repetitions marked.
    pub marked_count: usize,
}

/// Reads and analyses a recording, and reads its marks.
///
/// # Errors
/// What cannot be read; marks of which none lies within the recording.
pub fn look(
    given: &GivenRecording,
    expected: &Expectation,
    foreign: &ForeignArguments,
) -> anyhow::Result<Looked> {
    let mut markings = Vec::new();
    let mut files = Vec::new();
    let mut warnings = Vec::new();
    for own in &given.marks {
        let marks = Marks::read(&own.path)?;
        files.push(LookedMarking {
            by: own.by.clone(),
            file: own.path.display().to_string(),
            marked_count: marks.reps().len(),
        });
        markings.push(Marking {
            by: own.by.clone(),
            marks: marks.reps().to_vec(),
        });
    }
    let recording = open_any(&given.path, &foreign.options())?;
    for (file, marking) in files.iter().zip(&markings) {
        warnings.extend(within(file, &marking.marks, &recording)?);
    }
    let analysis =
        analyse(&recording, expected).map_err(|error| WrongArguments(error.to_string()))?;
    warnings.extend(told_of(&given.title, &analysis));
    let truth = truth::beside(&given.path, &given.name, &mut warnings);
    let ranges_deg: Vec<f64> = reps(&analysis).map(|rep| rep.range_deg).collect();
    let program = program(&analysis);
    Ok(Looked {
        name: given.title.clone(),
        program_count: program.len(),
        forearm_moved_count: reps(&analysis).filter(|rep| rep.forearm_moved()).count(),
        program_range_deg: quantile(&ranges_deg, 0.5),
        markings: files,
        invented: truth::says_invented(&recording),
        marked: MarkedRecording {
            name: given.title.clone(),
            program,
            markings,
            truth: truth.as_ref().map(|truth| truth.reps.clone()),
        },
        truth,
        sets_s: analysis
            .sets
            .iter()
            .map(|set| (set.start_s, set.end_s))
            .collect(),
        warnings,
    })
}

fn reps(analysis: &Analysis) -> impl Iterator<Item = &Repetition> {
    analysis.sets.iter().flat_map(|set| &set.reps)
}

/// The program's repetitions through all sets, numbered from 1. Whole turns have no phases.
fn program(analysis: &Analysis) -> Vec<Mark> {
    let goes_round = analysis.sets.iter().flat_map(|set| {
        let circles = set.movement == Some(Movement::ArmCircles);
        set.reps.iter().map(move |_| circles)
    });
    reps(analysis)
        .zip(goes_round)
        .zip(1..)
        .map(|((rep, circles), number)| Mark {
            rep: number,
            lift_start_s: Some(rep.lift_start_s),
            lift_end_s: (!circles).then_some(rep.lift_end_s),
            lower_start_s: (!circles).then_some(rep.lower_start_s),
            lower_end_s: Some(rep.lower_end_s),
        })
        .collect()
}

/// Marks that lie outside of the recording; all of them are another recording's.
fn within(
    file: &LookedMarking,
    marks: &[Mark],
    recording: &Recording,
) -> anyhow::Result<Option<String>> {
    let Some((first, last)) = recording.hand.first().zip(recording.hand.last()) else {
        return Ok(None);
    };
    let (from_s, to_s) = (first.t_s, last.t_s);
    let inside = (from_s - OUTSIDE_S)..=(to_s + OUTSIDE_S);
    let is_outside = |mark: &&Mark| {
        let mut times = mark.times_s().into_iter().flatten();
        times.any(|time_s| !inside.contains(&time_s))
    };
    let outside: Vec<String> = marks
        .iter()
        .filter(is_outside)
        .map(|mark| mark.rep.to_string())
        .collect();
    if outside.is_empty() {
        return Ok(None);
    }
    let name = Path::new(&file.file).display();
    if outside.len() == marks.len() {
        anyhow::bail!(
            "{name}: none of its marks lies within {}, which lasts from {from_s:.1} to {to_s:.1} s; are they of another recording, or not in seconds of its own clock?",
            recording.name
        );
    }
    Ok(Some(format!(
        "{name}: repetition {} lies outside of {}, which lasts from {from_s:.1} to {to_s:.1} s",
        outside.join(", "),
        recording.name
    )))
}

/// What the analysis says, and which of its repetitions are in doubt.
fn told_of(name: &str, analysis: &Analysis) -> Vec<String> {
    let mut told: Vec<String> = analysis
        .warnings
        .iter()
        .map(|warning| format!("{name}: {warning}"))
        .collect();
    let doubted: Vec<String> = reps(analysis)
        .zip(1..)
        .filter(|(rep, _)| !rep.doubts.is_empty())
        .map(|(rep, number): (_, u32)| {
            let words: Vec<&str> = rep.doubts.iter().copied().map(Doubt::name).collect();
            format!("{number} ({})", words.join(", "))
        })
        .collect();
    if !doubted.is_empty() {
        told.push(format!(
            "{name}: the program doubts its own repetition {}",
            doubted.join(", ")
        ));
    }
    told
}
