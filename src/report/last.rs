//! The last session's curves and tempo.

use super::charts::{Seen, Setting};
use super::history_charts::phase_word;
use super::marks::{
    repetition_marks, set_note, tempo_band, tempo_marks, timed_phase, trace_and_gaps,
};
use crate::chart::{AngleChart, Stretch, TempoChart, TempoSet, TracePoint};
use crate::movement::{Movement, MovingPhase, Side};
use crate::pipeline::{Expectation, SetResult, analyse_in_detail};
use crate::recording;
use crate::review::{HandLoad, Review, Series, kilograms, posture_words};

/// At most so many curves stand in a report: three movements of two hands.
const MOST_CURVES: usize = 6;

/// A set of the last session with its curve.
#[derive(Debug, Clone)]
pub(super) struct LastSet {
    pub(super) movement: Option<Movement>,
    pub(super) side: Option<Side>,
    /// "set 2 of 3"
    words: String,
    set: SetResult,
    trace: Vec<TracePoint>,
    gaps: Vec<Stretch>,
}

/// The last set of each movement and hand of the last session with a repetition, read from its
/// recording; empty where that cannot be read any more.
pub(super) fn last_sets(review: &Review) -> Vec<LastSet> {
    let Some(last) = &review.last_exercise else {
        return Vec::new();
    };
    let Ok(recording) = recording::open(&last.folder) else {
        return Vec::new();
    };
    let Ok(detail) = analyse_in_detail(&recording, &Expectation::default()) else {
        return Vec::new();
    };
    let sets = &detail.analysis.sets;
    let alike = |a: &SetResult, b: &SetResult| {
        a.movement.is_some()
            && (a.movement, a.side, a.range_test) == (b.movement, b.side, b.range_test)
    };
    let mut found = Vec::new();
    for (index, (set, of_set)) in sets.iter().zip(&detail.sets).enumerate() {
        let later = sets.iter().skip(index + 1);
        let is_last = !later
            .into_iter()
            .any(|b| alike(set, b) && !b.reps.is_empty());
        if set.reps.is_empty() || !is_last || set.movement.is_none() {
            continue;
        }
        let nth = sets
            .iter()
            .take(index + 1)
            .filter(|b| alike(set, b))
            .count();
        let of = sets.iter().filter(|b| alike(set, b)).count();
        let (trace, gaps) = trace_and_gaps(of_set);
        found.push(LastSet {
            movement: set.movement,
            side: set.side,
            words: format!("set {nth} of {of}"),
            set: set.clone(),
            trace,
            gaps,
        });
    }
    found.truncate(MOST_CURVES);
    found
}

/// The angle against time of a set.
pub(super) fn angle_chart(last: &LastSet, movement: Movement, setting: Setting) -> AngleChart {
    let set = &last.set;
    let side = last.side.map_or("hand not named", Side::name);
    let load = match set.load_kg {
        _ if set.range_test => "range test, empty hand".to_owned(),
        Some(kg) if kg > 0.0 => kilograms(kg),
        Some(_) => "empty hand".to_owned(),
        None => "load unknown".to_owned(),
    };
    let asked = set.tempo.map_or_else(String::new, |tempo| {
        format!(
            ", asked {}: {}",
            tempo.code(),
            tempo.words_for(set.eccentric)
        )
    });
    let words = format!("{load}, {}{asked}", posture_words(set.posture.as_ref()));
    AngleChart {
        title: format!("{}, {side}, {}", movement.title(), last.words),
        subtitle: subtitle(&words, setting),
        movement: Some(movement),
        zero: set.zero,
        timed: Some(timed_phase(set)),
        trace: last.trace.clone(),
        repetitions: repetition_marks(set),
        gaps: last.gaps.clone(),
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: match &set.forearm {
            Some(part) if part.two_sensors() => vec![set_note(set)],
            _ => setting.angle_notes(set.zero),
        },
    }
}

/// What was asked stands on every curve, alone or not.
fn subtitle(words: &str, setting: Setting) -> String {
    let alone = Setting {
        seen: Seen::Alone,
        ..setting
    };
    alone.subtitled(words)
}

/// The tempo of the last session's sets of a group: one chart, or none.
pub(super) fn tempo_chart(
    review: &Review,
    group: &[Series],
    setting: Setting,
) -> Option<TempoChart> {
    let first = group.first().filter(|s| s.load != HandLoad::RangeTest)?;
    let movement = first.movement.filter(|m| *m != Movement::ArmCircles)?;
    let last = review.last_exercise.as_ref()?;
    let of_group = |set: &&SetResult| {
        set.movement == first.movement
            && HandLoad::of_set(set) == first.load
            && posture_words(set.posture.as_ref()) == first.posture_words
    };
    let sets: Vec<&SetResult> = last.analysis.sets.iter().filter(of_group).collect();
    if sets.iter().all(|set| set.reps.is_empty()) {
        return None;
    }
    let phase = first.timed_phase();
    let date = review.sessions.get(last.session)?.date;
    Some(TempoChart {
        title: format!(
            "{} of {} on {}",
            phase_word(phase),
            movement.title().to_lowercase(),
            date.strftime("%-d %b")
        ),
        subtitle: setting.subtitle(first),
        phase,
        sets: lanes(&sets, phase),
        notes: Vec::new(),
    })
}

fn lanes(sets: &[&SetResult], phase: MovingPhase) -> Vec<TempoSet> {
    let mut lanes: Vec<(Option<Side>, TempoSet)> = Vec::new();
    for set in sets {
        let nth = 1 + lanes.iter().filter(|(side, _)| *side == set.side).count();
        let side = set.side.map_or("Hand", |side| match side {
            Side::Left => "Left",
            Side::Right => "Right",
        });
        let band = set.tempo_band.filter(|_| set.eccentric == Some(phase));
        let lane = TempoSet {
            label: format!("{side}, set {nth}"),
            band: band.map(tempo_band),
            repetitions: tempo_marks(set, phase),
        };
        lanes.push((set.side, lane));
    }
    lanes.into_iter().map(|(_, lane)| lane).collect()
}
