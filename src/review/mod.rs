//! The history of a patient across sessions, from their summaries.
//!
//! Pure: no file, no clock. A range belongs to its movement, side and posture, and ranges of a
//! loaded and of an empty hand are never mixed ([`Series`]). What is not known stays unknown.

mod adherence;
mod change;
mod dose;
mod figures;
mod findings;
mod series;
mod session;
mod symptoms;
mod terminal;
mod words;

use std::path::PathBuf;

use jiff::civil::Date;
use serde::Serialize;

use crate::pipeline::ONE_SENSOR_NOTE;
use crate::pipeline::summary::{Summaries, Summarised};
use crate::recording::PatientCode;

pub use adherence::Adherence;
pub use change::{BorrowedError, Change, Judgement, borrowed_error};
pub use figures::{RangeFigures, TimeFigures, quantile};
pub use findings::Finding;
pub use series::{HandLoad, Series, SeriesSession, TotalCounts};
pub use session::SessionRow;
pub use symptoms::SymptomRow;
pub use terminal::terminal;
pub use words::{
    answers_words, count_of, date_words, degrees, hand_title, kilograms, period_words, plural,
    posture_words, seconds, share_words, symptom_words,
};

/// What every report says of itself.
pub const CLAIM_NOTE: &str =
    "It records and times what was prescribed; it does not treat, diagnose or decide.";

/// What is to be reviewed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ReviewOptions {
    /// First day, on the calendar of the sessions' own offsets; `None` is from the beginning.
    pub since: Option<Date>,
}

/// The history of one patient.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Review {
    /// The patient's code.
    pub patient: PatientCode,
    /// The first day asked for.
    pub since: Option<Date>,
    /// How much was done of what was asked.
    pub adherence: Adherence,
    /// What to look at, the gravest first.
    pub findings: Vec<Finding>,
    /// By movement, posture, load and side.
    pub series: Vec<Series>,
    /// Every session of the period, by start.
    pub sessions: Vec<SessionRow>,
    /// What is left out and why.
    pub warnings: Vec<String>,
    /// What every angle means.
    pub angle_note: &'static str,
    /// What this claims.
    pub claim_note: &'static str,
    /// The last session of the period with a repetition.
    #[serde(skip)]
    pub last_exercise: Option<LastExercise>,
}

/// The last session of a period with a repetition, for its curves.
#[derive(Debug, Clone, PartialEq)]
pub struct LastExercise {
    /// Which of [`Review::sessions`].
    pub session: usize,
    /// Its folder.
    pub folder: PathBuf,
    /// Its summary's analysis.
    pub analysis: crate::pipeline::Analysis,
}

/// Puts the history together.
pub fn review(patient: &PatientCode, summaries: &Summaries, options: &ReviewOptions) -> Review {
    let within = |session: &&Summarised| {
        options
            .since
            .is_none_or(|since| session.summary.day() >= since)
    };
    let sessions: Vec<&Summarised> = summaries.sessions.iter().filter(within).collect();
    let rows = session::rows(&sessions);
    let series = series::all(&sessions);
    let adherence = adherence::adherence(&sessions, &rows, options.since);
    let last_exercise = sessions
        .iter()
        .enumerate()
        .rev()
        .find(|(_, session)| session.summary.repetition_count() > 0)
        .map(|(index, session)| LastExercise {
            session: index,
            folder: session.folder.clone(),
            analysis: session.summary.analysis.clone(),
        });
    let mut review = Review {
        patient: patient.clone(),
        since: options.since,
        adherence,
        findings: Vec::new(),
        series,
        sessions: rows,
        warnings: summaries.warnings.clone(),
        angle_note: ONE_SENSOR_NOTE,
        claim_note: CLAIM_NOTE,
        last_exercise,
    };
    review.findings = findings::findings(&review, &sessions);
    review
}

impl Review {
    /// Whether a session was played by a simulator: every page and text then says so.
    pub fn simulated(&self) -> bool {
        self.sessions.iter().any(|row| row.simulated)
    }

    /// The series in groups of one movement, posture and load: the hands side by side.
    pub fn groups(&self) -> Vec<&[Series]> {
        self.series
            .chunk_by(|a, b| {
                (a.movement, a.load, &a.posture_words) == (b.movement, b.load, &b.posture_words)
            })
            .collect()
    }
}
