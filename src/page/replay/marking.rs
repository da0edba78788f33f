//! Marks made by hand on the page: taken once in a run of the program, kept in a file, and only then
//! laid beside the program's.
//!
//! Ours. A second marking in the same run would not be blind, so it is refused; the same marks sent
//! again are answered again, since an answer may be lost on its way. Nothing is kept of a refusal.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use axum::body::Bytes;
use serde::{Deserialize, Serialize};

use super::compared::compared;
use crate::recording::{Mark, Marks, MarksFault, Recording, RecordingError, create_folder};

/// Markings of one recording in one folder at most.
const FILES_MOST: u32 = 9999;
/// A mark lies at most so far outside of the recording, seconds.
const OUTSIDE_S: f64 = 1.0;

/// Where marks are kept, and what they are held against besides the program's.
#[derive(Debug, Clone)]
pub struct MarksPlace {
    folder: PathBuf,
    stem: String,
    truth: Option<Truth>,
}

/// What is known of an invented recording.
#[derive(Debug, Clone)]
pub struct Truth {
    /// Its repetitions as they were.
    pub marks: Marks,
    /// How it is done, in words.
    pub words: Option<&'static str>,
}

impl MarksPlace {
    /// A folder, which is made when marks are saved; files are named after the recording.
    pub fn new(folder: PathBuf, recording: &Recording) -> MarksPlace {
        let name = Path::new(&recording.name);
        let stem = name.file_stem().unwrap_or(name.as_os_str());
        MarksPlace {
            folder,
            stem: stem.to_string_lossy().into_owned(),
            truth: None,
        }
    }

    /// The same where it is known what was so, as of an invented recording, and in words how it is
    /// done: shown with the program's.
    pub fn with_truth(self, marks: Marks, words: Option<&'static str>) -> MarksPlace {
        MarksPlace {
            truth: Some(Truth { marks, words }),
            ..self
        }
    }

    /// The file of the marking of that number, from 1.
    pub fn file(&self, number: u32) -> PathBuf {
        self.folder
            .join(format!("{}-marks-{number}.csv", self.stem))
    }
}

/// The marking of a recording.
#[derive(Debug)]
pub struct Marking {
    place: MarksPlace,
    /// Of the whole recording, in order.
    program: Vec<Mark>,
    /// From the first sample to the last; `None` of no samples.
    lasts_s: Option<[f64; 2]>,
    saved: Mutex<Option<Saved>>,
}

#[derive(Debug, Clone)]
struct Saved {
    marks: Marks,
    compared_json: Bytes,
}

/// What a page sends.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Given {
    marks: Vec<Mark>,
}

/// Why marks were not kept.
#[derive(Debug, Serialize)]
pub struct Refused {
    /// Why, in words.
    words: String,
    /// The row that does not fit, from 0; `None` where it is not one row.
    place: Option<usize>,
}

impl Marking {
    /// Nothing is marked yet.
    pub fn new(place: MarksPlace, recording: &Recording, program: Vec<Mark>) -> Marking {
        let first_and_last = recording.hand.first().zip(recording.hand.last());
        Marking {
            place,
            program,
            lasts_s: first_and_last.map(|(first, last)| [first.t_s, last.t_s]),
            saved: Mutex::new(None),
        }
    }

    fn saved(&self) -> Option<Saved> {
        let saved = self.saved.lock().unwrap_or_else(PoisonError::into_inner);
        saved.clone()
    }

    /// Whether marks are saved, so that the program's may be shown.
    pub fn is_saved(&self) -> bool {
        self.saved().is_some()
    }

    /// Both beside each other, as JSON; `None` before marks are saved.
    pub fn compared_json(&self) -> Option<Bytes> {
        self.saved().map(|saved| saved.compared_json)
    }

    /// The saved file's text; `None` before.
    pub fn text(&self) -> Option<String> {
        self.saved().map(|saved| saved.marks.text())
    }

    /// Keeps marks, and gives both beside each other as JSON.
    ///
    /// # Errors
    /// Words for the person, where nothing was kept.
    pub fn save(&self, given: Given) -> Result<Bytes, Refused> {
        let marks = self.checked(given.marks)?;
        let mut saved = self.saved.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(before) = saved.as_ref() {
            if before.marks == marks {
                return Ok(before.compared_json.clone());
            }
            return Err(refused(
                "marks of this recording were saved before, and the program's were shown: other marks would not be blind. To mark it again, start the program again",
            ));
        }
        let path = self.written(&marks).map_err(|error| {
            refused(&format!(
                "{error}; your marks are still on this page: free the place and save again, or start the program with another --marks folder"
            ))
        })?;
        let truth = self.place.truth.as_ref();
        let both = compared(path.display().to_string(), &marks, &self.program, truth);
        let compared_json: Bytes = serde_json::to_string(&both)
            .map_err(|error| refused(&error.to_string()))?
            .into();
        *saved = Some(Saved {
            marks,
            compared_json: compared_json.clone(),
        });
        Ok(compared_json)
    }

    fn checked(&self, marks: Vec<Mark>) -> Result<Marks, Refused> {
        let is_outside = |mark: &Mark| {
            let [from_s, to_s] = self.lasts_s.unwrap_or_default();
            let inside = (from_s - OUTSIDE_S)..=(to_s + OUTSIDE_S);
            let mut known = mark.times_s().into_iter().flatten();
            known.any(|time_s| time_s.is_finite() && !inside.contains(&time_s))
        };
        let outside = marks.iter().position(is_outside);
        match (Marks::new(marks), outside) {
            (Err((place, fault)), _) => Err(Refused {
                words: format!("row {}: {}", place + 1, words(&fault)),
                place: Some(place),
            }),
            (Ok(_), Some(place)) => {
                let [from_s, to_s] = self.lasts_s.unwrap_or_default();
                Err(Refused {
                    words: format!(
                        "row {}: a time lies outside of the recording, which lasts from {from_s:.2} to {to_s:.2} s",
                        place + 1
                    ),
                    place: Some(place),
                })
            }
            (Ok(marks), None) => Ok(marks),
        }
    }

    /// Writes the marks under the first number that is free.
    fn written(&self, marks: &Marks) -> Result<PathBuf, RecordingError> {
        create_folder(&self.place.folder)?;
        let mut number = 1;
        loop {
            let path = self.place.file(number);
            match marks.write(&path) {
                Err(RecordingError::Exists { .. }) if number < FILES_MOST => number += 1,
                Err(error) => return Err(error),
                Ok(()) => return Ok(path),
            }
        }
    }
}

/// A fault with the page's own names for the times.
fn words(fault: &MarksFault) -> String {
    let mut text = fault.to_string();
    for (column, name) in [
        ("lift_start_s", "the lift start"),
        ("lift_end_s", "the lift end"),
        ("lower_start_s", "the lower start"),
        ("lower_end_s", "the lower end"),
    ] {
        text = text.replace(column, name);
    }
    match fault {
        MarksFault::Order { column, .. } | MarksFault::NotFinite { column } => {
            let name = column.trim_end_matches("_s").replace('_', " ");
            format!("{name}: {text}")
        }
        MarksFault::Twice { .. } | MarksFault::Overlap { .. } => text,
    }
}

fn refused(words: &str) -> Refused {
    Refused {
        words: words.to_owned(),
        place: None,
    }
}
