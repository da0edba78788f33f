//! Sessions whose day is still to come: the clock of a computer was wrong when they were recorded.

use jiff::ToSpan;
use jiff::civil::Date;

use super::words::{date_words, plural};
use crate::pipeline::summary::Summarised;

/// So many sessions are named one by one.
const NAMED_COUNT: usize = 3;

/// Takes out the sessions of days after the day of the look, so that one wrong clock does not
/// stretch every count and chart into the future, and says so; `None` where there are none.
///
/// A day ahead is not later: it is tomorrow already in other time zones. Where every session is
/// later, the clock that is wrong is rather this computer's: they all stay.
pub(super) fn take_out(sessions: &mut Vec<&Summarised>, on: Date) -> Option<String> {
    let tomorrow = on.checked_add(1.day()).unwrap_or(on);
    let is_later = |session: &Summarised| session.summary.day() > tomorrow;
    let later: Vec<&str> = sessions
        .iter()
        .filter(|session| is_later(session))
        .map(|session| session.name.as_str())
        .collect();
    if later.is_empty() {
        return None;
    }
    let count = plural(later.len(), "session");
    if later.len() == sessions.len() {
        return Some(format!(
            "every session is dated after {}: is the clock of this computer right?",
            date_words(on)
        ));
    }
    let mut names = later
        .iter()
        .take(NAMED_COUNT)
        .copied()
        .collect::<Vec<_>>()
        .join(", ");
    if later.len() > NAMED_COUNT {
        names.push_str(", \u{2026}");
    }
    let warning = format!(
        "{count} dated after {} left out: {names}; was a clock wrong?",
        date_words(on)
    );
    sessions.retain(|session| !is_later(session));
    Some(warning)
}
