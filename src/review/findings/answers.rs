//! What the person said: symptoms, nights, notes.

use super::super::words::{plural, symptom_words};
use super::Looker;
use crate::movement::Side;
use crate::pipeline::summary::SymptomKind;
use crate::recording::Night;

impl Looker<'_> {
    /// Answers above the limits of the routine that the session was done under.
    pub(super) fn limits(&mut self) {
        let mut entries = Vec::new();
        let mut answered = false;
        for (index, row) in self.rows() {
            let limits = self
                .sessions
                .get(index)
                .and_then(|session| session.summary.routine.as_ref())
                .map(|routine| routine.limits);
            answered |= !row.symptoms.is_empty();
            for symptom in &row.symptoms {
                if limits.is_some_and(|limits| symptom.above(&limits)) {
                    entries.push((index, symptom_words(symptom)));
                }
            }
        }
        self.list("symptoms", "Above the routine's limits in {}", entries);
        if !answered && !self.review.sessions.is_empty() {
            let text = "Pain, tingling and numbness: no answers in this period.";
            self.add("symptoms", text.to_owned(), Vec::new());
            return;
        }
        let worst: Vec<(String, Option<usize>)> =
            SymptomKind::ALL.map(|kind| self.worst(kind)).into();
        let words: Vec<&str> = worst.iter().map(|(words, _)| words.as_str()).collect();
        let text = format!("Worst answers of 10: {}.", words.join("; "));
        let mut sessions: Vec<usize> = worst.iter().filter_map(|(_, index)| *index).collect();
        sessions.sort_unstable();
        sessions.dedup();
        self.add("symptoms", text, sessions);
    }

    /// "tingling 2 (right, 20 Mar)".
    fn worst(&self, kind: SymptomKind) -> (String, Option<usize>) {
        let worst = self
            .rows()
            .flat_map(|(index, row)| row.symptoms.iter().map(move |symptom| (index, symptom)))
            .filter(|(_, symptom)| symptom.kind == kind)
            .filter_map(|(index, symptom)| Some((symptom.worst()?, index, symptom.side)))
            .max_by_key(|(value, index, _)| (*value, *index));
        let name = kind.name();
        match worst {
            None => (format!("{name} no answers"), None),
            Some((0, ..)) => (format!("{name} 0"), None),
            Some((value, index, side)) => {
                let side = side.map_or("", |side: Side| side.name());
                let date = self.review.sessions.get(index).map(|row| row.date);
                let day = date.map_or_else(String::new, |date| self.day(date));
                let detail = format!("{side}, {day}");
                let detail = detail.trim_start_matches(", ");
                (format!("{name} {value} ({detail})"), Some(index))
            }
        }
    }

    pub(super) fn nights(&mut self) {
        type Answer = fn(&Night) -> Option<bool>;
        let parts: [(Answer, &str); 2] = [
            (|night| night.woke, "Woken by the hand"),
            (|night| night.dropped, "Things dropped"),
        ];
        for (answer, words) in parts {
            let mut answered = 0;
            let mut sessions = Vec::new();
            for (index, row) in self.rows() {
                let answers = row.nights.iter().filter_map(answer);
                answered += answers.clone().count();
                sessions.extend(answers.filter(|yes| *yes).map(|_| index));
            }
            if !sessions.is_empty() {
                let text = format!(
                    "{words} in {} of {} answered.",
                    sessions.len(),
                    plural(answered, "night")
                );
                sessions.dedup();
                self.add("nights", text, sessions);
            }
        }
    }

    /// Notes, each with its latest session; what is said again and again is written once.
    pub(super) fn notes(&mut self) {
        let mut entries: Vec<(usize, String)> = Vec::new();
        for (index, row) in self.rows() {
            for note in &row.notes {
                let words = format!("\u{201c}{}\u{201d}", note.trim());
                entries.retain(|(_, said)| *said != words);
                entries.push((index, words));
            }
        }
        self.list("notes", "Notes, the latest first", entries);
    }
}
