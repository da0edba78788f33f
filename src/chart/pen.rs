//! Drawing in pixels on a plotters area, with a memory of where the texts stand.

use super::font::{ASCENT_EM, DESCENT_EM, Faces, Weight};
use super::palette::{Color, INK, QUIET};
use super::{Area, ChartError, GRID, TextBox};
use plotters::coord::Shift;
use plotters::drawing::DrawingArea;
use plotters::element::{Circle, PathElement, Polygon, Text};
use plotters::style::{FontDesc, FontFamily, RGBColor, ShapeStyle, TextStyle};
use plotters_backend::{DrawingBackend, FontStyle};

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
    area: &'a DrawingArea<DB, Shift>,
    faces: &'a Faces,
    pub(crate) texts: Vec<TextBox>,
    pub(crate) claimed: Vec<Area>,
}

fn steps(value_px: f64) -> i32 {
    (value_px * f64::from(GRID)).round() as i32
}

fn grid((x, y): Point) -> (i32, i32) {
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

fn failed<E: std::fmt::Display>(error: E) -> ChartError {
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

    pub(crate) fn width(&self, text: &str, look: Type) -> f64 {
        self.faces.width(text, look.weight, look.size_px)
    }

    /// Where a text would stand.
    pub(crate) fn place(
        &self,
        (x, baseline): Point,
        anchor: Anchor,
        text: &str,
        look: Type,
    ) -> Area {
        let width = self.width(text, look);
        let left = match anchor {
            Anchor::Left => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::Right => x - width,
        };
        Area {
            left_px: left,
            top_px: baseline - ASCENT_EM * look.size_px,
            right_px: left + width,
            bottom_px: baseline + DESCENT_EM * look.size_px,
        }
    }

    pub(crate) fn text(
        &mut self,
        at: Point,
        anchor: Anchor,
        text: &str,
        look: Type,
    ) -> Result<(), ChartError> {
        if text.is_empty() {
            return Ok(());
        }
        let area = self.place(at, anchor, text, look);
        let (red, green, blue) = look.color.rgb;
        let slant = match look.weight {
            Weight::Regular => FontStyle::Normal,
            Weight::SemiBold => FontStyle::Bold,
        };
        let size = look.size_px * f64::from(GRID);
        let font = FontDesc::new(FontFamily::SansSerif, size, slant);
        let ink = RGBColor(red, green, blue);
        let words = TextStyle::from(font).color(&ink);
        // Backends disagree about baselines: the top is given, a fixed share above it.
        let corner = grid((area.left_px, area.top_px));
        self.area
            .draw(&Text::new(text, corner, words))
            .map_err(failed)?;
        self.texts.push(TextBox {
            text: text.to_owned(),
            area,
            color: look.color,
        });
        Ok(())
    }

    /// Whether a rectangle is on the drawing and clear of texts and claimed marks.
    pub(crate) fn free(&self, area: Area, clear_px: f64) -> bool {
        let (width, height) = self.extent();
        let wide = Area {
            left_px: area.left_px - clear_px,
            top_px: area.top_px,
            right_px: area.right_px + clear_px,
            bottom_px: area.bottom_px,
        };
        area.left_px >= 0.0
            && area.top_px >= 0.0
            && area.right_px <= width
            && area.bottom_px <= height
            && !self.texts.iter().any(|other| other.area.overlaps(&wide))
            && !self.claimed.iter().any(|other| other.overlaps(&wide))
    }

    /// Writes a text only where it overlaps nothing; says whether it did.
    pub(crate) fn text_if_free(
        &mut self,
        at: Point,
        anchor: Anchor,
        text: &str,
        look: Type,
    ) -> Result<bool, ChartError> {
        let free = self.free(self.place(at, anchor, text, look), 3.0);
        if free {
            self.text(at, anchor, text, look)?;
        }
        Ok(free)
    }

    /// Keeps later texts off a mark.
    pub(crate) fn claim(&mut self, area: Area) {
        self.claimed.push(area);
    }

    /// Breaks a text into at most `lines` lines, the last one shortened where it must be.
    pub(crate) fn wrap(&self, text: &str, look: Type, width_px: f64, lines: usize) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        let mut line = String::new();
        for word in text.split_whitespace() {
            let tried = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if self.width(&tried, look) <= width_px {
                line = tried;
                continue;
            }
            if !line.is_empty() {
                out.push(std::mem::take(&mut line));
            }
            for letter in word.chars() {
                line.push(letter);
                if self.width(&line, look) > width_px && line.chars().count() > 1 {
                    line.pop();
                    out.push(std::mem::replace(&mut line, letter.to_string()));
                }
            }
        }
        if !line.is_empty() {
            out.push(line);
        }
        if out.len() > lines {
            out.truncate(lines);
            if let Some(last) = out.last_mut() {
                *last = self.shorten(&format!("{last}…"), look, width_px);
            }
        }
        out
    }

    /// A text cut to a width, with an ellipsis where something was lost.
    pub(crate) fn shorten(&self, text: &str, look: Type, width_px: f64) -> String {
        if self.width(text, look) <= width_px {
            return text.to_owned();
        }
        let mut kept: String = text.trim_end_matches('…').to_owned();
        while !kept.is_empty() && self.width(&format!("{kept}…"), look) > width_px {
            kept.pop();
        }
        format!("{}…", kept.trim_end())
    }
}
