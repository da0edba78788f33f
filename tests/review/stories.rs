//! Invented patients with known stories: what each story is, its caseload line and report must say.

use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::summary::{
    Briefs, NamedBrief, SessionBrief, SessionSummary, SymptomAnswer, SymptomKind,
};
use carpotempo::recording::{Night, Scale, When};
use jiff::ToSpan;
use jiff::civil::{Date, date};

use crate::invented::*;

/// The day of the look: the last day of four weeks.
pub const ON: Date = date(2026, 3, 29);

/// One day of a story.
#[derive(Debug, Clone, Copy)]
pub struct Day {
    /// Range of the right hand's flexion and lowering time.
    pub rep: (f64, f64),
    /// Tingling before and after.
    pub tingling: (u8, u8),
    /// Woken in the night before.
    pub woke: bool,
}

pub const STEADY: Day = Day {
    rep: (40.0, 4.0),
    tingling: (0, 0),
    woke: false,
};

pub fn answer(kind: SymptomKind, value: u8, when: When) -> SymptomAnswer {
    SymptomAnswer {
        kind,
        value: Scale::new(value),
        side: Some(Side::Right),
        when: Some(when),
        of: None,
    }
}

/// A session of a story.
pub fn told(date: Date, day: Day) -> SessionSummary {
    let sets = [0.5, 0.5]
        .map(|kg| set(Movement::WristFlexion, Side::Right, Some(kg), &[day.rep; 6]))
        .to_vec();
    let mut one = session(at(date, 18, 1), sets);
    one.routine = Some(routine());
    for kind in SymptomKind::ALL {
        let (before, after) = match kind {
            SymptomKind::Pain => (1, 1),
            SymptomKind::Tingling => day.tingling,
            SymptomKind::Numbness => (0, 0),
        };
        one.symptoms.push(answer(kind, before, When::Before));
        one.symptoms.push(answer(kind, after, When::After));
    }
    one.nights.push(Night {
        woke: Some(day.woke),
        splint: Some(true),
        dropped: None,
    });
    one
}

/// Four weeks of five sessions each from 2 March on, each day as the story says; the number of the
/// session is given.
pub fn story(day: impl Fn(usize) -> Option<Day>) -> Vec<SessionSummary> {
    let start = date(2026, 3, 2);
    (0..20)
        .filter_map(|n| {
            let date = start.checked_add((n + n / 5 * 2).days()).unwrap();
            Some(told(date, day(n as usize)?))
        })
        .collect()
}

/// Flexion grows from 40 to 59 degrees.
pub fn improving() -> Vec<SessionSummary> {
    story(|n| {
        Some(Day {
            rep: (40.0 + n as f64, 4.0),
            ..STEADY
        })
    })
}

/// Nothing changes.
pub fn plateau() -> Vec<SessionSummary> {
    story(|n| {
        Some(Day {
            rep: (40.0 + (n % 3) as f64, 4.0),
            ..STEADY
        })
    })
}

/// In the second half the hand tingles more after exercise, and wakes in most nights.
pub fn tingling_at_night() -> Vec<SessionSummary> {
    story(|n| {
        Some(Day {
            tingling: if n < 10 { (0, 0) } else { (1, 3) },
            woke: n == 3 || (n >= 10 && n % 5 != 0),
            ..STEADY
        })
    })
}

/// Nine sessions, then none.
pub fn stopped_coming() -> Vec<SessionSummary> {
    story(|n| (n < 9).then_some(STEADY))
}

/// Lowering in 2 s where 4 are asked, in the second half.
pub fn hurried() -> Vec<SessionSummary> {
    story(|n| {
        Some(Day {
            rep: (40.0, if n < 10 { 4.0 } else { 2.0 }),
            ..STEADY
        })
    })
}

pub fn briefs(all: &[SessionSummary]) -> Briefs {
    Briefs {
        sessions: summaries(all.to_vec())
            .sessions
            .iter()
            .map(|session| NamedBrief {
                name: session.name.clone(),
                brief: SessionBrief::of(&session.summary),
            })
            .collect(),
        ..Briefs::default()
    }
}
