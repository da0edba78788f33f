//! Arrows and words of a page.

use std::fmt::Write;

use super::outline::Spot;
use super::page::{Page, escaped, joined};

/// Mean width of a letter in parts of its size, rather wide.
const LETTER_WIDTH: f64 = 0.56;

impl Page {
    /// Moves the middle of words so that they stay on the page.
    pub(super) fn inside(&self, middle: Spot, text: &str, size: f64) -> Spot {
        let half = text_width(text, size) / 2.0 + 2.0;
        Spot {
            x: middle.x.clamp(half, (self.width - half).max(half)),
            y: middle.y.clamp(size * 0.7, self.height - size * 0.7),
        }
    }

    pub(super) fn leader(&mut self, text: &str, middle: Spot, at: Spot, size: f64) {
        let half = text_width(text, size) / 2.0 + 1.0;
        let (x, y) = (at.x - middle.x, at.y - middle.y);
        let share = (half / x.abs().max(1e-9))
            .min(size * 0.65 / y.abs().max(1e-9))
            .min(1.0);
        let start = Spot {
            x: middle.x + x * share,
            y: middle.y + y * share,
        };
        let path = joined(&[start, at]);
        self.element(
            &path,
            "class=\"drawing-leader\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.1\"",
        );
        let _ = writeln!(
            self.body,
            "<circle class=\"drawing-leader\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"2\" fill=\"currentColor\"/>",
            at.x, at.y
        );
    }

    pub(super) fn text(&mut self, text: &str, middle: Spot, size: f64) {
        let _ = writeln!(
            self.body,
            "<text class=\"drawing-words\" x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size:.0}\" text-anchor=\"middle\" fill=\"currentColor\" stroke=\"var(--drawing-paper, #fff)\" stroke-width=\"3\" paint-order=\"stroke\" stroke-linejoin=\"round\">{}</text>",
            middle.x,
            middle.y + size * 0.36,
            escaped(text)
        );
    }

    pub(super) fn arrow(&mut self, spots: &[Spot], width: f64, head: f64, class: &str) {
        let [.., before, tip] = spots else {
            return;
        };
        let back = spots
            .iter()
            .rev()
            .find(|own| (own.x - tip.x).hypot(own.y - tip.y) > head * 0.9)
            .unwrap_or(before);
        let length = (tip.x - back.x).hypot(tip.y - back.y).max(1e-6);
        let (x, y) = ((tip.x - back.x) / length, (tip.y - back.y) / length);
        let at = |along: f64, across: f64| Spot {
            x: tip.x + x * along - y * across,
            y: tip.y + y * along + x * across,
        };
        // The shaft ends within the head.
        let mut shaft: Vec<Spot> = spots
            .iter()
            .copied()
            .filter(|own| (own.x - tip.x).hypot(own.y - tip.y) > head * 0.9)
            .collect();
        shaft.push(at(-head * 0.9, 0.0));
        let path = joined(&shaft);
        let triangle = joined(&[at(0.0, 0.0), at(-head * 1.4, head), at(-head * 1.4, -head)]) + "Z";
        self.element(
            &path,
            &format!("class=\"drawing-halo\" fill=\"none\" stroke=\"var(--drawing-paper, #fff)\" stroke-width=\"{:.1}\"", width + 3.0),
        );
        self.element(
            &path,
            &format!("class=\"drawing-arrow drawing-{class}\" fill=\"none\" stroke=\"var(--drawing-arrow, #0b6b4f)\" stroke-width=\"{width:.1}\""),
        );
        self.element(
            &triangle,
            &format!("class=\"drawing-arrow drawing-{class}\" fill=\"var(--drawing-arrow, #0b6b4f)\" stroke=\"var(--drawing-paper, #fff)\" stroke-width=\"1.5\""),
        );
    }
}

fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER_WIDTH
}
