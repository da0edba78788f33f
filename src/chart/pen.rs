//! Drawing in pixels on a plotters area, with a memory of where the texts stand.

use super::font::{Faces, Weight};
use super::palette::{Color, INK, QUIET};
use super::{Area, ChartError, GRID, TextBox};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::element::{Circle, PathElement, Polygon};
use plotters::style::{RGBColor, ShapeStyle};
use plotters_backend::DrawingBackend;

pub(crate) type Point = (f64, f64);

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Type {
    pub(crate) size_px: f64,
    pub(crate) weight: Weight,
    pub(crate) color: Color,
}

impl Type {
    pub(crate) const LABEL: Type = Type {
        size_px: 12.0,
        weight: Weight::Regular,
        color: INK,
    };
    pub(crate) const QUIET: Type = Type {
        size_px: 12.0,
        weight: Weight::Regular,
        color: QUIET,
    };
    pub(crate) const STRONG: Type = Type {
        size_px: 12.0,
        weight: Weight::SemiBold,
        color: INK,
    };

    pub(crate) const fn colored(self, color: Color) -> Type {
        Type { color, ..self }
    }

    pub(crate) const fn sized(self, size_px: f64) -> Type {
        Type { size_px, ..self }
    }

    /// Distance from one baseline to the next.
    pub(crate) fn line_px(self) -> f64 {
        (self.size_px * 1.3).round()
    }
}

/// Which point of a text is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Left,
    Middle,
    Right,
}

/// Draws in CSS pixels on an area of [`GRID`] steps to the pixel.
pub struct Pen<'a, DB: DrawingBackend> {
    pub(super) area: &'a DrawingArea<DB, Shift>,
    pub(super) faces: &'a Faces,
    pub(crate) texts: Vec<TextBox>,
    pub(crate) claimed: Vec<Area>,
}

fn steps(value_px: f64) -> i32 {
    (value_px * f64::from(GRID)).round() as i32
}

pub(super) fn grid((x, y): Point) -> (i32, i32) {
    (steps(x), steps(y))
}

fn style(color: Color, width_px: f64) -> ShapeStyle {
    let (red, green, blue) = color.rgb;
    ShapeStyle {
        color: plotters::style::Color::to_rgba(&RGBColor(red, green, blue)),
        filled: true,
        stroke_width: steps(width_px).unsigned_abs(),
    }
}

pub(super) fn failed<E: std::fmt::Display>(error: E) -> ChartError {
    ChartError::Backend {
        message: error.to_string(),
    }
}

impl<'a, DB: DrawingBackend> Pen<'a, DB> {
    pub(crate) fn new(area: &'a DrawingArea<DB, Shift>, faces: &'a Faces) -> Pen<'a, DB> {
        Pen {
            area,
            faces,
            texts: Vec::new(),
            claimed: Vec::new(),
        }
    }

    /// Width and height of the drawing in pixels.
    pub(crate) fn extent(&self) -> Point {
        let (width, height) = self.area.dim_in_pixel();
        let pixels = |units: u32| f64::from(units) / f64::from(GRID);
        (pixels(width), pixels(height))
    }

    pub(crate) fn line(
        &mut self,
        points: &[Point],
        color: Color,
        width_px: f64,
    ) -> Result<(), ChartError> {
        if points.len() < 2 {
            return Ok(());
        }
        let path: Vec<_> = points.iter().copied().map(grid).collect();
        self.area
            .draw(&PathElement::new(path, style(color, width_px)))
            .map_err(failed)
    }

    pub(crate) fn fill(&mut self, points: &[Point], color: Color) -> Result<(), ChartError> {
        if points.len() < 3 {
            return Ok(());
        }
        let path: Vec<_> = points.iter().copied().map(grid).collect();
        self.area
            .draw(&Polygon::new(path, style(color, 0.0)))
            .map_err(failed)
    }

    pub(crate) fn bar(&mut self, area: Area, color: Color) -> Result<(), ChartError> {
        let corners = [
            (area.left_px, area.top_px),
            (area.right_px, area.top_px),
            (area.right_px, area.bottom_px),
            (area.left_px, area.bottom_px),
        ];
        self.fill(&corners, color)
    }

    /// The outline of a rectangle, drawn inside its edges.
    pub(crate) fn box_line(
        &mut self,
        area: Area,
        color: Color,
        width_px: f64,
    ) -> Result<(), ChartError> {
        let inset = width_px / 2.0;
        let (left, right) = (area.left_px + inset, area.right_px - inset);
        let (top, bottom) = (area.top_px + inset, area.bottom_px - inset);
        self.line(
            &[
                (left, top),
                (right, top),
                (right, bottom),
                (left, bottom),
                (left, top),
                (right, top),
            ],
            color,
            width_px,
        )
    }

    pub(crate) fn dot(
        &mut self,
        center: Point,
        radius_px: f64,
        color: Color,
    ) -> Result<(), ChartError> {
        let radius = steps(radius_px).unsigned_abs();
        self.area
            .draw(&Circle::new(grid(center), radius, style(color, 0.0)))
            .map_err(failed)
    }

    /// Strokes of `on_px` along a line, with `off_px` between them.
    pub(crate) fn dashes(
        &mut self,
        points: &[Point],
        color: Color,
        width_px: f64,
        (on_px, off_px): (f64, f64),
    ) -> Result<(), ChartError> {
        let mut left = on_px;
        let mut inked = true;
        let mut piece: Vec<Point> = points.first().copied().into_iter().collect();
        for (&a, &b) in points.iter().zip(points.iter().skip(1)) {
            let length = (b.0 - a.0).hypot(b.1 - a.1);
            let at = |s: f64| {
                let share = s / length;
                (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share)
            };
            let mut done = 0.0;
            while length - done > left {
                done += left;
                piece.push(at(done));
                if inked {
                    self.line(&piece, color, width_px)?;
                }
                piece = vec![at(done)];
                inked = !inked;
                left = if inked { on_px } else { off_px };
            }
            left -= length - done;
            piece.push(b);
        }
        if inked {
            self.line(&piece, color, width_px)?;
        }
        Ok(())
    }

    /// Dots at equal distances along a line.
    pub(crate) fn dots(
        &mut self,
        points: &[Point],
        color: Color,
        radius_px: f64,
        every_px: f64,
    ) -> Result<(), ChartError> {
        let mut until = every_px / 2.0;
        for (&a, &b) in points.iter().zip(points.iter().skip(1)) {
            let length = (b.0 - a.0).hypot(b.1 - a.1);
            let mut done = 0.0;
            while length - done > until {
                done += until;
                let share = done / length;
                let at = (a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share);
                self.dot(at, radius_px, color)?;
                until = every_px;
            }
            until -= length - done;
        }
        Ok(())
    }
}
