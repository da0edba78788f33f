//! Every patient in one line, those who need a look first. From briefs alone; nothing here decides.
//!
//! Ours: two weeks, as most routines are looked at again after two or three; what was said and done
//! in them is held against the two weeks before. The order is that of the reasons (see
//! [`Reason::rank`]); there is no score.

mod columns;
mod range;
mod reasons;
mod terminal;

use jiff::civil::Date;
use jiff::{Span, ToSpan};
use serde::Serialize;

use super::CLAIM_NOTE;
use super::adherence;
use super::symptoms::{SymptomRow, by_session};
use crate::pipeline::summary::{Briefs, NamedBrief, SensorTroubles, SymptomKind};
use crate::recording::PatientCode;

pub use range::{RangeChange, RangeCounts};
pub use reasons::Reason;
pub use terminal::{
    CASELOAD_HEADINGS, CASELOAD_NOTE, caseload_cells, caseload_terminal, caseload_within,
};

/// Days of the window that is looked at, the day of the look included.
pub const WINDOW_DAYS: i64 = 14;

/// All patients.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Caseload {
    /// The day of the look.
    pub on: Date,
    /// Those who need a look first.
    pub lines: Vec<CaseloadLine>,
    /// Patients whose folder cannot be read: each with the reason.
    pub warnings: Vec<String>,
    /// Sessions whose summary is older than their recording or the analysis: not in the figures.
    pub stale_count: u32,
    /// Sessions without a summary: not in the figures.
    pub missing_count: u32,
    /// Folders that are no recordings.
    pub broken_count: u32,
    /// The command that makes stale and missing summaries anew; `None` where there are none.
    pub refresh: Option<String>,
    /// What this claims.
    pub claim_note: &'static str,
}

/// One patient.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CaseloadLine {
    /// The patient's code.
    pub patient: PatientCode,
    /// Why to look, the gravest first; empty where nothing of the kind was recorded.
    pub reasons: Vec<Reason>,
    /// Day of the last session in which a set was begun.
    pub last_session: Option<Date>,
    /// Day of the last session of any kind, answers alone included, read or not.
    pub last_heard: Option<Date>,
    /// Sessions with a set begun in the two weeks.
    pub done_count: u32,
    /// Sessions asked for in them, in parts of a session; `None` is unknown.
    pub asked_count: Option<f64>,
    /// Answers of the two weeks and of those before: pain, tingling, numbness.
    pub symptoms: [SymptomTrend; 3],
    /// Nights of the two weeks.
    pub nights: NightCounts,
    /// Nights of the two weeks before.
    pub nights_before: NightCounts,
    /// Stops in the two weeks.
    pub stop_count: u32,
    /// Ranges since the last visit, else from the first session.
    pub range: RangeCounts,
    /// What went wrong with the sensor in the two weeks; `None` without a session in them.
    pub sensor: Option<SensorTroubles>,
    /// Day of the last visit noted.
    pub last_visit: Option<Date>,
    /// Sessions with a stale summary.
    pub stale_count: u32,
    /// Sessions without a summary.
    pub missing_count: u32,
    /// Folders that are no recordings.
    pub broken_count: u32,
    /// Sessions of later days, left out.
    pub later_count: u32,
    /// Whether a session was played by a simulator.
    pub simulated: bool,
}

/// The worst answers to one question, 0 to 10; `None` is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SymptomTrend {
    /// The question.
    pub kind: SymptomKind,
    /// Worst of the two weeks.
    pub worst: Option<u8>,
    /// Worst of the two weeks before.
    pub worst_before: Option<u8>,
}

/// Answers about nights.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct NightCounts {
    /// Nights in which the hand woke the person.
    pub woken_count: u32,
    /// Nights answered.
    pub answered_count: u32,
}

/// The sessions of a patient up to the day of the look, and those of its windows.
struct Seen<'a> {
    on: Date,
    sessions: Vec<&'a NamedBrief>,
    symptoms: Vec<Vec<SymptomRow>>,
}

fn back(on: Date, days: i64) -> Date {
    let span: Span = days.days();
    on.checked_sub(span).unwrap_or(Date::MIN)
}

impl Seen<'_> {
    /// Places of the sessions from so many days back to so many, the last one not included.
    fn between(&self, from_days: i64, to_days: i64) -> Vec<usize> {
        let (first, last) = (back(self.on, from_days - 1), back(self.on, to_days));
        let within = |session: &NamedBrief| (first..=last).contains(&session.brief.day());
        (0..self.sessions.len())
            .filter(|index| self.sessions.get(*index).is_some_and(|s| within(s)))
            .collect()
    }

    fn recent(&self) -> Vec<usize> {
        self.between(WINDOW_DAYS, 0)
    }

    fn before(&self) -> Vec<usize> {
        self.between(2 * WINDOW_DAYS, WINDOW_DAYS)
    }

    fn of<'b>(&'b self, places: &'b [usize]) -> impl Iterator<Item = (usize, &'b NamedBrief)> {
        let session = |index: &usize| Some((*index, *self.sessions.get(*index)?));
        places.iter().filter_map(session)
    }

    fn worst(&self, kind: SymptomKind, places: &[usize]) -> Option<u8> {
        let rows = places.iter().filter_map(|index| self.symptoms.get(*index));
        rows.flatten()
            .filter(|row| row.kind == kind)
            .filter_map(SymptomRow::worst)
            .max()
    }

    fn nights(&self, places: &[usize]) -> NightCounts {
        let mut counts = NightCounts::default();
        let nights = self.of(places).flat_map(|(_, s)| &s.brief.nights);
        for woke in nights.filter_map(|night| night.woke) {
            counts.answered_count += 1;
            counts.woken_count += u32::from(woke);
        }
        counts
    }
}

/// The line of one patient on a day.
pub fn caseload_line(patient: &PatientCode, briefs: &Briefs, on: Date) -> CaseloadLine {
    let upto = |session: &&NamedBrief| session.brief.day() <= on;
    let sessions: Vec<&NamedBrief> = briefs.sessions.iter().filter(upto).collect();
    let answers: Vec<(&str, &[_])> = sessions
        .iter()
        .map(|s| (s.name.as_str(), s.brief.symptoms.as_slice()))
        .collect();
    let seen = Seen {
        on,
        symptoms: by_session(&answers),
        sessions,
    };
    let unread = briefs.unread.iter().filter(|u| u.started_at.date() <= on);
    let stale_count = whole(unread.clone().filter(|unread| unread.stale).count());
    let (recent, before) = (seen.recent(), seen.before());
    let days = || seen.sessions.iter().map(|s| s.brief.day());
    let exercised = || seen.sessions.iter().filter(|s| s.brief.set_count > 0);
    let last_visit = seen.sessions.iter().rposition(|s| s.brief.visit_count > 0);
    let since_visit = last_visit.map_or(0, |place| place + 1);
    let first_date = back(on, WINDOW_DAYS - 1).max(days().min().unwrap_or(on));
    let routines = seen.sessions.iter().filter_map(|session| {
        let asked = session.brief.asked.as_ref()?;
        Some((session.brief.day(), asked.sessions_a_week))
    });
    let mut line = CaseloadLine {
        patient: patient.clone(),
        reasons: Vec::new(),
        last_session: exercised().map(|s| s.brief.day()).max(),
        last_heard: days()
            .chain(unread.clone().map(|unread| unread.started_at.date()))
            .max(),
        done_count: whole(
            seen.of(&recent)
                .filter(|(_, s)| s.brief.set_count > 0)
                .count(),
        ),
        asked_count: adherence::asked(routines, first_date, on),
        symptoms: SymptomKind::ALL.map(|kind| SymptomTrend {
            kind,
            worst: seen.worst(kind, &recent),
            worst_before: seen.worst(kind, &before),
        }),
        nights: seen.nights(&recent),
        nights_before: seen.nights(&before),
        stop_count: whole(seen.of(&recent).map(|(_, s)| s.brief.stops.len()).sum()),
        range: range::counts(seen.sessions.get(since_visit..).unwrap_or_default()),
        sensor: sensor(&seen, &recent),
        last_visit: last_visit
            .and_then(|place| seen.sessions.get(place))
            .map(|visit| visit.brief.day()),
        stale_count,
        missing_count: whole(unread.count()) - stale_count,
        broken_count: briefs.broken_count,
        later_count: whole(briefs.sessions.len() - seen.sessions.len()),
        simulated: briefs.sessions.iter().any(|s| s.brief.simulated),
    };
    line.reasons = reasons::reasons(&line, &seen);
    line
}

fn sensor(seen: &Seen, recent: &[usize]) -> Option<SensorTroubles> {
    let mut exercised = seen
        .of(recent)
        .filter(|(_, session)| session.brief.set_count > 0)
        .peekable();
    exercised.peek()?;
    let mut sum = SensorTroubles::default();
    for (_, session) in exercised {
        let own = session.brief.sensor;
        sum.gap_count += own.gap_count;
        sum.lost_sample_count += own.lost_sample_count;
        sum.link_lost_count += own.link_lost_count;
        let lowest = [sum.lowest_battery_percent, own.lowest_battery_percent];
        sum.lowest_battery_percent = lowest.into_iter().flatten().min();
    }
    Some(sum)
}

/// All lines together, those who need a look first: by their gravest reason, then the next, then
/// who was not heard of the longest, then the code.
pub fn caseload(mut lines: Vec<CaseloadLine>, on: Date) -> Caseload {
    let key = |line: &CaseloadLine| {
        // No reason comes after every reason.
        let mut ranks: Vec<u8> = line.reasons.iter().map(|reason| reason.rank).collect();
        ranks.push(u8::MAX);
        (ranks, line.last_heard, line.patient.clone())
    };
    lines.sort_by_cached_key(key);
    let sum = |of: fn(&CaseloadLine) -> u32| lines.iter().map(of).sum();
    Caseload {
        on,
        stale_count: sum(|line| line.stale_count),
        missing_count: sum(|line| line.missing_count),
        broken_count: sum(|line| line.broken_count),
        lines,
        warnings: Vec::new(),
        refresh: None,
        claim_note: CLAIM_NOTE,
    }
}

fn whole(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}
