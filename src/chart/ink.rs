//! A plotters backend that remembers what was drawn, once, for every kind of output.

use super::font::{ASCENT_EM, Faces, Weight};
use super::palette::Color;
use super::{GRID, Size, TextBox};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    FontStyle,
};
use std::convert::Infallible;

/// One thing drawn; coordinates in tenths of a pixel, y downwards.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Mark {
    /// A filled polygon.
    Fill {
        points: Vec<(i32, i32)>,
        color: Color,
    },
    /// A line with round joins and square ends.
    Stroke {
        points: Vec<(i32, i32)>,
        width: u32,
        color: Color,
    },
    /// A filled circle.
    Disc {
        center: (i32, i32),
        radius: u32,
        color: Color,
    },
    /// A line of text whose baseline starts at `origin`.
    Text {
        text: String,
        origin: (i32, i32),
        size: f64,
        weight: Weight,
        color: Color,
    },
}

/// A finished drawing, from which the outputs are written.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    pub(crate) size: Size,
    pub(crate) title: String,
    pub(crate) description: String,
    pub(crate) marks: Vec<Mark>,
    pub(crate) texts: Vec<TextBox>,
    pub(crate) claimed: Vec<super::Area>,
}

impl Picture {
    /// Every text on the drawing, with its place.
    pub fn texts(&self) -> &[TextBox] {
        &self.texts
    }

    /// The places of marks that no text may cover.
    pub fn claimed(&self) -> &[super::Area] {
        &self.claimed
    }

    /// What the drawing shows, in one sentence or more.
    pub fn description(&self) -> &str {
        &self.description
    }
}

/// The recording backend.
pub(crate) struct Ink<'a> {
    pub(crate) size: Size,
    pub(crate) faces: &'a Faces,
    pub(crate) marks: &'a mut Vec<Mark>,
}

type Drawn = Result<(), DrawingErrorKind<Infallible>>;

fn color_of(color: BackendColor) -> Color {
    Color { rgb: color.rgb }
}

impl DrawingBackend for Ink<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        (
            self.size.width_px * GRID.unsigned_abs(),
            self.size.height_px * GRID.unsigned_abs(),
        )
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, color: BackendColor) -> Drawn {
        self.marks.push(Mark::Fill {
            points: vec![(x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)],
            color: color_of(color),
        });
        Ok(())
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        (x0, y0): BackendCoord,
        (x1, y1): BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)];
        if fill {
            self.fill_polygon(corners, style)
        } else {
            self.draw_path(corners.into_iter().chain([(x0, y0), (x1, y0)]), style)
        }
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        let mut points: Vec<_> = path.into_iter().collect();
        points.dedup();
        if points.len() > 1 {
            self.marks.push(Mark::Stroke {
                points,
                width: style.stroke_width(),
                color: color_of(style.color()),
            });
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        let color = color_of(style.color());
        if fill {
            self.marks.push(Mark::Disc {
                center,
                radius,
                color,
            });
            return Ok(());
        }
        let round = (0..=48).map(|step| {
            let turn = f64::from(step) / 48.0 * std::f64::consts::TAU;
            let r = f64::from(radius);
            (
                center.0 + (r * turn.cos()).round() as i32,
                center.1 + (r * turn.sin()).round() as i32,
            )
        });
        self.draw_path(round, style)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        vert: I,
        style: &S,
    ) -> Drawn {
        let points: Vec<_> = vert.into_iter().collect();
        self.marks.push(Mark::Fill {
            points,
            color: color_of(style.color()),
        });
        Ok(())
    }

    fn draw_text<T: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &T,
        (left, top): BackendCoord,
    ) -> Drawn {
        let size = style.size();
        self.marks.push(Mark::Text {
            text: text.to_owned(),
            origin: (left, top + (ASCENT_EM * size).round() as i32),
            size,
            weight: weight_of(style),
            color: color_of(style.color()),
        });
        Ok(())
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<Infallible>> {
        let width = self.faces.width(text, weight_of(style), style.size());
        Ok((width.ceil() as u32, style.size().ceil() as u32))
    }
}

fn weight_of<T: BackendTextStyle>(style: &T) -> Weight {
    match style.style() {
        FontStyle::Bold => Weight::SemiBold,
        _ => Weight::Regular,
    }
}
