//! Writing: where texts stand, and how they are broken and cut to a width.

use super::font::{ASCENT_EM, DESCENT_EM, Weight};
use super::pen::{Anchor, Pen, Point, Type, failed, grid};
use super::{Area, ChartError, GRID, TextBox};
use plotters::element::Text;
use plotters::style::{FontDesc, FontFamily, RGBColor, TextStyle};
use plotters_backend::{DrawingBackend, FontStyle};

impl<DB: DrawingBackend> Pen<'_, DB> {
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
