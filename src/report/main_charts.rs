//! Which charts stand on the second sheet; the rest stand in the appendix.

use super::charts::{NamedChart, Place};
use crate::movement::Side;
use crate::review::{Review, SymptomRow};

/// So many groups have their charts on the sheet: three rows of two.
const GROUPS: usize = 3;

/// For each chart whether it stands on the sheet: range and time of the groups with the most
/// repetitions, and as many of the last session's curves as there is room for.
pub(super) fn chosen(review: &Review, charts: &[NamedChart]) -> Vec<bool> {
    let done = |group: &[crate::review::Series]| -> u32 {
        group.iter().map(|series| series.total.done_count).sum()
    };
    let mut groups: Vec<(u32, usize)> = review
        .groups()
        .iter()
        .enumerate()
        .filter(|(index, _)| {
            charts
                .iter()
                .any(|chart| chart.place == Place::Group(*index))
        })
        .map(|(index, group)| (done(group), index))
        .collect();
    groups.sort_by_key(|(count, index)| (std::cmp::Reverse(*count), *index));
    groups.truncate(GROUPS);
    let curves = curves(review, charts, 1 + GROUPS.saturating_sub(groups.len()));
    charts
        .iter()
        .enumerate()
        .map(|(index, chart)| match chart.place {
            Place::Group(index) => {
                let kind = ["range-", "lowering-"];
                groups.iter().any(|(_, chosen)| *chosen == index)
                    && kind.iter().any(|kind| chart.name.starts_with(kind))
            }
            Place::Last => curves.contains(&index),
        })
        .collect()
}

/// The places of at most so many of the last session's curves, those of the hand with the worst
/// answers first.
fn curves(review: &Review, charts: &[NamedChart], most: usize) -> Vec<usize> {
    let worst = |side: Side| {
        let symptoms = review.sessions.iter().flat_map(|row| &row.symptoms);
        let of_side = symptoms.filter(|symptom| symptom.side == Some(side));
        of_side.filter_map(SymptomRow::worst).max()
    };
    let worse = if worst(Side::Right) > worst(Side::Left) {
        Side::Right
    } else {
        Side::Left
    };
    let mut found: Vec<(bool, usize)> = charts
        .iter()
        .enumerate()
        .filter(|(_, chart)| chart.name.starts_with("last-angle-"))
        .map(|(index, chart)| (!chart.name.contains(worse.name()), index))
        .collect();
    found.sort_unstable();
    found
        .into_iter()
        .take(most)
        .map(|(_, index)| index)
        .collect()
}
