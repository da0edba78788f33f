//! The prescription of a patient on the disk.

use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use jiff::civil::Date;

use super::ClinicError;
use crate::recording::{PatientCode, RecordingError, Store, create_folder, head, write_small};
use crate::routine::Routine;

/// The prescription's name within the patient's folder.
pub const ROUTINE_FILE: &str = "routine.toml";

/// The longest that is read, bytes.
const MOST_BYTES: u64 = 1 << 20;

/// The prescription that is in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Present {
    /// Where it lies.
    pub path: PathBuf,
    /// Its text, whether it reads as a routine or not.
    pub text: String,
}

/// What a session was done under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The day of the session.
    pub on: Date,
    /// The prescription as TOML.
    pub text: String,
}

/// What keeping did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Where the prescription lies now.
    pub path: PathBuf,
    /// Where the one before it lies; `None` where there was none, or it was the same.
    pub before: Option<PathBuf>,
}

/// The prescription in force of a patient; `None` where none is kept.
///
/// # Errors
/// The file cannot be read, or is no text.
pub fn present(store: &Store, patient: &PatientCode) -> Result<Option<Present>, ClinicError> {
    let path = store.root().join(patient.as_str()).join(ROUTINE_FILE);
    let mut bytes = Vec::new();
    let read = File::open(&path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes));
    match read {
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {
            return Ok(None);
        }
        Err(error) => return Err(RecordingError::reading(&path, error).into()),
        Ok(_) => {}
    }
    let text = Some(bytes)
        .filter(|bytes| bytes.len() as u64 <= MOST_BYTES)
        .and_then(|bytes| String::from_utf8(bytes).ok());
    match text {
        Some(text) => Ok(Some(Present { path, text })),
        None => Err(ClinicError::NoText {
            path,
            most_bytes: MOST_BYTES,
        }),
    }
}

/// What the last session was done under that says it; `None` where none does.
///
/// # Errors
/// The patient's folder cannot be read.
pub fn last_done(store: &Store, patient: &PatientCode) -> Result<Option<Done>, ClinicError> {
    let sessions = match store.sessions(patient) {
        Err(RecordingError::UnknownPatient { .. }) => return Ok(None),
        sessions => sessions?,
    };
    Ok(sessions.sessions.iter().rev().find_map(|session| {
        let routine = head(&session.folder).ok()?.routine?;
        Some(Done {
            on: session.started_at.date(),
            text: routine.to_toml().ok()?,
        })
    }))
}

/// Keeps a prescription as the one in force from that day on. The one before stays beside it as
/// `routine-until-DAY.toml`.
///
/// # Errors
/// [`ClinicError::Unready`] where the text is no routine; the errors of writing. What was there is
/// then as it was.
pub fn keep(
    store: &Store,
    patient: &PatientCode,
    text: &str,
    day: Date,
) -> Result<Kept, ClinicError> {
    if let Some(first) = Routine::problems(text).first() {
        return Err(ClinicError::Unready {
            first: first.to_string(),
        });
    }
    let folder = store.root().join(patient.as_str());
    create_folder(&folder)?;
    let path = folder.join(ROUTINE_FILE);
    let before = match present(store, patient)? {
        Some(there) if there.text == text => return Ok(Kept { path, before: None }),
        Some(there) => Some(set_aside(&folder, &there.text, day)?),
        None => None,
    };
    write_small(&path, text.as_bytes())?;
    Ok(Kept { path, before })
}

/// A copy of the prescription before, under a name that is free.
fn set_aside(folder: &Path, text: &str, day: Date) -> Result<PathBuf, ClinicError> {
    let name = format!("routine-until-{day}");
    let names = std::iter::once(name.clone()).chain((2_u32..).map(|nth| format!("{name}-{nth}")));
    for name in names {
        let path = folder.join(format!("{name}.toml"));
        if path.symlink_metadata().is_err() {
            write_small(&path, text.as_bytes())?;
            return Ok(path);
        }
    }
    Err(RecordingError::Exists {
        path: folder.to_owned(),
    }
    .into())
}

/// Whom to ask, as the prescription says that was kept last in the whole store; `None` where none
/// says it.
pub fn usual_contact(store: &Store) -> Option<String> {
    let mut files: Vec<(SystemTime, PathBuf)> = (store.patients().ok()?)
        .iter()
        .filter_map(|patient| {
            let path = store.root().join(patient.as_str()).join(ROUTINE_FILE);
            Some((path.metadata().ok()?.modified().ok()?, path))
        })
        .collect();
    files.sort();
    (files.iter().rev())
        .filter_map(|(_, path)| std::fs::read_to_string(path).ok())
        .filter_map(|text| Routine::from_toml(&text).ok()?.contact)
        .find(|contact| !contact.trim().is_empty())
}
