//! The code that stands for a patient; never a name.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::error::{RecordingError, shown};

/// A patient's code: 1 to 32 letters (a-z, A-Z), digits, `-` and `_`. It is also a folder's name.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PatientCode(String);

impl PatientCode {
    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for PatientCode {
    type Err = RecordingError;

    fn from_str(text: &str) -> Result<PatientCode, RecordingError> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        if (1..=32).contains(&text.len()) && text.chars().all(allowed) {
            Ok(PatientCode(text.to_owned()))
        } else {
            Err(RecordingError::PatientCode { text: shown(text) })
        }
    }
}

impl TryFrom<String> for PatientCode {
    type Error = RecordingError;

    fn try_from(text: String) -> Result<PatientCode, RecordingError> {
        text.parse()
    }
}

impl From<PatientCode> for String {
    fn from(code: PatientCode) -> String {
        code.0
    }
}

impl fmt::Display for PatientCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_codes_are_codes() {
        for good in ["p1", "A-07_b", "-", "x".repeat(32).as_str()] {
            assert!(good.parse::<PatientCode>().is_ok(), "{good}");
        }
        for bad in [
            "",
            "a b",
            "../x",
            "a/b",
            "a.b",
            "\u{e9}",
            "x".repeat(33).as_str(),
        ] {
            assert!(bad.parse::<PatientCode>().is_err(), "{bad}");
        }
    }
}
