//! Appending a session: samples and events as they come.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::columns::COLUMNS;
use super::error::RecordingError;
use super::folder::{EVENTS_FILE, SAMPLES_FILE, SESSION_FILE};
use super::whole_file::{self, Existing};
use super::{Event, EventKind, SessionHead, event_file, session_file};
use crate::sample::{Place, Sample};

/// Samples reach the operating system at least this often, in seconds of sample time.
const FLUSH_EVERY_S: f64 = 0.5;

/// Rows that wait for a disk that takes none, at most, in bytes: about five minutes.
const LONGEST_BACKLOG: usize = 8 << 20;

/// Appends to a new session folder. Rows are handed to the operating system every half second of
/// sample time and at every event; [`Writer::sync`] puts them on the disk. Nothing existing is
/// ever overwritten.
///
/// A failed write keeps the rows and tries them again with the next; whole rows alone are written,
/// so a reader never sees half a header and at most the last line cut.
#[derive(Debug)]
pub struct Writer {
    folder: PathBuf,
    samples: Appender,
    events: Appender,
    flushed_s: Option<f64>,
    hand_s: f64,
    forearm_s: f64,
}

impl Writer {
    /// Begins a session in `folder`, which is created if it is missing and must hold no recording.
    ///
    /// # Errors
    /// [`RecordingError::Exists`] where session.json, samples.csv or events.csv is there already;
    /// [`RecordingError::DiskFull`], [`RecordingError::ReadOnly`], [`RecordingError::Unwritable`].
    pub fn create(folder: &Path, head: &SessionHead) -> Result<Writer, RecordingError> {
        whole_file::create_folder(folder)?;
        for name in [SESSION_FILE, SAMPLES_FILE, EVENTS_FILE] {
            let path = folder.join(name);
            if path.symlink_metadata().is_ok() {
                return Err(RecordingError::Exists { path });
            }
        }
        let path = folder.join(SESSION_FILE);
        let text = session_file::text(head).map_err(|error| RecordingError::Unwritable {
            path: path.clone(),
            source: io::Error::other(error),
        })?;
        whole_file::write(&path, text.as_bytes(), Existing::Refuse)?;
        Ok(Writer {
            folder: folder.to_owned(),
            samples: Appender::new(folder.join(SAMPLES_FILE), &COLUMNS.join(",")),
            events: Appender::new(folder.join(EVENTS_FILE), event_file::HEADER),
            flushed_s: None,
            hand_s: f64::NEG_INFINITY,
            forearm_s: f64::NEG_INFINITY,
        })
    }

    /// The session's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Appends a sample.
    ///
    /// # Errors
    /// [`RecordingError::BadSample`] where a value is not finite or time goes backwards within the
    /// sensor: the row is not written. The errors of writing: the row is kept and tried again.
    pub fn sample(&mut self, place: Place, sample: &Sample) -> Result<(), RecordingError> {
        let Sample {
            t_s,
            accel_m_s2: a,
            gyro_rad_s: g,
        } = sample;
        let refuse = |why| {
            Err(RecordingError::BadSample {
                path: self.samples.path.clone(),
                t_s: *t_s,
                why,
            })
        };
        let finite = |number: &f64| number.is_finite();
        if !(finite(t_s) && a.iter().all(finite) && g.iter().all(finite)) {
            return refuse("a value is not finite");
        }
        let before_s = match place {
            Place::Hand => &mut self.hand_s,
            Place::Forearm => &mut self.forearm_s,
        };
        if t_s < before_s {
            return refuse("time goes backwards within the sensor");
        }
        *before_s = *t_s;
        let row = self.samples.row()?;
        row.push_str(place.name());
        for number in [*t_s, a.x, a.y, a.z, g.x, g.y, g.z] {
            row.push(',');
            push_number(row, number);
        }
        row.push('\n');
        let flushed_s = *self.flushed_s.get_or_insert(*t_s);
        // Two sensors interleave: a time before the last flush is not due.
        if t_s - flushed_s >= FLUSH_EVERY_S {
            self.flushed_s = Some(*t_s);
            self.samples.flush()?;
        }
        Ok(())
    }

    /// Appends an event and hands both files to the operating system: an event tells what the
    /// samples before it belong to.
    ///
    /// # Errors
    /// [`RecordingError::BadSample`] where its time is not finite; the errors of writing: the row
    /// is kept and tried again.
    pub fn event(&mut self, event: &Event) -> Result<(), RecordingError> {
        if !event.t_s.is_finite() {
            return Err(RecordingError::BadSample {
                path: self.events.path.clone(),
                t_s: event.t_s,
                why: "the time of an event is not finite",
            });
        }
        let row = self.events.row()?;
        push_event(row, event.t_s, &event.kind);
        self.flush()
    }

    /// Hands everything to the operating system: it survives the end of this program.
    ///
    /// # Errors
    /// The errors of writing; what could not be written is kept and tried again.
    pub fn flush(&mut self) -> Result<(), RecordingError> {
        let samples = self.samples.flush();
        let events = self.events.flush();
        samples.and(events)
    }

    /// Puts everything on the disk: it survives a power cut.
    ///
    /// # Errors
    /// The errors of writing; what could not be written is kept and tried again.
    pub fn sync(&mut self) -> Result<(), RecordingError> {
        self.flush()?;
        self.samples.sync()?;
        self.events.sync()
    }

    /// Ends the session: everything is put on the disk.
    ///
    /// # Errors
    /// The errors of writing.
    pub fn finish(mut self) -> Result<(), RecordingError> {
        self.sync()?;
        whole_file::sync_folder(&self.folder);
        Ok(())
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        // Whoever wants to know of a failure calls finish.
        let _ = self.flush();
    }
}

/// A file that grows by whole rows; created with its header at the first row.
#[derive(Debug)]
struct Appender {
    path: PathBuf,
    file: Option<File>,
    pending: String,
    header: String,
}

impl Appender {
    fn new(path: PathBuf, header: &str) -> Appender {
        Appender {
            path,
            file: None,
            pending: String::new(),
            header: header.to_owned() + "\n",
        }
    }

    /// Where the next row is to be written.
    fn row(&mut self) -> Result<&mut String, RecordingError> {
        if self.pending.len() > LONGEST_BACKLOG {
            return Err(RecordingError::Backlog {
                path: self.path.clone(),
            });
        }
        Ok(&mut self.pending)
    }

    fn flush(&mut self) -> Result<(), RecordingError> {
        if self.pending.is_empty() {
            return Ok(());
        }
        if self.file.is_none() {
            let file = whole_file::create_new(&self.path)?;
            self.file = Some(file);
            self.pending.insert_str(0, &self.header);
        }
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        let mut written = 0;
        let result = loop {
            let rest = self.pending.as_bytes().get(written..).unwrap_or_default();
            if rest.is_empty() {
                break Ok(());
            }
            match file.write(rest) {
                Ok(0) => break Err(io::Error::from(io::ErrorKind::WriteZero)),
                Ok(count) => written += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => break Err(error),
            }
        };
        // Every character of ours is one byte but those within a person's words.
        let rest = self.pending.as_bytes().get(written..).unwrap_or_default();
        self.pending = String::from_utf8_lossy(rest).into_owned();
        result.map_err(|error| RecordingError::writing(&self.path, error))
    }

    fn sync(&mut self) -> Result<(), RecordingError> {
        match &self.file {
            Some(file) => file
                .sync_data()
                .map_err(|error| RecordingError::writing(&self.path, error)),
            None => Ok(()),
        }
    }
}

/// The shortest decimal that reads back to the same f64.
pub(super) fn push_number(row: &mut String, number: f64) {
    let size = number.abs();
    // Writing into a string cannot fail.
    let _ = if size == 0.0 || (1e-5..1e16).contains(&size) {
        write!(row, "{number}")
    } else {
        write!(row, "{number:e}")
    };
}

fn push_event(row: &mut String, t_s: f64, kind: &EventKind) {
    push_number(row, t_s);
    for text in [kind.name().to_owned(), kind.detail().to_string()] {
        row.push(',');
        if text.contains([',', '"', '\n', '\r']) {
            row.push('"');
            row.push_str(&text.replace('"', "\"\""));
            row.push('"');
        } else {
            row.push_str(&text);
        }
    }
    row.push('\n');
}
