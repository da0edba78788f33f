//! The clinic file: what sets up a patient's computer. The routine, whom to ask, and the key that
//! sessions are sealed to; nothing in it is secret.

use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::error::{HandoverError, unreadable, unwritable};
use super::key::PublicKey;
use super::manifest::brief;
use crate::recording::{NewFile, PatientCode};
use crate::routine::Routine;

const FORMAT: &str = "carpotempo-clinic-file";
const VERSION: i64 = 1;

/// The longest that is read, bytes.
const FILE_MOST: u64 = 1 << 20;
/// The longest words on whom to ask, letters.
const CONTACT_MOST: usize = 500;

const WORDS: &str = "\
# carpotempo: a clinic file. It sets up a patient's computer:
#   carpotempo session --clinic THIS-FILE --patient CODE --launcher \"Wrist exercises\"
# It holds the routine, whom to ask, and the clinic's public key, which seals what is saved for the clinic.
# Take it only from the clinic itself: what is saved can be opened by whoever made this file.
";

/// What a clinic gives along.
#[derive(Debug, Clone, PartialEq)]
pub struct ClinicFile {
    /// Seals what is saved for the clinic.
    pub key: PublicKey,
    /// Whom it is for, if it is for one.
    pub patient: Option<PatientCode>,
    /// The prescription, with whom to ask.
    pub routine: Routine,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    format: String,
    version: i64,
    public_key: String,
    contact: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    patient: Option<PatientCode>,
    routine: toml::Table,
}

impl ClinicFile {
    /// With the words on whom to ask, else the routine's own.
    ///
    /// # Errors
    /// [`HandoverError::NoContact`] where neither says it.
    pub fn new(
        key: PublicKey,
        patient: Option<PatientCode>,
        mut routine: Routine,
        contact: Option<&str>,
    ) -> Result<ClinicFile, HandoverError> {
        if let Some(contact) = contact {
            routine.contact = Some(contact.to_owned());
        }
        let contact = routine.contact.as_deref().unwrap_or("").trim();
        let fits = (1..=CONTACT_MOST).contains(&contact.chars().count())
            && !contact.contains(char::is_control);
        if !fits {
            return Err(HandoverError::NoContact);
        }
        Ok(ClinicFile {
            key,
            patient,
            routine,
        })
    }

    /// Writes it to a new file.
    ///
    /// # Errors
    /// The file is there already or cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), HandoverError> {
        let text = self.text().map_err(|said| HandoverError::ClinicFile {
            path: path.to_owned(),
            said,
        })?;
        let mut file = NewFile::begin(path)?;
        file.write_all(text.as_bytes())
            .map_err(|said| unwritable(path, said))?;
        Ok(file.finish()?)
    }

    /// The text of the file.
    ///
    /// # Errors
    /// What the TOML writer said.
    pub fn text(&self) -> Result<String, String> {
        let mut routine = self.routine.clone();
        let contact = routine.contact.take().unwrap_or_default();
        let routine = routine.to_toml().map_err(|error| error.to_string())?;
        let written = Written {
            format: FORMAT.to_owned(),
            version: VERSION,
            public_key: self.key.to_string(),
            contact,
            patient: self.patient.clone(),
            routine: routine
                .parse()
                .map_err(|error: toml::de::Error| error.to_string())?,
        };
        let text = toml::to_string(&written).map_err(|error| error.to_string())?;
        Ok(format!("{WORDS}\n{text}"))
    }

    /// Reads and checks a clinic file, its routine too.
    ///
    /// # Errors
    /// [`HandoverError::ClinicFile`], [`HandoverError::Newer`], [`HandoverError::PublicKey`]; it cannot
    /// be read.
    pub fn read(path: &Path) -> Result<ClinicFile, HandoverError> {
        let bad = |said: String| HandoverError::ClinicFile {
            path: path.to_owned(),
            said,
        };
        let mut bytes = Vec::new();
        File::open(path)
            .and_then(|file| file.take(FILE_MOST + 1).read_to_end(&mut bytes))
            .map_err(|said| unreadable(path, said))?;
        if bytes.len() as u64 > FILE_MOST {
            return Err(bad("it is too long".to_owned()));
        }
        let text = String::from_utf8(bytes).map_err(|_| bad("it is no plain text".to_owned()))?;
        let table: toml::Table = text
            .parse()
            .map_err(|error: toml::de::Error| bad(brief(error.message())))?;
        if table.get("format").and_then(toml::Value::as_str) != Some(FORMAT) {
            return Err(bad(format!("it has no line format = \"{FORMAT}\"")));
        }
        let version = table.get("version");
        if version.and_then(toml::Value::as_integer) != Some(VERSION) {
            return Err(HandoverError::Newer {
                path: path.to_owned(),
                found: brief(&version.map_or("none".to_owned(), ToString::to_string)),
                known_count: VERSION.unsigned_abs(),
            });
        }
        let read: Written = table
            .try_into()
            .map_err(|error: toml::de::Error| bad(brief(error.message())))?;
        let routine = toml::to_string(&read.routine).map_err(|error| bad(error.to_string()))?;
        let routine = Routine::from_toml(&routine)
            .map_err(|error| bad(format!("its routine is wrong: {error}")))?;
        ClinicFile::new(
            read.public_key.parse()?,
            read.patient,
            routine,
            Some(&read.contact),
        )
    }
}
