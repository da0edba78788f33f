//! What the page's button does: sessions sealed into a folder that the person finds again.

use std::path::{Path, PathBuf};
use std::sync::Mutex;

use crate::handover::{Chosen, HandoverError, PublicKey, save};
use crate::page::Saving;
use crate::recording::{PatientCode, Store};

/// The folder's name.
const FOLDER: &str = "For my clinic";

/// The folder that is used where none is named: in Documents where there are any, else at home.
pub fn usual_folder() -> PathBuf {
    let home = ["HOME", "USERPROFILE"]
        .iter()
        .filter_map(std::env::var_os)
        .find(|home| !home.is_empty())
        .map_or_else(|| PathBuf::from("."), PathBuf::from);
    let documents = home.join("Documents");
    let above = if documents.is_dir() { documents } else { home };
    above.join(FOLDER)
}

/// Saves what is new, or all again, one press after the other.
pub fn saver(
    store: Store,
    patient: PatientCode,
    key: PublicKey,
    folder: PathBuf,
) -> impl Fn(bool) -> Saving + Send + Sync + 'static {
    let one_at_a_time = Mutex::new(());
    move |all| {
        let _turn = one_at_a_time.lock();
        let chosen = if all {
            Chosen::All
        } else {
            Chosen::SinceLastTime
        };
        match save(&store, &patient, &key, &chosen, &folder) {
            Ok(saved) => Saving::Saved {
                sessions: saved.sessions.len(),
                file: shown(saved.path.file_name().map(Path::new)),
                folder: shown(std::path::absolute(&folder).ok().as_deref()),
            },
            Err(HandoverError::Nothing { .. }) => Saving::Nothing,
            Err(error) => Saving::Failed {
                why: error.to_string(),
            },
        }
    }
}

fn shown(path: Option<&Path>) -> String {
    path.map_or(String::new(), |path| path.display().to_string())
}
