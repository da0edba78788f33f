//! One movement of one hand in one posture, loaded or empty, across sessions.

mod of_session;

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

pub(super) use self::of_session::at_neutral;
use self::of_session::figures;
use super::change::{Change, RangeError, range_error, same_day_differences_deg};
use super::dose::{self, Asked};
use super::figures::{RangeFigures, TimeFigures};
use super::posture_words;
use crate::movement::{Movement, MovingPhase, Posture, Side};
use crate::pipeline::summary::Summarised;
use crate::pipeline::{BandTimes, SetResult};
use crate::routine::CountedItem;

/// What the hand does the movement with, and whether as a range test. Ranges of these are never
/// mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HandLoad {
    /// Nothing in the hand, as far as is comfortable, without a tempo.
    RangeTest,
    /// Nothing in the hand.
    Empty,
    /// A weight in the hand.
    Loaded,
    /// Not known.
    Unknown,
}

impl HandLoad {
    /// The kind of a load in kg; `None` is unknown.
    pub fn of(load_kg: Option<f64>) -> HandLoad {
        match load_kg {
            Some(kg) if kg > 0.0 => HandLoad::Loaded,
            Some(_) => HandLoad::Empty,
            None => HandLoad::Unknown,
        }
    }

    /// The kind of a set.
    pub fn of_set(set: &SetResult) -> HandLoad {
        HandLoad::marked(set.range_test, set.load_kg)
    }

    /// The kind of an item.
    pub fn of_item(item: &CountedItem) -> HandLoad {
        HandLoad::marked(item.is_range_test(), item.load_kg)
    }

    fn marked(range_test: bool, load_kg: Option<f64>) -> HandLoad {
        if range_test {
            HandLoad::RangeTest
        } else {
            HandLoad::of(load_kg)
        }
    }

    /// The words for headings.
    pub fn words(self) -> &'static str {
        match self {
            HandLoad::RangeTest => "range test",
            HandLoad::Empty => "empty hand",
            HandLoad::Loaded => "with a weight",
            HandLoad::Unknown => "load unknown",
        }
    }
}

/// Figures of one session within a series.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesSession {
    /// Which of the review's sessions.
    #[serde(skip)]
    pub session: usize,
    /// The session's folder.
    pub name: String,
    /// Its day.
    pub date: Date,
    /// Sets begun.
    pub set_count: usize,
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions prescribed; `None` is unknown.
    pub prescribed_count: Option<u32>,
    /// Least load of its sets, kg.
    pub load_min_kg: Option<f64>,
    /// Greatest load of its sets, kg.
    pub load_max_kg: Option<f64>,
    /// Ranges of its repetitions that are the wrist's; `None` without any.
    pub range: Option<RangeFigures>,
    /// Stated error of that median range, degrees: the median of its repetitions' half-widths of 95 %
    /// intervals, since what shifts one often shifts all of a session; `None` where that of most is
    /// unknown.
    pub range_error_deg: Option<f64>,
    /// Median of their highest angles, degrees in the movement's direction from the zero of the set.
    pub reached_deg: Option<f64>,
    /// Median of the start angles, degrees from the zero of the set.
    pub start_deg: Option<f64>,
    /// Whether the zero of every set is the neutral pose of a calibration.
    pub calibrated: bool,
    /// Whether the starts lie at that neutral pose.
    pub from_neutral: bool,
    /// The phase that is timed: the eccentric one, else the lowering.
    pub timed_phase: MovingPhase,
    /// Times of that phase; repetitions whose phase is cut by the record's ends are left out.
    pub timed: Option<TimeFigures>,
    /// Stated error of that median time, seconds, likewise.
    pub timed_error_s: Option<f64>,
    /// The band they are held against, that of the last set that has one.
    pub band: Option<BandTimes>,
    /// Repetitions held against a band.
    pub judged_count: u32,
    /// Of those, the hurried ones.
    pub hurried_count: u32,
    /// Of those, the slower ones.
    pub slower_count: u32,
    /// Change of range from first to last repetition, median of its sets, degrees; slope of Theil
    /// and Sen times the steps.
    pub range_change_in_set_deg: Option<f64>,
    /// Change of the lowering time from first to last repetition, median of its sets, seconds.
    pub lower_change_in_set_s: Option<f64>,
    /// Repetitions with a doubt; they are among the figures.
    pub doubtful_count: u32,
    /// How many repetitions have each doubt.
    pub doubts: BTreeMap<&'static str, u32>,
    /// Repetitions begun and cut by the end of the record.
    pub incomplete_count: usize,
}

/// A series.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Series {
    /// The movement; `None` where it was not named.
    pub movement: Option<Movement>,
    /// The hand; `None` where it was not named.
    pub side: Option<Side>,
    /// The posture; `None` where it was not noted.
    pub posture: Option<Posture>,
    /// The posture in words.
    pub posture_words: String,
    /// Empty or loaded.
    pub load: HandLoad,
    /// Where to reach by the latest routine, degrees from neutral.
    pub target_deg: Option<f64>,
    /// Where to turn back by the latest routine, degrees from neutral.
    pub no_further_deg: Option<f64>,
    /// First session against last; `None` of fewer than two sessions with a range.
    pub change: Option<Change>,
    /// Sums over the sessions.
    pub total: TotalCounts,
    /// The sessions in which a set was begun, by start.
    pub sessions: Vec<SeriesSession>,
}

/// Sums over the sessions of a series.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct TotalCounts {
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions done in sessions whose prescribed number is known.
    pub done_of_known_count: u32,
    /// Repetitions prescribed in those sessions; `None` where no session's is known.
    pub prescribed_count: Option<u32>,
    /// Repetitions held against a tempo band.
    pub judged_count: u32,
    /// Of those, the hurried ones.
    pub hurried_count: u32,
    /// Repetitions with a doubt.
    pub doubtful_count: u32,
}

impl Series {
    /// Whether the movement starts at the person's own neutral pose in the first and the last
    /// session and in most between, so that a range is a reach in one direction; else it is an arc.
    pub fn from_neutral(&self) -> bool {
        let known = self.sessions.iter().filter(|s| s.range.is_some());
        let known: Vec<bool> = known.map(|session| session.from_neutral).collect();
        starts_at_neutral(&known)
    }

    /// The error that its changes are held against; `None` where none is known well enough.
    pub fn error(&self) -> Option<RangeError> {
        let movement = self
            .movement
            .filter(|movement| *movement != Movement::ArmCircles)?;
        let fitted: Vec<(Date, f64)> = self
            .sessions
            .iter()
            .filter(|session| session.calibrated)
            .filter_map(|session| Some((session.date, session.range?.median_deg)))
            .collect();
        let differences_deg = same_day_differences_deg(&fitted);
        range_error(movement, self.from_neutral(), &differences_deg)
    }

    /// Whether the neutral pose is known in every session with a range.
    pub fn calibrated(&self) -> bool {
        let mut known = self.sessions.iter().filter(|s| s.range.is_some());
        known.all(|session| session.calibrated)
    }

    /// The last session with a range.
    pub fn last_known(&self) -> Option<&SeriesSession> {
        self.sessions.iter().rev().find(|s| s.range.is_some())
    }

    /// The band of the last session that has one.
    pub fn last_band(&self) -> Option<BandTimes> {
        self.sessions.iter().rev().find_map(|session| session.band)
    }

    /// The phase timed in the last session.
    pub fn timed_phase(&self) -> MovingPhase {
        self.sessions
            .last()
            .map_or(MovingPhase::Lower, |session| session.timed_phase)
    }
}

/// Whether a movement starts at neutral, by its sessions with a range in order: in the first, the
/// last, and most.
pub(super) fn starts_at_neutral(sessions: &[bool]) -> bool {
    let at_neutral = sessions.iter().filter(|at| **at).count();
    sessions.first() == Some(&true)
        && sessions.last() == Some(&true)
        && 2 * at_neutral > sessions.len()
}

/// What parts series from each other, in the order in which they are shown.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    // A movement or side that is not named comes last.
    movement: (bool, Option<Movement>),
    load: HandLoad,
    posture: String,
    side: (bool, Option<Side>),
}

impl Key {
    fn of(set: &SetResult) -> Key {
        Key {
            movement: (set.movement.is_none(), set.movement),
            load: HandLoad::of_set(set),
            posture: posture_words(set.posture.as_ref()),
            side: (set.side.is_none(), set.side),
        }
    }
}

/// All series of the sessions.
pub(super) fn all(sessions: &[&Summarised]) -> Vec<Series> {
    let mut found: BTreeMap<Key, Series> = BTreeMap::new();
    for (index, session) in sessions.iter().enumerate() {
        let mut groups: BTreeMap<Key, Vec<&SetResult>> = BTreeMap::new();
        for set in &session.summary.analysis.sets {
            groups.entry(Key::of(set)).or_default().push(set);
        }
        for (key, sets) in groups {
            let posture = sets.first().and_then(|set| set.posture);
            let series = found.entry(key.clone()).or_insert_with(|| Series {
                movement: key.movement.1,
                side: key.side.1,
                posture,
                posture_words: key.posture.clone(),
                load: key.load,
                target_deg: None,
                no_further_deg: None,
                change: None,
                total: TotalCounts::default(),
                sessions: Vec::new(),
            });
            let asked = Asked {
                movement: series.movement,
                side: series.side,
                posture: series.posture,
                load: series.load,
            };
            let routine = session.summary.routine.as_ref();
            let range = routine.and_then(|routine| asked.range(routine));
            series.target_deg = range.and_then(|range| range.target_deg);
            series.no_further_deg = range.and_then(|range| range.no_further_deg);
            let prescribed_count = dose::prescribed(routine, &asked, &sets);
            series
                .sessions
                .push(figures(index, session, &sets, prescribed_count));
        }
    }
    found.into_values().map(summed).collect()
}

fn summed(mut series: Series) -> Series {
    let mut total = TotalCounts::default();
    for session in &series.sessions {
        total.done_count += session.done_count;
        total.judged_count += session.judged_count;
        total.hurried_count += session.hurried_count;
        total.doubtful_count += session.doubtful_count;
        if let Some(prescribed) = session.prescribed_count {
            total.done_of_known_count += session.done_count;
            let known = total.prescribed_count.unwrap_or(0);
            total.prescribed_count = Some(known.saturating_add(prescribed));
        }
    }
    series.total = total;
    let mut known = series
        .sessions
        .iter()
        .filter_map(|s| Some((s.date, s.range?.median_deg, s.range_error_deg)));
    if let (Some(first), Some(last)) = (known.next(), known.next_back())
        && series.movement != Some(Movement::ArmCircles)
    {
        let error = series.error();
        let stated_deg = first.2.zip(last.2).map(|(a, b)| a.hypot(b));
        let ends = [(first.0, first.1), (last.0, last.1)];
        series.change = Some(Change::new(ends, error, stated_deg));
    }
    series
}
