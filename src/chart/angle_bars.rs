//! Around the plot of the angle drawing: brackets and numbers above, bars and seconds below, axes.

use super::angle::{AngleChart, plain_tenths};
use super::angle_marks::Layout;
use super::axis::{clock, median, second_ticks};
use super::margin;
use super::palette::{AXIS, LOWER};
use super::pen::{Anchor, Pen, Type};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

/// Numbers shown when there is no room for all: each first, fifth and so on.
fn every(widest_px: f64, apart_px: f64) -> usize {
    [1, 5, 10, 20, 50, 100]
        .into_iter()
        .find(|k| *k as f64 * apart_px >= widest_px + 5.0)
        .unwrap_or(100)
}

impl AngleChart {
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
        // Turns follow each other without a rest: a slit keeps their bars apart.
        let apart_px = if self.timed.is_none() { 1.5 } else { 0.0 };
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
            let (from, to) = (at.x.held(start_s), at.x.held(end_s) - apart_px);
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
