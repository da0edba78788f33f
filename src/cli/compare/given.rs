//! Which marks are of which recording, whose they are, and which marking: by the names of the files.

use std::collections::BTreeSet;
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
    /// What it is called here: its name, with the folder's before where another has that name, too.
    pub title: String,
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
            named.marks(path, follows);
        } else {
            named.recording(path, true);
        }
    }
    named.matched()
}

impl Named {
    fn recording(&mut self, path: &Path, itself: bool) {
        if self.recordings.iter().all(|(other, _)| !same(other, path)) {
            self.recordings.push((path.to_owned(), itself));
        }
    }

    /// A file of marks that is named twice is one marking.
    fn marks(&mut self, path: &Path, follows: Option<usize>) {
        if self.marks.iter().all(|(other, _)| !same(other, path)) {
            self.marks.push((path.to_owned(), follows));
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
                    self.marks(&path, None);
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
                title: name_of(path),
                marks: Vec::new(),
            })
            .collect();
        let names: Vec<String> = recordings.iter().map(|own| own.name.clone()).collect();
        let twice = |name: &String| names.iter().filter(|other| *other == name).count() > 1;
        for recording in recordings.iter_mut().filter(|own| twice(&own.name)) {
            recording.title = recording.path.display().to_string();
        }
        let mut given = Given::default();
        let mut lone = BTreeSet::new();
        for (path, follows) in &self.marks {
            let stem = stem_of(path);
            let after = self.named_after(path, &names, *follows)?;
            let (place, (by, number)) = match (after, follows) {
                (Some((place, rest)), _) => (place, who(&rest)),
                (None, Some(place)) => {
                    let only = self.follows_alone(*place);
                    if let Some((named, _)) = stem.split_once("-marks") {
                        given.warnings.push(format!(
                            "{}: named after {named}, and taken as marks of the recording that it follows",
                            path.display()
                        ));
                    }
                    let (by, number) = who(&stem);
                    if only {
                        lone.insert(by);
                        (*place, (YOU.to_owned(), number))
                    } else {
                        (*place, (by, number))
                    }
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
        if lone.len() > 1 {
            let names: Vec<&str> = lone.iter().map(String::as_str).collect();
            given.warnings.push(format!(
                "marks that are named {} are taken for one person\u{2019}s; where they are not, name them RECORDING-marks-PERSON.csv",
                names.join(", ")
            ));
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
                let warning = format!("{}: no marks, left out", recording.title);
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

impl Named {
    /// Whether a recording is followed by one file of marks alone, whose name then need not say whose.
    fn follows_alone(&self, place: usize) -> bool {
        let following = self.marks.iter().filter(|(_, other)| *other == Some(place));
        following.count() == 1
    }

    /// The recording that a file of marks is named after, and what its name has besides. Of several of
    /// one name it is the one that the file follows, else the one in the file's own folder.
    fn named_after(
        &self,
        path: &Path,
        names: &[String],
        follows: Option<usize>,
    ) -> Result<Option<(usize, String)>, WrongArguments> {
        let stem = stem_of(path);
        let after = |name: &String| rest(&stem, name).map(|rest| (name.len(), rest.to_owned()));
        let Some((longest, rest)) = names.iter().filter_map(after).max_by_key(|own| own.0) else {
            return Ok(None);
        };
        let of_name = |place: &usize| {
            let name = names.get(*place);
            name.and_then(after)
                .is_some_and(|(length, _)| length == longest)
        };
        let places: Vec<usize> = (0..names.len()).filter(of_name).collect();
        let beside = |place: &usize| {
            let recording = self.recordings.get(*place);
            recording.is_some_and(|(recording, _)| same_folder(recording, path))
        };
        let followed = follows.filter(|place| places.contains(place));
        let place = match (followed, places.as_slice()) {
            (Some(place), _) => Some(place),
            (None, [only]) => Some(*only),
            (None, several) => {
                let mut beside = several.iter().copied().filter(beside);
                beside.next().filter(|_| beside.next().is_none())
            }
        };
        match place {
            Some(place) => Ok(Some((place, rest))),
            None => Err(WrongArguments(format!(
                "{}: several recordings have the name it is named after; give it right after its own recording, or lay it beside that",
                path.display()
            ))),
        }
    }
}

/// Whether two paths lead to the same.
fn same(a: &Path, b: &Path) -> bool {
    let whole = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
    whole(a) == whole(b)
}

fn same_folder(a: &Path, b: &Path) -> bool {
    let folder = |path: &Path| Some(path.canonicalize().ok()?.parent()?.to_owned());
    folder(a).is_some() && folder(a) == folder(b)
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
        words.join("-").to_lowercase()
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
            (".Marks.B 7", "b", 7),
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
