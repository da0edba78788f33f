//! Checked sessions into a store, with nothing overwritten.
//!
//! Ours. A session that is not there is moved in as a whole. One that is there stays; where its files
//! are the beginning of those that came, since it was still being recorded when it was saved, the rest
//! is appended, as its recorder did: cut off at any moment it is again a beginning, and the same file
//! opened once more goes on with it. Anything else is left as it is, and said.

use std::fs::{File, OpenOptions};
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::path::Path;

use super::error::{HandoverError, unreadable, unwritable};
use super::manifest::{Listed, ListedSession};
use super::unpack::Unpacked;
use crate::recording::{self, NewFile, PatientCode, SESSION_FILE, Store};

/// What became of an archive's sessions, by their names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// Whose.
    pub patient: PatientCode,
    /// They were not there before.
    pub new: Vec<String>,
    /// They were there in part, and are whole now.
    pub grown: Vec<String>,
    /// They were there already.
    pub already: Vec<String>,
    /// They are there with something else in them, and were left as they are; files of the
    /// patient's own folder too.
    pub different: Vec<String>,
}

/// How a file that came stands to the one that is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Standing {
    Absent,
    /// The same, or longer than what came.
    There,
    /// The beginning of what came, so long in bytes.
    Beginning(u64),
    Different,
}

/// Puts what was unpacked into the store.
///
/// # Errors
/// Reading or writing failed; whatever is in place by then is whole, and the same archive opened again
/// does the rest.
pub fn place(unpacked: &Unpacked, store: &Store) -> Result<Placed, HandoverError> {
    let patient = &unpacked.manifest.patient;
    let own = store.root().join(patient.as_str());
    recording::create_folder(&own)?;
    let mut placed = Placed {
        patient: patient.clone(),
        new: Vec::new(),
        grown: Vec::new(),
        already: Vec::new(),
        different: Vec::new(),
    };
    for session in &unpacked.manifest.sessions {
        let from = unpacked.folder(Some(&session.name));
        let to = own.join(&session.name);
        let list = if to.symlink_metadata().is_err() {
            std::fs::rename(&from, &to).map_err(|said| unwritable(&to, said))?;
            &mut placed.new
        } else {
            match meets(session, &from, &to)? {
                Meeting::Already => &mut placed.already,
                Meeting::Grows(files) => {
                    for (file, standing) in files {
                        grow(&from.join(&file.name), &to.join(&file.name), standing)?;
                    }
                    &mut placed.grown
                }
                Meeting::Different => &mut placed.different,
            }
        };
        list.push(session.name.clone());
    }
    for file in &unpacked.manifest.files {
        let (from, to) = (unpacked.folder(None).join(&file.name), own.join(&file.name));
        match standing(&from, &to)? {
            Standing::Absent => grow(&from, &to, Standing::Absent)?,
            Standing::There => {}
            Standing::Beginning(_) | Standing::Different => {
                placed.different.push(file.name.clone())
            }
        }
    }
    recording::sync_folder(&own);
    recording::sync_folder(store.root());
    Ok(placed)
}

/// A session that came and the one of its name that is there.
enum Meeting<'a> {
    Already,
    Grows(Vec<(&'a Listed, Standing)>),
    Different,
}

fn meets<'a>(
    session: &'a ListedSession,
    from: &Path,
    to: &Path,
) -> Result<Meeting<'a>, HandoverError> {
    let mut grows = Vec::new();
    for file in &session.files {
        let standing = standing(&from.join(&file.name), &to.join(&file.name))?;
        // What a session begins with is written once.
        match standing {
            Standing::There => {}
            Standing::Different => return Ok(Meeting::Different),
            _ if file.name == SESSION_FILE => return Ok(Meeting::Different),
            _ => grows.push((file, standing)),
        }
    }
    Ok(if grows.is_empty() {
        Meeting::Already
    } else {
        Meeting::Grows(grows)
    })
}

fn standing(came: &Path, there: &Path) -> Result<Standing, HandoverError> {
    let reading = |path: &Path| {
        let path = path.to_owned();
        move |said| unreadable(&path, said)
    };
    match there.symlink_metadata() {
        Err(said) if said.kind() == io::ErrorKind::NotFound => return Ok(Standing::Absent),
        Err(said) => return Err(unreadable(there, said)),
        Ok(kind) if !kind.is_file() => return Ok(Standing::Different),
        Ok(_) => {}
    }
    let mut came_file = BufReader::new(File::open(came).map_err(reading(came))?);
    let mut there_file = BufReader::new(File::open(there).map_err(reading(there))?);
    let (mut one, mut other) = (vec![0; 64 << 10], vec![0; 64 << 10]);
    let mut same_bytes: u64 = 0;
    loop {
        let came_count = full(&mut came_file, &mut one).map_err(reading(came))?;
        let there_count = full(&mut there_file, &mut other).map_err(reading(there))?;
        let both = came_count.min(there_count);
        if one.get(..both) != other.get(..both) {
            return Ok(Standing::Different);
        }
        same_bytes += both as u64;
        if came_count > there_count {
            return Ok(Standing::Beginning(same_bytes));
        }
        if came_count < there_count || came_count == 0 {
            return Ok(Standing::There);
        }
    }
}

/// Reads until the piece is full or the file ends.
fn full(file: &mut impl Read, piece: &mut [u8]) -> io::Result<usize> {
    let mut count = 0;
    while let Some(rest) = piece.get_mut(count..).filter(|rest| !rest.is_empty()) {
        match file.read(rest) {
            Ok(0) => break,
            Ok(more) => count += more,
            Err(said) if said.kind() == io::ErrorKind::Interrupted => {}
            Err(said) => return Err(said),
        }
    }
    Ok(count)
}

/// Makes the file that is there as long as the one that came.
fn grow(came: &Path, there: &Path, standing: Standing) -> Result<(), HandoverError> {
    let mut source = File::open(came).map_err(|said| unreadable(came, said))?;
    match standing {
        Standing::Absent => {
            let mut file = NewFile::begin(there)?;
            io::copy(&mut source, &mut file).map_err(|said| unwritable(there, said))?;
            Ok(file.finish()?)
        }
        Standing::Beginning(there_bytes) => {
            let mut append = || -> io::Result<()> {
                source.seek(SeekFrom::Start(there_bytes))?;
                let mut file = OpenOptions::new().append(true).open(there)?;
                io::copy(&mut source, &mut file)?;
                file.sync_all()
            };
            append().map_err(|said| unwritable(there, said))
        }
        Standing::There | Standing::Different => Ok(()),
    }
}
