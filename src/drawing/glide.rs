//! Tendon glides: the positions of the fingers in their order, in small pictures with numbers.
//!
//! Source: common practice, no source: straight, hook, full fist, tabletop and straight fist are the
//! usual five; sheets differ in the order and leave some out.

use super::arm::forearm;
use super::hand;
use super::ink::Ink;
use super::page::{Area, Page};
use super::pose::HandPose;
use super::scene::Scene;
use super::space::{Ball, Eye, Frame, Place, ball};
use super::words;
use crate::movement::Side;

/// A position of the fingers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Glide {
    /// All joints straight.
    Straight,
    /// Knuckles straight, the other joints bent.
    Hook,
    /// All joints bent.
    FullFist,
    /// Knuckles bent, the other joints straight.
    Tabletop,
    /// Knuckles and middle joints bent, the end joints straight.
    StraightFist,
    /// Wide open, fingers and thumb spread.
    WideOpen,
}

impl Glide {
    /// The usual five in their order.
    pub const ORDER: [Glide; 5] = [
        Glide::Straight,
        Glide::Hook,
        Glide::FullFist,
        Glide::Tabletop,
        Glide::StraightFist,
    ];

    /// The short course: straight, wide open, fist.
    pub const SHORT: [Glide; 3] = [Glide::Straight, Glide::WideOpen, Glide::FullFist];

    fn pose(self) -> HandPose {
        match self {
            Glide::Straight => HandPose::flat(),
            Glide::Hook => HandPose::hook(),
            Glide::FullFist => HandPose::fist(),
            Glide::Tabletop => HandPose::tabletop(),
            Glide::StraightFist => HandPose::straight_fist(),
            Glide::WideOpen => HandPose::spread(),
        }
    }
}

/// Size of one small picture.
const CELL: (f64, f64) = (120.0, 164.0);

/// The positions in their order, three in a row, numbered, the wrist straight and the fingers up,
/// seen from the thumb side and a little from the palm.
pub fn glide_drawing(glides: &[Glide], side: Side) -> String {
    let columns = glides.len().clamp(1, 3);
    let rows = glides.len().div_ceil(columns).max(1);
    let (width, height) = (CELL.0 * columns as f64, CELL.1 * rows as f64);
    let mut page = Page::new(width, height, side);
    for (place, glide) in glides.iter().enumerate() {
        // Read from left to right whatever the hand: the mirror turns the order round again.
        let column = match side {
            Side::Right => place % columns,
            Side::Left => columns - 1 - place % columns,
        };
        let x = column as f64 * CELL.0;
        let y = (place / columns) as f64 * CELL.1;
        let area = Area {
            x,
            y,
            width: CELL.0,
            height: CELL.1 - 24.0,
        };
        page.place_at(&scene(*glide), area, 5.4, 1.0);
        page.words(&(place + 1).to_string(), x + 16.0, y + 18.0, 20.0);
        page.words(
            words::glide(*glide),
            x + CELL.0 / 2.0,
            y + CELL.1 - 14.0,
            16.0,
        );
    }
    page.finish(
        "glide",
        &words::glide_title(side),
        &words::glide_description(glides),
    )
}

fn scene(glide: Glide) -> Scene {
    let eye = match glide {
        Glide::WideOpen => Eye::from(Place::z(), Place::y()),
        _ => Eye::from(Place::new(0.95, 0.1, 0.42), Place::y()),
    };
    let mut scene = Scene::new(eye);
    let frame = Frame::right(Place::zeros(), Place::y(), Place::z());
    hand::draw(
        &mut scene,
        &frame,
        &glide.pose(),
        &forearm(&frame, 3.0),
        Ink::Skin,
    );
    scene.limb(&small_cuff(&frame), scene.eye.toward_by(9.0), Ink::Cloth);
    scene
}

fn small_cuff(frame: &Frame) -> Vec<Vec<Ball>> {
    let mut corners = Vec::new();
    for distal_cm in [-3.0, -4.4] {
        for (radial_cm, palmar_cm) in [(-1.7, -0.4), (-1.7, 0.4), (1.7, -0.4), (1.7, 0.4)] {
            corners.push(ball(frame.at(distal_cm, radial_cm, palmar_cm), 2.0));
        }
    }
    vec![corners]
}
