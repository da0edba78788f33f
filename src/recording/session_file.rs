//! session.json: whole or absent, never changed.

use std::io::Read;
use std::path::Path;

use jiff::fmt::temporal::Pieces;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ZonedDateTime};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::error::{RecordingError, shown};
use super::folder::SESSION_FILE;
use super::{PatientCode, SessionHead};
use crate::routine::Routine;

const FORMAT: &str = "carpotempo-recording";
const VERSION: u64 = 1;

/// The largest session.json that is read, in bytes; a routine takes a few thousand.
const LARGEST: u64 = 16 << 20;

#[derive(Serialize)]
struct Written<'a> {
    format: &'static str,
    version: u64,
    started_at: String,
    patient: &'a PatientCode,
    routine: &'a Option<Routine>,
}

#[derive(Deserialize)]
struct Read1 {
    started_at: String,
    patient: PatientCode,
    #[serde(default)]
    routine: Value,
}

/// The text of session.json.
pub(super) fn text(head: &SessionHead) -> Result<String, serde_json::Error> {
    let written = Written {
        format: FORMAT,
        version: VERSION,
        started_at: rfc_3339(&head.started_at),
        patient: &head.patient,
        routine: &head.routine,
    };
    serde_json::to_string_pretty(&written).map(|json| json + "\n")
}

/// The instant with the offset in force, as RFC 3339 has it.
fn rfc_3339(started_at: &ZonedDateTime) -> String {
    started_at
        .timestamp()
        .display_with_offset(started_at.offset())
        .to_string()
}

/// The instant in a time zone of the offset written; `None` where the offset is missing.
fn parse_rfc_3339(text: &str) -> Option<ZonedDateTime> {
    let timestamp: Timestamp = text.parse().ok()?;
    let offset = Pieces::parse(text).ok()?.to_numeric_offset()?;
    Some(timestamp.to_zoned_datetime(TimeZone::fixed(offset)))
}

/// Reads the session.json of a folder. A routine that does not fit is left out with a warning: the
/// samples are worth more than a newer program's routine.
pub(super) fn read(
    folder: &Path,
    warnings: &mut Vec<String>,
) -> Result<SessionHead, RecordingError> {
    let (path, bytes) = bytes(folder)?;
    let bad = |error: serde_json::Error| RecordingError::BadSession {
        path: path.clone(),
        line: error.line(),
        column: error.column(),
        message: error.to_string(),
    };
    let value: Value = serde_json::from_slice(&bytes).map_err(bad)?;
    check_format(&path, &value)?;
    let read: Read1 = serde_json::from_slice(&bytes).map_err(bad)?;
    let started_at = started_at(&path, &bytes, &read.started_at)?;
    let routine = match Option::<Routine>::deserialize(&read.routine) {
        Ok(routine) => routine,
        Err(error) => {
            warnings.push(format!(
                "{}: the routine cannot be read and was left out: {}",
                path.display(),
                shown(&error.to_string())
            ));
            None
        }
    };
    Ok(SessionHead {
        started_at,
        patient: read.patient,
        routine,
    })
}

/// Reads what the session of a folder begins with. A routine that does not fit is left out.
///
/// # Errors
/// [`RecordingError::NoSessionFile`] and the other variants about session.json.
pub fn head(folder: &Path) -> Result<SessionHead, RecordingError> {
    read(folder, &mut Vec::new())
}

/// Reads only when the session of a folder began.
///
/// # Errors
/// Those of a session.json that is missing or no session's.
pub fn started_at_of(folder: &Path) -> Result<ZonedDateTime, RecordingError> {
    #[derive(Deserialize)]
    struct Start {
        format: String,
        version: Value,
        started_at: String,
    }
    let (path, bytes) = bytes(folder)?;
    let start: Start =
        serde_json::from_slice(&bytes).map_err(|error| RecordingError::BadSession {
            path: path.clone(),
            line: error.line(),
            column: error.column(),
            message: error.to_string(),
        })?;
    let head = serde_json::json!({"format": start.format, "version": start.version});
    check_format(&path, &head)?;
    started_at(&path, &bytes, &start.started_at)
}

fn bytes(folder: &Path) -> Result<(std::path::PathBuf, Vec<u8>), RecordingError> {
    let path = folder.join(SESSION_FILE);
    let mut bytes = Vec::new();
    let read =
        std::fs::File::open(&path).and_then(|file| file.take(LARGEST).read_to_end(&mut bytes));
    match read {
        Ok(_) if bytes.is_empty() => Err(RecordingError::Empty { path }),
        Ok(_) => Ok((path, bytes)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            Err(RecordingError::NoSessionFile {
                path: folder.to_owned(),
            })
        }
        Err(error) => Err(RecordingError::reading(&path, error)),
    }
}

fn check_format(path: &Path, value: &Value) -> Result<(), RecordingError> {
    let format = value.get("format").unwrap_or(&Value::Null);
    if format.as_str() != Some(FORMAT) {
        return Err(RecordingError::NotARecording {
            path: path.to_owned(),
            found: shown(&format.to_string()),
        });
    }
    let version = value.get("version").unwrap_or(&Value::Null);
    if version.as_u64() != Some(VERSION) {
        return Err(RecordingError::NewerVersion {
            path: path.to_owned(),
            found: shown(&version.to_string()),
            known_count: VERSION,
        });
    }
    Ok(())
}

fn started_at(path: &Path, bytes: &[u8], text: &str) -> Result<ZonedDateTime, RecordingError> {
    parse_rfc_3339(text).ok_or_else(|| {
        let whole = String::from_utf8_lossy(bytes);
        let at = whole.find("\"started_at\"").unwrap_or(0);
        let before = whole.get(..at).unwrap_or("");
        RecordingError::BadSession {
            path: path.to_owned(),
            line: before.matches('\n').count() + 1,
            column: before.chars().rev().take_while(|c| *c != '\n').count() + 1,
            message: format!(
                "started_at is \"{}\", expected a time with its offset, such as 2026-03-09T08:30:00+01:00",
                shown(text)
            ),
        }
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn the_offset_is_kept_through_reading_and_writing() {
        // Source: RFC 3339, section 5.8, examples.
        for text in [
            "1985-04-12T23:20:50.52Z",
            "1996-12-19T16:39:57-08:00",
            "1937-01-01T12:00:27.87+00:20",
        ] {
            let zoned = parse_rfc_3339(text).unwrap();
            let again = parse_rfc_3339(&rfc_3339(&zoned)).unwrap();
            assert_eq!(
                (zoned.timestamp(), zoned.offset()),
                (again.timestamp(), again.offset())
            );
            assert_eq!(zoned.timestamp(), text.parse().unwrap());
        }
        let zoned = parse_rfc_3339("1996-12-19T16:39:57-08:00").unwrap();
        assert_eq!(zoned.date().to_string(), "1996-12-19");
        assert_eq!(rfc_3339(&zoned), "1996-12-19T16:39:57-08:00");
    }

    #[test]
    fn a_time_without_offset_is_none() {
        for text in ["1996-12-19T16:39:57", "1996-12-19", "", "now"] {
            assert!(parse_rfc_3339(text).is_none(), "{text}");
        }
    }
}
