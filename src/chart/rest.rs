//! What lies outside the repetitions: dots where the angle is level, a thin line where it moves.

use super::ChartError;
use super::palette::REST;
use super::pen::{Pen, Point};
use super::trace::{Phase, stroke, thin};
use plotters_backend::DrawingBackend;
use std::ops::Range;

/// How long an angle must stay for it to be level, in seconds; ours.
const LEVEL_S: f64 = 0.5;
/// Shortest row of dots, in pixels: two of them. A shorter one is a plain line.
const ROW_PX: f64 = 9.0;
/// From one dot to the next.
const EVERY_PX: f64 = 4.5;

/// Highest less lowest angle.
pub(crate) fn spread(part: &[(f64, f64)]) -> f64 {
    let angles = || part.iter().map(|p| p.1);
    angles().fold(f64::MIN, f64::max) - angles().fold(f64::MAX, f64::min)
}

/// The stretches of a part of the curve, as places in it, in which the angle stays within
/// `tolerance_deg` for at least [`LEVEL_S`].
pub(crate) fn levels(part: &[(f64, f64)], tolerance_deg: f64) -> Vec<Range<usize>> {
    let mut found: Vec<Range<usize>> = Vec::new();
    let mut start = 0;
    while let Some((first, rest)) = part.get(start..).and_then(<[_]>::split_first) {
        let (mut low, mut high) = (first.1, first.1);
        let staying = rest.iter().take_while(|p| {
            (low, high) = (low.min(p.1), high.max(p.1));
            high - low <= tolerance_deg
        });
        let length = 1 + staying.count();
        let end = start + length;
        let last = part.get(end - 1).unwrap_or(first);
        if last.0 - first.0 >= LEVEL_S {
            match found.last_mut() {
                Some(before) if before.end == start => before.end = end,
                _ => found.push(start..end),
            }
            start = end;
        } else if end == part.len() {
            // What starts later is shorter still.
            break;
        } else {
            start += 1;
        }
    }
    found
}

/// Draws what lies outside the repetitions; `level` are the places of `points` that are dotted.
pub(crate) fn rest<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    points: &[Point],
    level: &[Range<usize>],
) -> Result<(), ChartError> {
    let mut since = 0;
    for stretch in level {
        let row = points.get(stretch.clone()).unwrap_or_default();
        let moving = points.get(since..=stretch.start).unwrap_or_default();
        stroke(pen, Phase::Rest, moving, 1.0)?;
        dotted(pen, row)?;
        since = stretch.end - 1;
    }
    let moving = points.get(since..).unwrap_or_default();
    if level.last().is_some_and(|last| last.end == points.len()) && since + 1 == points.len() {
        return Ok(());
    }
    stroke(pen, Phase::Rest, moving, 1.0)
}

/// Dots along a level stretch, at its mean height where it trembles; a line where there is no room
/// for two.
pub(crate) fn dotted<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    points: &[Point],
) -> Result<(), ChartError> {
    let column = |p: &Point| (p.0 / EVERY_PX).floor();
    let smooth: Vec<Point> = points
        .chunk_by(|a, b| column(a) == column(b))
        .map(|group| {
            let count = group.len() as f64;
            let sum = group.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0, s.1 + p.1));
            (sum.0 / count, sum.1 / count)
        })
        .collect();
    let ends = points.first().zip(points.last());
    let line: Vec<Point> = match (ends, smooth.first(), smooth.last()) {
        (Some((first, last)), Some(left), Some(right)) => {
            // From end to end across, at the heights of the means.
            let mut line = vec![(first.0, left.1)];
            line.extend(smooth.iter().copied());
            line.push((last.0, right.1));
            line
        }
        _ => Vec::new(),
    };
    if ends.is_none_or(|(first, last)| last.0 - first.0 < ROW_PX) {
        return pen.line(&line, REST, 1.1);
    }
    pen.dots(&thin(&line), REST, 0.9, EVERY_PX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sampled(angle_deg: impl Fn(f64) -> f64, length_s: f64) -> Vec<(f64, f64)> {
        let count = (length_s * 100.0) as usize;
        (0..=count)
            .map(|n| (n as f64 / 100.0, angle_deg(n as f64 / 100.0)))
            .collect()
    }

    #[test]
    fn what_stays_is_level_and_what_moves_is_not() {
        let still_then_up = sampled(|t_s| (40.0 * (t_s - 2.0)).max(0.0), 4.0);
        let found = levels(&still_then_up, 2.5);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found.iter().all(|level| level.start == 0));
        // The tolerance reaches 2.5 degrees, 0.06 s, into the movement.
        assert!(found.iter().all(|level| (200..=208).contains(&level.end)));
        assert!(levels(&sampled(|t_s| 30.0 * t_s, 4.0), 2.5).is_empty());
        let trembling = sampled(|t_s| 0.6 * (50.0 * t_s).sin(), 4.0);
        assert_eq!(levels(&trembling, 2.5), vec![Range { start: 0, end: 401 }]);
    }

    #[test]
    fn what_is_short_or_empty_is_not_level() {
        assert!(levels(&[], 2.5).is_empty());
        assert!(levels(&sampled(|_| 0.0, 0.3), 2.5).is_empty());
        assert!(levels(&vec![(1.0, 1.0); 100_000], 2.5).is_empty());
    }
}
