//! The mark of a hand: a half-moon that faces its side.

use super::ChartError;
use super::palette::{Color, WHITE};
use super::pen::{Pen, Point};
use plotters_backend::DrawingBackend;

/// A moon that faces a hand's side, or a whole disc.
pub(crate) fn moon<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (x, y): Point,
    radius: f64,
    facing: f64,
    color: Color,
) -> Result<(), ChartError> {
    if facing == 0.0 {
        return pen.dot((x, y), radius * 0.85, color);
    }
    let arc = |r: f64, from: f64| -> Vec<Point> {
        let mut points: Vec<Point> = (0..=20)
            .map(|step| {
                let turn = (f64::from(step) / 20.0 - 0.5) * std::f64::consts::PI;
                (x + from + facing * r * turn.cos(), y + r * turn.sin())
            })
            .collect();
        points.extend(points.first().copied());
        points
    };
    pen.fill(&arc(radius, 0.0), color)?;
    if facing < 0.0 && radius > 2.5 {
        pen.fill(&arc(radius - 1.7, facing * 1.3), WHITE)?;
    }
    Ok(())
}
