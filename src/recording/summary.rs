//! summary.json: what was computed from a session, kept until the session or the analysis differs;
//! and brief.json beside it: the little of it that a list of all patients needs.

use std::path::Path;
use std::time::UNIX_EPOCH;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::error::RecordingError;
use super::folder::{EVENTS_FILE, SAMPLES_FILE, SESSION_FILE};
use super::whole_file::{self, Existing};

pub(super) const SUMMARY_FILE: &str = "summary.json";
pub(super) const BRIEF_FILE: &str = "brief.json";

/// Files of a session that are made again from its recording.
pub const DERIVED_FILES: [&str; 3] = [SUMMARY_FILE, BRIEF_FILE, "reps.csv"];

/// What a summary was computed from: size and time of each file, and the analysis version.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    analysis_version: u32,
    session: FileStamp,
    samples: Option<FileStamp>,
    events: Option<FileStamp>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
struct FileStamp {
    size: u64,
    /// Nanoseconds since 1970; negative before.
    modified_ns: i64,
}

impl Stamp {
    /// The stamp of a session as it is now. Take it before reading the session, so that a change
    /// while it is analysed shows afterwards.
    ///
    /// # Errors
    /// [`RecordingError::NotFound`] or [`RecordingError::Unreadable`] for the session.json.
    pub fn of(session: &Path, analysis_version: u32) -> Result<Stamp, RecordingError> {
        let path = session.join(SESSION_FILE);
        let stamp = file_stamp(&path).map_err(|error| RecordingError::reading(&path, error))?;
        Ok(Stamp {
            analysis_version,
            session: stamp,
            samples: file_stamp(&session.join(SAMPLES_FILE)).ok(),
            events: file_stamp(&session.join(EVENTS_FILE)).ok(),
        })
    }
}

fn file_stamp(path: &Path) -> std::io::Result<FileStamp> {
    let metadata = path.metadata()?;
    let modified = metadata.modified()?;
    let modified_ns = match modified.duration_since(UNIX_EPOCH) {
        Ok(after) => i64::try_from(after.as_nanos()).unwrap_or(i64::MAX),
        Err(before) => i64::try_from(before.duration().as_nanos()).map_or(i64::MIN, |ns| -ns),
    };
    Ok(FileStamp {
        size: metadata.len(),
        modified_ns,
    })
}

/// The stored summary of a session; `None` where there is none, it cannot be read, or the session
/// or the analysis version has changed since.
pub fn read_summary<T: DeserializeOwned>(session: &Path, analysis_version: u32) -> Option<T> {
    #[derive(Deserialize)]
    struct Stored<T> {
        stamp: Stamp,
        summary: T,
    }
    let text = std::fs::read(session.join(SUMMARY_FILE)).ok()?;
    let stored: Stored<T> = serde_json::from_slice(&text).ok()?;
    fresh(session, analysis_version, &stored.stamp).then_some(stored.summary)
}

/// The stored brief of a session, under the same conditions as [`read_summary`].
pub fn read_brief<T: DeserializeOwned>(session: &Path, analysis_version: u32) -> Option<T> {
    #[derive(Deserialize)]
    struct Stored<T> {
        stamp: Stamp,
        brief: T,
    }
    let text = std::fs::read(session.join(BRIEF_FILE)).ok()?;
    let stored: Stored<T> = serde_json::from_slice(&text).ok()?;
    fresh(session, analysis_version, &stored.stamp).then_some(stored.brief)
}

fn fresh(session: &Path, analysis_version: u32, stored: &Stamp) -> bool {
    Stamp::of(session, analysis_version).is_ok_and(|stamp| stamp == *stored)
}

/// Whether a summary is there, fresh or not.
pub fn has_summary(session: &Path) -> bool {
    session.join(SUMMARY_FILE).is_file()
}

/// Stores a summary, whole or not at all, in place of the one before.
///
/// # Errors
/// The errors of writing. A summary is derived: losing it loses nothing.
pub fn write_summary<T: Serialize>(
    session: &Path,
    stamp: &Stamp,
    summary: &T,
) -> Result<(), RecordingError> {
    #[derive(Serialize)]
    struct Stored<'a, T> {
        stamp: &'a Stamp,
        summary: &'a T,
    }
    write(&session.join(SUMMARY_FILE), &Stored { stamp, summary })
}

/// Stores a brief, as [`write_summary`] stores a summary.
///
/// # Errors
/// The errors of writing.
pub fn write_brief<T: Serialize>(
    session: &Path,
    stamp: &Stamp,
    brief: &T,
) -> Result<(), RecordingError> {
    #[derive(Serialize)]
    struct Stored<'a, T> {
        stamp: &'a Stamp,
        brief: &'a T,
    }
    write(&session.join(BRIEF_FILE), &Stored { stamp, brief })
}

fn write<T: Serialize>(path: &Path, stored: &T) -> Result<(), RecordingError> {
    let text = serde_json::to_vec(stored).map_err(|error| RecordingError::Unwritable {
        path: path.to_owned(),
        said: std::io::Error::other(error),
    })?;
    whole_file::write(path, &text, Existing::Replace)
}
