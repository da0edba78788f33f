//! Appending a session: samples and events as they come.

use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use super::appender::Appender;
use super::background::Background;
use super::columns::COLUMNS;
use super::error::RecordingError;
use super::folder::{EVENTS_FILE, SAMPLES_FILE, SESSION_FILE};
use super::whole_file::{self, Existing};
use super::{Event, EventKind, SessionHead, event_file, session_file};
use crate::sample::{Place, Sample};

/// Samples reach the operating system at least this often, in seconds of sample time.
const FLUSH_EVERY_S: f64 = 0.4;

/// And at least this often by the clock, where [`Writer::tick`] is called often enough: a sensor
/// that falls silent leaves no rows in memory.
const FLUSH_EVERY: Duration = Duration::from_millis(400);

/// Rows are put on the disk this often: with the time that a slow disk takes, every five seconds.
const SYNC_EVERY: Duration = Duration::from_secs(3);

/// Whether the files are still in their place is looked at this often.
const LOOK_EVERY: Duration = Duration::from_secs(1);

/// Appends to a new session folder. Rows are handed to the operating system at least every half
/// second, of sample time and of the clock, and at every event; every few seconds they are put on
/// the disk, beside the work. Nothing existing is ever overwritten.
///
/// Whoever writes calls [`Writer::tick`] at least every 100 ms, samples or not.
///
/// A failed write keeps the rows and tries them again with the next; whole rows alone are written,
/// so a reader never sees half a header and at most the last line cut, by a power cut.
#[derive(Debug)]
pub struct Writer {
    folder: PathBuf,
    samples: Appender,
    events: Appender,
    flushed_s: Option<f64>,
    hand_s: f64,
    forearm_s: f64,
    background: Background,
    flushed: Instant,
    synced: Instant,
    looked: Instant,
}

impl Writer {
    /// Begins a session in `folder`, which is created if it is missing and must hold no recording.
    ///
    /// # Errors
    /// [`RecordingError::Exists`] where session.json, samples.csv or events.csv is there already;
    /// [`RecordingError::DiskFull`], [`RecordingError::ReadOnly`], [`RecordingError::Unwritable`].
    pub fn create(folder: &Path, head: &SessionHead) -> Result<Writer, RecordingError> {
        let is_new = !folder.exists();
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
            said: io::Error::other(error),
        })?;
        if let Err(error) = whole_file::write(&path, text.as_bytes(), Existing::Refuse) {
            if is_new {
                let _ = std::fs::remove_dir(folder);
            }
            return Err(error);
        }
        Ok(Writer {
            folder: folder.to_owned(),
            samples: Appender::new(folder.join(SAMPLES_FILE), &COLUMNS.join(",")),
            events: Appender::new(folder.join(EVENTS_FILE), event_file::HEADER),
            flushed_s: None,
            hand_s: f64::NEG_INFINITY,
            forearm_s: f64::NEG_INFINITY,
            background: Background::new(),
            flushed: Instant::now(),
            synced: Instant::now(),
            looked: Instant::now(),
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

    /// Lets time pass: hands over rows that wait, puts them on the disk every few seconds without
    /// waiting for it, looks whether the files are still there. To be called at least every 100 ms.
    ///
    /// Returns whether everything so far was handed over just now.
    ///
    /// # Errors
    /// The errors of writing, also of what was put on the disk since; [`RecordingError::Gone`]. What
    /// could not be written is kept and tried again.
    pub fn tick(&mut self) -> Result<bool, RecordingError> {
        let mut due = self.flushed.elapsed() >= FLUSH_EVERY;
        if due {
            self.flush()?;
        }
        if !self.background.is_at_work()? && self.synced.elapsed() >= SYNC_EVERY {
            self.flush()?;
            due = true;
            self.start_sync()?;
        }
        if self.looked.elapsed() >= LOOK_EVERY {
            self.check_in_place()?;
            self.looked = Instant::now();
        }
        Ok(due)
    }

    fn start_sync(&mut self) -> Result<(), RecordingError> {
        let mut files = Vec::new();
        for appender in [&self.samples, &self.events] {
            let handle = appender
                .handle()
                .map_err(|error| RecordingError::writing(&appender.path, error))?;
            files.extend(handle.map(|file| (appender.path.clone(), file)));
        }
        // Without a thread it has to be waited for.
        if !self.background.start(files) {
            self.sync()?;
        }
        self.synced = Instant::now();
        Ok(())
    }

    fn check_in_place(&self) -> Result<(), RecordingError> {
        self.samples.check_in_place()?;
        self.events.check_in_place()
    }

    /// Hands everything to the operating system: it survives the end of this program.
    ///
    /// # Errors
    /// The errors of writing; what could not be written is kept and tried again.
    pub fn flush(&mut self) -> Result<(), RecordingError> {
        let samples = self.samples.flush();
        let events = self.events.flush();
        self.flushed = Instant::now();
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
    /// The errors of writing; [`RecordingError::Gone`].
    pub fn finish(mut self) -> Result<(), RecordingError> {
        self.sync()?;
        whole_file::sync_folder(&self.folder);
        self.check_in_place()
    }

    /// Gives up a session in which nothing was ever appended: its session.json goes, and its
    /// folder where nothing else is in it.
    pub fn discard(self) {
        if self.samples.is_empty() && self.events.is_empty() {
            let _ = std::fs::remove_file(self.folder.join(SESSION_FILE));
            // Fails where something is in it, and that is meant.
            let _ = std::fs::remove_dir(&self.folder);
        }
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        // Whoever wants to know of a failure calls finish.
        let _ = self.flush();
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
}
