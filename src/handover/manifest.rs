//! The list that every archive begins with: which sessions, which files, how long, which hash.
//!
//! Ours. The list is the only thing that names what is inside: an entry that is not the next one
//! of the list is refused, so a name can lead nowhere. Hashes: SHA-256 (FIPS 180-4).

use std::collections::BTreeSet;
use std::path::Path;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::error::HandoverError;
use crate::recording::{DERIVED_FILES, EVENTS_FILE, PatientCode, SAMPLES_FILE, SESSION_FILE};

/// The name of the first entry.
pub const MANIFEST_FILE: &str = "carpotempo-archive.json";
/// What the list calls itself.
pub const FORMAT: &str = "carpotempo-archive";
/// The version written, and the highest read.
pub const VERSION: u64 = 1;

/// The longest list that is read, bytes: 20,000 sessions take seven million.
pub const LIST_MOST: u64 = 16 << 20;
/// The longest file, bytes: a day at 400 samples a second takes a tenth of it.
pub const FILE_MOST: u64 = 4 << 30;
/// All files together, bytes.
pub const ALL_MOST: u64 = 64 << 30;
/// Sessions.
pub const SESSIONS_MOST: usize = 20_000;
/// Files of a session, and of the patient.
pub const FILES_MOST: usize = 64;
/// The longest name, bytes.
const NAME_MOST: usize = 64;

/// What an archive is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Chosen sessions, from the patient to the clinic.
    Handover,
    /// All of a patient.
    Backup,
}

/// The list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    format: String,
    version: u64,
    /// What it is for.
    pub kind: Kind,
    /// Whose sessions.
    pub patient: PatientCode,
    /// Files of the patient's own folder; none in a handover.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub files: Vec<Listed>,
    /// The sessions.
    pub sessions: Vec<ListedSession>,
}

/// A session of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ListedSession {
    /// Its folder's name.
    pub name: String,
    /// Its files.
    pub files: Vec<Listed>,
}

/// A file of the list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listed {
    /// Its name.
    pub name: String,
    /// Its length.
    pub size_bytes: u64,
    /// Its SHA-256, in hexadecimal digits.
    pub sha256: String,
}

impl Manifest {
    /// The list of these.
    pub fn new(
        kind: Kind,
        patient: PatientCode,
        files: Vec<Listed>,
        sessions: Vec<ListedSession>,
    ) -> Manifest {
        Manifest {
            format: FORMAT.to_owned(),
            version: VERSION,
            kind,
            patient,
            files,
            sessions,
        }
    }

    /// Every file in the order of the archive: the session's name, `None` for the patient's own
    /// folder, and the file.
    pub fn entries(&self) -> impl Iterator<Item = (Option<&str>, &Listed)> {
        let own = self.files.iter().map(|file| (None, file));
        let of_sessions = self.sessions.iter().flat_map(|session| {
            let name = Some(session.name.as_str());
            session.files.iter().map(move |file| (name, file))
        });
        own.chain(of_sessions)
    }

    /// Reads and checks the list of the archive at `path`.
    ///
    /// # Errors
    /// [`HandoverError::Foreign`], [`HandoverError::Newer`], [`HandoverError::Refused`].
    pub fn read(text: &[u8], path: &Path) -> Result<Manifest, HandoverError> {
        let foreign = |said: String| HandoverError::Foreign {
            path: path.to_owned(),
            said,
        };
        let value: Value = serde_json::from_slice(text)
            .map_err(|_| foreign("its list cannot be read".to_owned()))?;
        if value.get("format").and_then(Value::as_str) != Some(FORMAT) {
            return Err(foreign("its list is of another format".to_owned()));
        }
        let version = value.get("version").unwrap_or(&Value::Null);
        if version.as_u64() != Some(VERSION) {
            return Err(HandoverError::Newer {
                path: path.to_owned(),
                found: brief(&version.to_string()),
                known_count: VERSION,
            });
        }
        let refused = |said| HandoverError::Refused {
            path: path.to_owned(),
            said,
        };
        let list: Manifest = serde_json::from_value(value).map_err(|error| {
            refused(format!("its list is wrong: {}", brief(&error.to_string())))
        })?;
        list.check().map_err(refused)?;
        Ok(list)
    }

    /// What this program never writes, in words.
    fn check(&self) -> Result<(), String> {
        if self.sessions.len() > SESSIONS_MOST {
            return Err(format!("it lists more than {SESSIONS_MOST} sessions"));
        }
        let mut sessions = BTreeSet::new();
        let mut all_bytes: u64 = 0;
        for session in &self.sessions {
            let name = &session.name;
            if !is_plain(name) {
                return Err(format!("\"{}\" is no session's name", brief(name)));
            }
            if !sessions.insert(name.to_ascii_lowercase()) {
                return Err(format!("it lists the session {name} twice"));
            }
            if !session.files.iter().any(|file| file.name == SESSION_FILE) {
                return Err(format!("the session {name} has no {SESSION_FILE}"));
            }
            self.check_files(&session.files, &mut all_bytes)?;
        }
        if self.kind == Kind::Handover && !self.files.is_empty() {
            return Err("it lists files beside the sessions".to_owned());
        }
        if let Some(file) = self
            .files
            .iter()
            .find(|file| sessions.contains(&file.name.to_ascii_lowercase()))
        {
            return Err(format!("{} is a session and a file", brief(&file.name)));
        }
        self.check_files(&self.files, &mut all_bytes)
    }

    fn check_files(&self, files: &[Listed], all_bytes: &mut u64) -> Result<(), String> {
        if files.len() > FILES_MOST {
            return Err(format!(
                "it lists more than {FILES_MOST} files of one folder"
            ));
        }
        let mut names = BTreeSet::new();
        for file in files {
            if !self.takes(&file.name) {
                return Err(format!(
                    "\"{}\" is no file of a recording",
                    brief(&file.name)
                ));
            }
            if !names.insert(file.name.to_ascii_lowercase()) {
                return Err(format!("it lists the file {} twice", file.name));
            }
            let is_hash = file.sha256.len() == 64
                && file.sha256.bytes().all(|digit| digit.is_ascii_hexdigit());
            if !is_hash {
                return Err(format!("the hash of {} is none", file.name));
            }
            *all_bytes = all_bytes.saturating_add(file.size_bytes);
            if file.size_bytes > FILE_MOST || *all_bytes > ALL_MOST {
                return Err(format!("the file {} is too large", file.name));
            }
        }
        Ok(())
    }

    fn takes(&self, name: &str) -> bool {
        match self.kind {
            Kind::Handover => RECORDED.contains(&name),
            Kind::Backup => is_plain(name) && !DERIVED_FILES.contains(&name),
        }
    }
}

/// What a session was recorded into.
pub const RECORDED: [&str; 3] = [SESSION_FILE, SAMPLES_FILE, EVENTS_FILE];

/// Whether a name is one file's or folder's on every platform: letters, digits, `-`, `_` and dots
/// within it, none of the names that Windows keeps for devices.
///
/// Source: Microsoft, "Naming Files, Paths, and Namespaces" (from memory, check).
pub fn is_plain(name: &str) -> bool {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let stem = name.split('.').next().unwrap_or("").to_ascii_uppercase();
    let numbered = |word: &str| {
        stem.strip_prefix(word)
            .is_some_and(|rest| rest.len() == 1 && rest.bytes().all(|digit| digit.is_ascii_digit()))
    };
    let device = matches!(stem.as_str(), "CON" | "PRN" | "AUX" | "NUL")
        || numbered("COM")
        || numbered("LPT");
    (1..=NAME_MOST).contains(&name.len())
        && name.chars().all(allowed)
        && !name.starts_with('.')
        && !name.ends_with('.')
        && !device
}

/// At most 60 characters, none of them control characters.
pub fn brief(text: &str) -> String {
    let shown = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    text.chars().take(60).map(shown).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_names_are_names() {
        for good in [
            "2026-03-02T173000Z",
            "session.json",
            "a.b-c_2",
            "comma",
            "com10",
        ] {
            assert!(is_plain(good), "{good}");
        }
        for bad in [
            "",
            ".",
            "..",
            ".hidden",
            "a/b",
            "a\\b",
            "C:",
            "end.",
            "a b",
            "\u{e9}",
            "nul",
            "NUL.txt",
            "com1",
            "Lpt9.csv",
            "a\0b",
            "a\nb",
            &"x".repeat(65),
        ] {
            assert!(!is_plain(bad), "{bad:?}");
        }
    }
}
