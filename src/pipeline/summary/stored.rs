//! What is stored of a patient's sessions, read and never made.

use jiff::ZonedDateTime;

use super::{SessionBrief, SessionSummary, fresh::name_of};
use crate::pipeline::ANALYSIS_VERSION;
use crate::recording::{
    PatientCode, RecordingError, Store, has_summary, read_brief, read_summary, started_at_of,
};

/// The sessions of a patient in brief, as far as they are stored.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Briefs {
    /// By their start.
    pub sessions: Vec<NamedBrief>,
    /// Sessions without a fresh summary, by their start.
    pub unread: Vec<Unread>,
    /// Folders that are no recordings.
    pub broken_count: u32,
}

/// A session of the store.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedBrief {
    /// The name of its folder.
    pub name: String,
    /// What is stored of it.
    pub brief: SessionBrief,
}

/// A session whose summary is missing, or older than its recording or the analysis.
#[derive(Debug, Clone, PartialEq)]
pub struct Unread {
    /// The name of its folder.
    pub name: String,
    /// When it started.
    pub started_at: ZonedDateTime,
    /// Whether a summary is there, but stale.
    pub stale: bool,
}

/// Reads what is stored of a patient. Nothing is computed from a recording and nothing is written;
/// [`super::fresh_summaries`] makes what is missing.
///
/// # Errors
/// [`RecordingError::UnknownPatient`], [`RecordingError::Unreadable`] of the patient's folder.
pub fn stored_briefs(store: &Store, patient: &PatientCode) -> Result<Briefs, RecordingError> {
    let mut briefs = Briefs::default();
    for folder in store.session_folders(patient)? {
        let name = name_of(&folder);
        let stored = read_brief(&folder, ANALYSIS_VERSION).or_else(|| {
            // A summary of which no brief was kept holds all the same.
            let summary: Option<SessionSummary> = read_summary(&folder, ANALYSIS_VERSION);
            summary.map(|summary| SessionBrief::of(&summary))
        });
        match stored {
            Some(brief) => briefs.sessions.push(NamedBrief { name, brief }),
            None => match started_at_of(&folder) {
                Ok(started_at) => briefs.unread.push(Unread {
                    name,
                    started_at,
                    stale: has_summary(&folder),
                }),
                Err(_) => briefs.broken_count += 1,
            },
        }
    }
    briefs
        .sessions
        .sort_by(|a, b| (&a.brief.started_at, &a.name).cmp(&(&b.brief.started_at, &b.name)));
    briefs
        .unread
        .sort_by(|a, b| (&a.started_at, &a.name).cmp(&(&b.started_at, &b.name)));
    Ok(briefs)
}
