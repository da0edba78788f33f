//! Rules of the trade, as plain functions.

/// Extra repetitions that the rule asks for.
const EXTRA_COUNT: u32 = 2;

/// Whether the last set had at least two repetitions more than the goal in two sessions in a row,
/// the last two.
///
/// Source: the two-for-two rule of Baechle & Earle, Essentials of Strength Training and
/// Conditioning.
pub fn two_for_two(goal_count: u32, last_sets: &[u32]) -> bool {
    let enough = |done: &u32| *done >= goal_count.saturating_add(EXTRA_COUNT);
    matches!(last_sets, [.., before, last] if enough(before) && enough(last))
}
