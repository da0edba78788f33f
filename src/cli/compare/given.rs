//! Which marks are of which recording, whose they are, and which marking: by the names of the files.

use std::path::{Path, PathBuf};

use crate::cli::exit::WrongArguments;
use crate::recording::{Marks, RecordingError, SESSION_FILE};

/// Who made marks that are named after nobody.
pub const YOU: &str = "you";

/// A file of marks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenMarks {
    /// The file.
    pub path: PathBuf,
    /// Whose.
    pub by: String,
    /// Which marking; 0 where the name does not say.
    number: u32,
}

/// A recording with marks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GivenRecording {
    /// Folder or file.
    pub path: PathBuf,
    /// Its name.
    pub name: String,
    /// Its marks: yours first, each person's in the order of the markings.
    pub marks: Vec<GivenMarks>,
}

/// What is to be compared.
#[derive(Debug, Default)]
pub struct Given {
    /// Recordings that have marks, in order.
    pub recordings: Vec<GivenRecording>,
    /// What was left out and why.
    pub warnings: Vec<String>,
}

/// Files and folders as they were named.
#[derive(Default)]
struct Named {
    /// Recordings, and whether each was named itself.
    recordings: Vec<(PathBuf, bool)>,
    /// Files of marks, each with the recording that it follows.
    marks: Vec<(PathBuf, Option<usize>)>,
}

/// Sorts out what was given.
///
/// # Errors
/// What is not there or cannot be read; marks that are nobody's.
pub fn given(paths: &[PathBuf]) -> anyhow::Result<Given> {
    let mut named = Named::default();
    for path in paths {
        if !path.exists() {
            return Err(RecordingError::NotFound { path: path.clone() }.into());
        }
        if path.is_dir() && !path.join(SESSION_FILE).exists() {
            named.folder(path)?;
        } else if path.is_file() && Marks::looks_like(path) {
            let follows = named.recordings.iter().rposition(|(_, itself)| *itself);
            named.marks.push((path.clone(), follows));
        } else {
            named.recording(path, true);
        }
    }
    named.matched()
}

impl Named {
    fn recording(&mut self, path: &Path, itself: bool) {
        if self.recordings.iter().all(|(other, _)| other != path) {
            self.recordings.push((path.to_owned(), itself));
        }
    }

    /// Takes recordings and marks from a folder, in the order of their names.
    fn folder(&mut self, folder: &Path) -> Result<(), RecordingError> {
        let reading = |error| RecordingError::reading(folder, error);
        let mut entries = Vec::new();
        for entry in std::fs::read_dir(folder).map_err(reading)? {
            entries.push(entry.map_err(reading)?.path());
        }
        entries.sort();
        for path in entries {
            let is_csv = path
                .extension()
                .is_some_and(|end| end.eq_ignore_ascii_case("csv"));
            if path.join(SESSION_FILE).is_file() {
                self.recording(&path, false);
            } else if is_csv && path.is_file() {
                if Marks::looks_like(&path) {
                    self.marks.push((path, None));
                } else {
                    self.recording(&path, false);
                }
            }
        }
        Ok(())
    }

    fn matched(self) -> anyhow::Result<Given> {
        let mut recordings: Vec<GivenRecording> = self
            .recordings
            .iter()
            .map(|(path, _)| GivenRecording {
                path: path.clone(),
                name: name_of(path),
                marks: Vec::new(),
            })
            .collect();
        let names: Vec<String> = recordings.iter().map(|own| own.name.clone()).collect();
        let mut given = Given::default();
        for (path, follows) in &self.marks {
            let stem = stem_of(path);
            let after = names
                .iter()
                .enumerate()
                .filter_map(|(place, name)| Some((place, name.len(), rest(&stem, name)?)))
                .max_by_key(|(_, length, _)| *length);
            let (place, (by, number)) = match (after, follows) {
                (Some((place, _, rest)), _) => (place, who(rest)),
                (None, Some(place)) => {
                    let alone = |other: &&(PathBuf, Option<usize>)| other.1 == Some(*place);
                    let only = self.marks.iter().filter(alone).count() == 1;
                    if let Some((named, _)) = stem.split_once("-marks") {
                        given.warnings.push(format!(
                            "{}: named after {named}, and taken as marks of the recording that it follows",
                            path.display()
                        ));
                    }
                    let own = who(&stem);
                    (*place, if only { (YOU.to_owned(), own.1) } else { own })
                }
                (None, None) => {
                    return Err(WrongArguments(format!(
                        "{}: marks of which recording? Give the recording before them, or name them after it, as in RECORDING-marks.csv",
                        path.display()
                    ))
                    .into());
                }
            };
            if let Some(recording) = recordings.get_mut(place) {
                recording.marks.push(GivenMarks {
                    path: path.clone(),
                    by,
                    number,
                });
            }
        }
        for (mut recording, (_, itself)) in recordings.into_iter().zip(&self.recordings) {
            let order = |own: &GivenMarks| {
                let others = own.by != YOU;
                (others, own.by.clone(), own.number, own.path.clone())
            };
            recording.marks.sort_by_key(order);
            if !recording.marks.is_empty() {
                given.recordings.push(recording);
            } else if *itself || recording.path.is_dir() {
                let warning = format!("{}: no marks, left out", recording.name);
                given.warnings.push(warning);
            }
        }
        if given.recordings.is_empty() {
            let message = "no marks were given: name a recording and a file of marks, as in carpotempo compare RECORDING MARKS.csv; carpotempo compare --help says what marks are";
            return Err(WrongArguments(message.to_owned()).into());
        }
        Ok(given)
    }
}

fn stem_of(path: &Path) -> String {
    let stem = path.file_stem().or(path.file_name()).unwrap_or_default();
    stem.to_string_lossy().into_owned()
}

/// A folder's name, or a file's without its ending.
fn name_of(path: &Path) -> String {
    if path.is_dir() {
        let whole = path.canonicalize();
        let whole = whole.as_deref().unwrap_or(path);
        return whole
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
    }
    stem_of(path)
}

/// What follows a recording's name in a file's name; `None` where it is named otherwise.
fn rest<'a>(stem: &'a str, name: &str) -> Option<&'a str> {
    let rest = stem.strip_prefix(name)?;
    let parted = rest.chars().next().is_none_or(|c| !c.is_alphanumeric());
    (parted && !name.is_empty()).then_some(rest)
}

/// Whose marks and which marking, from what a name has besides the recording's.
fn who(rest: &str) -> (String, u32) {
    let mut words: Vec<&str> = rest
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty() && !word.eq_ignore_ascii_case("marks"))
        .collect();
    let number = words.last().and_then(|word| word.parse().ok());
    if number.is_some() {
        words.pop();
    }
    let by = if words.is_empty() {
        YOU.to_owned()
    } else {
        words.join("-")
    };
    (by, number.unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_says_whose_and_which_marking() {
        for (rest, by, number) in [
            ("", "you", 0),
            ("-marks", "you", 0),
            ("-marks-2", "you", 2),
            ("_anna", "anna", 0),
            ("-marks-anna-3", "anna", 3),
            (".Marks.B 7", "B", 7),
        ] {
            assert_eq!(who(rest), (by.to_owned(), number), "{rest}");
        }
    }

    #[test]
    fn one_recording_is_not_the_tenth() {
        assert_eq!(rest("practice-1-marks", "practice-1"), Some("-marks"));
        assert_eq!(rest("practice-10-marks", "practice-1"), None);
        assert_eq!(rest("practice-1", "practice-1"), Some(""));
        assert_eq!(rest("monday", "tuesday"), None);
    }
}
