//! An archive into a folder aside, everything checked, before a store is touched.
//!
//! Ours. Entries have to come as listed: name, kind, length, hash. Extensions of the tar format are
//! not followed, so no header can make a name, a link or memory grow.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use tar::{Archive, Entries, EntryType};

use super::error::HandoverError;
use super::manifest::{Kind, LIST_MOST, Listed, MANIFEST_FILE, Manifest, brief};
use super::pack::{entry_name, hex};
use super::padding::STEP_MOST;
use crate::recording::{self, NewFile, PatientCode, RecordingError, Store};

/// Zeros that may follow the last entry, bytes: tar pads to blocks of its own choice, and a sealed
/// file to steps.
const PADDING_MOST: u64 = STEP_MOST;

/// Sessions that were read, checked, and lie in a folder aside. Dropping it removes them.
#[derive(Debug)]
pub struct Unpacked {
    /// The list.
    pub manifest: Manifest,
    folder: PathBuf,
}

/// What is expected of an archive.
#[derive(Debug, Clone, Copy)]
pub struct Expected<'a> {
    /// What it is for.
    pub kind: Kind,
    /// Whose it is to be, where that is known.
    pub patient: Option<&'a PatientCode>,
    /// The archive's file, for messages.
    pub path: &'a Path,
}

impl Expected<'_> {
    fn refused(&self, said: impl Into<String>) -> HandoverError {
        HandoverError::Refused {
            path: self.path.to_owned(),
            said: said.into(),
        }
    }

    fn damaged(&self, said: &io::Error) -> HandoverError {
        let said = match said.kind() {
            io::ErrorKind::UnexpectedEof => "it ends too early".to_owned(),
            _ => brief(&said.to_string()),
        };
        HandoverError::Damaged {
            path: self.path.to_owned(),
            said,
        }
    }

    fn foreign(&self, said: &str) -> HandoverError {
        HandoverError::Foreign {
            path: self.path.to_owned(),
            said: said.to_owned(),
        }
    }
}

/// Reads only the list of an archive.
///
/// # Errors
/// As [`Unpacked::read`] of the list.
pub fn list(source: impl Read, expected: &Expected<'_>) -> Result<Manifest, HandoverError> {
    let mut archive = Archive::new(source);
    let entries = archive.entries().map_err(|said| expected.damaged(&said))?;
    manifest(&mut entries.raw(true), expected)
}

impl Unpacked {
    /// Reads an archive to its very end into a folder aside within the store, and checks all of it.
    ///
    /// # Errors
    /// [`HandoverError::Foreign`], [`HandoverError::Newer`], [`HandoverError::Damaged`],
    /// [`HandoverError::Refused`], [`HandoverError::OtherPatient`]; writing failed. Nothing is left.
    pub fn read(
        mut source: impl Read,
        store: &Store,
        expected: &Expected<'_>,
    ) -> Result<Unpacked, HandoverError> {
        let mut archive = Archive::new(&mut source);
        let entries = archive.entries().map_err(|said| expected.damaged(&said))?;
        let mut entries = entries.raw(true);
        let manifest = manifest(&mut entries, expected)?;
        let unpacked = Unpacked {
            folder: aside(store)?,
            manifest,
        };
        for (session, file) in unpacked.manifest.entries() {
            unpacked.take(&mut entries, session, file, expected)?;
        }
        match entries.next() {
            None => {}
            Some(Ok(_)) => return Err(expected.refused("there is more in it than its list names")),
            Some(Err(said)) => return Err(expected.damaged(&said)),
        }
        // To the end: only there a sealed file shows that it was not cut.
        ends(&mut source, expected)?;
        unpacked.check_heads(expected)?;
        Ok(unpacked)
    }

    fn take<R: Read>(
        &self,
        entries: &mut Entries<'_, R>,
        session: Option<&str>,
        file: &Listed,
        expected: &Expected<'_>,
    ) -> Result<(), HandoverError> {
        let name = entry_name(session, &file.name);
        let early = || io::Error::from(io::ErrorKind::UnexpectedEof);
        let entry = entries.next().unwrap_or_else(|| Err(early()));
        let mut entry = entry.map_err(|said| expected.damaged(&said))?;
        let header = entry.header();
        let as_listed = entry.path_bytes().as_ref() == name.as_bytes()
            && header.entry_type() == EntryType::Regular
            && header.entry_size().ok() == Some(file.size_bytes);
        if !as_listed {
            let found = brief(&String::from_utf8_lossy(&entry.path_bytes()));
            return Err(expected.refused(format!(
                "\"{found}\" is in the place of the file {name} that its list names"
            )));
        }
        let folder = session.map_or(self.folder.clone(), |session| self.folder.join(session));
        recording::create_folder(&folder)?;
        let mut out = NewFile::begin(&folder.join(&file.name))?;
        let (read_bytes, hash) = copied(&mut entry, &mut out, expected)?;
        if read_bytes < file.size_bytes {
            return Err(expected.damaged(&early()));
        }
        if !hash.eq_ignore_ascii_case(&file.sha256) {
            return Err(HandoverError::Damaged {
                path: expected.path.to_owned(),
                said: format!("{name} is not what its list says"),
            });
        }
        Ok(out.finish()?)
    }

    /// Every session is a recording, and of that patient.
    fn check_heads(&self, expected: &Expected<'_>) -> Result<(), HandoverError> {
        for session in &self.manifest.sessions {
            let name = &session.name;
            let head = match recording::head(&self.folder.join(name)) {
                Ok(head) => head,
                // What was broken when it was backed up comes back as it was.
                Err(_) if self.manifest.kind == Kind::Backup => continue,
                Err(RecordingError::NewerVersion {
                    found, known_count, ..
                }) => {
                    return Err(HandoverError::Newer {
                        path: expected.path.to_owned(),
                        found,
                        known_count,
                    });
                }
                Err(_) => {
                    return Err(expected.refused(format!("the session {name} is no recording")));
                }
            };
            if head.patient != self.manifest.patient {
                return Err(expected.refused(format!("the session {name} is of another patient")));
            }
        }
        Ok(())
    }

    /// Where a session lies, or the patient's own files.
    pub fn folder(&self, session: Option<&str>) -> PathBuf {
        session.map_or(self.folder.clone(), |session| self.folder.join(session))
    }
}

impl Drop for Unpacked {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// The first entry.
fn manifest<R: Read>(
    entries: &mut Entries<'_, R>,
    expected: &Expected<'_>,
) -> Result<Manifest, HandoverError> {
    let entry = match entries.next() {
        Some(Ok(entry)) => entry,
        // Behind a seal that is whole lies an archive, so it is the seal.
        Some(Err(said))
            if said.kind() == io::ErrorKind::UnexpectedEof || expected.kind == Kind::Handover =>
        {
            return Err(expected.damaged(&said));
        }
        Some(Err(_)) => return Err(expected.foreign("it is no archive")),
        None => return Err(expected.foreign("it is empty")),
    };
    let is_list = entry.path_bytes().as_ref() == MANIFEST_FILE.as_bytes()
        && entry.header().entry_type() == EntryType::Regular;
    if !is_list {
        return Err(expected.foreign("it does not begin with a list"));
    }
    if entry.size() > LIST_MOST {
        return Err(expected.refused("its list is too long"));
    }
    let long_bytes = entry.size();
    let mut text = Vec::new();
    let read = entry.take(LIST_MOST).read_to_end(&mut text);
    read.map_err(|said| expected.damaged(&said))?;
    if (text.len() as u64) < long_bytes {
        return Err(expected.damaged(&io::ErrorKind::UnexpectedEof.into()));
    }
    let manifest = Manifest::read(&text, expected.path)?;
    if manifest.kind != expected.kind {
        return Err(expected.refused(match manifest.kind {
            Kind::Backup => "it is a backup: `carpotempo store restore` opens it",
            Kind::Handover => "it was sealed for a clinic: `carpotempo handover open` opens it",
        }));
    }
    if let Some(patient) = expected.patient
        && *patient != manifest.patient
    {
        return Err(HandoverError::OtherPatient {
            path: expected.path.to_owned(),
            found: manifest.patient,
            expected: patient.clone(),
        });
    }
    Ok(manifest)
}

/// Copies in pieces; length and hash of what was copied.
fn copied(
    source: &mut impl Read,
    out: &mut NewFile,
    expected: &Expected<'_>,
) -> Result<(u64, String), HandoverError> {
    let mut hash = Sha256::new();
    let mut read_bytes = 0;
    let mut piece = vec![0; 64 << 10];
    loop {
        let count = match source.read(&mut piece) {
            Ok(0) => return Ok((read_bytes, hex(hash))),
            Ok(count) => count,
            Err(said) if said.kind() == io::ErrorKind::Interrupted => continue,
            Err(said) => return Err(expected.damaged(&said)),
        };
        let bytes = piece.get(..count).unwrap_or_default();
        read_bytes += count as u64;
        hash.update(bytes);
        out.write_all(bytes)
            .map_err(|said| super::error::unwritable(out.path(), said))?;
    }
}

/// Nothing but padding follows.
fn ends(source: &mut impl Read, expected: &Expected<'_>) -> Result<(), HandoverError> {
    let mut piece = [0; 4096];
    let mut seen_bytes: u64 = 0;
    loop {
        let count = match source.read(&mut piece) {
            Ok(0) => return Ok(()),
            Ok(count) => count,
            Err(said) if said.kind() == io::ErrorKind::Interrupted => continue,
            Err(said) => return Err(expected.damaged(&said)),
        };
        seen_bytes += count as u64;
        let zeros = piece.iter().take(count).all(|byte| *byte == 0);
        if !zeros || seen_bytes > PADDING_MOST {
            return Err(expected.refused("something follows its end"));
        }
    }
}

/// A new folder within the store that no patient's can be: a dot is in no code.
fn aside(store: &Store) -> Result<PathBuf, HandoverError> {
    recording::create_folder(store.root())?;
    let name = super::fresh_name().map_err(|said| super::error::unwritable(store.root(), said))?;
    let folder = store.root().join(format!("{ASIDE}{name}"));
    recording::create_folder(&folder)?;
    Ok(folder)
}

/// What the name of a folder aside begins with.
pub const ASIDE: &str = ".incoming-";
