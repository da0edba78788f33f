//! The repetitions as Parquet, one row each, in a folder for each patient: for cohorts that outgrow
//! one machine.
//!
//! `OUT/patient=CODE/repetitions.parquet`, so that the patient's code is a column to every reader of
//! partitioned tables. Sessions are read a few at a time and row groups are closed at
//! [`GROUP_ROWS`], so that memory is bounded whatever the cohort.

use std::collections::HashMap;
use std::fs::File;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use ::parquet::arrow::ArrowWriter;
use ::parquet::basic::Compression;
use ::parquet::errors::ParquetError;
use ::parquet::file::metadata::KeyValue;
use ::parquet::file::properties::{EnabledStatistics, WriterProperties};
use arrow_array::RecordBatch;
use arrow_schema::{ArrowError, Schema};
use jiff::civil::Date;

use self::arrays::{array, field};
use super::place::NewFolder;
use super::rows::{RepRow, repetitions, sets};
use super::stored::in_order;
use super::{ExportError, Totals, repetition_columns};
use crate::pipeline::summary::Summarised;
use crate::pipeline::{ANALYSIS_VERSION, ONE_SENSOR_NOTE};
use crate::recording::{PatientCode, Store};

mod arrays;

/// The file of each patient.
pub const PARQUET_FILE: &str = "repetitions.parquet";

/// Version of the table; it goes up when a column changes its meaning or goes.
pub const SCHEMA_VERSION: u32 = 1;

/// Rows of a row group at most.
const GROUP_ROWS: usize = 1 << 17;

/// What the signs of angles are, in the file's own words.
const ANGLE_CONVENTION: &str = "range_deg, peak_deg and start_deg are positive in the movement's own direction, from the zero of the set; isb_peak_deg and isb_start_deg are signed as in Wu et al., J Biomech 38:981-992, 2005: flexion, ulnar deviation and pronation positive, from the neutral pose of the calibration, null without one.";

/// Writes the repetitions of patients into a new or empty folder, a folder for each patient.
///
/// # Errors
/// [`ExportError`]: something is there already, a patient is unknown, reading or writing failed.
pub fn write_parquet(
    folder: &Path,
    store: &Store,
    patients: &[PatientCode],
    since: Option<Date>,
) -> Result<Totals, ExportError> {
    for patient in patients {
        store.patient_folder(patient)?;
    }
    let folder = NewFolder::begin(folder)?;
    let mut totals = Totals::default();
    for patient in patients {
        let name = Path::new(&format!("patient={patient}")).join(PARQUET_FILE);
        let (path, file) = folder.file(&name)?;
        let mut table = RepetitionFile::begin(path, file, patient)?;
        let warnings = in_order(store, patient, since, &mut |sessions| {
            totals.session_count += sessions.len();
            totals.set_count += sessions.iter().flat_map(sets).count();
            totals.repetition_count += table.sessions(sessions)?;
            Ok(())
        })?;
        table.finish()?;
        let named = warnings.into_iter();
        totals
            .warnings
            .extend(named.map(|warning| format!("{patient}: {warning}")));
    }
    folder.finish()?;
    Ok(totals)
}

/// The table of one patient that is being written.
pub struct RepetitionFile {
    path: PathBuf,
    writer: ArrowWriter<File>,
    schema: Arc<Schema>,
}

impl RepetitionFile {
    /// Begins the table of a patient in an empty file.
    ///
    /// # Errors
    /// [`ExportError::Table`].
    pub fn begin(
        path: PathBuf,
        file: File,
        patient: &PatientCode,
    ) -> Result<RepetitionFile, ExportError> {
        let about = about(patient);
        let pairs = about
            .iter()
            .map(|(key, value)| KeyValue::new(key.clone(), value.clone()));
        let properties = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .set_statistics_enabled(EnabledStatistics::Chunk)
            .set_max_row_group_row_count(Some(GROUP_ROWS))
            .set_key_value_metadata(Some(pairs.collect()))
            .build();
        let fields: Vec<_> = repetition_columns().iter().map(field).collect();
        let schema = Arc::new(Schema::new_with_metadata(fields, about));
        let writer = ArrowWriter::try_new(file, Arc::clone(&schema), Some(properties));
        match writer {
            Ok(writer) => Ok(RepetitionFile {
                path,
                writer,
                schema,
            }),
            Err(source) => Err(ExportError::Table { path, source }),
        }
    }

    /// Writes the repetitions of these sessions; gives their number.
    ///
    /// # Errors
    /// [`ExportError::Table`].
    pub fn sessions(&mut self, sessions: &[Summarised]) -> Result<usize, ExportError> {
        let rows: Vec<RepRow> = sessions
            .iter()
            .flat_map(sets)
            .flat_map(repetitions)
            .collect();
        if !rows.is_empty() {
            batch(&rows, &self.schema)
                .map_err(ParquetError::from)
                .and_then(|batch| self.writer.write(&batch))
                .map_err(|source| self.failed(source))?;
        }
        Ok(rows.len())
    }

    /// Ends the table.
    ///
    /// # Errors
    /// [`ExportError::Table`].
    pub fn finish(mut self) -> Result<(), ExportError> {
        self.writer.finish().map_err(|source| self.failed(source))?;
        self.writer
            .inner()
            .sync_all()
            .map_err(super::place::unwritable(&self.path))
    }

    fn failed(&self, source: ParquetError) -> ExportError {
        ExportError::Table {
            path: self.path.clone(),
            source,
        }
    }
}

/// What the file says of itself.
fn about(patient: &PatientCode) -> HashMap<String, String> {
    [
        ("table", "repetitions".to_owned()),
        ("schema_version", SCHEMA_VERSION.to_string()),
        ("analysis_version", ANALYSIS_VERSION.to_string()),
        ("program_version", env!("CARGO_PKG_VERSION").to_owned()),
        ("patient", patient.to_string()),
        ("angle_convention", ANGLE_CONVENTION.to_owned()),
        ("angle_note", ONE_SENSOR_NOTE.to_owned()),
    ]
    .into_iter()
    .map(|(key, value)| (format!("carpotempo.{key}"), value))
    .collect()
}

fn batch(rows: &[RepRow], schema: &Arc<Schema>) -> Result<RecordBatch, ArrowError> {
    let columns = repetition_columns();
    let arrays = columns.iter().map(|column| array(column, rows)).collect();
    RecordBatch::try_new(Arc::clone(schema), arrays)
}
