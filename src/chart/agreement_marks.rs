//! The marks of an agreement: bands of the limits, recordings as bars with their pairs.

use super::agreement::AgreementChart;
use super::axis::{Scale, plain, second_ticks};
use super::frame::EDGE_PX;
use super::palette::{AXIS, BAND, BAND_EDGE, HOLD, INK, LIFT, LOWER, RULE};
use super::pen::{Anchor, Pen, Type};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

pub(super) struct Layout {
    pub(super) x: Scale,
    pub(super) y: Scale,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

/// Half the length of a recording's bar.
const BAR_PX: f64 = 7.0;
/// Radius of a pair.
const DOT_PX: f64 = 3.2;

/// Round differences within a range, at most about `most` of them.
pub(super) fn difference_ticks((low_s, high_s): (f64, f64), most: f64) -> Vec<f64> {
    let fine = [0.02, 0.05, 0.1, 0.2];
    let step = fine
        .into_iter()
        .find(|step| (high_s - low_s) / step <= most);
    match step {
        Some(step) => {
            let first = (low_s / step).ceil() as i64;
            let last = (high_s / step).floor() as i64;
            (first..=last).map(|n| n as f64 * step).collect()
        }
        None => second_ticks((low_s, high_s), most),
    }
}

impl AgreementChart {
    /// Bands, grid, axes and their words.
    pub(super) fn ground<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        if let Some(limits) = &self.limits {
            for between in [limits.lower_between, limits.upper_between] {
                pen.bar(
                    Area {
                        left_px: at.left,
                        top_px: at.y.held(between.high),
                        right_px: at.right,
                        bottom_px: at.y.held(between.low),
                    },
                    BAND,
                )?;
            }
            pen.bar(
                Area {
                    left_px: at.left,
                    top_px: at.y.held(limits.bias_between.high),
                    right_px: at.right,
                    bottom_px: at.y.held(limits.bias_between.low),
                },
                HOLD,
            )?;
        }
        let rows = ((at.bottom - at.top) / 34.0).clamp(2.0, 9.0);
        for tick in difference_ticks(at.y.range(), rows) {
            let y = at.y.at(tick);
            let color = if tick.abs() < 1e-9 { AXIS } else { RULE };
            pen.line(&[(at.left, y), (at.right, y)], color, 1.0)?;
            let label = plain(tick, 2);
            pen.text((at.left - 8.0, y + 4.0), Anchor::Right, &label, Type::QUIET)?;
        }
        let longer = format!("s, {} longer above the line, shorter below", self.first);
        let longer = pen.shorten(&longer, Type::QUIET, at.right - EDGE_PX);
        pen.text((EDGE_PX, at.top - 12.0), Anchor::Left, &longer, Type::QUIET)?;
        pen.line(&[(at.left, at.bottom), (at.right, at.bottom)], AXIS, 1.2)?;
        let columns = ((at.right - at.left) / 60.0).clamp(2.0, 9.0);
        for tick in second_ticks(at.x.range(), columns) {
            let x = at.x.at(tick);
            pen.line(&[(x, at.bottom), (x, at.bottom + 4.0)], AXIS, 1.0)?;
            let label = plain(tick, 1);
            pen.text((x, at.bottom + 18.0), Anchor::Middle, &label, Type::QUIET)?;
        }
        let mean = format!("mean of both, s of the {}", self.phase);
        let mean = pen.shorten(&mean, Type::QUIET, at.right - at.left);
        let middle = 0.5 * (at.left + at.right);
        pen.text(
            (middle, at.bottom + 36.0),
            Anchor::Middle,
            &mean,
            Type::QUIET,
        )?;
        if let Some(limits) = &self.limits {
            for limit in [limits.lower, limits.upper] {
                let y = at.y.held(limit);
                pen.dashes(&[(at.left, y), (at.right, y)], BAND_EDGE, 1.6, (7.0, 5.0))?;
            }
            let y = at.y.held(limits.bias);
            pen.line(&[(at.left, y), (at.right, y)], LOWER, 2.0)?;
        }
        Ok(())
    }

    /// Each recording's bar at its mean, and its pairs on fine lines to it.
    pub(super) fn pairs<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let several = self.recordings.len() > 1;
        let place = |pair: (f64, f64)| (at.x.held(pair.0), at.y.held(pair.1));
        let (mut bars, mut dots) = (Vec::new(), Vec::new());
        for recording in &self.recordings {
            let count = recording.pairs_s.len() as f64;
            if count < 1.0 {
                continue;
            }
            let sum = recording
                .pairs_s
                .iter()
                .fold((0.0, 0.0), |sum, pair| (sum.0 + pair.0, sum.1 + pair.1));
            let middle = place((sum.0 / count, sum.1 / count));
            for pair in &recording.pairs_s {
                if several {
                    pen.line(&[middle, place(*pair)], AXIS, 0.7)?;
                }
            }
            for pair in &recording.pairs_s {
                let (x, y) = place(*pair);
                pen.dot((x, y), DOT_PX, LIFT)?;
                dots.push(Area {
                    left_px: x - DOT_PX,
                    top_px: y - DOT_PX,
                    right_px: x + DOT_PX,
                    bottom_px: y + DOT_PX,
                });
            }
            bars.push((middle, recording.label.as_str()));
        }
        if !several {
            return Ok(());
        }
        for dot in dots {
            pen.claim(dot);
        }
        for ((x, y), _) in &bars {
            let bar = Area {
                left_px: x - BAR_PX,
                top_px: y - 1.8,
                right_px: x + BAR_PX,
                bottom_px: y + 1.8,
            };
            pen.bar(bar, INK)?;
            pen.claim(bar);
        }
        for ((x, y), label) in bars {
            let look = Type::STRONG;
            // Beside the bar, above or below it, then a little farther away.
            let near = |apart: f64| {
                let aside = BAR_PX + 3.0 + apart;
                [
                    (x + aside, Anchor::Left, y + 4.0),
                    (x - aside, Anchor::Right, y + 4.0),
                    (x, Anchor::Middle, y - 6.0 - apart),
                    (x, Anchor::Middle, y + 15.0 + apart),
                    (x + aside, Anchor::Left, y - 4.0 - apart),
                    (x - aside, Anchor::Right, y + 12.0 + apart),
                ]
            };
            for (at_x, anchor, baseline) in [0.0, 7.0, 14.0].into_iter().flat_map(near) {
                if pen.text_if_free((at_x, baseline), anchor, label, look)? {
                    break;
                }
            }
        }
        Ok(())
    }
}
