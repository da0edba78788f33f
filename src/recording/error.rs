//! What can go wrong with recordings: where, what was expected, and what to do.

use std::io;
use std::path::{Path, PathBuf};

use super::patient::PatientCode;

/// Why a recording could not be read or written. Lines count from 1, the header being line 1.
#[derive(Debug, thiserror::Error)]
pub enum RecordingError {
    /// Nothing there.
    #[error("{}: there is no such file or folder; check the path", .path.display())]
    NotFound {
        /// What was asked for.
        path: PathBuf,
    },
    /// The operating system refused to read.
    #[error("{}: cannot be read: {said}; check that it may be read and that its disk is there", .path.display())]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        said: io::Error,
    },
    /// A folder where a CSV file was expected.
    #[error("{}: is a folder, expected a CSV file; give the file inside it", .path.display())]
    IsFolder {
        /// The folder.
        path: PathBuf,
    },
    /// A file where a session folder was expected.
    #[error("{}: is a file, expected a session folder; give the folder that holds session.json", .path.display())]
    IsFile {
        /// The file.
        path: PathBuf,
    },
    /// A folder that is no recording.
    #[error("{}: this folder has no session.json, so it is not a recording; give the folder that holds session.json, or one CSV file", .path.display())]
    NoSessionFile {
        /// The folder.
        path: PathBuf,
    },
    /// A session.json that is not JSON or lacks something.
    #[error("{}, line {line}, column {column}: {message}; this file must be whole: restore it from a copy", .path.display())]
    BadSession {
        /// The session.json.
        path: PathBuf,
        /// Line.
        line: usize,
        /// Column within the line.
        column: usize,
        /// What is wrong with it.
        message: String,
    },
    /// A session.json of something else.
    #[error("{}: its \"format\" is {found}, expected \"carpotempo-recording\"; give the folder of a recording", .path.display())]
    NotARecording {
        /// The session.json.
        path: PathBuf,
        /// The format it names.
        found: String,
    },
    /// A recording of a later format.
    #[error("{}: its format version is {found}, this program reads version {known_count} and earlier; use a newer carpotempo", .path.display())]
    NewerVersion {
        /// The session.json.
        path: PathBuf,
        /// The version it names.
        found: String,
        /// The highest version that this program reads.
        known_count: u64,
    },
    /// A file of no bytes.
    #[error("{}: the file is empty; expected a header line and rows of numbers", .path.display())]
    Empty {
        /// The file.
        path: PathBuf,
    },
    /// Not a text file.
    #[error("{}, line 1: this is not plain text ({what}); expected a CSV file, save it as CSV in UTF-8", .path.display())]
    Binary {
        /// The file.
        path: PathBuf,
        /// How that shows.
        what: &'static str,
    },
    /// A needed column is not in the header.
    #[error("{}, line 1: there is no column {column}; columns found: {found}; {todo}", .path.display())]
    MissingColumn {
        /// The file.
        path: PathBuf,
        /// The column that is missing.
        column: String,
        /// The header.
        found: String,
        /// What to do.
        todo: String,
    },
    /// Two columns of the same name.
    #[error("{}, line 1: the column {column} is there {found_count} times; rename all but one", .path.display())]
    RepeatedColumn {
        /// The file.
        path: PathBuf,
        /// The name.
        column: String,
        /// How often it is there.
        found_count: usize,
    },
    /// A row that ends too early.
    #[error("{}, line {line}, column {column}: the row ends before this column; expected {expected_count} cells: complete the row or delete it", .path.display())]
    ShortRow {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// The first missing column.
        column: String,
        /// Cells of the header.
        expected_count: usize,
    },
    /// A row with more cells than the header names.
    #[error("{}, line {line}: the row has {found_count} cells, expected the {expected_count} of the header; numbers with decimal commas need semicolons or tabs between them and --decimal-comma", .path.display())]
    LongRow {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Cells of the row.
        found_count: usize,
        /// Cells of the header.
        expected_count: usize,
    },
    /// A line so long that it is none.
    #[error("{}, line {line}: the line is longer than {limit_count} bytes; expected a row of numbers: check that the file is a CSV with line ends", .path.display())]
    LongLine {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// The longest line read.
        limit_count: usize,
    },
    /// Text in a cell that holds a number.
    #[error("{}, line {line}, column {column}: \"{found}\" is not a number; {todo}", .path.display())]
    NotANumber {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// The cell.
        found: String,
        /// What was expected and what to do.
        todo: &'static str,
    },
    /// NaN or infinity.
    #[error("{}, line {line}, column {column}: \"{found}\" is not a finite number; expected a measured value: delete the row", .path.display())]
    NotFinite {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// The cell.
        found: String,
    },
    /// A sensor place that is none.
    #[error("{}, line {line}, column {column}: \"{found}\" is no sensor place; expected hand or forearm", .path.display())]
    UnknownSensor {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// The cell.
        found: String,
    },
    /// Time runs backwards.
    #[error("{}, line {line}, column {column}: time goes backwards from {before_s} s to {found_s} s; expected times that rise: sort the rows, or give the sampling rate with --rate HZ to leave the column out", .path.display())]
    TimeBackwards {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// The time before, in seconds.
        before_s: f64,
        /// The time found, in seconds.
        found_s: f64,
    },
    /// A time that is there twice.
    #[error("{}, line {line}, column {column}: the time {found_s} s is there twice; expected times that rise: delete one row, or give the sampling rate with --rate HZ to leave the column out", .path.display())]
    TimeRepeated {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// The time, in seconds.
        found_s: f64,
    },
    /// A time that cannot be.
    #[error("{}, line {line}, column {column}: the time {what}; expected seconds, with no gap above {limit_s} s: correct the cell, or name the unit with --time-unit", .path.display())]
    TimeAbsurd {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: String,
        /// What it is or does.
        what: String,
        /// The longest gap accepted, in seconds.
        limit_s: f64,
    },
    /// Too few rows to work with.
    #[error("{}, line {line}: the file ends after {found_count} rows; expected at least {least_count}: record for longer, or check that the file is whole", .path.display())]
    TooFewSamples {
        /// The file.
        path: PathBuf,
        /// Its last line.
        line: u64,
        /// Rows found.
        found_count: usize,
        /// Rows needed.
        least_count: usize,
    },
    /// Too few or too many samples a second.
    #[error("{}, line {line}, column {column}: the sampling rate is {found_hz:.3} Hz, expected {low_hz} to {high_hz} Hz; {todo}", .path.display())]
    Rate {
        /// The file.
        path: PathBuf,
        /// The line where a typical step ends.
        line: u64,
        /// The column of time.
        column: String,
        /// The median rate, in Hz.
        found_hz: f64,
        /// Lowest rate accepted, in Hz.
        low_hz: f64,
        /// Highest rate accepted, in Hz.
        high_hz: f64,
        /// What to do.
        todo: String,
    },
    /// Nothing measured.
    #[error("{}, line {line} to the end, columns {columns}: every value is zero{detail}; expected measured values: check the sensor and the columns", .path.display())]
    AllZeros {
        /// The file.
        path: PathBuf,
        /// First line of samples.
        line: u64,
        /// The columns.
        columns: &'static str,
        /// What contradicts it, if anything.
        detail: &'static str,
    },
    /// The accelerometer is not in the unit declared.
    #[error("{}, line {line}, columns ax_m_s2 to az_m_s2: {moment} the accelerometer reads {found_m_s2:.3} m/s^2, expected gravity, 8.3 to 11.3 m/s^2; {todo}", .path.display())]
    AccelUnit {
        /// The file.
        path: PathBuf,
        /// Where the judged moment starts.
        line: u64,
        /// The judged moment.
        moment: &'static str,
        /// The norm found, taken as the unit declared, in m/s².
        found_m_s2: f64,
        /// What to do.
        todo: String,
    },
    /// The gyroscope is not in the unit declared.
    #[error("{}, line {line}, columns gx_rad_s to gz_rad_s: {reason}; {todo}", .path.display())]
    GyroUnit {
        /// The file.
        path: PathBuf,
        /// First line of samples.
        line: u64,
        /// How it shows.
        reason: String,
        /// What to do.
        todo: String,
    },
    /// A row of events.csv that cannot be read.
    #[error("{}, line {line}, column {column}: {message}; correct the line or delete it", .path.display())]
    BadEvent {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: &'static str,
        /// What is wrong.
        message: String,
    },
    /// A `--column` that names nothing.
    #[error(
        "--column {text}: expected NAME_HERE=NAME_IN_THE_FILE, NAME_HERE being one of t_s, ax_m_s2, ay_m_s2, az_m_s2, gx_rad_s, gy_rad_s, gz_rad_s, sensor, as in --column t_s=time"
    )]
    ColumnOption {
        /// The option's value.
        text: String,
    },
    /// A rate that is none.
    #[error("--rate {text}: expected samples a second from 20 to 10000, as in --rate 104")]
    RateOption {
        /// The option's value.
        text: String,
    },
    /// A patient code that is none.
    #[error(
        "patient code \"{text}\": expected 1 to 32 characters, each a letter a-z or A-Z, a digit, - or _; use a code, no name"
    )]
    PatientCode {
        /// What was given.
        text: String,
    },
    /// No such patient.
    #[error("there is no patient {patient} in the store {}; check the code, or name the store with --store DIR", .store.display())]
    UnknownPatient {
        /// The code.
        patient: PatientCode,
        /// The store searched.
        store: PathBuf,
    },
    /// No place for the store.
    #[error(
        "there is no folder to keep patients in: neither {variable} nor CARPOTEMPO_STORE is set; name the store with --store DIR"
    )]
    NoStore {
        /// The variable of this platform.
        variable: &'static str,
    },
    /// Something is there already.
    #[error("{}: is there already and is never overwritten; give a new or empty folder", .path.display())]
    Exists {
        /// The file or folder.
        path: PathBuf,
    },
    /// No room.
    #[error("{}: the disk is full; free some space: rows not yet written are kept and tried again", .path.display())]
    DiskFull {
        /// The file.
        path: PathBuf,
    },
    /// A place that may not be written.
    #[error("{}: may not be written ({said}); choose another folder with --out or --store", .path.display())]
    ReadOnly {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        said: io::Error,
    },
    /// Writing failed for another reason.
    #[error("{}: cannot be written: {said}; check that the folder is still there", .path.display())]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        said: io::Error,
    },
    /// A file that may not grow any further.
    #[error("{}: the file may not grow any further; record into a new folder, on a disk or under a limit that allows larger files", .path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
    },
    /// The file being written is no longer there under its name.
    #[error("{}: the file was moved or deleted while it was being recorded; put its folder back in its place: if it was only moved, its rows are in it", .path.display())]
    Gone {
        /// The file.
        path: PathBuf,
    },
    /// The rows waiting for a disk that takes none are too many.
    #[error("{}: nothing could be written for too long, so rows are being lost; free some space or reconnect the disk", .path.display())]
    Backlog {
        /// The file.
        path: PathBuf,
    },
    /// A sample that the format does not allow.
    #[error("{}: a sample at {t_s} s was refused: {why}", .path.display())]
    BadSample {
        /// The file.
        path: PathBuf,
        /// Its time, in seconds.
        t_s: f64,
        /// What is wrong with it.
        why: &'static str,
    },
}

impl RecordingError {
    /// The error of a failed reading.
    pub fn reading(path: &Path, said: io::Error) -> RecordingError {
        let path = path.to_owned();
        match said.kind() {
            io::ErrorKind::NotFound => RecordingError::NotFound { path },
            _ => RecordingError::Unreadable { path, said },
        }
    }

    /// The error of a failed writing.
    pub fn writing(path: &Path, said: io::Error) -> RecordingError {
        let path = path.to_owned();
        match said.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                RecordingError::DiskFull { path }
            }
            io::ErrorKind::FileTooLarge => RecordingError::TooLarge { path },
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                RecordingError::ReadOnly { path, said }
            }
            io::ErrorKind::AlreadyExists => RecordingError::Exists { path },
            _ => RecordingError::Unwritable { path, said },
        }
    }
}

/// At most 60 characters of what was found, none of them control characters, so that no message
/// is endless or moves the cursor.
pub(super) fn shown(text: &str) -> String {
    let mut shown: String = text
        .chars()
        .take(60)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect();
    if text.chars().nth(60).is_some() {
        shown.push('\u{2026}');
    }
    shown
}
