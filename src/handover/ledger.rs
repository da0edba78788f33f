//! What was saved for a clinic so far: for each key the sessions, and how long their files were. It lies
//! beside the sessions; without it everything is saved once more, which the clinic's side passes over.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::key::PublicKey;
use super::manifest::RECORDED;
use crate::recording::{self, RecordingError};

const FILE: &str = "handed-over.json";
const FORMAT: &str = "carpotempo-handed-over";
const VERSION: u64 = 1;
/// The longest that is read, bytes.
const FILE_MOST: u64 = 16 << 20;

/// Lengths of a session's files, bytes: they are only ever appended, so a change shows in them.
type Lengths = BTreeMap<String, u64>;

/// The record.
#[derive(Debug, Serialize, Deserialize)]
pub struct Ledger {
    format: String,
    version: u64,
    /// By public key and session.
    saved: BTreeMap<String, BTreeMap<String, Lengths>>,
}

impl Ledger {
    /// Reads a patient's; an empty one where there is none that can be read.
    pub fn read(patient_folder: &Path) -> Ledger {
        let mut text = Vec::new();
        let read = File::open(patient_folder.join(FILE))
            .and_then(|file| file.take(FILE_MOST).read_to_end(&mut text));
        read.ok()
            .and_then(|_| serde_json::from_slice(&text).ok())
            .filter(|ledger: &Ledger| ledger.format == FORMAT && ledger.version == VERSION)
            .unwrap_or(Ledger {
                format: FORMAT.to_owned(),
                version: VERSION,
                saved: BTreeMap::new(),
            })
    }

    /// Whether a session was saved to that key as it is now.
    pub fn has(&self, key: &PublicKey, name: &str, folder: &Path) -> bool {
        let saved = self.saved.get(&key.to_string());
        saved.and_then(|sessions| sessions.get(name)) == Some(&lengths(folder))
    }

    /// Adds a session that was saved when its files were so long.
    pub fn add(&mut self, key: &PublicKey, name: &str, lengths: Lengths) {
        let sessions = self.saved.entry(key.to_string()).or_default();
        sessions.insert(name.to_owned(), lengths);
    }

    /// Writes it.
    ///
    /// # Errors
    /// The errors of writing.
    pub fn write(&self, patient_folder: &Path) -> Result<(), RecordingError> {
        let path = patient_folder.join(FILE);
        let text = serde_json::to_vec(self)
            .map_err(|error| RecordingError::writing(&path, error.into()))?;
        recording::write_small(&path, &text)
    }
}

fn lengths(folder: &Path) -> Lengths {
    let length = |name: &&str| {
        let metadata = folder.join(name).metadata().ok()?;
        Some(((*name).to_owned(), metadata.len()))
    };
    RECORDED.iter().filter_map(length).collect()
}
