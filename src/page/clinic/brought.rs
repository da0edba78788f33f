//! A sealed file on its way from the browser to the store: it lies there under a name of ours until
//! it is opened, and is gone afterwards whatever came of it.

use std::io::Write;
use std::path::{Path, PathBuf};

use axum::body::Body;
use futures_util::StreamExt;

use super::desk::Refused;
use crate::recording::{NewFile, RecordingError, Store, create_folder};

/// A file that was taken in.
#[derive(Debug)]
pub struct Taken(PathBuf);

impl Taken {
    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        let _gone = std::fs::remove_file(&self.0);
    }
}

/// Takes a body in, at most so long in bytes.
///
/// # Errors
/// It is too long, ends too early, or cannot be written.
pub async fn take(store: &Store, body: Body, most: usize) -> Result<Taken, Refused> {
    create_folder(store.root())?;
    let mut name = [0_u8; 8];
    getrandom::fill(&mut name).map_err(|error| Refused(error.to_string()))?;
    let name = u64::from_le_bytes(name);
    let path = store.root().join(format!(".brought-{name:016x}.age"));
    let mut file = NewFile::begin(&path)?;
    let mut stream = body.into_data_stream();
    let mut length = 0_usize;
    while let Some(part) = stream.next().await {
        let part =
            part.map_err(|_| Refused("the file did not come whole; choose it again".into()))?;
        length = length.saturating_add(part.len());
        if length > most {
            return Err(Refused(
                "the file is too long for anything a patient saves".into(),
            ));
        }
        file.write_all(&part)
            .map_err(|error| RecordingError::writing(&path, error))?;
    }
    file.finish()?;
    Ok(Taken(path))
}
