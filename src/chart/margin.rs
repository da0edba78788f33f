//! Direct labels beside a plot: each at the height of what it names, moved apart where they
//! would touch, and tied to their place by a fine line where they moved.

use super::ChartError;
use super::font::{ASCENT_EM, DESCENT_EM};
use super::moon::moon;
use super::palette::Color;
use super::pen::{Anchor, Pen, Type};
use plotters_backend::DrawingBackend;

/// A label wanted at a height.
pub(crate) struct MarginLabel {
    /// The height of what it names.
    pub(crate) y_px: f64,
    /// Lines of words.
    pub(crate) lines: Vec<(String, Type)>,
    /// Colour of the tie.
    pub(crate) tie: Color,
    /// What is dropped first when there is no room: the lowest.
    pub(crate) rank: u8,
    /// The mark of its series, shown behind its first line: which way it faces.
    pub(crate) facing: Option<f64>,
}

/// Gap between two labels.
const APART_PX: f64 = 4.0;
/// Space between the plot and its labels.
pub(crate) const TIE_PX: f64 = 16.0;
/// Room for a series' mark behind a label.
const MARK_PX: f64 = 20.0;
/// Widest label.
const WIDEST_PX: f64 = 150.0;

impl MarginLabel {
    /// A label of wrapped lines.
    pub(crate) fn new<DB: DrawingBackend>(
        pen: &Pen<'_, DB>,
        y_px: f64,
        words: &[(String, Type)],
        tie: Color,
        rank: u8,
    ) -> MarginLabel {
        let lines = words
            .iter()
            .flat_map(|(text, look)| {
                let wrapped = pen.wrap(text, *look, WIDEST_PX, 3);
                wrapped.into_iter().map(|line| (line, *look))
            })
            .collect();
        MarginLabel {
            y_px,
            lines,
            tie,
            rank,
            facing: None,
        }
    }

    /// The label with its series' mark.
    pub(crate) fn marked(self, facing: f64) -> MarginLabel {
        MarginLabel {
            facing: Some(facing),
            ..self
        }
    }

    fn height_px(&self) -> f64 {
        self.lines.iter().map(|(_, look)| look.line_px()).sum()
    }
}

/// Room that a set of labels needs beside a plot, tie included.
pub(crate) fn room<DB: DrawingBackend>(pen: &Pen<'_, DB>, labels: &[MarginLabel]) -> f64 {
    let widest = labels
        .iter()
        .flat_map(|label| {
            let mark = if label.facing.is_some() { MARK_PX } else { 0.0 };
            label.lines.iter().map(move |line| (line, mark))
        })
        .map(|((text, look), mark)| pen.width(text, *look) + mark)
        .fold(0.0, f64::max);
    widest + TIE_PX
}

/// The tops of boxes of given heights, in order, as near to `wanted` middles as they go without
/// touching, between `top` and `bottom`; `None` where there is no room.
fn spread(boxes: &[(f64, f64)], top: f64, bottom: f64) -> Option<Vec<f64>> {
    let mut tops: Vec<f64> = Vec::with_capacity(boxes.len());
    let mut floor = top;
    for (wanted, height) in boxes {
        let place = (wanted - height / 2.0).max(floor);
        tops.push(place);
        floor = place + height + APART_PX;
    }
    let mut limit = bottom;
    for (place, (_, height)) in tops.iter_mut().zip(boxes).rev() {
        *place = place.min(limit - height);
        limit = *place - APART_PX;
    }
    (limit + APART_PX >= top - 0.5).then_some(tops)
}

/// Draws the labels right of `x_px`, between two heights.
pub(crate) fn draw<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    mut labels: Vec<MarginLabel>,
    x_px: f64,
    (top, bottom): (f64, f64),
) -> Result<(), ChartError> {
    labels.sort_by(|a, b| a.y_px.total_cmp(&b.y_px).then(b.rank.cmp(&a.rank)));
    let tops = loop {
        let boxes: Vec<_> = labels.iter().map(|l| (l.y_px, l.height_px())).collect();
        if let Some(tops) = spread(&boxes, top, bottom) {
            break tops;
        }
        let lowest = labels.iter().map(|label| label.rank).min();
        match labels.iter().position(|label| Some(label.rank) == lowest) {
            Some(index) => drop(labels.remove(index)),
            None => return Ok(()),
        }
    };
    for (label, place) in labels.iter().zip(tops) {
        let first = label.lines.first().map_or(0.0, |(_, look)| look.line_px());
        // The tie meets the middle of the first line, or of the whole where it did not move.
        let middle = place + label.height_px() / 2.0;
        let end = if (middle - label.y_px).abs() < 1.0 {
            middle
        } else {
            place + first / 2.0
        };
        let tie = [
            (x_px + 3.0, label.y_px),
            (x_px + TIE_PX - 9.0, end),
            (x_px + TIE_PX - 4.0, end),
        ];
        pen.line(&tie, label.tie, 1.0)?;
        let mut y = place;
        for (text, look) in &label.lines {
            let slack = look.line_px() - (ASCENT_EM + DESCENT_EM) * look.size_px;
            let baseline = y + slack / 2.0 + ASCENT_EM * look.size_px;
            pen.text((x_px + TIE_PX, baseline), Anchor::Left, text, *look)?;
            if let Some(facing) = label.facing
                && y == place
            {
                let x = x_px + TIE_PX + pen.width(text, *look) + 12.0;
                let center = (x - 3.0 * facing, baseline - 0.36 * look.size_px);
                moon(pen, center, 6.0, facing, label.tie)?;
            }
            y += look.line_px();
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed check may stop the test")]
    use super::*;

    #[test]
    fn labels_that_fit_stay_and_labels_that_touch_move_apart() {
        assert_eq!(
            spread(&[(20.0, 10.0), (60.0, 10.0)], 0.0, 100.0).unwrap(),
            [15.0, 55.0]
        );
        let moved = spread(&[(95.0, 16.0), (96.0, 16.0)], 0.0, 100.0).unwrap();
        assert_eq!(moved, [64.0, 84.0]);
        assert_eq!(spread(&[(5.0, 60.0), (6.0, 60.0)], 0.0, 100.0), None);
    }
}
