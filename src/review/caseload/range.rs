//! Ranges of the movements of one patient: first session against last, in brief.

use std::collections::BTreeMap;

use jiff::civil::Date;
use serde::Serialize;

use crate::movement::{Movement, Side};
use crate::pipeline::summary::{GroupBrief, NamedBrief};
use crate::review::change::{Change, Judgement, range_error, same_day_differences_deg};
use crate::review::posture_words;
use crate::review::series::{HandLoad, at_neutral, starts_at_neutral};

/// How the ranges of a patient's movements changed.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct RangeCounts {
    /// Movements, hands and postures with a range beyond the error: each with its change.
    pub beyond: Vec<RangeChange>,
    /// Those within the error.
    pub within_count: u32,
    /// Those of which it is unknown: a single session, no error to hold it against, or an unknown one
    /// of the sensor's own.
    pub unknown_count: u32,
}

/// A change of one movement of one hand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RangeChange {
    /// The movement.
    pub movement: Movement,
    /// The hand; `None` where it was not named.
    pub side: Option<Side>,
    /// The posture in words.
    pub posture_words: String,
    /// Empty or loaded.
    pub load: HandLoad,
    /// First session against last.
    pub change: Change,
    /// The folders of those sessions.
    pub names: [String; 2],
}

type Key = (Movement, HandLoad, String, Option<Side>);

fn key(group: &GroupBrief) -> Option<Key> {
    let movement = group.movement.filter(|m| *m != Movement::ArmCircles)?;
    let load = match group.loaded {
        _ if group.range_test => HandLoad::RangeTest,
        Some(true) => HandLoad::Loaded,
        Some(false) => HandLoad::Empty,
        None => HandLoad::Unknown,
    };
    let posture = posture_words(group.posture.as_ref());
    Some((movement, load, posture, group.side))
}

struct Known<'a> {
    name: &'a str,
    date: Date,
    range_deg: f64,
    range_error_deg: Option<f64>,
    calibrated: bool,
    from_neutral: bool,
}

pub(super) fn counts(sessions: &[&NamedBrief]) -> RangeCounts {
    let mut series: BTreeMap<Key, Vec<Known>> = BTreeMap::new();
    for session in sessions {
        for group in &session.brief.groups {
            if let (Some(key), Some(range_deg)) = (key(group), group.range_deg) {
                series.entry(key).or_default().push(Known {
                    name: &session.name,
                    date: session.brief.day(),
                    range_deg,
                    range_error_deg: group.range_error_deg,
                    calibrated: group.calibrated,
                    from_neutral: at_neutral(group.calibrated, group.start_deg),
                });
            }
        }
    }
    // Where range tests of two sessions are there, they alone are weighed: so does the review.
    let tested: Vec<(Movement, Option<Side>)> = series
        .iter()
        .filter(|((_, load, ..), known)| *load == HandLoad::RangeTest && known.len() > 1)
        .map(|((movement, _, _, side), _)| (*movement, *side))
        .collect();
    series.retain(|(movement, load, _, side), _| {
        *load == HandLoad::RangeTest || !tested.contains(&(*movement, *side))
    });
    let mut counts = RangeCounts::default();
    for ((movement, load, posture_words, side), known) in series {
        let (Some(first), Some(last)) = (known.first(), known.get(1..).and_then(<[_]>::last))
        else {
            counts.unknown_count += 1;
            continue;
        };
        let neutral: Vec<bool> = known.iter().map(|session| session.from_neutral).collect();
        let fitted = known.iter().filter(|session| session.calibrated);
        let fitted: Vec<(Date, f64)> = fitted.map(|s| (s.date, s.range_deg)).collect();
        let differences_deg = same_day_differences_deg(&fitted);
        let error = range_error(movement, starts_at_neutral(&neutral), &differences_deg);
        let ends = [first, last].map(|session| (session.date, session.range_deg));
        let stated_deg = first.range_error_deg.zip(last.range_error_deg);
        let change = Change::new(ends, error, stated_deg.map(|(a, b)| a.hypot(b)));
        match (change.error, change.judgement) {
            (None, _) => counts.unknown_count += 1,
            (_, Judgement::UnknownOrWithinError) if change.stated_deg.is_none() => {
                counts.unknown_count += 1;
            }
            (_, Judgement::UnknownOrWithinError) => counts.within_count += 1,
            (_, Judgement::BeyondError) => counts.beyond.push(RangeChange {
                movement,
                side,
                posture_words,
                load,
                change,
                names: [first, last].map(|session| session.name.to_owned()),
            }),
        }
    }
    counts
}
