//! The clinic's desk: prescriptions as they are written and kept, and everybody in the store at a
//! glance.
//!
//! Ours. A prescription is a TOML file beside the patient's sessions, `STORE/PATIENT/routine.toml`;
//! what is kept here is that file and nothing else. The one that it takes the place of stays beside
//! it under the day on which it was replaced. Sessions hold the whole prescription that they were
//! done under, so nothing here changes what was recorded.

mod people;
mod prescription;
mod told;

use thiserror::Error;

use crate::recording::RecordingError;

pub use people::people;
pub use prescription::{
    Done, Kept, Present, ROUTINE_FILE, keep, last_done, present, usual_contact,
};
pub use told::{Told, told};

/// Why the desk could not do it.
#[derive(Debug, Error)]
pub enum ClinicError {
    /// The store or a file in it.
    #[error(transparent)]
    Recording(#[from] RecordingError),
    /// A prescription that does not read is not kept.
    #[error(
        "this prescription is not whole yet: {first}; nothing was kept, and what was there is as it was"
    )]
    Unready {
        /// The first thing that is wrong with it.
        first: String,
    },
    /// The file on the disk is no prescription that can be shown.
    #[error("{}: cannot be read as text of at most {most_bytes} bytes; look at it, or move it away", .path.display())]
    NoText {
        /// The file.
        path: std::path::PathBuf,
        /// The longest that is read, bytes.
        most_bytes: u64,
    },
}
