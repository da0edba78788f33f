//! What was measured, taken along in open formats: CSV, FHIR R4, Parquet.
//!
//! Exports hold what summaries and recordings hold and conclude nothing. Patients are codes. What is
//! not known stays unknown: an empty cell, a null, an absent value with its reason.

mod csv;
pub mod fhir;
#[cfg(feature = "parquet")]
mod parquet;
mod place;
mod repetitions;
mod rows;
mod sessions;
mod sets;
mod stored;
pub mod table;
mod words;

use std::path::PathBuf;

use thiserror::Error;

use crate::recording::RecordingError;

pub use csv::{CSV_FILES, write_csv};
#[cfg(feature = "parquet")]
pub use parquet::{PARQUET_FILE, RepetitionFile, SCHEMA_VERSION, write_parquet};
pub use repetitions::repetition_columns;
pub use rows::{RepRow, SetRow};
pub use sessions::session_columns;
pub use sets::{SetFigures, set_table_columns};

/// What an export holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Totals {
    /// Sessions.
    pub session_count: usize,
    /// Sets.
    pub set_count: usize,
    /// Repetitions.
    pub repetition_count: usize,
    /// Sessions that are left out, and what else should be known.
    pub warnings: Vec<String>,
}

/// Why an export could not be written.
#[derive(Debug, Error)]
pub enum ExportError {
    /// Something is there already.
    #[error(
        "{}: is there already and is never overwritten; name a new or empty folder, or for FHIR a new file, with --out",
        path.display()
    )]
    Taken {
        /// The file or folder.
        path: PathBuf,
    },
    /// A file or folder that cannot be written.
    #[error("{}: cannot be written: {source}; check the folder and its space, or choose another with --out", path.display())]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A store, patient or session that cannot be read.
    #[error(transparent)]
    Recording(#[from] RecordingError),
    /// Nobody to export.
    #[error("there is no patient in the store {}; name the store with --store DIR", store.display())]
    NoPatients {
        /// The store searched.
        store: PathBuf,
    },
    /// A table that Parquet does not take.
    #[cfg(feature = "parquet")]
    #[error("{}: the table cannot be written: {source}; check the folder and its space", path.display())]
    Table {
        /// The file.
        path: PathBuf,
        /// Why.
        source: ::parquet::errors::ParquetError,
    },
}
