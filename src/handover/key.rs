//! The clinic's key pair: the public half goes to patients, the secret half stays.
//!
//! Source: the age file format, v1 (C2SP, age-encryption.org/v1): X25519 recipients and identities. The
//! secret file is what age's own tools read.

use std::fmt;
use std::fs::File;
use std::io::{Read, Write};
use std::path::Path;
use std::str::FromStr;

use age::secrecy::ExposeSecret;
use age::x25519::{Identity, Recipient};

use super::error::{HandoverError, unreadable, unwritable};
use super::manifest::brief;
use crate::recording::NewFile;

/// What a secret file is at most, bytes.
const SECRET_MOST: u64 = 16 << 10;

/// What stands before the key.
const WORDS: &str = "\
# carpotempo: the secret key of a clinic.
# Keep this file in the clinic, where nobody else can read it, with a copy in a second safe place.
# Never send it, and never put it on a patient's computer.
# Whoever has it can open what patients save for the clinic. Without it nobody can: it cannot be made again.
";

/// The half that seals.
#[derive(Clone, PartialEq, Eq)]
pub struct PublicKey(Recipient);

impl PublicKey {
    pub(super) fn recipient(&self) -> &Recipient {
        &self.0
    }
}

impl FromStr for PublicKey {
    type Err = HandoverError;

    fn from_str(text: &str) -> Result<PublicKey, HandoverError> {
        // A secret key given by mistake is not shown.
        let is_secret = text.to_ascii_uppercase().contains("AGE-SECRET-KEY-");
        text.trim()
            .parse()
            .map(PublicKey)
            .map_err(|_| HandoverError::PublicKey {
                text: if is_secret {
                    "a secret key".to_owned()
                } else {
                    brief(text)
                },
            })
    }
}

impl fmt::Display for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "PublicKey({self})")
    }
}

/// The half that opens.
pub struct SecretKey(Identity);

impl fmt::Debug for SecretKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SecretKey")
    }
}

impl SecretKey {
    /// Makes a pair and writes its secret half to a new file that the user alone may read.
    ///
    /// # Errors
    /// The file is there already or cannot be written.
    pub fn make(path: &Path) -> Result<SecretKey, HandoverError> {
        let key = SecretKey(Identity::generate());
        let secret = key.0.to_string();
        let mut file = NewFile::begin(path)?;
        write!(
            file,
            "{WORDS}# public key: {}\n{}\n",
            key.public(),
            secret.expose_secret()
        )
        .map_err(|said| unwritable(path, said))?;
        file.finish()?;
        Ok(key)
    }

    /// Reads a secret file.
    ///
    /// # Errors
    /// It cannot be read; [`HandoverError::SecretKey`] where not exactly one key is in it.
    pub fn read(path: &Path) -> Result<SecretKey, HandoverError> {
        let mut text = String::new();
        let read =
            File::open(path).and_then(|file| file.take(SECRET_MOST).read_to_string(&mut text));
        let no_key = || HandoverError::SecretKey {
            path: path.to_owned(),
        };
        match read {
            Ok(_) => {}
            Err(said) if said.kind() == std::io::ErrorKind::InvalidData => return Err(no_key()),
            Err(said) => return Err(unreadable(path, said)),
        }
        let mut keys = text
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty() && !line.starts_with('#'));
        match (keys.next(), keys.next()) {
            (Some(key), None) => key.parse().map(SecretKey).map_err(|_| no_key()),
            _ => Err(no_key()),
        }
    }

    /// Its other half.
    pub fn public(&self) -> PublicKey {
        PublicKey(self.0.to_public())
    }

    pub(super) fn identity(&self) -> &Identity {
        &self.0
    }
}

/// Whether somebody else on this computer may read a secret file; `false` where that is not known.
pub fn is_open_to_others(path: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        path.metadata()
            .is_ok_and(|metadata| metadata.permissions().mode() & 0o077 != 0)
    }
    #[cfg(not(unix))]
    {
        let _ = path;
        false
    }
}
