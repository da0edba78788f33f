//! A file that is written piece by piece and appears whole or not at all, never over another.

use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::error::RecordingError;
use super::whole_file::{self, Existing};

/// A file being written aside; [`NewFile::finish`] gives it its name. Without that nothing is left
/// of it. Readable by the user alone.
#[derive(Debug)]
pub struct NewFile {
    path: PathBuf,
    aside: PathBuf,
    file: File,
}

impl NewFile {
    /// Begins a file that is not there yet.
    ///
    /// # Errors
    /// [`RecordingError::Exists`]; the errors of writing.
    pub fn begin(path: &Path) -> Result<NewFile, RecordingError> {
        if path.symlink_metadata().is_ok() {
            return Err(RecordingError::Exists {
                path: path.to_owned(),
            });
        }
        let aside = whole_file::aside_of(path);
        let file = whole_file::create_aside(&aside)
            .map_err(|error| RecordingError::writing(path, error))?;
        Ok(NewFile {
            path: path.to_owned(),
            aside,
            file,
        })
    }

    /// Where it will be.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Puts it on the disk under its name.
    ///
    /// # Errors
    /// [`RecordingError::Exists`] where somebody was quicker; the errors of writing.
    pub fn finish(self) -> Result<(), RecordingError> {
        let named = self
            .file
            .sync_all()
            .and_then(|()| whole_file::name(&self.aside, &self.path, Existing::Refuse));
        named.map_err(|error| RecordingError::writing(&self.path, error))?;
        whole_file::sync_folder(whole_file::above(&self.path));
        Ok(())
    }
}

impl Write for NewFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Drop for NewFile {
    fn drop(&mut self) {
        // After a link it is a second name, after a rename it is gone already.
        let _ = std::fs::remove_file(&self.aside);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn it_appears_whole_or_not_at_all_and_never_over_another() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        let mut file = NewFile::begin(&path).unwrap();
        file.write_all(b"half").unwrap();
        assert!(!path.exists());
        drop(file);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
        let mut file = NewFile::begin(&path).unwrap();
        file.write_all(b"whole").unwrap();
        file.finish().unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"whole");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
        let again = NewFile::begin(&path).unwrap_err();
        assert!(matches!(again, RecordingError::Exists { .. }));
        let other = folder.path().join("b");
        let mut file = NewFile::begin(&other).unwrap();
        file.write_all(b"late").unwrap();
        std::fs::write(&other, b"first").unwrap();
        let late = file.finish().unwrap_err();
        assert!(matches!(late, RecordingError::Exists { .. }), "{late}");
        assert_eq!(std::fs::read(&other).unwrap(), b"first");
    }
}
