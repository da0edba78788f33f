//! A scene: parts in space, seen by one eye, sorted from far to near.

use super::ink::{Firmness, Ink};
use super::outline::{Circle, Spot, convex};
use super::space::{Ball, Eye, Place};

/// What is drawn of a part.
#[derive(Debug, Clone)]
pub(super) enum Form {
    /// Hulls of circles that flow into one outline.
    Limb(Vec<Vec<Circle>>),
    /// A closed polygon.
    Polygon(Vec<Spot>),
    /// An open line.
    Line(Vec<Spot>),
    /// A thick arrow along a line.
    Arrow(Vec<Spot>),
    /// A thin arrow for the way back.
    ThinArrow(Vec<Spot>),
    /// Words beside a spot, with a thin line to it where `leader` says so.
    Words {
        /// The words.
        text: String,
        /// What the words name.
        at: Spot,
        /// From there to the middle of the words, in units of the page; mirrored with the picture.
        shift: Spot,
        /// Whether a line leads from the words to the spot.
        leader: bool,
        /// Size of the letters in units of the page.
        size: f64,
    },
}

/// A part as it is drawn.
#[derive(Debug, Clone)]
pub(super) struct Item {
    /// Things of a higher layer cover those of a lower.
    pub layer: Layer,
    /// Nearer things cover farther ones.
    pub nearness: f64,
    /// What is drawn.
    pub form: Form,
    /// What it is made of.
    pub ink: Ink,
    /// Solid or dashed.
    pub firmness: Firmness,
}

/// What covers what, whatever its distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Layer {
    /// Table, towel, person.
    Ground,
    /// Where the hand goes.
    Ghost,
    /// The hand.
    Body,
    /// Sensor, strap, hatching.
    Above,
    /// Arrows and words.
    Signs,
}

/// Parts seen by one eye.
#[derive(Debug, Clone)]
pub(super) struct Scene {
    /// From where.
    pub eye: Eye,
    /// What.
    pub items: Vec<Item>,
    layer: Layer,
    firmness: Firmness,
}

impl Scene {
    /// An empty scene.
    pub fn new(eye: Eye) -> Scene {
        Scene {
            eye,
            items: Vec::new(),
            layer: Layer::Body,
            firmness: Firmness::Solid,
        }
    }

    /// What is added from here on lies in this layer; the ghost layer is dashed.
    pub fn layer(&mut self, layer: Layer) -> &mut Scene {
        self.layer = layer;
        self.firmness = if layer == Layer::Ghost {
            Firmness::Ghost
        } else {
            Firmness::Solid
        };
        self
    }

    fn push(&mut self, nearness: f64, form: Form, ink: Ink) {
        self.items.push(Item {
            layer: self.layer,
            nearness,
            form,
            ink,
            firmness: self.firmness,
        });
    }

    /// Hulls of balls in one outline, at the distance of a place.
    pub fn limb(&mut self, hulls: &[Vec<Ball>], depth_of: Place, ink: Ink) {
        let eye = self.eye;
        let seen = hulls
            .iter()
            .map(|balls| balls.iter().map(|own| eye.circle(*own)).collect())
            .collect();
        self.push(eye.nearness(depth_of), Form::Limb(seen), ink);
    }

    /// A cylinder with its near face.
    pub fn cylinder(&mut self, from: Place, to: Place, radius_cm: f64, ink: Ink) {
        let axis = (to - from).normalize();
        let across = if axis.x.abs() < 0.9 {
            Place::x()
        } else {
            Place::y()
        };
        let first = axis.cross(&across).normalize();
        let second = axis.cross(&first);
        let disc = |centre: Place| -> Vec<Spot> {
            (0..28)
                .map(|step| {
                    let (sin, cos) = (f64::from(step) * std::f64::consts::TAU / 28.0).sin_cos();
                    self.eye
                        .spot(centre + (first * cos + second * sin) * radius_cm)
                })
                .collect()
        };
        let mut both = disc(from);
        both.extend(disc(to));
        let near = if self.eye.faces(axis) > 0.0 { to } else { from };
        let face = disc(near);
        let nearness = self.eye.nearness((from + to) / 2.0);
        self.push(nearness, Form::Polygon(convex(&both)), ink);
        if self.eye.faces(axis).abs() > 0.2 {
            self.push(nearness, Form::Polygon(face), ink);
        }
    }

    /// A polygon that is already seen.
    pub fn outline(&mut self, seen: Vec<Spot>, depth_of: Place, ink: Ink) {
        self.push(self.eye.nearness(depth_of), Form::Polygon(seen), ink);
    }

    /// A line that is already seen.
    pub fn stroke(&mut self, seen: Vec<Spot>, depth_of: Place, ink: Ink) {
        self.push(self.eye.nearness(depth_of), Form::Line(seen), ink);
    }

    /// A flat polygon.
    pub fn polygon(&mut self, places: &[Place], depth_of: Place, ink: Ink) {
        let seen = places.iter().map(|own| self.eye.spot(*own)).collect();
        self.push(self.eye.nearness(depth_of), Form::Polygon(seen), ink);
    }

    /// A line upon a part at the same distance, added after it; what is dashed has none.
    pub fn line(&mut self, places: &[Place], depth_of: Place, ink: Ink) {
        if self.firmness == Firmness::Ghost {
            return;
        }
        let seen = places.iter().map(|own| self.eye.spot(*own)).collect();
        self.push(self.eye.nearness(depth_of), Form::Line(seen), ink);
    }

    /// A thick arrow, and where asked a thin one back beside it.
    pub fn arrow(&mut self, places: &[Place]) {
        let seen = places.iter().map(|own| self.eye.spot(*own)).collect();
        self.layer(Layer::Signs);
        self.push(0.0, Form::Arrow(seen), Ink::Fine);
    }

    /// A thin arrow for the way back.
    pub fn thin_arrow(&mut self, places: &[Place]) {
        let seen = places.iter().map(|own| self.eye.spot(*own)).collect();
        self.layer(Layer::Signs);
        self.push(0.0, Form::ThinArrow(seen), Ink::Fine);
    }

    /// Words beside a place; `shift` to the right and down, in units of the page.
    pub fn words(&mut self, text: &str, at: Place, shift: (f64, f64), leader: bool) {
        let at = self.eye.spot(at);
        self.layer(Layer::Signs);
        let form = Form::Words {
            text: text.to_owned(),
            at,
            shift: Spot {
                x: shift.0,
                y: shift.1,
            },
            leader,
            size: super::page::LETTERS,
        };
        self.push(1.0, form, Ink::Fine);
    }

    /// The items from far to near.
    pub fn sorted(&self) -> Vec<Item> {
        let mut items = self.items.clone();
        items.sort_by(|a, b| {
            a.layer
                .cmp(&b.layer)
                .then(a.nearness.total_cmp(&b.nearness))
        });
        items
    }
}
