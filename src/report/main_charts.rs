//! Which charts stand on the second sheet; the rest stand in the appendix.

use super::charts::{NamedChart, Place};
use crate::review::Review;

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
    let mut curves = 1 + GROUPS.saturating_sub(groups.len());
    charts
        .iter()
        .map(|chart| match chart.place {
            Place::Group(index) => {
                let kind = ["range-", "lowering-"];
                groups.iter().any(|(_, chosen)| *chosen == index)
                    && kind.iter().any(|kind| chart.name.starts_with(kind))
            }
            Place::Last => {
                let curve = chart.name.starts_with("last-angle-") && curves > 0;
                curves -= usize::from(curve);
                curve
            }
        })
        .collect()
}
