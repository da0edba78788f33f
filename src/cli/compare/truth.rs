//! The truth about an invented recording, where it lies beside it: `truth/NAME.csv` in the folder that
//! holds the recording.

use std::path::Path;

use serde::Serialize;

use crate::recording::{EventKind, Mark, Marks, Recording};
use crate::review::quantile;
use crate::source::simulator::practice::PracticeCase;
use crate::source::simulator::session::SIMULATED;

/// The folder of truths.
pub const TRUTH_FOLDER: &str = "truth";

/// What a recording truly was.
#[derive(Debug, Serialize)]
pub struct Truth {
    /// Its case, by name.
    pub case: Option<String>,
    /// The case in words.
    pub words: Option<&'static str>,
    /// True repetitions.
    pub true_count: usize,
    /// The middle of the wrist's true ranges, degrees.
    pub range_deg: Option<f64>,
    /// Share of the hand's turn that was the forearm's.
    pub elbow_share_ratio: Option<f64>,
    /// The repetitions.
    #[serde(skip)]
    pub reps: Vec<Mark>,
}

/// The truth beside a recording, if there is one; what cannot be read is said.
pub fn beside(recording: &Path, name: &str, warnings: &mut Vec<String>) -> Option<Truth> {
    let recording = recording.canonicalize().ok()?;
    let folder = recording.parent()?;
    let path = folder.join(TRUTH_FOLDER).join(format!("{name}.csv"));
    if !path.is_file() {
        return None;
    }
    match Marks::read(&path) {
        Ok(marks) => Some(read(&path, &marks)),
        Err(error) => {
            warnings.push(format!("the truth is left out: {error}"));
            None
        }
    }
}

fn read(path: &Path, marks: &Marks) -> Truth {
    let ranges_deg: Vec<f64> = column(path, "range_deg")
        .iter()
        .filter_map(|cell| cell.parse().ok())
        .collect();
    let first = |name: &str| column(path, name).into_iter().next();
    let case = first("case");
    Truth {
        words: case
            .as_deref()
            .and_then(PracticeCase::from_name)
            .map(PracticeCase::words),
        case,
        true_count: marks.reps().len(),
        range_deg: quantile(&ranges_deg, 0.5),
        elbow_share_ratio: first("elbow_share_ratio").and_then(|cell| cell.parse().ok()),
        reps: marks.reps().to_vec(),
    }
}

/// The cells of a column that is not of the marks; none where there is no such column.
fn column(path: &Path, name: &str) -> Vec<String> {
    let Ok(mut reader) = csv::Reader::from_path(path) else {
        return Vec::new();
    };
    let place = reader
        .headers()
        .ok()
        .and_then(|names| names.iter().position(|own| own == name));
    let Some(place) = place else {
        return Vec::new();
    };
    let rows = reader.records().filter_map(Result::ok);
    rows.filter_map(|row| Some(row.get(place)?.to_owned()))
        .collect()
}

/// Whether a recording says that it was played by the simulator.
pub fn says_invented(recording: &Recording) -> bool {
    let says = |kind: &EventKind| kind.name() == SIMULATED;
    recording.events.iter().any(|event| says(&event.kind))
}
