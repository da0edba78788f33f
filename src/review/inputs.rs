//! Inputs to the decision: what a clinician weighs, each with its numbers, whether it was seen, and
//! its source. No row decides.

mod done;
mod said;

use serde::Serialize;

use super::Review;
use super::rules::two_for_two;
use super::words::{count_of, share_words};
use crate::movement::Side;
use crate::pipeline::SetResult;
use crate::pipeline::summary::Summarised;
use crate::routine::CountedItem;

/// What stands above the rows.
pub const INPUTS_NOTE: &str = "No row decides; symptoms come before strength.";
/// A share of repetitions in tempo from which the tempo counts as kept (ours: three quarters).
const KEPT_RATIO: f64 = 0.75;
/// Facts without a publication.
const OURS: &str = "common practice, no source";

/// In which direction a row speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum InputFor {
    /// For more.
    More,
    /// For the same.
    Same,
    /// For less, or a call.
    LessOrCall,
}

/// Whether it was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sight {
    /// Seen.
    Seen,
    /// Looked for and not seen.
    NotSeen,
    /// Too little is known.
    NotEnoughData,
    /// The routine does not allow it to show.
    NotTested,
}

impl Sight {
    /// The words for tables.
    pub fn words(self) -> &'static str {
        match self {
            Sight::Seen => "seen",
            Sight::NotSeen => "not seen",
            Sight::NotEnoughData => "not enough data",
            Sight::NotTested => "not tested",
        }
    }

    fn of(seen: Option<bool>) -> Sight {
        match seen {
            Some(true) => Sight::Seen,
            Some(false) => Sight::NotSeen,
            None => Sight::NotEnoughData,
        }
    }
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct InputRow {
    /// In which direction it speaks.
    pub speaks_for: InputFor,
    /// What is looked for.
    pub about: &'static str,
    /// Whether it was seen.
    pub sight: Sight,
    /// Its numbers.
    pub numbers: String,
    /// Its source.
    pub source: &'static str,
}

/// The rows of the sessions since the visit.
pub(super) fn inputs(review: &Review, sessions: &[&Summarised]) -> Vec<InputRow> {
    let mut rows = vec![
        extra(sessions),
        tempo_kept(review),
        said::settled(review, sessions),
        done::range(review, InputFor::More),
        done::range(review, InputFor::Same),
        done::adherence(review),
        said::stops(review),
        said::rising(review),
        said::nights(review),
        hurried_rising(review),
        done::range(review, InputFor::LessOrCall),
    ];
    rows.sort_by_key(|row| row.speaks_for);
    rows
}

fn row(
    speaks_for: InputFor,
    about: &'static str,
    sight: Sight,
    numbers: String,
    source: &'static str,
) -> InputRow {
    InputRow {
        speaks_for,
        about,
        sight,
        numbers,
        source,
    }
}

/// Repetitions of the last set of an item for one hand, in each session done under that same dose,
/// in order: two sessions under another goal or another weight say nothing of this one. 0 where
/// the last set was not reached, or was done with another weight.
fn last_sets(sessions: &[&Summarised], item: &CountedItem, side: Side) -> Vec<u32> {
    sessions
        .iter()
        .filter_map(|session| {
            let routine = session.summary.routine.as_ref()?;
            let same = |other: &CountedItem| {
                other.side.sides().contains(&side)
                    && (other.movement, other.posture()) == (item.movement, item.posture())
                    && (other.sets, other.repetitions, other.load_kg)
                        == (item.sets, item.repetitions, item.load_kg)
            };
            let mut items = routine.items.iter().filter_map(|other| other.counted());
            items.find(|other| same(other))?;
            let sets: Vec<&SetResult> = session
                .summary
                .analysis
                .sets
                .iter()
                .filter(|set| {
                    !set.range_test
                        && (set.movement, set.side) == (Some(item.movement), Some(side))
                        && set.posture.unwrap_or_else(|| item.movement.usual_posture())
                            == item.posture()
                })
                .collect();
            let last = sets.last()?;
            let asked = routine.rounds.saturating_mul(item.sets);
            let whole = u32::try_from(sets.len()).unwrap_or(u32::MAX) >= asked;
            let lighter = matches!((item.load_kg, last.load_kg), (Some(a), Some(b)) if a != b);
            Some(if whole && !lighter {
                u32::try_from(last.reps.len()).unwrap_or(u32::MAX)
            } else {
                0
            })
        })
        .collect()
}

/// Two-for-two, of the items of the latest routine that allow extra repetitions.
fn extra(sessions: &[&Summarised]) -> InputRow {
    let about = "two-for-two in the last set";
    let source = "Baechle & Earle";
    let routine = sessions
        .iter()
        .rev()
        .find_map(|s| s.summary.routine.as_ref());
    let items = routine.into_iter().flat_map(|routine| &routine.items);
    let mut tested = false;
    let mut seen = Vec::new();
    let mut known = false;
    for item in items.filter_map(|item| item.counted()) {
        if item.extra_repetitions_max < 2 {
            continue;
        }
        tested = true;
        for side in item.side.sides() {
            let counts = last_sets(sessions, item, *side);
            known |= counts.len() >= 2;
            if two_for_two(item.repetitions, &counts) {
                let last: Vec<String> = counts
                    .iter()
                    .skip(counts.len().saturating_sub(2))
                    .map(u32::to_string)
                    .collect();
                seen.push(format!(
                    "{} {}: {} of {}",
                    item.movement.title().to_lowercase(),
                    side.name(),
                    last.join(" and "),
                    item.repetitions
                ));
            }
        }
    }
    let (sight, numbers) = if !tested {
        (
            Sight::NotTested,
            "the routine allows no extra repetitions".to_owned(),
        )
    } else if !known {
        (
            Sight::NotEnoughData,
            "fewer than two sessions under this dose".to_owned(),
        )
    } else if seen.is_empty() {
        (Sight::NotSeen, "of no item".to_owned())
    } else {
        (Sight::Seen, seen.join("; "))
    };
    row(InputFor::More, about, sight, numbers, source)
}

/// Judged and hurried repetitions of the last two sessions in which any was judged, by session.
fn judged(review: &Review) -> Vec<(u32, u32)> {
    let mut by_session: std::collections::BTreeMap<usize, (u32, u32)> = Default::default();
    for session in review.series.iter().flat_map(|series| &series.sessions) {
        let sum = by_session.entry(session.session).or_default();
        sum.0 += session.judged_count;
        sum.1 += session.hurried_count;
    }
    by_session.into_values().filter(|sum| sum.0 > 0).collect()
}

fn tempo_kept(review: &Review) -> InputRow {
    let all = judged(review);
    let last = all.get(all.len().saturating_sub(2)..).unwrap_or_default();
    let (judged, hurried) = last
        .iter()
        .fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1));
    let kept = judged - hurried;
    let seen = (last.len() == 2).then(|| f64::from(kept) >= KEPT_RATIO * f64::from(judged));
    let numbers = format!(
        "not hurried: {} in the last two sessions",
        if judged == 0 {
            "unknown".to_owned()
        } else {
            count_of(kept, Some(judged))
        }
    );
    row(InputFor::More, "tempo kept", Sight::of(seen), numbers, OURS)
}

fn hurried_rising(review: &Review) -> InputRow {
    let all = judged(review);
    let (early, late) = all.split_at(all.len() / 2);
    let sum = |part: &[(u32, u32)]| part.iter().fold((0, 0), |s, of| (s.0 + of.0, s.1 + of.1));
    let ((early_judged, early_hurried), (judged, hurried)) = (sum(early), sum(late));
    let enough = early.len() >= 2;
    let share = |hurried: u32, judged: u32| f64::from(hurried) / f64::from(judged.max(1));
    // A tenth more is named (ours): a few repetitions either way are chance.
    let seen = enough.then(|| share(hurried, judged) > share(early_hurried, early_judged) + 0.1);
    let numbers = format!(
        "{} in the first half, {} in the second",
        share_words(early_hurried, early_judged),
        share_words(hurried, judged)
    );
    row(
        InputFor::LessOrCall,
        "hurried share rising",
        Sight::of(seen),
        numbers,
        OURS,
    )
}
