//! What can go wrong between two stores: what, where, and what to do.

use std::io;
use std::path::{Path, PathBuf};

use crate::recording::{PatientCode, RecordingError};

/// Why sessions could not be packed, sealed, opened or put into a store. Where a file is refused, the
/// store is as it was.
#[derive(Debug, thiserror::Error)]
pub enum HandoverError {
    /// A recording or the store.
    #[error(transparent)]
    Recording(#[from] RecordingError),
    /// A file cannot be read.
    #[error("{}: cannot be read: {said}; check the path, and that the file may be read", .path.display())]
    Unreadable {
        /// The file.
        path: PathBuf,
        /// What the system said.
        said: io::Error,
    },
    /// Not sealed at all, or by something of another kind.
    #[error("{}: is not a file that a patient's page saved for a clinic; give that file, or fetch it again", .path.display())]
    NotSealed {
        /// The file.
        path: PathBuf,
    },
    /// Sealed to somebody else.
    #[error("{}: is sealed to another key than {}; give the secret key that belongs to the clinic file the patient was set up with", .path.display(), .key.display())]
    WrongKey {
        /// The sealed file.
        path: PathBuf,
        /// The key tried.
        key: PathBuf,
    },
    /// Cut short or changed.
    #[error("{}: is damaged: {said}; nothing was taken from it: fetch it again, or have it saved again", .path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// How that shows.
        said: String,
    },
    /// No archive of this program.
    #[error("{}: holds no sessions that this program packed: {said}; nothing was taken from it", .path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
        /// How that shows.
        said: String,
    },
    /// Of a later program.
    #[error("{}: is of format version {found}, this program reads version {known_count}; use a newer carpotempo", .path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// The version it names.
        found: String,
        /// The highest version that this program reads.
        known_count: u64,
    },
    /// A list or an entry that this program never writes.
    #[error("{}: is refused, since {said}; nothing was taken from it", .path.display())]
    Refused {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        said: String,
    },
    /// Sessions of another patient than the one meant.
    #[error("{}: holds sessions of {found}, not of {expected}; nothing was taken from it", .path.display())]
    OtherPatient {
        /// The file.
        path: PathBuf,
        /// Whose they are.
        found: PatientCode,
        /// Whose they should be.
        expected: PatientCode,
    },
    /// A session that is not there.
    #[error("there is no session {name} of {patient}; its sessions are the folders in {}", .folder.display())]
    UnknownSession {
        /// What was asked for.
        name: String,
        /// Whose.
        patient: PatientCode,
        /// Where they are.
        folder: PathBuf,
    },
    /// Nothing to pack.
    #[error("there is nothing to save of {patient}: {why}")]
    Nothing {
        /// Whose sessions.
        patient: PatientCode,
        /// Why.
        why: &'static str,
    },
    /// More than fits one archive.
    #[error("{}: {what} than one file takes ({limit}); choose fewer sessions", .path.display())]
    TooMuch {
        /// What is too large.
        path: PathBuf,
        /// In which way.
        what: &'static str,
        /// The limit, in words.
        limit: String,
    },
    /// A name that does not travel to every computer.
    #[error("{}: this name cannot be packed; expected at most 64 letters a-z or A-Z, digits, -, _ and dots: rename it", .path.display())]
    Name {
        /// The file or folder.
        path: PathBuf,
    },
    /// Changed between listing and packing.
    #[error("{}: changed while it was being saved; save again", .path.display())]
    Changed {
        /// The file.
        path: PathBuf,
    },
    /// The sealing itself.
    #[error("the sessions could not be sealed: {said}")]
    Seal {
        /// What the sealing said.
        said: String,
    },
    /// No public key.
    #[error(
        "\"{text}\" is no clinic's public key; expected the line that begins with age1, as `handover key` printed it"
    )]
    PublicKey {
        /// What was given.
        text: String,
    },
    /// No secret key.
    #[error("{}: holds no clinic's secret key; expected a line that begins with AGE-SECRET-KEY-1, as `handover key` wrote it", .path.display())]
    SecretKey {
        /// The file.
        path: PathBuf,
    },
    /// A clinic file that cannot be read.
    #[error("{}: is no clinic file: {said}; have the clinic prepare it again", .path.display())]
    ClinicFile {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        said: String,
    },
    /// Nobody to ask.
    #[error(
        "the clinic file needs words on whom to ask; give --contact, or write contact in the routine"
    )]
    NoContact,
    /// The patient's folder is no plain folder.
    #[error("{}: is a link and not the patient's folder itself; remove what it leads to by hand", .path.display())]
    Link {
        /// The link.
        path: PathBuf,
    },
    /// Something of the store cannot be removed.
    #[error("{}: cannot be removed: {said}; what is left of the patient is in there: remove it by hand", .path.display())]
    Unremovable {
        /// What is left.
        path: PathBuf,
        /// What the system said.
        said: io::Error,
    },
}

/// The error of a failed reading.
pub fn unreadable(path: &Path, said: io::Error) -> HandoverError {
    HandoverError::Unreadable {
        path: path.to_owned(),
        said,
    }
}

/// The error of a failed writing.
pub fn unwritable(path: &Path, said: io::Error) -> HandoverError {
    RecordingError::writing(path, said).into()
}
