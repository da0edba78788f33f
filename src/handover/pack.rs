//! Sessions into an archive: a tar file whose first entry is the list.
//!
//! Ours: POSIX.1-2017 `ustar` headers (IEEE Std 1003.1, pax, "ustar Interchange Format"), so that any
//! tar opens a backup. Owners, times and modes are the same for everybody. Every file is read twice,
//! for its hash and for its bytes, in pieces: memory does not grow with it. A session that is still
//! being recorded is taken up to the length it had when it was listed; files are only ever appended.

use std::fs::File;
use std::io::{self, BufReader, Read, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use tar::{Builder, EntryType, Header};

use super::error::{HandoverError, unreadable, unwritable};
use super::manifest::{
    ALL_MOST, FILE_MOST, FILES_MOST, Kind, LIST_MOST, Listed, ListedSession, MANIFEST_FILE,
    Manifest, RECORDED, SESSIONS_MOST, is_plain,
};
use crate::recording::{DERIVED_FILES, PatientCode, SESSION_FILE, Store};

/// What is to be packed.
#[derive(Debug)]
pub struct Packing {
    /// The list.
    pub manifest: Manifest,
    /// Where its files are, in its order.
    paths: Vec<PathBuf>,
    /// What is in the folders and is not packed, in words.
    pub left_out: Vec<String>,
}

impl Packing {
    /// These sessions of a patient, for a clinic.
    ///
    /// # Errors
    /// A file cannot be read; [`HandoverError::TooMuch`], [`HandoverError::Name`].
    pub fn handover(patient: &PatientCode, sessions: &[PathBuf]) -> Result<Packing, HandoverError> {
        let mut packing = Packing::empty(Kind::Handover, patient);
        for folder in sessions {
            packing.session(folder)?;
        }
        packing.bounded()
    }

    /// All of a patient but what is computed from the recordings.
    ///
    /// # Errors
    /// As [`Packing::handover`]; the store cannot be read.
    pub fn backup(store: &Store, patient: &PatientCode) -> Result<Packing, HandoverError> {
        let mut packing = Packing::empty(Kind::Backup, patient);
        let own = store.patient_folder(patient)?;
        let sessions = store.session_folders(patient)?;
        for path in files_of(&own)? {
            if path.is_dir() {
                if !sessions.contains(&path) {
                    packing.left_out.push(shown(&path));
                }
            } else if let Some(listed) = packing.file(&path)? {
                packing.manifest.files.push(listed);
            }
        }
        for folder in &sessions {
            if folder.join(SESSION_FILE).is_file() {
                packing.session(folder)?;
            } else {
                packing.left_out.push(shown(folder));
            }
        }
        packing.bounded()
    }

    fn empty(kind: Kind, patient: &PatientCode) -> Packing {
        Packing {
            manifest: Manifest::new(kind, patient.clone(), Vec::new(), Vec::new()),
            paths: Vec::new(),
            left_out: Vec::new(),
        }
    }

    fn session(&mut self, folder: &Path) -> Result<(), HandoverError> {
        let name = name_of(folder)?;
        let mut files = Vec::new();
        for path in files_of(folder)? {
            files.extend(self.file(&path)?);
        }
        self.manifest.sessions.push(ListedSession { name, files });
        Ok(())
    }

    /// The file as it is listed, where it is packed at all.
    fn file(&mut self, path: &Path) -> Result<Option<Listed>, HandoverError> {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let wanted = match self.manifest.kind {
            Kind::Handover => RECORDED.contains(&&*name),
            Kind::Backup => true,
        };
        // What is written aside has a name that ends in .part.
        if !wanted || DERIVED_FILES.contains(&&*name) || name.ends_with(".part") {
            return Ok(None);
        }
        let kind = path
            .symlink_metadata()
            .map_err(|said| unreadable(path, said))?;
        if !kind.is_file() || name.starts_with('.') {
            self.left_out.push(shown(path));
            return Ok(None);
        }
        let name = name_of(path)?;
        let (size_bytes, sha256) = hashed(path)?;
        self.paths.push(path.to_owned());
        Ok(Some(Listed {
            name,
            size_bytes,
            sha256,
        }))
    }

    /// Whether the other side will take it.
    fn bounded(self) -> Result<Packing, HandoverError> {
        let too_much = |path: &Path, what, limit| {
            Err(HandoverError::TooMuch {
                path: path.to_owned(),
                what,
                limit,
            })
        };
        let list = &self.manifest;
        let mut all_bytes: u64 = 0;
        for ((_, file), path) in list.entries().zip(&self.paths) {
            all_bytes = all_bytes.saturating_add(file.size_bytes);
            if file.size_bytes > FILE_MOST {
                return too_much(path, "is longer", format!("{} GB", FILE_MOST >> 30));
            }
        }
        let whose = Path::new(list.patient.as_str());
        if all_bytes > ALL_MOST {
            return too_much(whose, "there is more", format!("{} GB", ALL_MOST >> 30));
        }
        if list.sessions.len() > SESSIONS_MOST {
            return too_much(whose, "there are more sessions", SESSIONS_MOST.to_string());
        }
        let folders = list.sessions.iter().map(|session| &session.files);
        if folders
            .chain([&list.files])
            .any(|files| files.len() > FILES_MOST)
        {
            return too_much(whose, "a folder has more files", FILES_MOST.to_string());
        }
        Ok(self)
    }

    /// Writes the archive.
    ///
    /// # Errors
    /// [`HandoverError::Changed`] where a file is no longer what was listed; writing failed.
    pub fn write(&self, out: impl Write, to: &Path) -> Result<(), HandoverError> {
        let writing = |said: io::Error| match said.get_ref().and_then(|inner| inner.downcast_ref())
        {
            Some(ChangedFile(path)) => HandoverError::Changed { path: path.clone() },
            None => unwritable(to, said),
        };
        let mut archive = Builder::new(out);
        let text = serde_json::to_vec_pretty(&self.manifest)
            .map_err(|error| unwritable(to, error.into()))?;
        if text.len() as u64 > LIST_MOST {
            return Err(HandoverError::TooMuch {
                path: PathBuf::from(self.manifest.patient.as_str()),
                what: "the list is longer",
                limit: format!("{} MB", LIST_MOST >> 20),
            });
        }
        let head = header(MANIFEST_FILE, text.len() as u64).map_err(writing)?;
        archive.append(&head, text.as_slice()).map_err(writing)?;
        for ((session, file), path) in self.manifest.entries().zip(&self.paths) {
            let name = entry_name(session, &file.name);
            let head = header(&name, file.size_bytes).map_err(writing)?;
            let source = File::open(path).map_err(|said| unreadable(path, said))?;
            let mut source = Checked {
                source: BufReader::new(source.take(file.size_bytes)),
                left_bytes: file.size_bytes,
                hash: Sha256::new(),
                file,
                path,
            };
            archive.append(&head, &mut source).map_err(writing)?;
            // An empty file is never read.
            source.end().map_err(writing)?;
        }
        let mut out = archive.into_inner().map_err(writing)?;
        out.flush().map_err(writing)
    }
}

/// The name of an entry: folders by `/` on every platform.
pub fn entry_name(session: Option<&str>, file: &str) -> String {
    session.map_or_else(|| file.to_owned(), |session| format!("{session}/{file}"))
}

fn header(name: &str, size_bytes: u64) -> io::Result<Header> {
    let mut header = Header::new_ustar();
    header.set_path(name)?;
    header.set_entry_type(EntryType::Regular);
    header.set_size(size_bytes);
    header.set_mode(0o600);
    header.set_uid(0);
    header.set_gid(0);
    header.set_mtime(0);
    header.set_cksum();
    Ok(header)
}

/// A file that is read a second time, and has to be the same.
struct Checked<'a> {
    source: BufReader<io::Take<File>>,
    left_bytes: u64,
    hash: Sha256,
    file: &'a Listed,
    path: &'a Path,
}

#[derive(Debug, thiserror::Error)]
#[error("changed")]
struct ChangedFile(PathBuf);

impl Checked<'_> {
    fn end(&self) -> io::Result<()> {
        if self.left_bytes == 0 && hex(self.hash.clone()) == self.file.sha256 {
            Ok(())
        } else {
            Err(io::Error::other(ChangedFile(self.path.to_owned())))
        }
    }
}

impl Read for Checked<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.source.read(into)?;
        self.hash.update(into.get(..count).unwrap_or_default());
        self.left_bytes = self.left_bytes.saturating_sub(count as u64);
        if count == 0 && !into.is_empty() {
            self.end()?;
        }
        Ok(count)
    }
}

/// Length and hash of a file as long as it is now.
fn hashed(path: &Path) -> Result<(u64, String), HandoverError> {
    let read = || -> io::Result<(u64, String)> {
        let file = File::open(path)?;
        let long_bytes = file.metadata()?.len();
        let mut file = BufReader::new(file.take(long_bytes));
        let mut hash = Sha256::new();
        let read_bytes = io::copy(&mut file, &mut hash)?;
        Ok((read_bytes, hex(hash)))
    };
    read().map_err(|said| unreadable(path, said))
}

/// The hash in hexadecimal digits.
pub fn hex(hash: Sha256) -> String {
    let digits = hash.finalize();
    digits.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What is in a folder, sorted by name.
fn files_of(folder: &Path) -> Result<Vec<PathBuf>, HandoverError> {
    let list = || -> io::Result<Vec<PathBuf>> {
        let mut paths: Vec<PathBuf> = std::fs::read_dir(folder)?
            .map(|entry| entry.map(|entry| entry.path()))
            .collect::<io::Result<_>>()?;
        paths.sort();
        Ok(paths)
    };
    list().map_err(|said| unreadable(folder, said))
}

fn name_of(path: &Path) -> Result<String, HandoverError> {
    let name = path.file_name().and_then(|name| name.to_str());
    name.filter(|name| is_plain(name))
        .map(str::to_owned)
        .ok_or_else(|| HandoverError::Name {
            path: path.to_owned(),
        })
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}
