//! Why to look at a patient: facts of the last two weeks with their sessions, the gravest first.

mod done;
mod said;

use jiff::civil::Date;
use serde::Serialize;

use super::{CaseloadLine, Seen};

/// One reason to look.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reason {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// The fact in a few words, for the line.
    pub short: String,
    /// The fact in a sentence.
    pub text: String,
    /// The sessions it rests on, by their folders.
    pub names: Vec<String>,
    /// Its place in the order, the gravest first: 0 stopped or not begun; 1 symptoms above the
    /// routine's limits; 2 symptoms or nights rising, numb at every start; 3 less range beyond
    /// error; 4 no sessions; 5 few sessions; 6 hurried; 7 sensor and doubts; 8 the routine is to be
    /// looked at; 9 not read; 10 more range beyond error.
    #[serde(skip)]
    pub rank: u8,
}

struct Found<'a> {
    line: &'a CaseloadLine,
    seen: &'a Seen<'a>,
    recent: Vec<usize>,
    reasons: Vec<Reason>,
}

pub(super) fn reasons(line: &CaseloadLine, seen: &Seen) -> Vec<Reason> {
    let mut found = Found {
        line,
        seen,
        recent: seen.recent(),
        reasons: Vec::new(),
    };
    found.said("stopped", "stopped", |session| &session.brief.stops);
    found.said("not begun", "not begun", |session| &session.brief.declined);
    found.limits();
    found.rising();
    found.numb();
    found.nights();
    found.range();
    found.sessions();
    found.hurried();
    found.sensor();
    found.review_by();
    found.unread();
    let mut reasons = found.reasons;
    reasons.sort_by_key(|reason| reason.rank);
    reasons
}

fn day(date: Date) -> String {
    date.strftime("%-d %b").to_string()
}

impl Found<'_> {
    fn add(&mut self, rank: u8, about: &'static str, short: String, text: String, of: &[usize]) {
        let names = self.seen.of(of).map(|(_, s)| s.name.clone()).collect();
        self.reasons.push(Reason {
            about,
            short,
            text,
            names,
            rank,
        });
    }
}

fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters
        .next()
        .map(|letter| letter.to_uppercase().to_string());
    format!("{}{}", first.unwrap_or_default(), letters.as_str())
}
