//! The store of patients: STORE/PATIENT/SESSION.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use jiff::ZonedDateTime;

use super::error::RecordingError;
use super::session_file;
use super::whole_file;
use super::{Event, PatientCode, Recording, event_file, folder};

/// A folder of patients. Making one touches no disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Store {
    root: PathBuf,
}

/// A session of a patient.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Its folder.
    pub folder: PathBuf,
    /// When it began.
    pub started_at: ZonedDateTime,
}

/// The sessions of a patient.
#[derive(Debug, Default)]
pub struct Sessions {
    /// Those that can be read, by their start.
    pub sessions: Vec<Session>,
    /// Folders that are no recordings, and why; sorted by name.
    pub broken: Vec<RecordingError>,
}

impl Store {
    /// The store in a folder of its own.
    pub fn at(root: impl Into<PathBuf>) -> Store {
        Store { root: root.into() }
    }

    /// The store in force: the one given, else the environment's CARPOTEMPO_STORE, else a folder
    /// in the platform's place for data: $XDG_DATA_HOME or ~/.local/share on Linux and the like,
    /// ~/Library/Application Support on macOS, %APPDATA% on Windows.
    ///
    /// # Errors
    /// [`RecordingError::NoStore`] where none of them is set.
    pub fn resolve(given: Option<&Path>) -> Result<Store, RecordingError> {
        Store::resolve_from(given, |name| std::env::var_os(name))
    }

    fn resolve_from(
        given: Option<&Path>,
        variable: impl Fn(&str) -> Option<OsString>,
    ) -> Result<Store, RecordingError> {
        const NAME: &str = "carpotempo";
        if let Some(root) = given {
            return Ok(Store::at(root));
        }
        let folder = |name: &str| {
            variable(name)
                .filter(|value| !value.is_empty())
                .map(PathBuf::from)
        };
        if let Some(root) = folder("CARPOTEMPO_STORE") {
            return Ok(Store { root });
        }
        let (found, needed) = if cfg!(windows) {
            (folder("APPDATA"), "APPDATA")
        } else if cfg!(target_os = "macos") {
            let home = folder("HOME");
            (
                home.map(|home| home.join("Library").join("Application Support")),
                "HOME",
            )
        } else {
            // A relative XDG_DATA_HOME is to be ignored: XDG Base Directory Specification 0.8.
            let data = folder("XDG_DATA_HOME").filter(|data| data.is_absolute());
            let home = || folder("HOME").map(|home| home.join(".local").join("share"));
            (data.or_else(home), "HOME")
        };
        match found {
            Some(data) => Ok(Store::at(data.join(NAME))),
            None => Err(RecordingError::NoStore { variable: needed }),
        }
    }

    /// The store's folder; it may not be there yet.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Every patient, sorted; none where the store's folder is not there yet. Folders whose names
    /// are no codes are passed over.
    ///
    /// # Errors
    /// [`RecordingError::Unreadable`].
    pub fn patients(&self) -> Result<Vec<PatientCode>, RecordingError> {
        let mut patients: Vec<PatientCode> = folders(&self.root)?
            .iter()
            .filter_map(|folder| folder.file_name()?.to_str()?.parse().ok())
            .collect();
        patients.sort();
        Ok(patients)
    }

    /// The folder of a patient who is in the store.
    ///
    /// # Errors
    /// [`RecordingError::UnknownPatient`], which names the store searched.
    pub fn patient_folder(&self, patient: &PatientCode) -> Result<PathBuf, RecordingError> {
        let folder = self.root.join(patient.as_str());
        if folder.is_dir() {
            Ok(folder)
        } else {
            Err(RecordingError::UnknownPatient {
                patient: patient.clone(),
                store: self.root.clone(),
            })
        }
    }

    /// The session folders of a patient by name, which is by start where this program named them;
    /// no file is opened.
    ///
    /// # Errors
    /// [`RecordingError::UnknownPatient`], [`RecordingError::Unreadable`].
    pub fn session_folders(&self, patient: &PatientCode) -> Result<Vec<PathBuf>, RecordingError> {
        folders(&self.patient_folder(patient)?)
    }

    /// The sessions of a patient by start, and the folders that are none.
    ///
    /// # Errors
    /// [`RecordingError::UnknownPatient`], [`RecordingError::Unreadable`].
    pub fn sessions(&self, patient: &PatientCode) -> Result<Sessions, RecordingError> {
        let mut listed = Sessions::default();
        for folder in self.session_folders(patient)? {
            match session_file::started_at_of(&folder) {
                Ok(started_at) => listed.sessions.push(Session { folder, started_at }),
                Err(error) => listed.broken.push(error),
            }
        }
        listed
            .sessions
            .sort_by(|a, b| (&a.started_at, &a.folder).cmp(&(&b.started_at, &b.folder)));
        Ok(listed)
    }

    /// A folder for a new session of a patient: named after its start, not there yet. The
    /// patient's own folder is created if it is missing.
    ///
    /// # Errors
    /// The errors of writing.
    pub fn new_session(
        &self,
        patient: &PatientCode,
        started_at: &ZonedDateTime,
    ) -> Result<PathBuf, RecordingError> {
        let folder = self.root.join(patient.as_str());
        whole_file::create_folder(&folder)?;
        let name = session_name(started_at);
        let names = std::iter::once(name.clone()).chain((2..).map(|nth| format!("{name}-{nth}")));
        let free = names
            .map(|name| folder.join(name))
            .find(|path| path.symlink_metadata().is_err());
        free.ok_or(RecordingError::Exists { path: folder })
    }
}

impl Session {
    /// Reads the session's recording.
    ///
    /// # Errors
    /// Those of [`super::open`].
    pub fn open(&self) -> Result<Recording, RecordingError> {
        folder::open(&self.folder)
    }

    /// Reads the session's events alone; none where there is no such file.
    ///
    /// # Errors
    /// [`RecordingError::BadEvent`], [`RecordingError::Unreadable`].
    pub fn events(&self) -> Result<Vec<Event>, RecordingError> {
        let path = self.folder.join(folder::EVENTS_FILE);
        match event_file::read(&path, &mut Vec::new()) {
            Err(RecordingError::NotFound { .. }) => Ok(Vec::new()),
            events => events,
        }
    }
}

/// The name of a session's folder: its start in universal time, so that names sort by start in
/// every time zone; no colon, which some file systems do not take.
pub fn session_name(started_at: &ZonedDateTime) -> String {
    started_at
        .timestamp()
        .strftime("%Y-%m-%dT%H%M%SZ")
        .to_string()
}

/// The folders within a folder, sorted by name; hidden ones are passed over.
fn folders(within: &Path) -> Result<Vec<PathBuf>, RecordingError> {
    let reading = |error| RecordingError::reading(within, error);
    let entries = match std::fs::read_dir(within) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        entries => entries.map_err(reading)?,
    };
    let mut folders = Vec::new();
    for entry in entries {
        let entry = entry.map_err(reading)?;
        let kind = entry.file_type().map_err(reading)?;
        let hidden = entry.file_name().to_string_lossy().starts_with('.');
        if !hidden && (kind.is_dir() || (kind.is_symlink() && entry.path().is_dir())) {
            folders.push(entry.path());
        }
    }
    folders.sort();
    Ok(folders)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn the_option_beats_the_environment_and_the_environment_the_platform() {
        let environment = |name: &str| match name {
            "CARPOTEMPO_STORE" => Some(OsString::from("/from-environment")),
            "HOME" | "APPDATA" => Some(OsString::from("/home-folder")),
            _ => None,
        };
        let platform = |name: &str| environment(name).filter(|_| name != "CARPOTEMPO_STORE");
        let given = Path::new("/given");
        let store = Store::resolve_from(Some(given), environment).unwrap();
        assert_eq!(store.root(), given);
        let store = Store::resolve_from(None, environment).unwrap();
        assert_eq!(store.root(), Path::new("/from-environment"));
        let store = Store::resolve_from(None, platform).unwrap();
        assert!(store.root().starts_with("/home-folder"));
        assert!(store.root().ends_with("carpotempo"));
        assert!(Store::resolve_from(None, |_| None).is_err());
    }

    #[cfg(all(unix, not(target_os = "macos")))]
    #[test]
    fn the_data_folder_is_that_of_the_base_directory_specification() {
        let variable = |data: &'static str| {
            move |name: &str| match name {
                "XDG_DATA_HOME" => Some(OsString::from(data)),
                "HOME" => Some(OsString::from("/h")),
                _ => None,
            }
        };
        let root = |data| Store::resolve_from(None, variable(data)).unwrap().root;
        assert_eq!(root("/data"), Path::new("/data/carpotempo"));
        assert_eq!(root(""), Path::new("/h/.local/share/carpotempo"));
        assert_eq!(root("relative"), Path::new("/h/.local/share/carpotempo"));
    }
}
