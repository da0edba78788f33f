//! What was prescribed, as far as a session's routine or its sets say.

use super::series::HandLoad;
use crate::movement::{Movement, Posture, Side};
use crate::pipeline::SetResult;
use crate::pipeline::summary::SessionSummary;
use crate::routine::{CountedItem, Item, RangeBand, Routine};

/// The counted items of a routine, each direction of a range test by itself.
fn counted(routine: &Routine) -> impl Iterator<Item = CountedItem> {
    routine.items.iter().flat_map(Item::all_counted)
}

/// What a series is about, as far as a routine can say.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub(super) movement: Option<Movement>,
    pub(super) side: Option<Side>,
    pub(super) posture: Option<Posture>,
    pub(super) load: HandLoad,
}

impl Asked {
    fn is(&self, item: &CountedItem) -> bool {
        let Some(movement) = self.movement else {
            return false;
        };
        let posture = self.posture.unwrap_or_else(|| movement.usual_posture());
        let load = HandLoad::of_item(item);
        let tests = [load, self.load].map(|load| load == HandLoad::RangeTest);
        item.movement == movement
            && self
                .side
                .is_some_and(|side| item.side.sides().contains(&side))
            && item.posture() == posture
            && tests[0] == tests[1]
            && (load == self.load || load == HandLoad::Unknown || self.load == HandLoad::Unknown)
    }

    /// Repetitions that a session's routine asks for; `None` where it does not name the item.
    fn dose(&self, routine: &Routine) -> Option<u32> {
        counted(routine)
            .filter(|item| self.is(item))
            .map(|item| of_item(routine, &item))
            .reduce(u32::saturating_add)
    }

    /// How far the routine asks to go.
    pub(super) fn range(&self, routine: &Routine) -> Option<RangeBand> {
        counted(routine).find(|item| self.is(item))?.range
    }
}

/// Repetitions of an item for one hand in a whole session.
fn of_item(routine: &Routine, item: &CountedItem) -> u32 {
    routine
        .rounds
        .saturating_mul(item.sets)
        .saturating_mul(item.repetitions)
}

/// Repetitions prescribed for a series in a session: by the routine, else by its sets if each says.
pub(super) fn prescribed(
    routine: Option<&Routine>,
    asked: &Asked,
    sets: &[&SetResult],
) -> Option<u32> {
    routine
        .and_then(|routine| asked.dose(routine))
        .or_else(|| of_sets(sets.iter().copied()))
}

fn of_sets<'a>(sets: impl Iterator<Item = &'a SetResult>) -> Option<u32> {
    sets.map(|set| set.target_reps)
        .try_fold(0_u32, |sum, target| Some(sum.saturating_add(target?)))
}

/// Repetitions prescribed for a whole session; `None` without sets or where it is not known.
pub(super) fn of_session(summary: &SessionSummary) -> Option<u32> {
    if summary.analysis.sets.is_empty() {
        return None;
    }
    match summary.routine.as_ref().filter(|r| !r.items.is_empty()) {
        Some(routine) => counted(routine)
            .map(|item| {
                let hands = u32::try_from(item.side.sides().len()).unwrap_or(u32::MAX);
                of_item(routine, &item).saturating_mul(hands)
            })
            .reduce(u32::saturating_add),
        None => of_sets(summary.analysis.sets.iter()),
    }
}

/// Items of the routine of which no set was begun, in words; empty of a session without sets.
pub(super) fn not_begun(summary: &SessionSummary) -> Vec<String> {
    let sets = &summary.analysis.sets;
    let Some(routine) = summary.routine.as_ref().filter(|_| !sets.is_empty()) else {
        return Vec::new();
    };
    let mut missing = Vec::new();
    for item in counted(routine) {
        for side in item.side.sides() {
            let begun = sets.iter().any(|set| {
                set.movement == Some(item.movement)
                    && set.side == Some(*side)
                    && set.range_test == item.is_range_test()
            });
            let what = if item.is_range_test() {
                "range test of "
            } else {
                ""
            };
            let movement = item.movement.title().to_lowercase();
            let words = format!("{what}{movement} {}", side.name());
            if !begun && !missing.contains(&words) {
                missing.push(words);
            }
        }
    }
    missing
}
