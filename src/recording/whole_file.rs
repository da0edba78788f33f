//! Files and folders private to the user; files that are whole or absent.

use std::fs::{DirBuilder, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use super::error::RecordingError;

/// Creates a file that is not there yet, readable by the user alone, with its first line: the file
/// appears with all of it, on the disk, or not at all. What is written to it is appended.
pub(super) fn create_with(path: &Path, first: &[u8]) -> Result<File, RecordingError> {
    let aside = aside_of(path);
    let created = (|| -> io::Result<File> {
        let mut file = private_file(OpenOptions::new().append(true).create_new(true), &aside)?;
        file.write_all(first)?;
        file.sync_all()?;
        name(&aside, path, Existing::Refuse)?;
        Ok(file)
    })();
    let _ = std::fs::remove_file(&aside);
    let file = created.map_err(|error| RecordingError::writing(path, error))?;
    sync_folder(path.parent().unwrap_or(Path::new(".")));
    Ok(file)
}

/// Opens a file that is not there yet, readable by the user alone whatever the umask.
fn private_file(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    let file = options.open(path)?;
    #[cfg(unix)]
    file.set_permissions(std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    Ok(file)
}

/// Creates a folder and those above it, where they are missing, open to the user alone whatever the
/// umask; their names are on the disk.
///
/// # Errors
/// The errors of writing.
pub fn create_folder(path: &Path) -> Result<(), RecordingError> {
    let mut missing: Vec<&Path> = path
        .ancestors()
        .take_while(|above| !above.as_os_str().is_empty() && !above.exists())
        .collect();
    missing.reverse();
    for folder in missing {
        private_folder(folder).map_err(|error| RecordingError::writing(folder, error))?;
        let above = folder
            .parent()
            .filter(|above| !above.as_os_str().is_empty());
        sync_folder(above.unwrap_or(Path::new(".")));
    }
    if path.is_dir() {
        Ok(())
    } else {
        // A file, or a folder above that is one.
        let error = io::Error::from(io::ErrorKind::NotADirectory);
        Err(RecordingError::writing(path, error))
    }
}

fn private_folder(path: &Path) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    match builder.create(path) {
        // Somebody else was quicker.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && path.is_dir() => {
            return Ok(());
        }
        created => created?,
    }
    #[cfg(unix)]
    std::fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(0o700))?;
    Ok(())
}

/// Whether an existing file may be replaced.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Existing {
    Replace,
    Refuse,
}

/// Writes a file aside, syncs it and renames it: whoever looks sees all of it or nothing.
pub(super) fn write(path: &Path, text: &[u8], existing: Existing) -> Result<(), RecordingError> {
    let aside = aside_of(path);
    let written = (|| -> io::Result<()> {
        let mut file = create_aside(&aside)?;
        file.write_all(text)?;
        file.sync_all()?;
        name(&aside, path, existing)
    })();
    // After a rename it is gone; after a link or a failure it is in the way.
    let _ = std::fs::remove_file(&aside);
    written.map_err(|error| RecordingError::writing(path, error))?;
    sync_folder(path.parent().unwrap_or(Path::new(".")));
    Ok(())
}

/// Gives a file that was written aside its name.
pub(super) fn name(aside: &Path, path: &Path, existing: Existing) -> io::Result<()> {
    match existing {
        Existing::Replace => std::fs::rename(aside, path),
        // A hard link fails where the name is taken; a rename would overwrite.
        Existing::Refuse => match std::fs::hard_link(aside, path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
            // Some file systems have no hard links.
            Err(_) if !path.exists() => std::fs::rename(aside, path),
            linked => linked,
        },
    }
}

/// Writes a small file aside and puts it on the disk: one of that name is replaced at once, or left
/// as it was.
///
/// # Errors
/// The errors of writing.
pub fn write_small(path: &Path, text: &[u8]) -> Result<(), RecordingError> {
    write(path, text, Existing::Replace)
}

/// Writes a file that can be made again (a chart, a table): wholly there or not at all, readable
/// by the user alone, not synced. One of that name is replaced.
///
/// # Errors
/// Those of the system.
pub fn write_derived(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let aside = aside_of(path);
    let written = create_aside(&aside)
        .and_then(|mut file| file.write_all(bytes))
        .and_then(|()| std::fs::rename(&aside, path));
    if written.is_err() {
        let _ = std::fs::remove_file(&aside);
    }
    written
}

/// A name beside a file that nobody else uses.
pub(super) fn aside_of(path: &Path) -> PathBuf {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let mut name = path.file_name().unwrap_or_default().to_owned();
    let nth = COUNT.fetch_add(1, Ordering::Relaxed);
    name.push(format!(".{}-{nth}.part", std::process::id()));
    path.with_file_name(name)
}

pub(super) fn create_aside(path: &Path) -> io::Result<File> {
    private_file(OpenOptions::new().write(true).create_new(true), path)
}

/// The folder that a path lies in.
pub fn above(path: &Path) -> &Path {
    path.parent()
        .filter(|above| !above.as_os_str().is_empty())
        .unwrap_or(Path::new("."))
}

/// Makes the names in a folder last through a power cut, where the system can.
pub fn sync_folder(folder: &Path) {
    if cfg!(unix)
        && let Ok(folder) = File::open(folder)
    {
        let _ = folder.sync_all();
    }
}
