//! What to look at: facts with their sessions, the gravest first. Nothing here decides.

mod answers;
mod exercise;

pub(super) use self::exercise::{LOW_BATTERY_PERCENT, NAMED_RATIO, SILENT_DAYS};

use jiff::civil::Date;
use serde::Serialize;

use super::Review;
use super::session::SessionRow;
use super::words::plural;
use crate::pipeline::summary::Summarised;

/// One thing to look at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// What it is about, in a word or two.
    pub about: &'static str,
    /// The fact, in words.
    pub text: String,
    /// The sessions it rests on, by their folders.
    pub names: Vec<String>,
    /// The same as places in [`Review::sessions`].
    #[serde(skip)]
    pub sessions: Vec<usize>,
}

/// So many sessions are named one by one, the latest ones.
const NAMED_COUNT: usize = 4;

struct Looker<'a> {
    review: &'a Review,
    sessions: &'a [&'a Summarised],
    one_year: bool,
    found: Vec<Finding>,
}

pub(super) fn findings(review: &Review, sessions: &[&Summarised]) -> Vec<Finding> {
    let year = |date: Option<Date>| date.map(Date::year);
    let dates = || review.sessions.iter().map(|row| row.date);
    let mut looker = Looker {
        review,
        sessions,
        one_year: year(dates().min()) == year(dates().max()),
        found: Vec::new(),
    };
    looker.reasons("stopped", "Stopped in {}", |row| &row.stops);
    looker.limits();
    looker.nights();
    looker.ranges();
    looker.hurried();
    looker.reasons("not begun", "Not begun in {}", |row| &row.declined);
    looker.reasons("skipped", "Skipped in {}", |row| &row.skipped);
    looker.silences();
    looker.without_repetitions();
    looker.doubts();
    looker.wear();
    looker.forearm();
    looker.sensor();
    looker.routine_changes();
    looker.notes();
    looker.found
}

impl Looker<'_> {
    fn day(&self, date: Date) -> String {
        let form = if self.one_year { "%-d %b" } else { "%-d %b %Y" };
        date.strftime(form).to_string()
    }

    fn add(&mut self, about: &'static str, text: String, sessions: Vec<usize>) {
        let names = sessions
            .iter()
            .filter_map(|index| Some(self.review.sessions.get(*index)?.name.clone()))
            .collect();
        self.found.push(Finding {
            about,
            text,
            names,
            sessions,
        });
    }

    /// A lead and the last few entries, the latest first; `{}` in the lead is the number of
    /// sessions.
    fn list(&mut self, about: &'static str, lead: &str, entries: Vec<(usize, String)>) {
        if entries.is_empty() {
            return;
        }
        let mut sessions: Vec<usize> = entries.iter().map(|(index, _)| *index).collect();
        sessions.dedup();
        let earlier = entries.len().saturating_sub(NAMED_COUNT);
        let mut words: Vec<String> = entries
            .iter()
            .rev()
            .take(NAMED_COUNT)
            .filter_map(|(index, words)| {
                let date = self.review.sessions.get(*index)?.date;
                Some(format!("{words} ({})", self.day(date)))
            })
            .collect();
        if earlier > 0 {
            words.push(format!("{earlier} earlier"));
        }
        let count = plural(sessions.len(), "session");
        self.add(
            about,
            format!("{}: {}.", lead.replace("{}", &count), words.join("; ")),
            sessions,
        );
    }

    fn rows(&self) -> impl Iterator<Item = (usize, &SessionRow)> {
        self.review.sessions.iter().enumerate()
    }

    fn reasons(
        &mut self,
        about: &'static str,
        lead: &str,
        of: fn(&SessionRow) -> &Vec<Option<String>>,
    ) {
        let entries = self
            .rows()
            .flat_map(|(index, row)| {
                of(row).iter().map(move |reason| {
                    let words = reason.as_deref().unwrap_or("no reason given");
                    (index, words.to_owned())
                })
            })
            .collect();
        self.list(about, lead, entries);
    }
}
