//! Which repetitions are looked at together.
//!
//! Ours: a stretch without a hole, since the angle is carried by the gyroscope alone; short, since
//! its work and memory grow with it.

use std::ops::Range;

use super::Lift;
use crate::orientation::Oriented;

/// What is looked at before the first and after the last repetition, seconds.
pub(super) const MARGIN_S: f64 = 1.5;
/// A longer hole between samples ends a stretch, seconds.
const GAP_S: f64 = 0.2;
/// Repetitions that are looked at together at most.
pub(super) const BLOCK_COUNT: usize = 12;
/// A stretch is at most so long, seconds.
pub(super) const BLOCK_S: f64 = 180.0;

/// Stretches of repetitions with no hole in them, short enough to be looked at together, of at least
/// so many repetitions.
pub(super) fn blocks(oriented: &[Oriented], lifts: &[Lift], least: usize) -> Vec<Range<usize>> {
    let mut blocks = stretches(oriented, lifts);
    // A few that are left over join the block before, where they lie next to it.
    if let [.., before, last] = blocks.as_mut_slice()
        && last.len() < least
        && before.end == last.start
    {
        let (Some(first), Some(end)) = (lifts.get(before.start), lifts.get(last.end - 1)) else {
            return blocks;
        };
        if unbroken(oriented, first.lift_start_s, end.lower_end_s) {
            *before = before.start..last.end;
            blocks.pop();
        }
    }
    blocks.retain(|block| block.len() >= least);
    blocks
}

/// The first stretch, where no repetition that comes later changes it: what comes next is no longer
/// to be joined to it.
pub(super) fn complete(
    oriented: &[Oriented],
    lifts: &[Lift],
    least: usize,
) -> Option<Range<usize>> {
    let stretches = stretches(oriented, lifts);
    let complete = match stretches.as_slice() {
        [_, next] => next.len() >= least,
        [] | [_] => false,
        _ => true,
    };
    stretches.into_iter().next().filter(|_| complete)
}

/// Stretches of repetitions with no hole in them, of any length up to a block's.
fn stretches(oriented: &[Oriented], lifts: &[Lift]) -> Vec<Range<usize>> {
    let mut stretches: Vec<Range<usize>> = Vec::new();
    let mut open: Option<Range<usize>> = None;
    for (index, lift) in lifts.iter().enumerate() {
        let first = open.as_ref().and_then(|open| lifts.get(open.start));
        let from_s = first.map_or(lift.lift_start_s, |first| first.lift_start_s);
        let goes_on = first.is_some()
            && lift.lower_end_s - from_s <= BLOCK_S
            && unbroken(oriented, from_s, lift.lower_end_s)
            && open.as_ref().is_some_and(|open| open.len() < BLOCK_COUNT);
        if goes_on {
            open = open.map(|open| open.start..index + 1);
        } else {
            stretches.extend(open.take());
            let whole = lift.lower_end_s - lift.lift_start_s <= BLOCK_S
                && unbroken(oriented, lift.lift_start_s, lift.lower_end_s);
            open = whole.then_some(index..index + 1);
        }
    }
    stretches.extend(open);
    stretches
}

fn unbroken(oriented: &[Oriented], from_s: f64, to_s: f64) -> bool {
    let within = stretch(oriented, from_s, to_s);
    let covers = within.first().is_some_and(|o| o.t_s <= from_s + GAP_S)
        && within.last().is_some_and(|o| o.t_s >= to_s - GAP_S);
    covers
        && within
            .iter()
            .zip(within.iter().skip(1))
            .all(|(a, b)| b.t_s - a.t_s <= GAP_S)
}

fn stretch(oriented: &[Oriented], from_s: f64, to_s: f64) -> &[Oriented] {
    let from = oriented.partition_point(|o| o.t_s < from_s);
    let to = oriented.partition_point(|o| o.t_s <= to_s);
    oriented.get(from..to.max(from)).unwrap_or(&[])
}

/// The samples around a block, as far as no hole parts them from it.
pub(super) fn around<'a>(oriented: &'a [Oriented], lifts: &[Lift]) -> Option<&'a [Oriented]> {
    let (first, last) = (lifts.first()?, lifts.last()?);
    let wide = stretch(
        oriented,
        first.lift_start_s - MARGIN_S,
        last.lower_end_s + MARGIN_S,
    );
    let inside = wide.partition_point(|o| o.t_s < first.lift_start_s);
    let hole = |pair: &[Oriented]| match pair {
        [a, b] => b.t_s - a.t_s > GAP_S,
        _ => false,
    };
    let pairs = || wide.windows(2).enumerate();
    let from = pairs()
        .take(inside)
        .rfind(|(_, pair)| hole(pair))
        .map_or(0, |(index, _)| index + 1);
    let to = pairs()
        .skip(inside)
        .find(|(_, pair)| hole(pair))
        .map_or(wide.len(), |(index, _)| index + 1);
    wide.get(from..to)
}
