//! What a review needs of one session: its analysis, the answers of the person, the troubles of
//! the sensor, and the prescription it was done under.
//!
//! A summary is derived: deleting it loses nothing. It is kept beside the recording and made anew
//! when the recording or the analysis has changed ([`fresh_summaries`]).

mod brief;
mod fresh;
mod reps_csv;
mod stored;

use std::path::Path;

use jiff::ZonedDateTime;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{Analysis, Expectation, ExpectationError, analyse};
use crate::movement::Side;
use crate::recording::{EventKind, Night, PatientCode, Recording, Scale, Symptom, When};
use crate::routine::Routine;

pub use brief::{AskedBrief, GroupBrief, SessionBrief};
pub use fresh::{Progress, Summaries, Summarised, fresh_summaries, keep_briefs, summaries_of};
pub(crate) use reps_csv::REPS_FILE;
pub use reps_csv::{REPS_COLUMNS, reps_csv};
pub use stored::{Briefs, NamedBrief, Unread, stored_briefs};

/// One session, as a review sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SessionSummary {
    /// When the recording started, in the fixed offset recorded.
    pub started_at: ZonedDateTime,
    /// The patient's code.
    pub patient: PatientCode,
    /// The whole prescription that the session was done under, if any.
    pub routine: Option<Routine>,
    /// The sets, and what a reader should know.
    pub analysis: Analysis,
    /// From the start to the last sample or event, seconds; `None` where there is neither.
    pub duration_s: Option<f64>,
    /// Answers about pain, tingling and numbness, in order.
    pub symptoms: Vec<SymptomAnswer>,
    /// The person stopped: each with the reason given, if one was.
    pub stops: Vec<Option<String>>,
    /// The person did not begin: each with the reason given.
    pub declined: Vec<Option<String>>,
    /// Skipped items or sessions: each with the reason given.
    pub skipped: Vec<Option<String>>,
    /// Answers about the night before.
    pub nights: Vec<Night>,
    /// Words of the person or the clinician.
    pub notes: Vec<String>,
    /// Visits to the clinic, as their own room writes them.
    pub visits: Vec<Value>,
    /// What went wrong with the sensor.
    pub sensor: SensorTroubles,
    /// The recording says that a simulator played it: whoever shows it says so too.
    pub simulated: bool,
}

/// The event by which a played recording says that it was played.
const SIMULATED: &str = "simulated";

/// Which of the three questions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SymptomKind {
    /// Pain.
    Pain,
    /// Tingling.
    Tingling,
    /// Numbness.
    Numbness,
}

impl SymptomKind {
    /// The three questions, in the order of the page.
    pub const ALL: [SymptomKind; 3] = [
        SymptomKind::Pain,
        SymptomKind::Tingling,
        SymptomKind::Numbness,
    ];

    /// The word used in recordings and tables.
    pub fn name(self) -> &'static str {
        match self {
            SymptomKind::Pain => "pain",
            SymptomKind::Tingling => "tingling",
            SymptomKind::Numbness => "numbness",
        }
    }
}

/// One answer on the scale from 0 (none) to 10.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SymptomAnswer {
    /// The question.
    pub kind: SymptomKind,
    /// The answer; `None` where none was given.
    pub value: Option<Scale>,
    /// Which hand.
    pub side: Option<Side>,
    /// Which time it is about.
    pub when: Option<When>,
    /// The session or item it is about, where that is not this one.
    pub of: Option<String>,
}

/// What went wrong with the sensors of a session.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SensorTroubles {
    /// Stretches without samples.
    pub gap_count: u32,
    /// Samples known to be lost, as far as the sensor counts them.
    pub lost_sample_count: u64,
    /// How often the link was lost.
    pub link_lost_count: u32,
    /// Lowest charge seen, 0 to 100; `None` where it was never told.
    pub lowest_battery_percent: Option<u8>,
}

impl SessionSummary {
    /// The day of the session on the calendar of the person: that of the offset recorded.
    pub fn day(&self) -> Date {
        self.started_at.date()
    }

    /// Repetitions of all sets.
    pub fn repetition_count(&self) -> usize {
        self.analysis.sets.iter().map(|set| set.reps.len()).sum()
    }
}

/// Analyses a recording and keeps what a review needs; `None` of a plain CSV, which belongs to
/// nobody. `folder` is taken out of the warnings: a summary moves with its session.
///
/// # Errors
/// Those of [`analyse`].
pub fn summarise(
    recording: &Recording,
    folder: &Path,
) -> Result<Option<SessionSummary>, ExpectationError> {
    let Some(head) = &recording.head else {
        return Ok(None);
    };
    let mut analysis = analyse(recording, &Expectation::default())?;
    let prefix = format!("{}{}", folder.display(), std::path::MAIN_SEPARATOR);
    for warning in &mut analysis.warnings {
        *warning = warning.replace(&prefix, "");
    }
    let last_sample_s = recording.hand.last().map(|sample| sample.t_s);
    let last_event_s = recording.events.last().map(|event| event.t_s);
    let mut summary = SessionSummary {
        started_at: head.started_at.clone(),
        patient: head.patient.clone(),
        routine: head.routine.clone(),
        analysis,
        duration_s: last_sample_s
            .into_iter()
            .chain(last_event_s)
            .reduce(f64::max),
        symptoms: Vec::new(),
        stops: Vec::new(),
        declined: Vec::new(),
        skipped: Vec::new(),
        nights: Vec::new(),
        notes: Vec::new(),
        visits: Vec::new(),
        sensor: SensorTroubles::default(),
        simulated: false,
    };
    for event in &recording.events {
        summary.take(&event.kind);
    }
    Ok(Some(summary))
}

impl SessionSummary {
    fn take(&mut self, kind: &EventKind) {
        match kind {
            EventKind::Pain(answer) => self.answer(SymptomKind::Pain, answer),
            EventKind::Tingling(answer) => self.answer(SymptomKind::Tingling, answer),
            EventKind::Numbness(answer) => self.answer(SymptomKind::Numbness, answer),
            EventKind::Stop(reason) => self.stops.push(reason.reason.clone()),
            EventKind::Declined(reason) => self.declined.push(reason.reason.clone()),
            EventKind::Skipped(reason) => self.skipped.push(reason.reason.clone()),
            EventKind::Night(night) => self.nights.push(night.clone()),
            EventKind::Note(note) => self.notes.extend(note.text.clone()),
            EventKind::Visit(visit) => self.visits.push(visit.clone()),
            EventKind::Gap(gap) => {
                self.sensor.gap_count += 1;
                self.sensor.lost_sample_count += gap.lost_count.unwrap_or(0);
            }
            EventKind::Unknown { name, .. } if name == SIMULATED => self.simulated = true,
            EventKind::SensorLost(_) => self.sensor.link_lost_count += 1,
            EventKind::Battery(battery) => {
                let lowest = &mut self.sensor.lowest_battery_percent;
                *lowest = [*lowest, battery.percent].into_iter().flatten().min();
            }
            _ => {}
        }
    }

    fn answer(&mut self, kind: SymptomKind, answer: &Symptom) {
        self.symptoms.push(SymptomAnswer {
            kind,
            value: answer.value,
            side: answer.side,
            when: answer.when,
            of: answer.of.clone(),
        });
    }
}
