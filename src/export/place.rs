//! Where an export goes: a new or empty folder, or a new file. Nothing that is there is touched, and
//! an export is there as a whole or not at all.

use std::fs::{DirBuilder, File, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use super::ExportError;

/// The error of a failed writing.
pub(super) fn unwritable(path: &Path) -> impl Fn(io::Error) -> ExportError {
    let path = path.to_owned();
    move |source| ExportError::Unwritable {
        path: path.clone(),
        source,
    }
}

/// A folder that is being filled aside, within the one that it will fill.
#[derive(Debug)]
pub(super) struct NewFolder {
    path: PathBuf,
    aside: PathBuf,
    made: bool,
}

impl NewFolder {
    /// Begins to fill a folder that is not there yet or is empty.
    ///
    /// # Errors
    /// [`ExportError::Taken`], [`ExportError::Unwritable`].
    pub(super) fn begin(path: &Path) -> Result<NewFolder, ExportError> {
        let made = match std::fs::read_dir(path) {
            Ok(entries) => {
                if entries.take(1).count() > 0 {
                    return Err(ExportError::Taken {
                        path: path.to_owned(),
                    });
                }
                false
            }
            Err(error) if error.kind() == io::ErrorKind::NotFound => true,
            Err(error) if error.kind() != io::ErrorKind::NotADirectory => {
                return Err(unwritable(path)(error));
            }
            _ => {
                return Err(ExportError::Taken {
                    path: path.to_owned(),
                });
            }
        };
        if made {
            create_folder(path)?;
        }
        let aside = path.join(format!(".{}.part", std::process::id()));
        let folder = NewFolder {
            path: path.to_owned(),
            aside,
            made,
        };
        create_folder(&folder.aside)?;
        Ok(folder)
    }

    /// A new file of the folder.
    ///
    /// # Errors
    /// [`ExportError::Unwritable`].
    pub(super) fn file(&self, name: &Path) -> Result<(PathBuf, File), ExportError> {
        let path = self.aside.join(name);
        if let Some(within) = path.parent() {
            create_folder(within)?;
        }
        let file = create(&path).map_err(unwritable(&path))?;
        Ok((path, file))
    }

    /// Puts what was written in its place.
    ///
    /// # Errors
    /// [`ExportError::Taken`] where something has come there meanwhile;
    /// [`ExportError::Unwritable`].
    pub(super) fn finish(self) -> Result<(), ExportError> {
        let entries = std::fs::read_dir(&self.aside).map_err(unwritable(&self.aside))?;
        let names: Result<Vec<_>, _> = entries.map(|entry| Ok(entry?.file_name())).collect();
        for name in names.map_err(unwritable(&self.aside))? {
            let path = self.path.join(&name);
            if path.symlink_metadata().is_ok() {
                return Err(ExportError::Taken { path });
            }
            std::fs::rename(self.aside.join(&name), &path).map_err(unwritable(&path))?;
        }
        Ok(())
    }
}

impl Drop for NewFolder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.aside);
        if self.made {
            // Only where it is empty: nothing was finished.
            let _ = std::fs::remove_dir(&self.path);
        }
    }
}

/// A file that is being written aside.
#[derive(Debug)]
pub(super) struct NewFile {
    path: PathBuf,
    aside: PathBuf,
    out: Option<BufWriter<File>>,
}

impl NewFile {
    /// Begins a file that is not there yet.
    ///
    /// # Errors
    /// [`ExportError::Taken`], [`ExportError::Unwritable`].
    pub(super) fn begin(path: &Path) -> Result<NewFile, ExportError> {
        if path.symlink_metadata().is_ok() {
            return Err(ExportError::Taken {
                path: path.to_owned(),
            });
        }
        if let Some(within) = path
            .parent()
            .filter(|within| !within.as_os_str().is_empty())
        {
            create_folder(within)?;
        }
        let mut name = path.file_name().unwrap_or_default().to_owned();
        name.push(format!(".{}.part", std::process::id()));
        let aside = path.with_file_name(name);
        let out = create(&aside).map_err(unwritable(&aside))?;
        Ok(NewFile {
            path: path.to_owned(),
            aside,
            out: Some(BufWriter::new(out)),
        })
    }

    /// Writes a part of it.
    ///
    /// # Errors
    /// [`ExportError::Unwritable`].
    pub(super) fn write(&mut self, text: &[u8]) -> Result<(), ExportError> {
        match &mut self.out {
            Some(out) => out.write_all(text).map_err(unwritable(&self.path)),
            None => Ok(()),
        }
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// [`ExportError::Taken`] where something has come there meanwhile;
    /// [`ExportError::Unwritable`].
    pub(super) fn finish(mut self) -> Result<(), ExportError> {
        if let Some(out) = self.out.take() {
            out.into_inner()
                .map_err(io::IntoInnerError::into_error)
                .and_then(|file| file.sync_all())
                .map_err(unwritable(&self.path))?;
        }
        match std::fs::hard_link(&self.aside, &self.path) {
            Ok(()) => Ok(()),
            // Some file systems have no hard links.
            Err(_) if self.path.symlink_metadata().is_err() => {
                std::fs::rename(&self.aside, &self.path).map_err(unwritable(&self.path))
            }
            Err(_) => Err(ExportError::Taken {
                path: self.path.clone(),
            }),
        }
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        self.out = None;
        let _ = std::fs::remove_file(&self.aside);
    }
}

/// Makes a folder and those above it, open to the user alone.
fn create_folder(path: &Path) -> Result<(), ExportError> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path).map_err(unwritable(path))
}

/// A new file, readable by the user alone.
fn create(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}
