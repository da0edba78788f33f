//! Sessions between two stores: sealed from the patient to the clinic, and a patient as a whole into a
//! backup and back.
//!
//! Ours. Both are one archive (its list, packing it, opening it): a list, then the files it names, each
//! with its hash. A backup is the plain archive. What goes to a clinic is the same archive sealed to the
//! clinic's public key, so that nothing outside tells whose it is. An archive is read to its end and
//! checked as a whole in a folder aside; only then is a store touched, and nothing in it overwritten.

mod backup;
mod clinic_file;
mod error;
mod key;
mod ledger;
mod manifest;
mod pack;
mod padding;
mod place;
mod sealed;
mod unpack;

use std::io;

pub use backup::{BackedUp, backup, backup_list, extent, remove, restore, sweep};
pub use clinic_file::ClinicFile;
pub use error::HandoverError;
pub use key::{PublicKey, SecretKey, is_open_to_others};
pub use manifest::{Kind, Listed, ListedSession, MANIFEST_FILE, Manifest};
pub use place::Placed;
pub use sealed::{Chosen, Saved, open, save};

/// Eight random hexadecimal digits: a name that says nothing.
fn fresh_name() -> io::Result<String> {
    let mut bytes = [0_u8; 4];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
