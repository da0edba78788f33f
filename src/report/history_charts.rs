//! The charts across sessions, from the series of a review.

use std::collections::BTreeMap;

use super::charts::Setting;
use super::marks::tempo_band;
use crate::chart::{
    DoneChart, DoneSession, ErrorBand, LoweringHistoryChart, LoweringSeries, LoweringSession,
    RangeHistoryChart, RangeKind, RangeSeries, RangeSession,
};
use crate::movement::{Movement, MovingPhase, Side};
use crate::pipeline::BandTimes;
use crate::pipeline::motion::Zero;
use crate::review::{ErrorFrom, HandLoad, RangeError, Review, Series, SeriesSession};

/// A pause of more days than this interrupts a line.
const GAP_DAYS: u32 = 14;

const SPREAD: &str = "quartiles of repetitions";

/// Range across sessions; none where no movement is named, nothing was counted, or it turns round.
pub(super) fn range_chart(group: &[Series], setting: Setting) -> Option<RangeHistoryChart> {
    let first = group.first()?;
    let movement = first.movement.filter(|m| *m != Movement::ArmCircles)?;
    if !group.iter().any(|series| series.last_known().is_some()) {
        return None;
    }
    // Two error bands in one plot hide more than they show: then each hand has its bracket, without
    // the band's edges, and a note says what it is.
    let alone = group.len() == 1;
    let errors: Vec<RangeError> = group.iter().filter_map(Series::error).collect();
    let mut notes = setting.angle_notes(zero_of(group));
    if !alone && !errors.is_empty() {
        let mut words: Vec<String> = errors.iter().map(error_words).collect();
        words.dedup();
        notes.push(format!(
            "Brackets at the first values: {}.",
            words.join(" and ")
        ));
    }
    let series = group.iter().map(|series| RangeSeries {
        label: String::new(),
        side: series.side,
        sessions: by_date(series).map(range_session).collect(),
        error: series.error().map(|error| ErrorBand {
            half_width_deg: error.error_deg,
            label: if alone {
                error_words(&error)
            } else {
                String::new()
            },
        }),
        target_deg: None,
    });
    Some(RangeHistoryChart {
        title: format!("Range of {}", movement.title().to_lowercase()),
        subtitle: setting.subtitle(first),
        movement,
        kind: RangeKind::Range,
        series: series.collect(),
        band: None,
        gap_days: GAP_DAYS,
        spread_note: Some(SPREAD.to_owned()),
        notes,
    })
}

fn zero_of(group: &[Series]) -> Option<Zero> {
    let calibrated = group.iter().all(Series::calibrated);
    calibrated.then_some(Zero::Calibration)
}

fn error_words(error: &RangeError) -> String {
    match error.from {
        ErrorFrom::Borrowed => format!("borrowed error {:.0}°", error.error_deg),
        ErrorFrom::Own => format!("own error {:.0}°", error.error_deg),
    }
}

/// The sessions of a series by their calendar day: who travels may start a session later and on an
/// earlier day.
fn by_date(series: &Series) -> impl Iterator<Item = &SeriesSession> {
    let mut sessions: Vec<&SeriesSession> = series.sessions.iter().collect();
    sessions.sort_by_key(|session| session.date);
    sessions.into_iter()
}

/// How far from neutral across sessions, against the target, which is such a reach; none where no
/// target is set or no session knows its neutral pose.
pub(super) fn reach_chart(group: &[Series], setting: Setting) -> Option<RangeHistoryChart> {
    let first = group.first()?;
    let movement = first.movement.filter(|m| *m != Movement::ArmCircles)?;
    let reached = |session: &SeriesSession| session.reached_deg.filter(|_| session.calibrated);
    let known = |series: &Series| series.sessions.iter().any(|s| reached(s).is_some());
    if !group.iter().any(|series| series.target_deg.is_some()) || !group.iter().any(known) {
        return None;
    }
    let series = group.iter().map(|series| RangeSeries {
        label: String::new(),
        side: series.side,
        sessions: by_date(series)
            .map(|session| RangeSession {
                date: session.date,
                median_deg: reached(session),
                low_deg: None,
                high_deg: None,
                error_deg: None,
            })
            .collect(),
        error: None,
        target_deg: series.target_deg,
    });
    Some(RangeHistoryChart {
        title: format!("Reach of {}", movement.title().to_lowercase()),
        subtitle: setting.subtitle(first),
        movement,
        kind: RangeKind::Reach,
        series: series.collect(),
        band: None,
        gap_days: GAP_DAYS,
        spread_note: None,
        notes: setting.angle_notes(Some(Zero::Calibration)),
    })
}

fn range_session(session: &SeriesSession) -> RangeSession {
    RangeSession {
        date: session.date,
        median_deg: session.range.map(|range| range.median_deg),
        low_deg: session.range.map(|range| range.lower_quartile_deg),
        high_deg: session.range.map(|range| range.upper_quartile_deg),
        error_deg: session.range_error_deg,
    }
}

/// Time of the eccentric phase across sessions; none where no movement is named or nothing was
/// timed.
pub(super) fn lowering_chart(group: &[Series], setting: Setting) -> Option<LoweringHistoryChart> {
    // A range test has no tempo.
    let first = group.first().filter(|s| s.load != HandLoad::RangeTest)?;
    let movement = first.movement.filter(|m| *m != Movement::ArmCircles)?;
    let timed = |series: &Series| series.sessions.iter().any(|s| s.timed.is_some());
    if !group.iter().any(timed) {
        return None;
    }
    let phase = first.timed_phase();
    let series = group.iter().map(|series| LoweringSeries {
        label: String::new(),
        side: series.side,
        sessions: by_date(series)
            .map(|session| {
                let timed = session.timed.filter(|_| session.timed_phase == phase);
                LoweringSession {
                    date: session.date,
                    median_s: timed.map(|times| times.median_s),
                    low_s: timed.map(|times| times.lower_quartile_s),
                    high_s: timed.map(|times| times.upper_quartile_s),
                    error_s: timed.and(session.timed_error_s),
                }
            })
            .collect(),
    });
    let (band, note) = common_band(group);
    let word = phase_word(phase);
    Some(LoweringHistoryChart {
        title: format!("{word} time of {}", movement.title().to_lowercase()),
        subtitle: setting.subtitle(first),
        phase,
        series: series.collect(),
        band: band.map(tempo_band),
        gap_days: GAP_DAYS,
        spread_note: Some(SPREAD.to_owned()),
        notes: note.into_iter().collect(),
    })
}

/// "Lowering" or "Lift".
pub(super) fn phase_word(phase: MovingPhase) -> &'static str {
    match phase {
        MovingPhase::Lift => "Lift",
        MovingPhase::Lower => "Lowering",
    }
}

/// The band to draw: the latest, with a note where others were in force or none is.
fn common_band(group: &[Series]) -> (Option<BandTimes>, Option<String>) {
    let latest = |series: &Series| series.last_band();
    let Some(band) = group.iter().find_map(latest) else {
        let note = "No time is prescribed, or neither phase is eccentric.";
        return (None, Some(note.to_owned()));
    };
    let differs = group
        .iter()
        .flat_map(|series| &series.sessions)
        .filter_map(|session| session.band)
        .any(|other| other != band);
    let note = "Band: the latest; another was asked in some sessions.";
    (Some(band), differs.then(|| note.to_owned()))
}

/// Repetitions done of prescribed and load, both hands together.
pub(super) fn repetitions_chart(
    review: &Review,
    group: &[Series],
    setting: Setting,
) -> Option<DoneChart> {
    let first = group.first()?;
    let movement = first.movement?;
    let mut by_session: BTreeMap<usize, DoneSession> = BTreeMap::new();
    // That an empty hand carries nothing needs no plot.
    let load_kg = |session: &SeriesSession| {
        session
            .load_max_kg
            .filter(|_| !matches!(first.load, HandLoad::Empty | HandLoad::RangeTest))
    };
    for session in group.iter().flat_map(|series| &series.sessions) {
        by_session
            .entry(session.session)
            .and_modify(|both| {
                both.done_count += session.done_count;
                both.prescribed_count = both
                    .prescribed_count
                    .zip(session.prescribed_count)
                    .map(|(a, b)| a.saturating_add(b));
                let loads = [both.load_kg, load_kg(session)];
                both.load_kg = loads.into_iter().flatten().reduce(f64::max);
            })
            .or_insert(DoneSession {
                date: session.date,
                done_count: session.done_count,
                prescribed_count: session.prescribed_count,
                load_kg: load_kg(session),
            });
    }
    let sides: Vec<Option<Side>> = group.iter().map(|series| series.side).collect();
    let hands = match sides.as_slice() {
        [Some(side)] => format!("{} hand", side.name()),
        [None] => "hand not named".to_owned(),
        _ => "both hands".to_owned(),
    };
    let apart = first.load == HandLoad::Loaded
        && group
            .iter()
            .flat_map(|series| &series.sessions)
            .any(|session| {
                let both = by_session.get(&session.session);
                session.load_min_kg != both.and_then(|both| both.load_kg)
            });
    let mut notes = Vec::new();
    if apart {
        notes.push("Load: the greatest of each session; others were lighter.".to_owned());
    }
    if by_session.values().any(|s| s.prescribed_count.is_none()) {
        notes.push("No outline: the prescribed number is unknown.".to_owned());
    }
    let idle = review
        .sessions
        .iter()
        .filter(|row| row.set_count > 0)
        .count();
    if by_session.len() < idle {
        notes.push(format!(
            "Not begun in {} of {idle} sessions, which are not shown.",
            idle - by_session.len()
        ));
    }
    let mut sessions: Vec<DoneSession> = by_session.into_values().collect();
    sessions.sort_by_key(|session| session.date);
    Some(DoneChart {
        title: format!(
            "Repetitions of {}, {hands}",
            movement.title().to_lowercase()
        ),
        subtitle: setting.subtitle(first),
        sessions,
        notes,
    })
}
