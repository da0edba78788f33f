//! Scenes placed on a page: scale, mirror, and the SVG text.
//!
//! Units of the page are those of the viewBox; y points down. Only absolute commands M, L, A, Z.

use std::fmt::Write;

use super::ink::{Firmness, Ink};
use super::outline::{Circle, Spot, hull};
use super::scene::{Form, Scene};
use crate::movement::Side;

/// Size of the letters.
pub(super) const LETTERS: f64 = 17.0;
/// Room around a scene for strokes and arrows.
const ROOM: f64 = 9.0;

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
    pub(super) width: f64,
    pub(super) height: f64,
    side: Side,
    pub(super) body: String,
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
        self.place_at(scene, area, scale_most, 0.5);
    }

    /// The same with what height is left over above by `above_ratio`: 1 stands on the lower edge.
    pub fn place_at(&mut self, scene: &Scene, area: Area, scale_most: f64, above_ratio: f64) {
        let area = self.own(area);
        let (low, high) = bounds(scene);
        let span = |low: f64, high: f64| (high - low).max(1.0);
        let scale = ((area.width - 2.0 * ROOM) / span(low.x, high.x))
            .min((area.height - 2.0 * ROOM) / span(low.y, high.y))
            .min(scale_most);
        let spare = area.height - 2.0 * ROOM - span(low.y, high.y) * scale;
        let mirror = match self.side {
            Side::Right => 1.0,
            Side::Left => -1.0,
        };
        let fit = Fit {
            scale,
            x: area.x + area.width / 2.0 - mirror * (low.x + high.x) / 2.0 * scale,
            y: area.y + ROOM + spare * above_ratio + high.y * scale,
            mirror,
        };
        for item in scene.sorted() {
            self.form(&item.form, item.ink, item.firmness, fit);
        }
    }

    /// Draws a scene in a group of its own whose origin is that of the scene, at a spot of a right-hand
    /// page, `scale` units a centimetre.
    pub fn group_at(&mut self, at: Spot, attributes: &str, scene: &Scene, scale: f64) {
        let (x, mirror) = match self.side {
            Side::Right => (at.x, 1.0),
            Side::Left => (self.width - at.x, -1.0),
        };
        let _ = writeln!(
            self.body,
            "<g transform=\"translate({x:.1} {:.1})\"><g {attributes}>",
            at.y
        );
        let fit = Fit {
            scale,
            x: 0.0,
            y: 0.0,
            mirror,
        };
        for item in scene.sorted() {
            self.form(&item.form, item.ink, item.firmness, fit);
        }
        self.body.push_str("</g></g>\n");
    }

    /// Words with their middle at a spot of a right-hand page.
    pub fn words(&mut self, text: &str, x: f64, y: f64, size: f64) {
        let x = match self.side {
            Side::Right => x,
            Side::Left => self.width - x,
        };
        self.text(text, Spot { x, y }, size);
    }

    fn form(&mut self, form: &Form, ink: Ink, firmness: Firmness, fit: Fit) {
        let spots = |own: &[Spot]| -> Vec<Spot> { own.iter().map(|own| fit.spot(*own)).collect() };
        match form {
            Form::Limb(hulls) => {
                let mut path = String::new();
                for circles in hulls {
                    let circles: Vec<Circle> = circles.iter().map(|own| fit.circle(*own)).collect();
                    arcs(&mut path, &circles);
                }
                self.element(&path, &ink.attributes(firmness, false));
            }
            Form::Polygon(own) => {
                let path = joined(&spots(own)) + "Z";
                self.element(&path, &ink.attributes(firmness, false));
            }
            Form::Line(own) => {
                self.element(&joined(&spots(own)), &ink.attributes(firmness, true));
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

    /// A path.
    pub(super) fn element(&mut self, path: &str, attributes: &str) {
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

/// Text as XML has it, also within quotes.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// Straight lines from spot to spot.
pub(super) fn joined(spots: &[Spot]) -> String {
    let mut path = String::new();
    for (place, spot) in spots.iter().enumerate() {
        let command = if place == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{command}{:.1} {:.1}", spot.x, spot.y);
    }
    path
}

fn arcs(path: &mut String, circles: &[Circle]) {
    for (place, turn) in hull(circles).iter().enumerate() {
        for (step, spot) in turn.spots.iter().enumerate() {
            let _ = match (place, step) {
                (0, 0) => write!(path, "M{:.1} {:.1}", spot.x, spot.y),
                (_, 0) => write!(path, "L{:.1} {:.1}", spot.x, spot.y),
                _ => write!(
                    path,
                    "A{:.1} {:.1} 0 0 1 {:.1} {:.1}",
                    turn.radius, turn.radius, spot.x, spot.y
                ),
            };
        }
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
