//! The embedded letters: how wide a text is, and its outlines.
//!
//! Advances are kept in fractions of a pixel, so that a text is exactly as wide in the picture
//! as in the vector file, and no font has to be installed where either is opened.

use super::ChartError;
use ab_glyph::{Font, FontRef, OutlineCurve, Point};

/// Height of the tallest plain letters over the baseline, as a share of the text size.
pub(crate) const ASCENT_EM: f64 = 0.76;
/// Depth of the lowest plain letters under the baseline, as a share of the text size.
pub(crate) const DESCENT_EM: f64 = 0.21;

static REGULAR: &[u8] = include_bytes!("font/inter-regular-subset.otf");
static SEMIBOLD: &[u8] = include_bytes!("font/inter-semibold-subset.otf");

/// How heavy a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Titles, numbers and what must stand out.
    SemiBold,
}

/// One piece of an outline; every contour starts with `Move` and is closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Piece {
    Move((f64, f64)),
    Line((f64, f64)),
    Cubic((f64, f64), (f64, f64), (f64, f64)),
}

/// Both weights of the embedded font.
pub(crate) struct Faces {
    regular: FontRef<'static>,
    semibold: FontRef<'static>,
}

impl Faces {
    /// Reads the embedded font.
    pub(crate) fn load() -> Result<Faces, ChartError> {
        let face = |bytes| FontRef::try_from_slice(bytes).map_err(|_| ChartError::Font);
        Ok(Faces {
            regular: face(REGULAR)?,
            semibold: face(SEMIBOLD)?,
        })
    }

    fn face(&self, weight: Weight) -> &FontRef<'static> {
        match weight {
            Weight::Regular => &self.regular,
            Weight::SemiBold => &self.semibold,
        }
    }

    fn em(face: &FontRef<'static>) -> f64 {
        f64::from(face.units_per_em().unwrap_or(1000.0))
    }

    /// Width of a text in the unit of `size`.
    pub(crate) fn width(&self, text: &str, weight: Weight, size: f64) -> f64 {
        let face = self.face(weight);
        let units: f64 = text
            .chars()
            .map(|letter| f64::from(face.h_advance_unscaled(face.glyph_id(letter))))
            .sum();
        units / Faces::em(face) * size
    }

    /// The outlines of a text whose baseline starts at `origin`; y runs downwards.
    pub(crate) fn outline(
        &self,
        text: &str,
        weight: Weight,
        size: f64,
        origin: (f64, f64),
    ) -> Vec<Piece> {
        let face = self.face(weight);
        let scale = size / Faces::em(face);
        let mut pieces = Vec::new();
        let mut pen_x = origin.0;
        for letter in text.chars() {
            let glyph = face.glyph_id(letter);
            let place = |p: Point| {
                (
                    pen_x + f64::from(p.x) * scale,
                    origin.1 - f64::from(p.y) * scale,
                )
            };
            let curves = face.outline(glyph).map(|o| o.curves).unwrap_or_default();
            let mut at: Option<Point> = None;
            for curve in curves {
                let (start, end, piece) = match curve {
                    OutlineCurve::Line(a, b) => (a, b, Piece::Line(place(b))),
                    OutlineCurve::Quad(a, c, b) => {
                        let toward = |p: Point| {
                            let third = |from: f32, to: f32| from + (to - from) * 2.0 / 3.0;
                            place(Point {
                                x: third(p.x, c.x),
                                y: third(p.y, c.y),
                            })
                        };
                        (a, b, Piece::Cubic(toward(a), toward(b), place(b)))
                    }
                    OutlineCurve::Cubic(a, c, d, b) => {
                        (a, b, Piece::Cubic(place(c), place(d), place(b)))
                    }
                };
                if at != Some(start) {
                    pieces.push(Piece::Move(place(start)));
                }
                pieces.push(piece);
                at = Some(end);
            }
            pen_x += f64::from(face.h_advance_unscaled(glyph)) * scale;
        }
        pieces
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed check may stop the test")]
    use super::*;

    #[test]
    fn every_sign_the_drawings_use_is_in_the_font() {
        let faces = Faces::load().unwrap();
        let signs = "0123456789 AZaz Łęäöüßñçş °−–—→←↑↓×±≤≥·½“”’…?()/,:;%&'";
        for weight in [Weight::Regular, Weight::SemiBold] {
            let face = faces.face(weight);
            for sign in signs.chars() {
                assert_ne!(face.glyph_id(sign).0, 0, "{sign:?} is missing");
            }
        }
    }

    #[test]
    fn a_text_twice_the_size_is_twice_as_wide() {
        let faces = Faces::load().unwrap();
        let width = |size| faces.width("extension 42°", Weight::Regular, size);
        assert!((width(24.0) - 2.0 * width(12.0)).abs() < 1e-9);
        assert!(faces.width("wide", Weight::SemiBold, 12.0) > width(12.0) / 5.0);
    }
}
