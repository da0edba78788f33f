//! The history of a patient across sessions, from their summaries.
//!
//! Pure: no file, no clock. A range belongs to its movement, side and posture, and ranges of a
//! loaded and of an empty hand are never mixed ([`Series`]). What is not known stays unknown.

mod adherence;
pub mod agreement;
mod caseload;
mod change;
mod dose;
mod figures;
mod findings;
mod inputs;
mod later;
mod norms;
mod range_tests;
mod routines;
mod rules;
mod series;
mod session;
mod since;
mod symptoms;
mod terminal;
mod visits;
mod words;

use std::path::PathBuf;

use jiff::civil::Date;
use serde::Serialize;

use crate::pipeline::forearm::ForearmPart;
use crate::pipeline::summary::{Summaries, Summarised};
use crate::pipeline::{BOTH_NOTE, ONE_SENSOR_NOTE};
use crate::recording::PatientCode;

pub use adherence::{Adherence, days as days_between};
pub use caseload::{
    CASELOAD_HEADINGS, CASELOAD_NOTE, Caseload, CaseloadLine, NightCounts, RangeChange,
    RangeCounts, Reason, SymptomTrend, WINDOW_DAYS, caseload, caseload_cells, caseload_line,
    caseload_terminal, caseload_within,
};
pub use change::{
    Change, ErrorFrom, Judgement, OWN_PAIRS, RangeError, mdc95_deg, own_error_deg, range_error,
};
pub use figures::{RangeFigures, TimeFigures, quantile};
pub use findings::Finding;
pub use inputs::{INPUTS_NOTE, InputFor, InputRow, Sight};
pub use norms::{Norm, Person, Sex, norms, norms_of};
pub use range_tests::{EndFigures, RangeTestSession, RangeTests};
pub use routines::RoutineChange;
pub use rules::two_for_two;
pub use series::{HandLoad, Series, SeriesSession, TotalCounts};
pub use session::SessionRow;
pub use since::SinceVisit;
pub use symptoms::SymptomRow;
pub use terminal::terminal;
pub use visits::{Goniometer, Noted, SensorRange, Visit};
pub use words::{
    answers_words, count_of, date_words, day_words, degrees, hand_title, kilograms, period_words,
    plural, posture_words, seconds, share_words, symptom_words,
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
    /// The day of the look, where it is known: silence after the last session is counted to it.
    pub on: Option<Date>,
    /// How much was done of what was asked.
    pub adherence: Adherence,
    /// What happened since the last visit noted.
    pub since_visit: Option<SinceVisit>,
    /// The routines in force, each with what changed.
    pub routines: Vec<RoutineChange>,
    /// Visits noted.
    pub visits: Vec<Visit>,
    /// What to look at, the gravest first.
    pub findings: Vec<Finding>,
    /// By movement, posture, load and side.
    pub series: Vec<Series>,
    /// Range tests by plane, posture and side: both ends and the arc.
    pub range_tests: Vec<RangeTests>,
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

/// Puts the history together, without a day of the look.
pub fn review(patient: &PatientCode, summaries: &Summaries, options: &ReviewOptions) -> Review {
    review_on(patient, summaries, options, None)
}

/// Puts the history together as of a day.
pub fn review_on(
    patient: &PatientCode,
    summaries: &Summaries,
    options: &ReviewOptions,
    on: Option<Date>,
) -> Review {
    let within = |session: &&Summarised| {
        options
            .since
            .is_none_or(|since| session.summary.day() >= since)
    };
    let mut sessions: Vec<&Summarised> = summaries.sessions.iter().filter(within).collect();
    let later = on.and_then(|on| later::take_out(&mut sessions, on));
    let mut review = assemble(patient, &sessions, options.since, on);
    review.warnings = summaries.warnings.clone();
    review.warnings.extend(later);
    let visited = |session: &&Summarised| !session.summary.visits.is_empty();
    let first = sessions
        .iter()
        .rposition(visited)
        .map_or(0, |place| place + 1);
    let after = sessions.get(first..).unwrap_or_default();
    let visit = review.visits.last().cloned();
    let mut of = assemble(patient, after, options.since.filter(|_| first == 0), on);
    since::extend(&mut of, visit.as_ref(), &sessions);
    let inputs = inputs::inputs(&of, after);
    review.since_visit = Some(since::since(visit, first, of, inputs));
    review
}

/// What the angles of these sessions mean.
fn angle_note(sessions: &[&Summarised]) -> &'static str {
    let by_two = sessions
        .iter()
        .flat_map(|session| &session.summary.analysis.sets)
        .filter_map(|set| set.forearm.as_ref())
        .any(ForearmPart::two_sensors);
    if by_two { BOTH_NOTE } else { ONE_SENSOR_NOTE }
}

fn assemble(
    patient: &PatientCode,
    sessions: &[&Summarised],
    since: Option<Date>,
    on: Option<Date>,
) -> Review {
    let rows = session::rows(sessions);
    let series = series::all(sessions);
    let adherence = adherence::adherence(sessions, &rows, since);
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
        since,
        on,
        adherence,
        since_visit: None,
        routines: routines::routines(sessions),
        visits: visits::visits(sessions, &series),
        findings: Vec::new(),
        range_tests: range_tests::all(sessions),
        series,
        sessions: rows,
        warnings: Vec::new(),
        angle_note: angle_note(sessions),
        claim_note: CLAIM_NOTE,
        last_exercise,
    };
    review.findings = findings::findings(&review, sessions);
    review
}

impl Review {
    /// Whether a session was played by a simulator: every page and text then says so.
    pub fn simulated(&self) -> bool {
        self.sessions.iter().any(|row| row.simulated)
    }

    /// The series whose change of range is weighed: of a movement of a hand with range tests in two
    /// sessions these alone, since nothing else about them changes from one to the next.
    pub fn weighed(&self) -> impl Iterator<Item = &Series> {
        self.series.iter().filter(|series| {
            let tested = |other: &&Series| {
                (other.movement, other.side) == (series.movement, series.side)
                    && other.load == HandLoad::RangeTest
                    && other.change.is_some()
            };
            series.load == HandLoad::RangeTest || !self.series.iter().any(|own| tested(&own))
        })
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
