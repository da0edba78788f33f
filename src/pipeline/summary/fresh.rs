//! All summaries of a patient: the stored ones, and those that had to be made anew.

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::prelude::*;

use super::{REPS_FILE, SessionBrief, SessionSummary, reps_csv, summarise};
use crate::pipeline::ANALYSIS_VERSION;
use crate::recording::{
    PatientCode, RecordingError, Session, Stamp, Store, read_brief, read_summary, write_brief,
    write_derived, write_summary,
};

/// The summary of a session of the store.
#[derive(Debug, Clone, PartialEq)]
pub struct Summarised {
    /// The name of the session's folder.
    pub name: String,
    /// The session's folder.
    pub folder: PathBuf,
    /// The summary.
    pub summary: SessionSummary,
}

/// The summaries of a patient.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Summaries {
    /// By their start.
    pub sessions: Vec<Summarised>,
    /// Sessions that are left out, and summaries that could not be kept: each with the reason.
    pub warnings: Vec<String>,
    /// How many were made anew.
    pub recomputed_count: usize,
}

/// How far the making of summaries is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Summaries made.
    pub done: usize,
    /// Summaries to be made in all.
    pub of: usize,
}

/// Reads the summaries of a patient; missing and stale ones are made anew, in parallel, and kept.
/// `progress` is told, from any thread, of each one made, and once before the first; never where
/// all are fresh. A session that cannot be read is named in the warnings; the rest is unharmed.
///
/// # Errors
/// [`RecordingError::UnknownPatient`], [`RecordingError::Unreadable`] of the patient's folder.
pub fn fresh_summaries(
    store: &Store,
    patient: &PatientCode,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Summaries, RecordingError> {
    let listed = store.sessions(patient)?;
    let mut result = summaries_of(&listed.sessions, progress);
    result
        .warnings
        .splice(0..0, listed.broken.iter().map(left_out));
    result.warnings.extend(misplaced(patient, &result.sessions));
    Ok(result)
}

/// Says where sessions name another patient than the folder they lie in: two people’s records may
/// have been mixed. They stay, since a folder may have been renamed on purpose.
fn misplaced(patient: &PatientCode, sessions: &[Summarised]) -> Option<String> {
    let other = |session: &&Summarised| session.summary.patient != *patient;
    let first = sessions.iter().find(other)?;
    let count = sessions.iter().filter(other).count();
    Some(format!(
        "{count} of {} sessions name another patient, {} the first ({}): was a folder renamed or put in the wrong place?",
        sessions.len(),
        first.summary.patient,
        first.name
    ))
}

/// The summaries of these sessions, as [`fresh_summaries`] reads them.
pub fn summaries_of(sessions: &[Session], progress: &(dyn Fn(Progress) + Sync)) -> Summaries {
    let mut result = Summaries::default();
    let stored: Vec<Option<SessionSummary>> = sessions
        .par_iter()
        .map(|session| read_summary(&session.folder, ANALYSIS_VERSION))
        .collect();
    let of = stored.iter().filter(|summary| summary.is_none()).count();
    if of > 0 {
        progress(Progress { done: 0, of });
    }
    let done = AtomicUsize::new(0);
    let made: Vec<Made> = sessions
        .par_iter()
        .zip(stored)
        .map(|(session, stored)| match stored {
            Some(summary) => Made {
                summary: Some(summary),
                warnings: Vec::new(),
            },
            None => {
                let made = make(session);
                let done = 1 + done.fetch_add(1, Ordering::Relaxed);
                progress(Progress { done, of });
                made
            }
        })
        .collect();
    result.recomputed_count = of;
    for (session, made) in sessions.iter().zip(made) {
        result.warnings.extend(made.warnings);
        result
            .sessions
            .extend(made.summary.map(|summary| Summarised {
                name: name_of(&session.folder),
                folder: session.folder.clone(),
                summary,
            }));
    }
    result
}

/// Keeps the briefs that are missing or stale beside these fresh summaries, and gives their number:
/// a list of all patients then need not read the summaries. One that cannot be kept is no loss.
pub fn keep_briefs(summaries: &Summaries) -> usize {
    let keep = |session: &&Summarised| {
        let stored: Option<SessionBrief> = read_brief(&session.folder, ANALYSIS_VERSION);
        stored.is_none()
            && Stamp::of(&session.folder, ANALYSIS_VERSION)
                .and_then(|stamp| {
                    let brief = SessionBrief::of(&session.summary);
                    write_brief(&session.folder, &stamp, &brief)
                })
                .is_ok()
    };
    summaries.sessions.par_iter().filter(keep).count()
}

struct Made {
    summary: Option<SessionSummary>,
    warnings: Vec<String>,
}

fn left_out(error: &RecordingError) -> String {
    format!("a session is left out: {error}")
}

pub(super) fn name_of(folder: &Path) -> String {
    folder
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

fn make(session: &Session) -> Made {
    let folder = &session.folder;
    // Taken before reading, so that a change meanwhile shows.
    let stamp = Stamp::of(folder, ANALYSIS_VERSION);
    let recording = match session.open() {
        Ok(recording) => recording,
        Err(error) => {
            return Made {
                summary: None,
                warnings: vec![left_out(&error)],
            };
        }
    };
    let summary = match summarise(&recording, folder) {
        Ok(summary) => summary,
        Err(error) => {
            return Made {
                summary: None,
                warnings: vec![format!(
                    "a session is left out: {}: {error}",
                    folder.display()
                )],
            };
        }
    };
    let mut warnings = Vec::new();
    if let (Some(summary), Ok(stamp)) = (&summary, &stamp) {
        let reps = write_derived(&folder.join(REPS_FILE), reps_csv(summary).as_bytes())
            .map_err(|error| error.to_string());
        let kept = reps.and_then(|()| {
            write_brief(folder, stamp, &SessionBrief::of(summary))
                .and_then(|()| write_summary(folder, stamp, summary))
                .map_err(|error| error.to_string())
        });
        warnings.extend(kept.err().map(|error| {
            format!(
                "{}: the summary could not be kept and will be made again: {error}",
                folder.display()
            )
        }));
    }
    Made { summary, warnings }
}
