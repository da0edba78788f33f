//! The time that is left of a check, and what is said in between.

use std::io::{IsTerminal, Write};
use std::time::Duration;

/// Seconds left, on one line of a terminal; nothing elsewhere.
pub(super) struct Countdown {
    is_seen: bool,
    /// Whose remarks these are, where there are several.
    name: Option<String>,
    shown_s: Option<u64>,
}

impl Countdown {
    pub(super) fn new(is_seen: bool, name: Option<String>) -> Countdown {
        Countdown {
            is_seen: is_seen && std::io::stderr().is_terminal(),
            name,
            shown_s: None,
        }
    }

    pub(super) fn show(&mut self, left: Duration) {
        let left_s = left.as_secs_f64().ceil() as u64;
        if self.is_seen && self.shown_s != Some(left_s) {
            self.shown_s = Some(left_s);
            self.write(&format!("\r\x1b[KHold still: {left_s} s"));
        }
    }

    pub(super) fn say(&mut self, words: &str) {
        self.clear();
        match &self.name {
            Some(name) => eprintln!("{name}: {words}"),
            None => eprintln!("{words}"),
        }
    }

    pub(super) fn clear(&mut self) {
        if self.shown_s.take().is_some() {
            self.write("\r\x1b[K");
        }
    }

    fn write(&self, text: &str) {
        let mut out = std::io::stderr().lock();
        // A terminal that is gone needs no countdown.
        let _seen = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }
}
