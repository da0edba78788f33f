//! What the clinic's page is told.

use jiff::civil::Date;
use serde::Serialize;

use crate::recording::PatientCode;
use crate::review::{CASELOAD_HEADINGS, CASELOAD_NOTE, Caseload, caseload_cells, date_words};
use crate::routine::draft::Form;

/// What a page needs before anything is written.
#[derive(Serialize)]
pub struct FormTold {
    pub form: Form,
    pub starting: Vec<StartingTold>,
    pub today: Date,
    pub store: String,
    /// What is gone through before the first session.
    pub questions: &'static [&'static str],
    /// Whom to ask, as the last prescription says.
    pub contact: Option<String>,
    pub key: Option<KeyTold>,
    /// Where the clinic's secret key lies, or will lie.
    pub key_path: String,
}

#[derive(Serialize)]
pub struct StartingTold {
    pub name: &'static str,
    pub title: String,
    pub exercise_count: usize,
    pub session_min: f64,
    pub text: &'static str,
}

/// The clinic's key.
#[derive(Serialize)]
pub struct KeyTold {
    pub public: String,
    pub path: String,
}

/// What a patient does now.
#[derive(Serialize)]
pub struct KnownTold {
    /// The prescription in force; `None` where none is kept.
    pub present: Option<PresentTold>,
    /// What the last session was done under; `None` without one.
    pub last: Option<LastTold>,
}

/// What a session was done under.
#[derive(Serialize)]
pub struct LastTold {
    pub on: String,
    pub text: String,
}

/// The prescription in force.
#[derive(Serialize)]
pub struct PresentTold {
    pub path: String,
    pub text: String,
}

/// How many summaries were made anew.
#[derive(Serialize)]
pub struct ReadTold {
    pub made_count: usize,
}

/// What was kept.
#[derive(Serialize)]
pub struct KeptTold {
    pub path: String,
    pub before: Option<String>,
}

/// What became of what a patient brought.
#[derive(Serialize)]
pub struct BroughtTold {
    pub patient: PatientCode,
    pub new_count: usize,
    pub grown_count: usize,
    pub already_count: usize,
    /// Sessions and files that are there with something else in them, and were left.
    pub different: Vec<String>,
}

/// Where something lies to be fetched.
#[derive(Serialize)]
pub struct LaidTold {
    pub address: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
}

/// Everybody, as the terminal tells it.
#[derive(Serialize)]
pub struct PeopleTold {
    pub on: String,
    pub headings: [&'static str; 11],
    pub rows: Vec<PersonTold>,
    pub note: &'static str,
    pub claim_note: &'static str,
    pub left_out: Vec<String>,
    /// Sessions whose figures are not in the rows.
    pub unread_count: u32,
    /// The command that reads them.
    pub refresh: Option<String>,
}

#[derive(Serialize)]
pub struct PersonTold {
    pub patient: PatientCode,
    pub simulated: bool,
    pub cells: Vec<String>,
    /// Sessions whose figures are not in the cells.
    pub unread_count: u32,
    /// Why to look: what it is about, and the fact in a sentence.
    pub reasons: Vec<(&'static str, String)>,
}

/// Everybody, in the words of the terminal.
pub fn people_told(all: &Caseload) -> PeopleTold {
    PeopleTold {
        on: date_words(all.on),
        headings: CASELOAD_HEADINGS,
        rows: (all.lines.iter())
            .map(|line| PersonTold {
                patient: line.patient.clone(),
                simulated: line.simulated,
                cells: caseload_cells(all, line),
                unread_count: line.stale_count + line.missing_count,
                reasons: (line.reasons.iter())
                    .map(|reason| (reason.about, reason.text.clone()))
                    .collect(),
            })
            .collect(),
        note: CASELOAD_NOTE,
        claim_note: all.claim_note,
        left_out: all.warnings.clone(),
        unread_count: all.stale_count + all.missing_count,
        refresh: all.refresh.clone(),
    }
}
