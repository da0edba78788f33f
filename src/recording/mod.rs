//! Recordings: session folders, foreign CSV files, and the store that holds patients.
//!
//! A session folder, version 1, holds `session.json` (whole or absent, never changed),
//! `samples.csv` and `events.csv` (appended), and derived files that may be deleted. Reading is
//! strict where a value would be guessed and lenient where only the end of an appended file is
//! missing.

mod appender;
mod background;
mod columns;
mod error;
mod event;
mod event_file;
mod folder;
mod foreign;
mod lines;
mod marks;
mod new_file;
mod patient;
mod plausible;
mod rows;
mod session_file;
mod store;
mod summary;
mod units;
mod visit;
mod whole_file;
mod writer;

use crate::routine::Routine;
use crate::sample::{Place, Sample};

pub use columns::{COLUMNS, ColumnName};
pub use error::RecordingError;
pub use event::{
    Battery, Calibration, ClockInfo, Event, EventKind, Gap, ItemMark, ItemRef, Night, Note,
    PlaceMark, Reason, Scale, SensorInfo, SetEnd, SetEndReason, SetStart, Symptom, When,
};
pub use folder::{EVENTS_FILE, SAMPLES_FILE, SESSION_FILE};
pub use folder::{open, open_events};
pub use foreign::{ForeignOptions, open_any, open_foreign};
pub use marks::{MARKS_COLUMNS, Mark, Marks, MarksError, MarksFault};
pub use new_file::NewFile;
pub use patient::PatientCode;
pub use rows::{HIGHEST_RATE_HZ, LOWEST_RATE_HZ};
pub use session_file::{head, started_at_of};
pub use store::{Session, Sessions, Store, session_name};
pub use summary::{
    DERIVED_FILES, Stamp, has_summary, read_brief, read_summary, write_brief, write_summary,
};
pub use units::{AccelUnit, GyroUnit, TimeUnit};
pub use visit::{TRIALS, Visit, VisitHand};
pub use whole_file::{above, create_folder, sync_folder, write_derived, write_small};
pub use writer::Writer;

/// A recording, as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Recording {
    /// The folder's or file's name, for headings.
    pub name: String,
    /// What session.json says; `None` for a plain CSV file.
    pub head: Option<SessionHead>,
    /// Samples of the hand sensor, or of the only one of a plain CSV, in the order of the file.
    pub hand: Vec<Sample>,
    /// Samples of the forearm sensor, in the order of the file; mostly none.
    pub forearm: Vec<Sample>,
    /// For each sample of the forearm sensor, how many of the hand sensor stand before it in the
    /// file, which is the order they came in. Empty is the order of their times.
    pub forearm_after: Vec<u32>,
    /// Events in the order of the file.
    pub events: Vec<Event>,
    /// What the reader wants to be known: a cut end, an event that does not fit, in plain words.
    pub warnings: Vec<String>,
}

impl Recording {
    /// The samples of both sensors in the order they came in: a stream that is played again gives
    /// what it gave live only in this order.
    pub fn in_order(&self) -> impl Iterator<Item = (Place, &Sample)> {
        let (mut hand, mut forearm) = (self.hand.iter().peekable(), self.forearm.iter().peekable());
        let mut after = self.forearm_after.iter();
        let mut next_after = after.next();
        let mut before_count: u32 = 0;
        std::iter::from_fn(move || {
            let forearm_first = match (hand.peek(), forearm.peek(), next_after) {
                (_, None, _) => false,
                (None, Some(_), _) => true,
                (_, _, Some(count)) => *count <= before_count,
                (Some(own), Some(other), None) => other.t_s <= own.t_s,
            };
            if forearm_first {
                next_after = after.next();
                return forearm.next().map(|sample| (Place::Forearm, sample));
            }
            before_count = before_count.saturating_add(1);
            hand.next().map(|sample| (Place::Hand, sample))
        })
    }
}

/// What a session begins with; written once, never changed.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionHead {
    /// When the recording started: the instant, in a time zone of the fixed offset recorded. It
    /// gives the local day and time of the person; times of samples and events count from it.
    pub started_at: jiff::ZonedDateTime,
    /// The patient's code.
    pub patient: PatientCode,
    /// The whole prescription that the session was done under, if any.
    pub routine: Option<Routine>,
}
