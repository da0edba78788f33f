//! The angle curve: cutting it by phase, thinning it to what can be seen, and its line styles.

use super::angle::{Stretch, TracePoint};
use super::palette::{HOLD, INK, LIFT, LOWER, QUIET, REST};
use super::pen::{Anchor, Pen, Point, Type};
use super::rest::dotted;
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

/// A part of a repetition, or what lies between two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Phase {
    Rest,
    Lift,
    Hold,
    /// A hold too short to be one.
    Touch,
    Lower,
    /// A whole turn.
    Turn,
}

/// The stretches of the trace with no gap inside.
pub(crate) fn runs<'a>(trace: &'a [TracePoint], gaps: &[Stretch]) -> Vec<&'a [TracePoint]> {
    trace
        .chunk_by(|a, b| {
            !gaps
                .iter()
                .any(|gap| gap.start_s < b.t_s - 1e-9 && gap.end_s > a.t_s + 1e-9)
        })
        .collect()
}

/// The part of a run between two times, its ends interpolated.
pub(crate) fn cut(run: &[TracePoint], from_s: f64, to_s: f64) -> Vec<(f64, f64)> {
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return Vec::new();
    };
    let (from_s, to_s) = (from_s.max(first.t_s), to_s.min(last.t_s));
    if from_s >= to_s {
        return Vec::new();
    }
    let at = |t_s: f64| {
        let after = run.partition_point(|p| p.t_s < t_s);
        let b = run.get(after)?;
        let a = run.get(after.saturating_sub(1))?;
        let step = b.t_s - a.t_s;
        let share = if step > 0.0 {
            (t_s - a.t_s) / step
        } else {
            1.0
        };
        Some((t_s, a.angle_deg + (b.angle_deg - a.angle_deg) * share))
    };
    let inside = run
        .iter()
        .skip(run.partition_point(|p| p.t_s <= from_s))
        .take_while(|p| p.t_s < to_s)
        .map(|p| (p.t_s, p.angle_deg));
    at(from_s)
        .into_iter()
        .chain(inside)
        .chain(at(to_s))
        .collect()
}

/// Keeps first, lowest, highest and last point of every half pixel across: the drawn line is the
/// same, and twenty minutes at 104 Hz weigh no more than one.
pub(crate) fn thin(points: &[Point]) -> Vec<Point> {
    let column = |p: &Point| (p.0 * 2.0).floor();
    let mut out: Vec<Point> = Vec::new();
    for group in points.chunk_by(|a, b| column(a) == column(b)) {
        if group.len() <= 4 {
            out.extend_from_slice(group);
            continue;
        }
        let by_height = |a: &&Point, b: &&Point| a.1.total_cmp(&b.1);
        let mut kept: Vec<Point> = [
            group.first(),
            group.iter().min_by(by_height),
            group.iter().max_by(by_height),
            group.last(),
        ]
        .into_iter()
        .flatten()
        .copied()
        .collect();
        kept.sort_by(|a, b| a.0.total_cmp(&b.0));
        kept.dedup();
        out.extend(kept);
    }
    out
}

/// Draws one phase in its own line: thin, on a bed, heavy.
pub(crate) fn stroke<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    phase: Phase,
    points: &[Point],
    weight: f64,
) -> Result<(), ChartError> {
    let line = thin(points);
    match phase {
        Phase::Rest => pen.line(&line, REST, 1.1),
        Phase::Lift => pen.line(&line, LIFT, (1.7 * weight).max(1.2)),
        Phase::Hold => {
            bed(pen, &line, 4.0 * weight)?;
            pen.line(&line, INK, 1.2 * weight)
        }
        Phase::Touch => pen.line(&line, INK, 1.2 * weight),
        Phase::Lower => pen.line(&line, LOWER, 3.6 * weight),
        Phase::Turn => pen.line(&line, LOWER, (1.9 * weight).max(1.2)),
    }
}

/// The pale bed under a hold: as high everywhere, and exactly as long as the hold. One that would
/// be higher than long is a speck and left out.
fn bed<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    line: &[Point],
    half_px: f64,
) -> Result<(), ChartError> {
    let (Some(first), Some(last)) = (line.first(), line.last()) else {
        return Ok(());
    };
    if last.0 - first.0 < 2.0 * half_px {
        return Ok(());
    }
    let above = line.iter().map(|(x, y)| (*x, y - half_px));
    let below = line.iter().rev().map(|(x, y)| (*x, y + half_px));
    let outline: Vec<Point> = above.chain(below).collect();
    pen.fill(&outline, HOLD)
}

/// Width of [`key`].
pub(crate) const KEY_PX: f64 = 236.0;

/// A model repetition with the phases named on it, its right end at `right`.
pub(crate) fn key<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    right: f64,
    baseline: f64,
) -> Result<(), ChartError> {
    let left = right - KEY_PX;
    let (low, high) = (baseline - 14.0, baseline - 32.0);
    let at = |x: f64, y: f64| (left + x, y);
    dotted(pen, &[at(0.0, low), at(48.0, low)])?;
    stroke(pen, Phase::Hold, &[at(104.0, high), at(160.0, high)], 1.0)?;
    stroke(pen, Phase::Lift, &[at(48.0, low), at(104.0, high)], 1.0)?;
    stroke(pen, Phase::Lower, &[at(160.0, high), at(236.0, low)], 1.0)?;
    let look = Type::QUIET.sized(11.5);
    for (x, word, color) in [
        (24.0, "rest", QUIET),
        (76.0, "lift", QUIET),
        (132.0, "hold", QUIET),
        (198.0, "lower", LOWER),
    ] {
        pen.text(at(x, baseline), Anchor::Middle, word, look.colored(color))?;
    }
    pen.claim(Area {
        left_px: left,
        top_px: high - 4.0,
        right_px: right,
        bottom_px: low + 2.0,
    });
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp() -> Vec<TracePoint> {
        (0..=10)
            .map(|n| TracePoint {
                t_s: f64::from(n),
                angle_deg: 2.0 * f64::from(n),
                uncertainty_deg: None,
            })
            .collect()
    }

    #[test]
    fn a_cut_ends_exactly_at_its_times() {
        let part = cut(&ramp(), 2.5, 4.25);
        assert_eq!(part, [(2.5, 5.0), (3.0, 6.0), (4.0, 8.0), (4.25, 8.5)]);
        assert!(cut(&ramp(), 20.0, 30.0).is_empty());
        assert!(cut(&[], 0.0, 1.0).is_empty());
    }

    #[test]
    fn a_gap_parts_the_trace() {
        let trace = ramp();
        let gap = Stretch {
            start_s: 3.0,
            end_s: 4.0,
        };
        let lengths: Vec<usize> = runs(&trace, &[gap]).iter().map(|run| run.len()).collect();
        assert_eq!(lengths, [4, 7]);
    }

    #[test]
    fn thinning_keeps_every_peak() {
        let wave: Vec<Point> = (0..100_000)
            .map(|n| (f64::from(n) / 200.0, (f64::from(n) / 37.0).sin()))
            .collect();
        let kept = thin(&wave);
        assert!(kept.len() <= 4 * 1001, "{}", kept.len());
        let top = |points: &[Point]| points.iter().map(|p| p.1).fold(f64::MIN, f64::max);
        assert_eq!(top(&kept), top(&wave));
        assert_eq!(kept.last(), wave.last());
    }
}
