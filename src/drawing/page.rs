//! Scenes placed on a page: scale, mirror, and the SVG text.
//!
//! Units of the page are those of the viewBox; y points down. Only absolute commands M, L, A, Z.

use std::fmt::Write;

use super::ink::{Ink, Weightiness};
use super::outline::{Circle, Spot, hull};
use super::scene::{Form, Scene};
use crate::movement::Side;

/// Size of the letters.
pub(super) const LETTERS: f64 = 15.0;
/// Mean width of a letter in parts of its size, rather wide.
const LETTER_WIDTH: f64 = 0.56;
/// Room around a scene for strokes and arrows.
const ROOM: f64 = 7.0;

/// A rectangle of the page.
#[derive(Debug, Clone, Copy)]
pub(super) struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// A drawing in the making.
#[derive(Debug)]
pub(super) struct Page {
    width: f64,
    height: f64,
    side: Side,
    body: String,
}

/// Scale and shift from centimetres to the page.
#[derive(Debug, Clone, Copy)]
struct Fit {
    scale: f64,
    x: f64,
    y: f64,
    mirror: f64,
}

impl Fit {
    fn spot(self, own: Spot) -> Spot {
        Spot {
            x: self.x + self.mirror * own.x * self.scale,
            y: self.y - own.y * self.scale,
        }
    }

    fn circle(self, own: Circle) -> Circle {
        Circle {
            centre: self.spot(own.centre),
            radius: own.radius * self.scale,
        }
    }
}

impl Page {
    /// An empty page; the pictures of a left hand are mirrored.
    pub fn new(width: f64, height: f64, side: Side) -> Page {
        Page {
            width,
            height,
            side,
            body: String::new(),
        }
    }

    /// The area of a right-hand picture where this page's side has it.
    fn own(&self, area: Area) -> Area {
        match self.side {
            Side::Right => area,
            Side::Left => Area {
                x: self.width - area.x - area.width,
                ..area
            },
        }
    }

    /// Draws a scene as large as the area allows, at most `scale_most` units a centimetre. The area
    /// is that of the right hand.
    pub fn place(&mut self, scene: &Scene, area: Area, scale_most: f64) {
        let area = self.own(area);
        let (low, high) = bounds(scene);
        let span = |low: f64, high: f64| (high - low).max(1.0);
        let scale = ((area.width - 2.0 * ROOM) / span(low.x, high.x))
            .min((area.height - 2.0 * ROOM) / span(low.y, high.y))
            .min(scale_most);
        let mirror = match self.side {
            Side::Right => 1.0,
            Side::Left => -1.0,
        };
        let fit = Fit {
            scale,
            x: area.x + area.width / 2.0 - mirror * (low.x + high.x) / 2.0 * scale,
            y: area.y + area.height / 2.0 + (low.y + high.y) / 2.0 * scale,
            mirror,
        };
        for item in scene.sorted() {
            self.form(&item.form, item.ink, item.weightiness, fit);
        }
    }

    /// Words with their middle at a spot of a right-hand page.
    pub fn words(&mut self, text: &str, x: f64, y: f64, size: f64) {
        let x = match self.side {
            Side::Right => x,
            Side::Left => self.width - x,
        };
        self.text(text, Spot { x, y }, size);
    }

    fn form(&mut self, form: &Form, ink: Ink, weightiness: Weightiness, fit: Fit) {
        let spots = |own: &[Spot]| -> Vec<Spot> { own.iter().map(|own| fit.spot(*own)).collect() };
        match form {
            Form::Limb(hulls) => {
                let mut path = String::new();
                for circles in hulls {
                    let circles: Vec<Circle> =
                        circles.iter().map(|own| fit.circle(*own)).collect();
                    arcs(&mut path, &circles);
                }
                self.element(&path, &ink.attributes(weightiness, false));
            }
            Form::Polygon(own) => {
                let path = joined(&spots(own)) + "Z";
                self.element(&path, &ink.attributes(weightiness, false));
            }
            Form::Line(own) => {
                self.element(&joined(&spots(own)), &ink.attributes(weightiness, true));
            }
            Form::Arrow(own) => self.arrow(&spots(own), 5.0, 9.5, "lift"),
            Form::ThinArrow(own) => self.arrow(&spots(own), 2.0, 5.5, "back"),
            Form::Words {
                text,
                at,
                shift,
                leader,
                size,
            } => {
                let at = fit.spot(*at);
                let middle = self.inside(
                    Spot {
                        x: at.x + fit.mirror * shift.x,
                        y: at.y + shift.y,
                    },
                    text,
                    *size,
                );
                if *leader {
                    self.leader(text, middle, at, *size);
                }
                self.text(text, middle, *size);
            }
        }
    }

    /// Moves the middle of words so that they stay on the page.
    fn inside(&self, middle: Spot, text: &str, size: f64) -> Spot {
        let half = text_width(text, size) / 2.0 + 2.0;
        Spot {
            x: middle.x.clamp(half, (self.width - half).max(half)),
            y: middle.y.clamp(size * 0.7, self.height - size * 0.7),
        }
    }

    fn leader(&mut self, text: &str, middle: Spot, at: Spot, size: f64) {
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

    fn text(&mut self, text: &str, middle: Spot, size: f64) {
        let _ = writeln!(
            self.body,
            "<text class=\"drawing-words\" x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size:.0}\" text-anchor=\"middle\" fill=\"currentColor\" stroke=\"var(--drawing-paper, #fff)\" stroke-width=\"3\" paint-order=\"stroke\" stroke-linejoin=\"round\">{}</text>",
            middle.x,
            middle.y + size * 0.36,
            escaped(text)
        );
    }

    fn arrow(&mut self, spots: &[Spot], width: f64, head: f64, class: &str) {
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

    fn element(&mut self, path: &str, attributes: &str) {
        let _ = writeln!(self.body, "<path {attributes} d=\"{path}\"/>");
    }

    /// The SVG text. `name` is a class of the drawing's own.
    pub fn finish(self, name: &str, title: &str, description: &str) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"drawing drawing-{name}\" viewBox=\"0 0 {:.0} {:.0}\" role=\"img\" aria-label=\"{}\">\n<title>{}</title>\n<desc>{}</desc>\n<g paint-order=\"stroke\" stroke-linejoin=\"round\" stroke-linecap=\"round\" font-family=\"inherit\">\n{}</g>\n</svg>\n",
            self.width,
            self.height,
            escaped(title),
            escaped(title),
            escaped(description),
            self.body
        )
    }
}

fn text_width(text: &str, size: f64) -> f64 {
    text.chars().count() as f64 * size * LETTER_WIDTH
}

/// Text as XML has it, also within quotes.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

fn joined(spots: &[Spot]) -> String {
    let mut path = String::new();
    for (place, spot) in spots.iter().enumerate() {
        let command = if place == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{command}{:.1} {:.1}", spot.x, spot.y);
    }
    path
}

fn arcs(path: &mut String, circles: &[Circle]) {
    for (place, turn) in hull(circles).iter().enumerate() {
        let command = if place == 0 { 'M' } else { 'L' };
        let _ = write!(
            path,
            "{command}{:.1} {:.1}A{:.2} {:.2} 0 {} 1 {:.1} {:.1}",
            turn.from.x,
            turn.from.y,
            turn.radius,
            turn.radius,
            u8::from(turn.long),
            turn.to.x,
            turn.to.y
        );
    }
    path.push('Z');
}

/// Lowest and highest coordinates of a scene, without its words.
fn bounds(scene: &Scene) -> (Spot, Spot) {
    let mut low = Spot {
        x: f64::INFINITY,
        y: f64::INFINITY,
    };
    let mut high = Spot {
        x: f64::NEG_INFINITY,
        y: f64::NEG_INFINITY,
    };
    let mut take = |spot: Spot, radius: f64| {
        low.x = low.x.min(spot.x - radius);
        low.y = low.y.min(spot.y - radius);
        high.x = high.x.max(spot.x + radius);
        high.y = high.y.max(spot.y + radius);
    };
    for item in &scene.items {
        match &item.form {
            Form::Limb(hulls) => {
                for circle in hulls.iter().flatten() {
                    take(circle.centre, circle.radius);
                }
            }
            Form::Polygon(spots) | Form::Line(spots) => {
                for spot in spots {
                    take(*spot, 0.0);
                }
            }
            Form::Arrow(spots) | Form::ThinArrow(spots) => {
                for spot in spots {
                    take(*spot, 0.6);
                }
            }
            Form::Words { .. } => {}
        }
    }
    (low, high)
}
