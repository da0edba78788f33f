//! The last session's curves and tempo.

use super::charts::{Seen, Setting};
use super::history_charts::{phase_word, tempo_band};
use crate::chart::{
    AngleChart, RepetitionMark, Stretch, TempoChart, TempoRepetition, TempoSet, TempoVerdict,
    TracePoint,
};
use crate::movement::{Movement, MovingPhase, Side};
use crate::pipeline::{Expectation, SetDetail, SetResult, analyse_in_detail};
use crate::recording;
use crate::reps::curve::STEP_S;
use crate::reps::{Doubt, Repetition};
use crate::review::{HandLoad, Review, Series, kilograms, posture_words};
use crate::routine::Verdict;

/// At most so many curves stand in a report: three movements of two hands.
const MOST_CURVES: usize = 6;

/// Every so many points of the grid of 100 Hz are drawn.
const EVERY_POINTS: usize = 4;

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
        a.movement.is_some() && (a.movement, a.side) == (b.movement, b.side)
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
        let (trace, gaps) = curve(of_set);
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

fn curve(detail: &SetDetail) -> (Vec<TracePoint>, Vec<Stretch>) {
    let Some(motion) = &detail.motion else {
        return (Vec::new(), Vec::new());
    };
    let curve = &motion.curve;
    let trace = (0..curve.len())
        .step_by(EVERY_POINTS)
        .map(|index| TracePoint {
            t_s: curve.time_s(index),
            angle_deg: curve.angle(index) - motion.zero_deg,
            uncertainty_deg: None,
        })
        .collect();
    let mut gaps: Vec<Stretch> = Vec::new();
    for (index, _) in curve.gap.iter().enumerate().filter(|(_, gap)| **gap) {
        let (start_s, end_s) = (curve.time_s(index), curve.time_s(index + 1));
        match gaps.last_mut() {
            Some(gap) if start_s - gap.end_s < 0.5 * STEP_S => gap.end_s = end_s,
            _ => gaps.push(Stretch { start_s, end_s }),
        }
    }
    (trace, gaps)
}

/// The angle against time of a set.
pub(super) fn angle_chart(last: &LastSet, movement: Movement, setting: Setting) -> AngleChart {
    let set = &last.set;
    let side = last.side.map_or("hand not named", Side::name);
    let load = match set.load_kg {
        Some(kg) if kg > 0.0 => kilograms(kg),
        Some(_) => "empty hand".to_owned(),
        None => "load unknown".to_owned(),
    };
    let asked = set.tempo.map_or_else(String::new, |tempo| {
        format!(", asked {}: {}", tempo.code(), tempo.words())
    });
    let words = format!("{load}, {}{asked}", posture_words(set.posture.as_ref()));
    let mark = |rep: &Repetition| RepetitionMark {
        lift_start_s: rep.lift_start_s,
        lift_end_s: rep.lift_end_s,
        lower_start_s: rep.lower_start_s,
        lower_end_s: rep.lower_end_s,
        doubts: rep
            .doubts
            .iter()
            .map(|doubt| doubt.name().to_owned())
            .collect(),
    };
    AngleChart {
        title: format!("{}, {side}, {}", movement.title(), last.words),
        subtitle: subtitle(&words, setting),
        movement,
        timed: set.eccentric.unwrap_or(MovingPhase::Lower),
        trace: last.trace.clone(),
        repetitions: set.reps.iter().map(mark).collect(),
        gaps: last.gaps.clone(),
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: setting.angle_notes(),
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
    let first = group.first()?;
    let movement = first.movement.filter(|m| *m != Movement::ArmCircles)?;
    let last = review.last_exercise.as_ref()?;
    let of_group = |set: &&SetResult| {
        set.movement == first.movement
            && HandLoad::of(set.load_kg) == first.load
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
            repetitions: set.reps.iter().map(|rep| timed(rep, phase)).collect(),
        };
        lanes.push((set.side, lane));
    }
    lanes.into_iter().map(|(_, lane)| lane).collect()
}

fn timed(rep: &Repetition, phase: MovingPhase) -> TempoRepetition {
    let (duration_s, cut) = match phase {
        MovingPhase::Lift => (rep.lift_s(), Doubt::StartCut),
        MovingPhase::Lower => (rep.lower_s(), Doubt::EndCut),
    };
    TempoRepetition {
        duration_s: (!rep.doubts.contains(&cut)).then_some(duration_s),
        verdict: rep.verdict.map(|verdict| match verdict {
            Verdict::InBand => TempoVerdict::InBand,
            Verdict::Hurried => TempoVerdict::Hurried,
            Verdict::Slower => TempoVerdict::Slower,
        }),
        doubtful: !rep.doubts.is_empty(),
    }
}
