//! The key of a page: whoever has it may look and press.
//!
//! Ours: 128 random bits of the system, new at each start, as 32 hexadecimal digits.

use super::PageError;

/// A key.
#[derive(Clone)]
pub struct Key(String);

impl Key {
    /// A fresh one.
    ///
    /// # Errors
    /// The system gives no randomness.
    pub fn random() -> Result<Key, PageError> {
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes).map_err(|error| PageError::NoKey {
            said: error.to_string(),
        })?;
        Ok(Key(bytes
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect()))
    }

    /// Its digits.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether that is the key; takes as long whatever differs.
    pub fn is(&self, given: &str) -> bool {
        let differs = self
            .0
            .bytes()
            .zip(given.bytes())
            .fold(0, |so_far, (own, other)| so_far | (own ^ other));
        self.0.len() == given.len() && differs == 0
    }
}

impl std::fmt::Debug for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Key")
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn a_key_is_128_bits_and_fresh_each_time() {
        let (one, other) = (Key::random().unwrap(), Key::random().unwrap());
        assert_eq!(one.text().len(), 32);
        assert!(one.text().bytes().all(|digit| digit.is_ascii_hexdigit()));
        assert!(one.is(one.text()));
        assert!(!one.is(other.text()));
        assert!(!one.is(""));
        assert!(!one.is(&one.text()[1..]));
        assert!(!one.is(&format!("{}0", one.text())));
        assert_eq!(format!("{one:?}"), "Key", "no key in a log");
    }
}
