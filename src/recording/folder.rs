//! A session folder: session.json, samples.csv, events.csv.

use std::path::Path;

use super::columns::Wanted;
use super::error::RecordingError;
use super::plausible::{self, Declared};
use super::rows::{self, Format};
use super::units::{AccelUnit, GyroUnit, TimeUnit};
use super::{Event, EventKind, Recording, event_file, session_file};

/// What a session begins with.
pub const SESSION_FILE: &str = "session.json";
/// What the sensors said.
pub const SAMPLES_FILE: &str = "samples.csv";
/// What the person said.
pub const EVENTS_FILE: &str = "events.csv";

/// The longest gap within a session, in seconds: a day.
const LONGEST_GAP_S: f64 = 86_400.0;

/// Fewer samples than this are not judged.
const JUDGED_ROWS: usize = 20;

/// How much earlier than the last event the samples may end unremarked, in seconds: both files
/// are written every half second.
const UNREMARKED_S: f64 = 1.0;

/// Reads a session folder. What a power cut takes from the end of samples.csv or events.csv is
/// named in the warnings; a session of events alone is valid.
///
/// # Errors
/// [`RecordingError::NoSessionFile`] and the other variants about session.json; those about cells,
/// times, rate and units where more than the end of a file is wrong. Nothing is written.
pub fn open(path: &Path) -> Result<Recording, RecordingError> {
    let metadata = std::fs::metadata(path).map_err(|error| RecordingError::reading(path, error))?;
    if !metadata.is_dir() {
        return Err(RecordingError::IsFile {
            path: path.to_owned(),
        });
    }
    let mut warnings = Vec::new();
    let head = session_file::read(path, &mut warnings)?;
    let events_path = path.join(EVENTS_FILE);
    let events = match event_file::read(&events_path, &mut warnings) {
        Err(RecordingError::NotFound { path }) => {
            warnings.push(format!(
                "{}: the file is missing: no events",
                path.display()
            ));
            Vec::new()
        }
        events => events?,
    };
    let samples_path = path.join(SAMPLES_FILE);
    let format = Format {
        wanted: Wanted {
            names: &[],
            time: true,
            ours: true,
        },
        accel: AccelUnit::default(),
        gyro: GyroUnit::default(),
        time: TimeUnit::default(),
        rate_hz: None,
        decimal_comma: false,
        longest_gap_s: LONGEST_GAP_S,
    };
    let (hand, forearm, forearm_after) = match rows::read(&samples_path, &format) {
        Err(RecordingError::NotFound { path }) => {
            if events
                .iter()
                .any(|event| matches!(event.kind, EventKind::SetStart(_)))
            {
                warnings.push(format!(
                    "{}: the file is missing, though sets were begun: no samples",
                    path.display()
                ));
            }
            (Vec::new(), Vec::new(), Vec::new())
        }
        rows => {
            let rows = rows?;
            warnings.extend(rows.warnings);
            let declared = Declared {
                path: &samples_path,
                ours: true,
                accel: AccelUnit::default(),
                gyro: GyroUnit::default(),
                time: TimeUnit::default(),
                time_column: &rows.time_column,
                rate_given: false,
            };
            for track in [&rows.hand, &rows.forearm] {
                if track.samples.len() >= JUDGED_ROWS {
                    warnings.extend(plausible::check(track, &declared)?);
                }
            }
            (rows.hand.samples, rows.forearm.samples, rows.forearm_after)
        }
    };
    let last_s = [&hand, &forearm]
        .into_iter()
        .filter_map(|samples| samples.last())
        .map(|sample| sample.t_s)
        .reduce(f64::max);
    warnings.extend(missing_ends(&events, last_s, &events_path, &samples_path));
    let name = path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    );
    Ok(Recording {
        name,
        head: Some(head),
        hand,
        forearm,
        forearm_after,
        events,
        warnings,
    })
}

/// Reads the events of a session folder alone, and what should be known of them; none where the file
/// is not there.
///
/// # Errors
/// [`RecordingError::BadEvent`], [`RecordingError::Unreadable`].
pub fn open_events(path: &Path) -> Result<(Vec<Event>, Vec<String>), RecordingError> {
    let mut warnings = Vec::new();
    match event_file::read(&path.join(EVENTS_FILE), &mut warnings) {
        Err(RecordingError::NotFound { .. }) => Ok((Vec::new(), warnings)),
        events => Ok((events?, warnings)),
    }
}

/// What the two files show to be missing from each other's end.
fn missing_ends(
    events: &[Event],
    last_sample_s: Option<f64>,
    events_path: &Path,
    samples_path: &Path,
) -> Vec<String> {
    let mut warnings = Vec::new();
    let mut open_set_s = None;
    let mut last_end_s = None;
    let mut lost = false;
    for event in events {
        match &event.kind {
            EventKind::SetStart(_) => open_set_s = Some(event.t_s),
            EventKind::SetEnd(_) => {
                open_set_s = None;
                last_end_s = Some(event.t_s);
            }
            EventKind::SensorLost(_) => lost = true,
            EventKind::SensorBack(_) => lost = false,
            _ => {}
        }
    }
    if let Some(start_s) = open_set_s {
        warnings.push(format!(
            "{}: the set-end of the set begun at {start_s} s is missing: the set is taken to end with the samples",
            events_path.display()
        ));
    }
    if let (Some(end_s), Some(last_s)) = (last_end_s, last_sample_s)
        && last_s + UNREMARKED_S < end_s
        && !lost
    {
        warnings.push(format!(
            "{}: the samples end at {last_s} s, though the last set ended at {end_s} s: the rest is missing",
            samples_path.display()
        ));
    }
    warnings
}
