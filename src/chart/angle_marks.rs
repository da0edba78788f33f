//! The parts of the angle drawing: ground, curve, brackets, bars and axes.

use super::angle::{AngleChart, TracePoint, plain_tenths};
use super::axis::{Scale, clock, median, plain, second_ticks, ticks};
use super::frame::EDGE_PX;
use super::margin::{self, MarginLabel};
use super::palette::{AXIS, BAND, BAND_EDGE, HATCH, INK, LOWER, QUIET, RULE, UNSURE};
use super::pen::{Anchor, Pen, Point, Type};
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

/// Numbers shown when there is no room for all: each first, fifth and so on.
fn every(widest_px: f64, apart_px: f64) -> usize {
    [1, 5, 10, 20, 50, 100]
        .into_iter()
        .find(|k| *k as f64 * apart_px >= widest_px + 5.0)
        .unwrap_or(100)
}

impl AngleChart {
    pub(super) fn labels<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        y: &Scale,
    ) -> Vec<MarginLabel> {
        let mut labels = Vec::new();
        let mut add = |level: f64, words: Vec<(String, Type)>, tie, rank| {
            labels.push(MarginLabel::new(pen, y.held(level), &words, tie, rank));
        };
        let quiet = |text: &str| (text.to_owned(), Type::QUIET);
        if let Some(deg) = self.ceiling_deg {
            let words = if deg >= 0.0 {
                format!("not beyond {}°", plain(deg, 0))
            } else {
                format!("not beyond {}", self.level(deg))
            };
            add(deg, vec![(words, Type::STRONG)], INK, 5);
        }
        if let Some(band) = self.band {
            let words = if band.low_deg >= 0.0 {
                format!(
                    "asked {}–{}°",
                    plain(band.low_deg, 0),
                    plain(band.high_deg, 0)
                )
            } else {
                format!(
                    "asked {} to {}",
                    self.level(band.low_deg),
                    self.level(band.high_deg)
                )
            };
            add(
                (band.low_deg + band.high_deg) / 2.0,
                vec![quiet(&words)],
                BAND_EDGE,
                4,
            );
        }
        let (tops, starts) = self.levels();
        if let Some(top) = median(&tops) {
            let words = vec![
                (self.level(top), Type::STRONG.colored(LOWER)),
                quiet("median top"),
            ];
            add(top, words, LOWER, 3);
        }
        if let Some(start) = median(&starts)
            && start.abs() >= 0.5
        {
            add(
                start,
                vec![(self.level(start), Type::LABEL), quiet("median start")],
                AXIS,
                2,
            );
        }
        add(0.0, vec![quiet("neutral")], AXIS, 1);
        labels
    }

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
            pen.text((at.left - 8.0, y + 4.0), Anchor::Right, &words, Type::QUIET)?;
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
        let mut parts = Vec::new();
        let mut since = f64::MIN;
        for repetition in &self.repetitions {
            let [a, b, c, d] = repetition.times();
            parts.extend([
                (Phase::Rest, since, a),
                (Phase::Hold, b, c),
                (Phase::Lift, a, b),
                (Phase::Lower, c, d),
            ]);
            since = d;
        }
        parts.push((Phase::Rest, since, f64::MAX));
        for (phase, from_s, to_s) in parts {
            for run in &runs {
                let points: Vec<Point> = cut(run, from_s, to_s).into_iter().map(place).collect();
                if self.repetitions.is_empty() {
                    pen.line(&thin(&points), QUIET, 1.5)?;
                } else {
                    stroke(pen, phase, &points, self.weight(at))?;
                }
            }
        }
        Ok(())
    }

    /// Brackets and numbers above, bars and seconds below.
    pub(super) fn bars<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let spans: Vec<(f64, f64)> = self
            .repetitions
            .iter()
            .map(|r| (at.x.held(r.lift_start_s), at.x.held(r.lower_end_s)))
            .collect();
        let middles: Vec<f64> = spans.iter().map(|(a, b)| (a + b) / 2.0).collect();
        let steps: Vec<f64> = middles
            .iter()
            .zip(middles.iter().skip(1))
            .map(|(a, b)| b - a)
            .collect();
        let apart = median(&steps).unwrap_or(f64::MAX);
        let widest = pen.width("00?", Type::STRONG);
        let k = every(widest.max(pen.width("00.0", Type::LABEL)), apart);
        let shown = |number: usize| number == 1 || number.is_multiple_of(k);
        for (index, (repetition, (from, to))) in self.repetitions.iter().zip(&spans).enumerate() {
            let number = index + 1;
            let doubtful = !repetition.doubts.is_empty();
            let y = at.bracket;
            let (from, to) = (from + 0.5, (to - 0.5).max(from + 1.5));
            let bracket = [(from, y + 4.0), (from, y), (to, y), (to, y + 4.0)];
            if doubtful {
                pen.dashes(&bracket, AXIS, 1.2, (2.0, 2.0))?;
            } else {
                pen.line(&bracket, AXIS, 1.2)?;
            }
            if shown(number) || doubtful {
                let words = format!("{number}{}", if doubtful { "?" } else { "" });
                let middle = (from + to) / 2.0;
                pen.text_if_free((middle, y - 5.0), Anchor::Middle, &words, Type::STRONG)?;
            }
            let (start_s, end_s) = repetition.timed(self.timed);
            let (from, to) = (at.x.held(start_s), at.x.held(end_s));
            let bar = Area {
                left_px: from,
                top_px: at.bars,
                right_px: to.max(from + 1.5),
                bottom_px: at.bars + 6.0,
            };
            if doubtful {
                pen.box_line(bar, LOWER, 1.0)?;
            } else {
                pen.bar(bar, LOWER)?;
            }
            if shown(number) {
                let words = plain_tenths(end_s - start_s);
                let middle = ((from + to) / 2.0, at.bars + 19.0);
                pen.text_if_free(middle, Anchor::Middle, &words, Type::LABEL)?;
            }
        }
        Ok(())
    }

    pub(super) fn axes<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        pen.line(&[(at.left, at.axis), (at.right, at.axis)], AXIS, 1.2)?;
        let range = at.x.range();
        let long = range.1 > 120.0;
        let beside = at.right + margin::TIE_PX;
        let words = if long { "time, min:s" } else { "time, s" };
        pen.text((beside, at.axis + 17.0), Anchor::Left, words, Type::QUIET)?;
        let most = ((at.right - at.left) / 60.0).clamp(2.0, 12.0);
        for tick in second_ticks(range, most) {
            let x = at.x.at(tick);
            pen.line(&[(x, at.axis), (x, at.axis + 4.0)], AXIS, 1.2)?;
            let words = clock(tick, long);
            pen.text_if_free((x, at.axis + 17.0), Anchor::Middle, &words, Type::QUIET)?;
        }
        if !self.repetitions.is_empty() {
            let words = format!("{}, s", self.timed_word());
            let look = Type::LABEL.colored(LOWER);
            pen.text((beside, at.bars + 19.0), Anchor::Left, &words, look)?;
        }
        Ok(())
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
