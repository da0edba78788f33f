//! The plot of the angle drawing: its lanes, its ground and its curve.

use super::angle::{AngleChart, TracePoint};
use super::axis::{Scale, median, plain, ticks};
use super::frame::EDGE_PX;
use super::margin;
use super::palette::{AXIS, BAND, BAND_EDGE, HATCH, INK, QUIET, RULE, UNSURE};
use super::pen::{Anchor, Pen, Point, Type};
use super::rest::{levels, rest, spread};
use super::trace::{Phase, cut, runs, stroke, thin};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

/// The lanes of the drawing from top to bottom, and the scales.
pub(super) struct Layout {
    pub(super) x: Scale,
    pub(super) y: Scale,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) bracket: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) words: f64,
    pub(super) bars: f64,
    pub(super) axis: f64,
}

/// A hold shorter than this is a turning point and gets no bed, in seconds (ours: what a viewer can
/// tell from a sharp top).
const HOLD_S: f64 = 0.15;
/// An angle that stays within this for half a second is level, in degrees; ours.
const LEVEL_DEG: f64 = 2.5;
/// The same as a share of the curve's whole spread; ours.
const LEVEL_SHARE: f64 = 0.04;

impl AngleChart {
    pub(super) fn layout<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        (above, below): (f64, f64),
        points: (&TracePoint, &TracePoint),
    ) -> Layout {
        let angles = self.trace.iter().map(|p| p.angle_deg);
        let asked = self.band.iter().flat_map(|b| [b.low_deg, b.high_deg]);
        let mut low: f64 = 0.0;
        let mut high: f64 = 5.0;
        for angle in angles.chain(asked).chain(self.ceiling_deg) {
            low = low.min(angle);
            high = high.max(angle);
        }
        let span = high - low;
        let both = low < -0.04 * span;
        let (low, high) = (low - 0.03 * span, high + 0.04 * span);
        let (width, _) = pen.extent();
        let bracket = above + 46.0 + 16.0;
        let top = bracket + 8.0;
        let axis = below - 22.0;
        let bars = axis - 27.0;
        let words = bars - 8.0;
        let bottom = words - if both { 16.0 } else { 2.0 };
        let y = Scale::new((low, high), (bottom, top));
        let widest = ticks((low, high), 6.0)
            .iter()
            .map(|t| pen.width(&format!("{}°", plain(*t, 1)), Type::QUIET))
            .fold(0.0, f64::max);
        let left = EDGE_PX + widest + 8.0;
        let time_words = pen.width("time, min:s", Type::QUIET) + margin::TIE_PX;
        let room = margin::room(pen, &self.labels(pen, &y)).max(time_words);
        let right = width - EDGE_PX - room;
        Layout {
            x: Scale::new((points.0.t_s, points.1.t_s), (left, right)),
            y,
            left,
            right,
            bracket,
            top,
            bottom,
            words,
            bars,
            axis,
        }
    }

    pub(super) fn ground<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let span = |y: f64| [(at.left, y), (at.right, y)];
        if let Some(band) = self.band {
            let (high, low) = (at.y.at(band.high_deg), at.y.at(band.low_deg));
            let area = Area {
                left_px: at.left,
                top_px: high,
                right_px: at.right,
                bottom_px: low,
            };
            pen.bar(area, BAND)?;
        }
        for tick in ticks(at.y.range(), ((at.bottom - at.top) / 45.0).clamp(2.0, 8.0)) {
            let y = at.y.at(tick);
            pen.line(&span(y), RULE, 1.0)?;
            let words = format!("{}°", plain(tick, 1));
            pen.text_if_free((at.left - 8.0, y + 4.0), Anchor::Right, &words, Type::QUIET)?;
        }
        if let Some(band) = self.band {
            pen.line(&span(at.y.at(band.high_deg)), BAND_EDGE, 1.0)?;
            pen.line(&span(at.y.at(band.low_deg)), BAND_EDGE, 1.0)?;
        }
        pen.line(&span(at.y.at(0.0)), AXIS, 1.2)?;
        for gap in &self.gaps {
            let (from, to) = (at.x.held(gap.start_s), at.x.held(gap.end_s));
            hatch(pen, (from, to.max(from + 2.0)), (at.top, at.bottom))?;
        }
        if let Some(deg) = self.ceiling_deg {
            wall(pen, (at.left, at.right), at.y.at(deg))?;
        }
        Ok(())
    }

    /// Line weight: 1, less where repetitions crowd.
    fn weight(&self, at: &Layout) -> f64 {
        let count = self.repetitions.len().max(1) as f64;
        ((at.right - at.left) / count / 32.0).clamp(0.55, 1.0)
    }

    pub(super) fn curve<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let place = |(t_s, deg): (f64, f64)| (at.x.at(t_s), at.y.at(deg));
        let runs = runs(&self.trace, &self.gaps);
        for run in &runs {
            let known: Vec<(f64, f64, f64)> = run
                .iter()
                .filter_map(|p| Some((p.t_s, p.angle_deg, p.uncertainty_deg?.abs())))
                .collect();
            let upper: Vec<Point> = known.iter().map(|(t, a, u)| place((*t, a + u))).collect();
            let lower: Vec<Point> = known.iter().map(|(t, a, u)| place((*t, a - u))).collect();
            let mut ribbon = thin(&upper);
            ribbon.extend(thin(&lower).into_iter().rev());
            pen.fill(&ribbon, UNSURE)?;
        }
        let weight = self.weight(at);
        let tolerance_deg = self.tolerance_deg();
        let (tops, starts) = self.levels();
        let high_deg = median(&tops)
            .zip(median(&starts))
            .map_or(f64::MAX, |(top, start)| (top + start) / 2.0);
        for (phase, from_s, to_s) in self.parts() {
            for run in &runs {
                let part = cut(run, from_s, to_s);
                let points: Vec<Point> = part.iter().copied().map(place).collect();
                if self.repetitions.is_empty() {
                    pen.line(&thin(&points), QUIET, 1.5)?;
                } else if phase == Phase::Rest {
                    let mut level = levels(&part, tolerance_deg);
                    // What stays high is a hold of something unfinished, not a rest.
                    level.retain(|places| {
                        let first = part.get(places.start);
                        first.is_some_and(|(_, angle_deg)| *angle_deg <= high_deg)
                    });
                    rest(pen, &points, &level)?;
                } else {
                    stroke(pen, phase, &points, weight)?;
                }
            }
        }
        Ok(())
    }

    /// The phases of the curve in drawing order, with their times.
    fn parts(&self) -> Vec<(Phase, f64, f64)> {
        let mut parts = Vec::new();
        for (from_s, to_s) in self.between() {
            parts.push((Phase::Rest, from_s, to_s));
        }
        for repetition in &self.repetitions {
            let [a, b, c, d] = repetition.times();
            if self.timed.is_none() {
                parts.push((Phase::Turn, a, d));
                continue;
            }
            let hold = if c - b < HOLD_S {
                Phase::Touch
            } else {
                Phase::Hold
            };
            parts.extend([(hold, b, c), (Phase::Lift, a, b), (Phase::Lower, c, d)]);
        }
        parts
    }

    /// The times outside the repetitions.
    fn between(&self) -> Vec<(f64, f64)> {
        let mut since = f64::MIN;
        let mut found = Vec::new();
        for repetition in &self.repetitions {
            found.push((since, repetition.lift_start_s));
            since = repetition.lower_end_s;
        }
        found.push((since, f64::MAX));
        found
    }

    /// What still counts as level, in degrees.
    fn tolerance_deg(&self) -> f64 {
        let angles = || self.trace.iter().map(|p| p.angle_deg);
        let span = angles().fold(f64::MIN, f64::max) - angles().fold(f64::MAX, f64::min);
        LEVEL_DEG.max(LEVEL_SHARE * span)
    }

    /// Whether something moves outside the repetitions.
    pub(super) fn moves_between(&self) -> bool {
        let tolerance_deg = self.tolerance_deg();
        let runs = runs(&self.trace, &self.gaps);
        let moves = |(from_s, to_s): (f64, f64)| {
            let travels =
                |run: &&[TracePoint]| spread(&cut(run, from_s, to_s)) > 2.0 * tolerance_deg;
            runs.iter().any(travels)
        };
        !self.repetitions.is_empty() && self.between().into_iter().any(moves)
    }
}

/// Slanted strokes over a column without data.
fn hatch<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (left, right): (f64, f64),
    (top, bottom): (f64, f64),
) -> Result<(), ChartError> {
    let rise = right - left;
    let mut y = top;
    while y < bottom + rise {
        // From the left edge upwards to the right, cut at top and bottom.
        let (x0, y0) = if y > bottom {
            (left + y - bottom, bottom)
        } else {
            (left, y)
        };
        let (x1, y1) = if y - rise < top {
            (left + y - top, top)
        } else {
            (right, y - rise)
        };
        pen.line(&[(x0, y0), (x1, y1)], HATCH, 1.0)?;
        y += 7.0;
    }
    pen.dashes(&[(left, top), (left, bottom)], AXIS, 0.8, (2.0, 3.0))?;
    pen.dashes(&[(right, top), (right, bottom)], AXIS, 0.8, (2.0, 3.0))
}

/// A limit drawn like a wall in a plan: a line with slanted strokes on the far side.
fn wall<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (left, right): (f64, f64),
    y: f64,
) -> Result<(), ChartError> {
    pen.line(&[(left, y), (right, y)], INK, 1.4)?;
    let mut x = left + 4.0;
    while x + 5.0 < right {
        pen.line(&[(x, y), (x + 5.0, y - 5.0)], INK, 0.8)?;
        x += 9.0;
    }
    Ok(())
}
