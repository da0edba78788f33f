//! Answers about pain, tingling and numbness, put with the session that they are about.

use serde::Serialize;

use crate::movement::Side;
use crate::pipeline::summary::{SymptomAnswer, SymptomKind};
use crate::recording::When;
use crate::routine::Limits;

/// The answers to one question about one hand in one session: the worst of each time, 0 to 10;
/// `None` was not asked or not answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SymptomRow {
    /// The question.
    pub kind: SymptomKind,
    /// The hand; `None` was not told.
    pub side: Option<Side>,
    /// Before the exercise.
    pub before: Option<u8>,
    /// During it.
    pub during: Option<u8>,
    /// After it.
    pub after: Option<u8>,
    /// The next morning.
    pub next_morning: Option<u8>,
    /// At a time that was not told.
    pub time_unknown: Option<u8>,
}

impl SymptomRow {
    /// The worst of all.
    pub fn worst(&self) -> Option<u8> {
        [
            self.before,
            self.during,
            self.after,
            self.next_morning,
            self.time_unknown,
        ]
        .into_iter()
        .flatten()
        .max()
    }

    /// How much worse it became than before; `None` where either is unknown.
    pub fn rise(&self) -> Option<u8> {
        let later = [self.during, self.after, self.next_morning];
        let worst = later.into_iter().flatten().max()?;
        Some(worst.saturating_sub(self.before?))
    }

    /// Whether it is above what a routine allows.
    pub fn above(&self, limits: &Limits) -> bool {
        let rose_above = |most: u8| self.rise().is_some_and(|rise| rise > most);
        match self.kind {
            SymptomKind::Pain => {
                self.worst().is_some_and(|worst| worst > limits.pain_max)
                    || rose_above(limits.pain_rise_max)
            }
            SymptomKind::Tingling => rose_above(limits.tingling_rise_max),
            SymptomKind::Numbness => rose_above(limits.numbness_rise_max),
        }
    }

    fn at(&mut self, when: Option<When>) -> &mut Option<u8> {
        match when {
            Some(When::Before) => &mut self.before,
            Some(When::During) => &mut self.during,
            Some(When::After) => &mut self.after,
            Some(When::NextMorning) => &mut self.next_morning,
            None => &mut self.time_unknown,
        }
    }
}

/// The answers of every session, by the names of their folders. An answer that names another
/// session of the period goes there.
pub(super) fn by_session(sessions: &[(&str, &[SymptomAnswer])]) -> Vec<Vec<SymptomRow>> {
    let mut rows: Vec<Vec<SymptomRow>> = vec![Vec::new(); sessions.len()];
    for (own, (_, answers)) in sessions.iter().enumerate() {
        for answer in *answers {
            let named = answer
                .of
                .as_ref()
                .and_then(|of| sessions.iter().position(|(name, _)| name == of));
            if let Some(rows) = rows.get_mut(named.unwrap_or(own)) {
                take(rows, answer);
            }
        }
    }
    for rows in &mut rows {
        rows.sort_by_key(|row| (row.kind, row.side));
    }
    rows
}

fn take(rows: &mut Vec<SymptomRow>, answer: &SymptomAnswer) {
    let Some(value) = answer.value.map(|scale| scale.value()) else {
        return;
    };
    let same = |row: &SymptomRow| row.kind == answer.kind && row.side == answer.side;
    let found = rows.iter().position(same).unwrap_or_else(|| {
        rows.push(SymptomRow {
            kind: answer.kind,
            side: answer.side,
            before: None,
            during: None,
            after: None,
            next_morning: None,
            time_unknown: None,
        });
        rows.len() - 1
    });
    if let Some(row) = rows.get_mut(found) {
        let place = row.at(answer.when);
        *place = place.iter().copied().chain([value]).max();
    }
}
