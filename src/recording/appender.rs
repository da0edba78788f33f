//! A file that grows by whole rows.

use std::fs::File;
use std::io::{self, Write};
use std::path::PathBuf;

use super::error::RecordingError;
use super::whole_file;

/// Rows that wait for a disk that takes none, at most, in bytes: about five minutes.
pub(super) const LONGEST_BACKLOG: usize = 8 << 20;

/// A file that grows by whole rows; it appears, with its header, at the first row.
///
/// A failed write keeps the rows and tries them again with the next. What a full disk took of a row
/// is cut off again, so that a reader sees whole rows alone, but for a power cut.
#[derive(Debug)]
pub(super) struct Appender {
    pub(super) path: PathBuf,
    file: Option<File>,
    /// Bytes in the file.
    length: u64,
    pending: Vec<u8>,
    header: String,
}

impl Appender {
    pub(super) fn new(path: PathBuf, header: &str) -> Appender {
        Appender {
            path,
            file: None,
            length: 0,
            pending: Vec::new(),
            header: header.to_owned() + "\n",
        }
    }

    /// Where the next row is to be written.
    pub(super) fn row(&mut self) -> Result<&mut Vec<u8>, RecordingError> {
        if self.pending.len() > LONGEST_BACKLOG {
            return Err(RecordingError::Backlog {
                path: self.path.clone(),
            });
        }
        Ok(&mut self.pending)
    }

    /// Whether no row was ever given.
    pub(super) fn is_empty(&self) -> bool {
        self.file.is_none() && self.pending.is_empty()
    }

    /// Hands the rows to the operating system.
    pub(super) fn flush(&mut self) -> Result<(), RecordingError> {
        if self.pending.is_empty() {
            return Ok(());
        }
        if self.file.is_none() {
            let file = whole_file::create_with(&self.path, self.header.as_bytes())?;
            self.file = Some(file);
            self.length = self.header.len() as u64;
        }
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        let mut written = 0;
        let result = loop {
            let rest = self.pending.get(written..).unwrap_or_default();
            if rest.is_empty() {
                break Ok(());
            }
            match file.write(rest) {
                Ok(0) => break Err(io::Error::from(io::ErrorKind::WriteZero)),
                Ok(count) => written += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => break Err(error),
            }
        };
        if result.is_err() {
            let taken = self.pending.get(..written).unwrap_or_default();
            let whole = taken
                .iter()
                .rposition(|byte| *byte == b'\n')
                .map_or(0, |end| end + 1);
            // Where it cannot be cut off, the rest of the row follows with the next write.
            if whole < written && file.set_len(self.length + whole as u64).is_ok() {
                written = whole;
            }
        }
        self.length += written as u64;
        self.pending.drain(..written);
        result.map_err(|error| RecordingError::writing(&self.path, error))
    }

    /// Puts what was handed over on the disk.
    pub(super) fn sync(&mut self) -> Result<(), RecordingError> {
        match &self.file {
            Some(file) => file
                .sync_data()
                .map_err(|error| RecordingError::writing(&self.path, error)),
            None => Ok(()),
        }
    }

    /// Another handle of the file, once there is one.
    pub(super) fn handle(&self) -> io::Result<Option<File>> {
        self.file.as_ref().map(File::try_clone).transpose()
    }

    /// Whether the file written is still the one of that name.
    pub(super) fn check_in_place(&self) -> Result<(), RecordingError> {
        let Some(file) = &self.file else {
            return Ok(());
        };
        if is_the_same(file, &self.path) {
            Ok(())
        } else {
            Err(RecordingError::Gone {
                path: self.path.clone(),
            })
        }
    }

    #[cfg(test)]
    pub(super) fn write_to(&mut self, file: Option<File>) {
        self.file = file;
    }
}

#[cfg(unix)]
fn is_the_same(file: &File, path: &std::path::Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), path.symlink_metadata()) {
        (Ok(open), Ok(named)) => (open.dev(), open.ino()) == (named.dev(), named.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_the_same(_file: &File, path: &std::path::Path) -> bool {
    path.exists()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// The kernel's full device stands for a full disk. Source: the manual page full(4).
    #[cfg(target_os = "linux")]
    #[test]
    fn a_full_disk_is_named_and_its_rows_are_written_when_there_is_room() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("samples.csv");
        let mut appender = Appender::new(path.clone(), "a,b");
        let full = std::fs::OpenOptions::new()
            .write(true)
            .open("/dev/full")
            .unwrap();
        appender.row().unwrap().extend_from_slice(b"1,2\n");
        appender.write_to(Some(full));
        for _ in 0..2 {
            let error = appender.flush().unwrap_err();
            assert!(matches!(error, RecordingError::DiskFull { .. }), "{error}");
        }
        appender.write_to(None);
        appender.row().unwrap().extend_from_slice(b"3,4\n");
        appender.flush().unwrap();
        assert_eq!(std::fs::read_to_string(path).unwrap(), "a,b\n1,2\n3,4\n");
    }

    #[test]
    fn what_waits_for_a_disk_is_bounded() {
        let folder = tempfile::tempdir().unwrap();
        let mut appender = Appender::new(folder.path().join("gone/samples.csv"), "a");
        let row = [b'x'; 1000];
        let taken = (0..20_000).take_while(|_| match appender.row() {
            Ok(pending) => {
                pending.extend_from_slice(&row);
                true
            }
            Err(_) => false,
        });
        assert_eq!(taken.count(), LONGEST_BACKLOG / 1000 + 1);
        assert!(appender.flush().is_err());
    }

    #[test]
    fn a_file_that_was_moved_or_replaced_is_noticed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("samples.csv");
        let aside = folder.path().join("aside.csv");
        let mut appender = Appender::new(path.clone(), "a");
        appender.check_in_place().unwrap();
        appender.row().unwrap().extend_from_slice(b"1\n");
        appender.flush().unwrap();
        appender.check_in_place().unwrap();
        std::fs::rename(&path, &aside).unwrap();
        assert!(matches!(
            appender.check_in_place(),
            Err(RecordingError::Gone { .. })
        ));
        std::fs::rename(&aside, &path).unwrap();
        appender.check_in_place().unwrap();
    }
}
