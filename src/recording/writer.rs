//! Appending a session: samples and events as they come.

use std::fs::File;
use std::io::{self, Write};
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
        row.extend_from_slice(place.name().as_bytes());
        for number in [*t_s, a.x, a.y, a.z, g.x, g.y, g.z] {
            row.push(b',');
            push_number(row, number);
        }
        row.push(b'\n');
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
    pending: Vec<u8>,
    header: String,
}

impl Appender {
    fn new(path: PathBuf, header: &str) -> Appender {
        Appender {
            path,
            file: None,
            pending: Vec::new(),
            header: header.to_owned() + "\n",
        }
    }

    /// Where the next row is to be written.
    fn row(&mut self) -> Result<&mut Vec<u8>, RecordingError> {
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
            self.pending.splice(0..0, self.header.bytes());
        }
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        let mut written = 0;
        let result = loop {
            let rest = self.pending.get(written..).unwrap_or_default();
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
        self.pending.drain(..written);
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
fn push_number(row: &mut Vec<u8>, number: f64) {
    let size = number.abs();
    // Writing into memory cannot fail.
    let _ = if size == 0.0 || (1e-5..1e16).contains(&size) {
        write!(row, "{number}")
    } else {
        write!(row, "{number:e}")
    };
}

fn push_event(row: &mut Vec<u8>, t_s: f64, kind: &EventKind) {
    push_number(row, t_s);
    for text in [kind.name().to_owned(), kind.detail().to_string()] {
        row.push(b',');
        if text.contains([',', '"', '\n', '\r']) {
            row.push(b'"');
            row.extend_from_slice(text.replace('"', "\"\"").as_bytes());
            row.push(b'"');
        } else {
            row.extend_from_slice(text.as_bytes());
        }
    }
    row.push(b'\n');
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn numbers_are_the_shortest_decimals_that_read_back() {
        for (number, text) in [
            (0.0, "0"),
            (-0.0, "-0"),
            (9.81, "9.81"),
            (0.1 + 0.2, "0.30000000000000004"),
            (1e-7, "1e-7"),
            (-2.5e300, "-2.5e300"),
            (f64::from_bits(1), "5e-324"),
        ] {
            let mut row = Vec::new();
            push_number(&mut row, number);
            assert_eq!(String::from_utf8(row).unwrap(), text);
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), number.to_bits());
        }
    }

    /// The kernel's full device stands for a full disk. Source: the manual page full(4).
    #[cfg(target_os = "linux")]
    #[test]
    fn a_full_disk_is_named_and_its_rows_are_written_when_there_is_room() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("samples.csv");
        let mut appender = Appender::new(path.clone(), "a,b");
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        appender.row().unwrap().extend_from_slice(b"1,2\n");
        appender.file = Some(full);
        for _ in 0..2 {
            let error = appender.flush().unwrap_err();
            assert!(matches!(error, RecordingError::DiskFull { .. }), "{error}");
        }
        appender.file = None;
        appender.row().unwrap().extend_from_slice(b"3,4\n");
        appender.flush().unwrap();
        assert_eq!(std::fs::read_to_string(path).unwrap(), "a,b\n1,2\n3,4\n");
    }

    #[test]
    fn what_waits_for_a_disk_is_bounded() {
        let folder = tempfile::tempdir().unwrap();
        let mut appender = Appender::new(folder.path().join("gone/samples.csv"), "a");
        let row = [b'x'; 1000];
        let taken = (0..20_000).take_while(|_| match appender.row() {
            Ok(pending) => {
                pending.extend_from_slice(&row);
                true
            }
            Err(_) => false,
        });
        assert_eq!(taken.count(), LONGEST_BACKLOG / 1000 + 1);
        assert!(appender.flush().is_err());
    }
}
