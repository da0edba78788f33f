//! What the person said: stops, symptoms, nights.

use super::super::NightCounts;
use super::{Found, day, sentence};
use crate::pipeline::summary::{NamedBrief, SymptomKind};
use crate::review::words::{count_of, plural, symptom_words};

/// A rise of the worst pain that is named, points (Farrar et al., Pain 2001, from memory). Of
/// tingling and numbness any rise is.
const PAIN_RISE: u8 = 2;
/// So many sessions in a row that begin with numbness are named as constant (ours).
const NUMB_SESSIONS: usize = 3;

impl Found<'_> {
    pub(super) fn said(
        &mut self,
        about: &'static str,
        word: &str,
        of: fn(&NamedBrief) -> &Vec<Option<String>>,
    ) {
        let mut sessions = Vec::new();
        let mut words = Vec::new();
        for (index, session) in self.seen.of(&self.recent) {
            for reason in of(session) {
                let reason = reason.as_deref().unwrap_or("no reason given");
                words.push(format!("{reason} ({})", day(session.brief.day())));
                sessions.push(index);
            }
        }
        if words.is_empty() {
            return;
        }
        let times = plural(words.len(), "time");
        let last = words.last().cloned().unwrap_or_default();
        let text = format!(
            "{} {times} in two weeks: {}.",
            sentence(word),
            words.join("; ")
        );
        sessions.dedup();
        self.add(0, about, format!("{word} {times}: {last}"), text, &sessions);
    }

    pub(super) fn limits(&mut self) {
        let mut sessions = Vec::new();
        let mut words = Vec::new();
        for (index, session) in self.seen.of(&self.recent) {
            let Some(asked) = &session.brief.asked else {
                continue;
            };
            for row in self.seen.symptoms.get(index).into_iter().flatten() {
                if row.above(&asked.limits) {
                    let date = day(session.brief.day());
                    words.push(format!("{} ({date})", symptom_words(row)));
                    sessions.push(index);
                }
            }
        }
        let Some(last) = words.last().cloned() else {
            return;
        };
        sessions.dedup();
        let count = plural(sessions.len(), "session");
        let text = format!(
            "Above the routine\u{2019}s limits in {count} of two weeks: {}.",
            words.join("; ")
        );
        let short = format!("above limits in {count}: {last}");
        self.add(1, "symptoms", short, text, &sessions);
    }

    pub(super) fn rising(&mut self) {
        for trend in self.line.symptoms {
            let (Some(worst), Some(before)) = (trend.worst, trend.worst_before) else {
                continue;
            };
            let least = if trend.kind == SymptomKind::Pain {
                PAIN_RISE
            } else {
                1
            };
            if worst < before.saturating_add(least) {
                continue;
            }
            let kind = trend.kind.name();
            let of = |session: &usize| {
                let rows = self.seen.symptoms.get(*session).into_iter().flatten();
                rows.filter(|row| row.kind == trend.kind)
                    .any(|row| row.worst() == Some(worst))
            };
            let sessions: Vec<usize> = self.recent.iter().copied().filter(of).collect();
            let text = format!(
                "{} rising: worst {worst} in two weeks, {before} in the two weeks before.",
                sentence(kind)
            );
            let short = format!("{kind} up from {before} to {worst}");
            self.add(2, "rising", short, text, &sessions);
        }
    }

    /// Numb at the start of every session that was answered.
    pub(super) fn numb(&mut self) {
        let mut sessions = Vec::new();
        for index in &self.recent {
            let rows = self.seen.symptoms.get(*index).into_iter().flatten();
            let before = rows
                .filter(|row| row.kind == SymptomKind::Numbness)
                .filter_map(|row| row.before)
                .max();
            match before {
                Some(0) => return,
                Some(_) => sessions.push(*index),
                None => {}
            }
        }
        if sessions.len() >= NUMB_SESSIONS {
            let text = format!(
                "Numb at the start of every one of {} answered in two weeks.",
                plural(sessions.len(), "session")
            );
            let short = "numb at every start".to_owned();
            self.add(2, "numbness", short, text, &sessions);
        }
    }

    pub(super) fn nights(&mut self) {
        let (now, before) = (self.line.nights, self.line.nights_before);
        let sessions: Vec<usize> = self
            .seen
            .of(&self.recent)
            .filter(|(_, s)| s.brief.nights.iter().any(|n| n.woke == Some(true)))
            .map(|(index, _)| index)
            .collect();
        // Of a few nights a share says little: at least two, and more than before or half of all.
        let share = |counts: NightCounts| {
            f64::from(counts.woken_count) / f64::from(counts.answered_count.max(1))
        };
        let rising = before.answered_count > 0 && share(now) > share(before);
        let often = before.answered_count == 0 && share(now) >= 0.5;
        if now.woken_count < 2 || !(rising || often) {
            return;
        }
        let counted =
            |counts: NightCounts| count_of(counts.woken_count, Some(counts.answered_count));
        let was = if before.answered_count > 0 {
            format!(", {} in the two weeks before", counted(before))
        } else {
            String::new()
        };
        let text = format!(
            "Woken by the hand in {} nights answered in two weeks{was}.",
            counted(now)
        );
        let short = if rising {
            format!(
                "nights woken up from {} to {}",
                counted(before),
                counted(now)
            )
        } else {
            format!("woken {} nights", counted(now))
        };
        self.add(2, "nights", short, text, &sessions);
    }
}
