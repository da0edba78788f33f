//! All of a patient into one plain file, back from it, and out of a store.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use super::error::{HandoverError, unreadable, unwritable};
use super::manifest::{Kind, Manifest, brief};
use super::pack::Packing;
use super::place::{Placed, place};
use super::unpack::{self, Expected, Unpacked};
use crate::recording::{self, NewFile, PatientCode, Store};

/// The sessions of a patient in words, for the question before something is done.
///
/// # Errors
/// Those of [`Store::session_folders`].
pub fn extent(store: &Store, patient: &PatientCode) -> Result<String, HandoverError> {
    let folders = store.session_folders(patient)?;
    let name = |folder: Option<&PathBuf>| {
        folder
            .and_then(|folder| folder.file_name())
            .map(|name| brief(&name.to_string_lossy()))
    };
    Ok(
        match (folders.len(), name(folders.first()), name(folders.last())) {
            (0, ..) => "no session".to_owned(),
            (1, Some(only), _) => format!("1 session, {only}"),
            (count, Some(first), Some(last)) => format!("{count} sessions, {first} to {last}"),
            (count, ..) => format!("{count} sessions"),
        },
    )
}

/// What was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackedUp {
    /// Sessions in it.
    pub session_count: usize,
    /// What lies in the patient's folder and is not in it: links, folders that are no sessions.
    pub left_out: Vec<String>,
}

/// Writes all of a patient but what is computed from the recordings to a new file: a tar archive that
/// anybody who has it can read.
///
/// # Errors
/// The patient is unknown; something cannot be read, or has a name that does not travel; the file is
/// there already or cannot be written.
pub fn backup(store: &Store, patient: &PatientCode, out: &Path) -> Result<BackedUp, HandoverError> {
    let packing = Packing::backup(store, patient)?;
    let mut file = NewFile::begin(out)?;
    packing.write(&mut file, out)?;
    file.finish()?;
    Ok(BackedUp {
        session_count: packing.manifest.sessions.len(),
        left_out: packing.left_out,
    })
}

fn expected<'a>(path: &'a Path, patient: Option<&'a PatientCode>) -> Expected<'a> {
    Expected {
        kind: Kind::Backup,
        patient,
        path,
    }
}

/// The list of a backup, for the question before it is restored.
///
/// # Errors
/// As [`restore`], of the list alone.
pub fn backup_list(path: &Path) -> Result<Manifest, HandoverError> {
    let file = File::open(path).map_err(|said| unreadable(path, said))?;
    unpack::list(BufReader::new(file), &expected(path, None))
}

/// Puts a backup back into a store; what is there already stays as it is.
///
/// # Errors
/// The file is no backup, is damaged, of a later program, of another patient: the store is as it was.
/// Writing failed.
pub fn restore(store: &Store, path: &Path, patient: &PatientCode) -> Result<Placed, HandoverError> {
    let file = File::open(path).map_err(|said| unreadable(path, said))?;
    sweep(store);
    let unpacked = Unpacked::read(BufReader::new(file), store, &expected(path, Some(patient)))?;
    place(&unpacked, store)
}

/// Removes all of a patient from a store. It is out of the store at once; its files are gone when this
/// returns.
///
/// # Errors
/// The patient is unknown; [`HandoverError::Link`]; [`HandoverError::Unremovable`] names what is left.
pub fn remove(store: &Store, patient: &PatientCode) -> Result<(), HandoverError> {
    let folder = store.patient_folder(patient)?;
    let kind = folder
        .symlink_metadata()
        .map_err(|said| unreadable(&folder, said))?;
    if !kind.is_dir() {
        return Err(HandoverError::Link { path: folder });
    }
    let name = super::fresh_name().map_err(|said| unwritable(&folder, said))?;
    let aside = store.root().join(format!("{REMOVED}{name}"));
    std::fs::rename(&folder, &aside).map_err(|said| unwritable(&folder, said))?;
    recording::sync_folder(store.root());
    std::fs::remove_dir_all(&aside)
        .map_err(|said| HandoverError::Unremovable { path: aside, said })?;
    recording::sync_folder(store.root());
    Ok(())
}

/// What the name of a folder begins with that is being removed.
const REMOVED: &str = ".removed-";

/// A folder aside that is older is one that a crash left behind, seconds: an hour.
const LEFT_BEHIND_S: u64 = 3600;

/// Removes what a crash left behind within the store: what was to be removed, and what was unpacked.
pub fn sweep(store: &Store) {
    let Ok(entries) = std::fs::read_dir(store.root()) else {
        return;
    };
    let old = |path: &PathBuf| {
        let modified = path.metadata().and_then(|metadata| metadata.modified());
        modified
            .ok()
            .and_then(|modified| modified.elapsed().ok())
            .is_some_and(|age| age.as_secs() > LEFT_BEHIND_S)
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.starts_with(REMOVED) || (name.starts_with(unpack::ASIDE) && old(&path)) {
            let _ = std::fs::remove_dir_all(&path);
        }
    }
}
