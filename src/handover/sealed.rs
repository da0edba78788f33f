//! Sessions sealed for a clinic, and opened there.
//!
//! Source: the age file format, v1 (C2SP, age-encryption.org/v1): an ephemeral X25519 key wraps the
//! file's key, the payload is ChaCha20-Poly1305 in pieces of 64 KiB, the last one marked, so that a
//! cut file shows. Its header names neither sender nor receiver. The file's name is chance, its length
//! goes up in steps.

use std::cell::Cell;
use std::fs::File;
use std::io::{self, BufReader, BufWriter, Read};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use age::stream::StreamReader;
use age::{DecryptError, Decryptor, Encryptor};
use jiff::civil::Date;

use super::error::{HandoverError, unreadable, unwritable};
use super::key::{PublicKey, SecretKey};
use super::ledger::Ledger;
use super::manifest::{Kind, brief, is_plain};
use super::pack::Packing;
use super::padding::Padded;
use super::place::{Placed, place};
use super::unpack::{Expected, Unpacked};
use crate::recording::{self, EVENTS_FILE, NewFile, PatientCode, SAMPLES_FILE, Store};

/// What a sealed file begins with, whatever its version.
const MAGIC: &[u8] = b"age-encryption.org/";
/// A header is at most so long, bytes; ours take two hundred.
const HEADER_MOST: u64 = 64 << 10;

/// Which sessions are saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Chosen {
    /// Those that are new or have grown since they were last saved for this clinic.
    SinceLastTime,
    /// All.
    All,
    /// Those that began on that day or later.
    Since(Date),
    /// Those of these names.
    Named(Vec<String>),
}

/// What was saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Saved {
    /// The sealed file.
    pub path: PathBuf,
    /// Sessions in it.
    pub sessions: Vec<String>,
    /// Folders that are no readable sessions of this patient, in words.
    pub left_out: Vec<String>,
}

/// Seals sessions of a patient into a new file in `folder`, which is created where it is missing.
///
/// # Errors
/// [`HandoverError::Nothing`], [`HandoverError::UnknownSession`]; something cannot be read or written.
/// No file is left then.
pub fn save(
    store: &Store,
    patient: &PatientCode,
    key: &PublicKey,
    chosen: &Chosen,
    folder: &Path,
) -> Result<Saved, HandoverError> {
    let own = store.patient_folder(patient)?;
    let mut ledger = Ledger::read(&own);
    let (sessions, left_out) = choose(store, patient, key, chosen, &ledger)?;
    if sessions.is_empty() {
        return Err(HandoverError::Nothing {
            patient: patient.clone(),
            why: match chosen {
                Chosen::SinceLastTime => "nothing was recorded since it was last saved",
                _ => "no session was recorded",
            },
        });
    }
    let packing = Packing::handover(patient, &sessions)?;
    recording::create_folder(folder)?;
    let name = super::fresh_name().map_err(|said| unwritable(folder, said))?;
    let path = folder.join(format!("for-my-clinic-{name}.age"));
    let file = BufWriter::new(NewFile::begin(&path)?);
    let sealing = |said: String| HandoverError::Seal { said };
    let encryptor = Encryptor::with_recipients(std::iter::once(key.recipient() as _))
        .map_err(|error| sealing(error.to_string()))?;
    let writing = |said| unwritable(&path, said);
    let mut sealed = Padded::new(encryptor.wrap_output(file).map_err(writing)?);
    packing.write(&mut sealed, &path)?;
    let sealed = sealed.finish().map_err(writing)?;
    let file = sealed.finish().map_err(writing)?;
    let file = file
        .into_inner()
        .map_err(|error| writing(error.into_error()))?;
    file.finish()?;
    for session in &packing.manifest.sessions {
        let lengths = session.files.iter();
        let lengths = lengths.map(|file| (file.name.clone(), file.size_bytes));
        ledger.add(key, &session.name, lengths.collect());
    }
    ledger.write(&own)?;
    Ok(Saved {
        path,
        sessions: packing
            .manifest
            .sessions
            .into_iter()
            .map(|session| session.name)
            .collect(),
        left_out,
    })
}

/// The folders of the chosen sessions, and those that cannot be saved.
fn choose(
    store: &Store,
    patient: &PatientCode,
    key: &PublicKey,
    chosen: &Chosen,
    ledger: &Ledger,
) -> Result<(Vec<PathBuf>, Vec<String>), HandoverError> {
    let folders = store.session_folders(patient)?;
    let name_of = |folder: &Path| {
        let name = folder.file_name().unwrap_or_default();
        name.to_string_lossy().into_owned()
    };
    if let Chosen::Named(names) = chosen
        && let Some(name) = names
            .iter()
            .find(|name| !folders.iter().any(|folder| name_of(folder) == **name))
    {
        return Err(HandoverError::UnknownSession {
            name: brief(name),
            patient: patient.clone(),
            folder: store.patient_folder(patient)?,
        });
    }
    let (mut sessions, mut left_out) = (Vec::new(), Vec::new());
    for folder in folders {
        let name = name_of(&folder);
        let wanted = match chosen {
            Chosen::SinceLastTime => !ledger.has(key, &name, &folder),
            Chosen::All | Chosen::Since(_) => true,
            Chosen::Named(names) => names.contains(&name),
        };
        let is_begun = [SAMPLES_FILE, EVENTS_FILE]
            .iter()
            .any(|file| folder.join(file).is_file());
        if !wanted || !is_begun {
            continue;
        }
        match recording::head(&folder) {
            Ok(head) if head.patient == *patient && is_plain(&name) => {
                let early = matches!(chosen, Chosen::Since(day) if head.started_at.date() < *day);
                if !early {
                    sessions.push(folder);
                }
            }
            _ => left_out.push(folder.display().to_string()),
        }
    }
    Ok((sessions, left_out))
}

/// Opens a sealed file and puts its sessions into the store; `key_path` is where the key came from.
///
/// # Errors
/// [`HandoverError::NotSealed`], [`HandoverError::WrongKey`], and those of reading an archive: the store
/// is as it was. Writing failed.
pub fn open(
    store: &Store,
    path: &Path,
    key: &SecretKey,
    key_path: &Path,
    patient: Option<&PatientCode>,
) -> Result<Placed, HandoverError> {
    super::sweep(store);
    let source = unsealed(path, key, key_path)?;
    let expected = Expected {
        kind: Kind::Handover,
        patient,
        path,
    };
    let unpacked = Unpacked::read(source, store, &expected)?;
    place(&unpacked, store)
}

/// A reader that ends with an error where more than what is left is read.
struct Limited {
    file: File,
    left_bytes: Rc<Cell<u64>>,
}

impl Read for Limited {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.file.read(into)?;
        let left_bytes = self.left_bytes.get();
        let Some(left_bytes) = left_bytes.checked_sub(count as u64) else {
            return Err(io::Error::new(
                io::ErrorKind::InvalidData,
                "its header does not end",
            ));
        };
        self.left_bytes.set(left_bytes);
        Ok(count)
    }
}

fn unsealed(
    path: &Path,
    key: &SecretKey,
    key_path: &Path,
) -> Result<StreamReader<BufReader<Limited>>, HandoverError> {
    let reading = |said| unreadable(path, said);
    let mut file = File::open(path).map_err(reading)?;
    let mut magic = Vec::new();
    let most = MAGIC.len() as u64;
    (&mut file)
        .take(most)
        .read_to_end(&mut magic)
        .map_err(reading)?;
    if magic != MAGIC {
        return Err(HandoverError::NotSealed {
            path: path.to_owned(),
        });
    }
    let file = File::open(path).map_err(reading)?;
    let left_bytes = Rc::new(Cell::new(HEADER_MOST));
    let limited = Limited {
        file,
        left_bytes: Rc::clone(&left_bytes),
    };
    let damaged = |said: &str| HandoverError::Damaged {
        path: path.to_owned(),
        said: said.to_owned(),
    };
    let wrong = |error: DecryptError| match error {
        DecryptError::UnknownFormat => HandoverError::Newer {
            path: path.to_owned(),
            found: "of its seal unknown".to_owned(),
            known_count: 1,
        },
        DecryptError::NoMatchingKeys | DecryptError::KeyDecryptionFailed => {
            HandoverError::WrongKey {
                path: path.to_owned(),
                key: key_path.to_owned(),
            }
        }
        DecryptError::Io(said) if said.kind() == io::ErrorKind::UnexpectedEof => {
            damaged("it ends too early")
        }
        _ => damaged("its header is not what was written"),
    };
    let decryptor = Decryptor::new_buffered(BufReader::new(limited)).map_err(wrong)?;
    let identity = std::iter::once(key.identity() as &dyn age::Identity);
    let source = decryptor.decrypt(identity).map_err(wrong)?;
    left_bytes.set(u64::MAX);
    Ok(source)
}
