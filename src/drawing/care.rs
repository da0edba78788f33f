//! What has no repetitions: shaking out, self-massage, breathing.

use super::arm::{cuff, forearm};
use super::hand;
use super::ink::Ink;
use super::page::{Area, Page};
use super::pose::{HandPose, Thumb};
use super::scene::{Layer, Scene};
use super::sensor::{HandView, flat_hand, forbidden};
use super::setting;
use super::space::{Eye, Frame, Place};
use super::words;
use crate::movement::{ForearmDirection, ForearmRotation, ForearmSupport, Posture, Side};

/// Something that is done for a while, not counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Care {
    /// Shaking out the loose hand.
    ShakeOut,
    /// Stroking the forearm and rubbing the palm near the fingers.
    SelfMassage,
    /// Sitting upright and breathing.
    Breathing,
}

impl Care {
    /// Every one, in the order of the documentation.
    pub const ALL: [Care; 3] = [Care::ShakeOut, Care::SelfMassage, Care::Breathing];

    /// The word used in routines.
    pub fn name(self) -> &'static str {
        match self {
            Care::ShakeOut => "shake-out",
            Care::SelfMassage => "self-massage",
            Care::Breathing => "breathing",
        }
    }

    /// The one of that name.
    pub fn from_name(name: &str) -> Option<Care> {
        Care::ALL.into_iter().find(|own| own.name() == name)
    }
}

/// The drawing of shaking out, of self-massage or of breathing.
pub fn care_drawing(care: Care, side: Side) -> String {
    let scene = match care {
        Care::ShakeOut => shake_out(),
        Care::SelfMassage => massage(),
        Care::Breathing => breathing(),
    };
    let mut page = Page::new(320.0, 320.0, side);
    let area = Area {
        x: 24.0,
        y: 0.0,
        width: 272.0,
        height: 282.0,
    };
    page.place(&scene, area, 11.0);
    page.words(words::care(care), 160.0, 301.0, 24.0);
    page.finish(
        "care",
        &words::care_title(care, side),
        words::care_description(care),
    )
}

/// The forearm forward, the hand hanging loose from it, arrows to both sides.
fn shake_out() -> Scene {
    let mut scene = Scene::new(Eye::from(Place::new(-0.2, 0.35, -1.0), Place::y()));
    let along = (Place::x() - Place::y() * 0.12).normalize();
    let palmar = (-Place::y() - Place::x() * 0.12).normalize();
    let frame = Frame::right(Place::zeros(), along, palmar);
    let arm = forearm(&frame, 17.0);
    scene.layer(Layer::Ghost);
    for flexion_deg in [28.0, 96.0] {
        let own = frame.bent(flexion_deg, 0.0);
        hand::draw(&mut scene, &own, &HandPose::loose(), &[], Ink::Skin);
    }
    scene.layer(Layer::Body);
    let own = frame.bent(62.0, 0.0);
    hand::draw(&mut scene, &own, &HandPose::loose(), &arm, Ink::Skin);
    scene.limb(&cuff(&frame, 17.0), scene.eye.toward_by(60.0), Ink::Cloth);
    for ends in [[58.0, 22.0], [70.0, 104.0]] {
        let path: Vec<Place> = (0..=16)
            .map(|step| {
                let flexion_deg = ends[0] + (ends[1] - ends[0]) * f64::from(step) / 16.0;
                frame.bent(flexion_deg, 0.0).at(21.5, 0.0, 2.0)
            })
            .collect();
        scene.arrow(&path);
    }
    scene
}

/// The palm side of hand and forearm: stroke and rub here, not there.
fn massage() -> Scene {
    let (mut scene, frame) = flat_hand(HandView::Palm);
    let pose = HandPose {
        thumb: Thumb::OUT,
        ..HandPose::loose()
    };
    hand::draw(&mut scene, &frame, &pose, &forearm(&frame, 19.0), Ink::Skin);
    scene.limb(&cuff(&frame, 19.0), scene.eye.toward_by(9.0), Ink::Cloth);
    let heel = [
        (-1.4, 2.4),
        (-1.4, -2.4),
        (1.2, -3.2),
        (3.4, -3.1),
        (3.8, -0.8),
        (1.6, 1.6),
        (0.4, 2.9),
    ]
    .map(|(distal, radial)| frame.at(distal, radial, 2.0));
    forbidden(&mut scene, &heel);
    scene.layer(Layer::Above);
    for strokes in [[heel[0], heel[3]], [heel[1], frame.at(3.0, 1.8, 2.0)]] {
        scene.line(&strokes, scene.eye.toward_by(1.0), Ink::Cross);
    }
    let stroke: Vec<Place> = (0..=12)
        .map(|step| frame.at(-4.0 - 8.5 * f64::from(step) / 12.0, 0.0, 2.0))
        .collect();
    scene.arrow(&stroke);
    let circle: Vec<Place> = (0..=24)
        .map(|step| {
            let angle_deg = 200.0 - 300.0 * f64::from(step) / 24.0;
            let (sin, cos) = f64::to_radians(angle_deg).sin_cos();
            frame.at(7.6 + 1.5 * sin, -0.2 + 1.5 * cos, 2.0)
        })
        .collect();
    scene.arrow(&circle);
    scene.words(
        words::NOT_HERE,
        frame.at(0.8, -2.2, 0.0),
        (-70.0, 4.0),
        true,
    );
    scene.words(
        words::FOREARM,
        frame.at(-9.5, -2.6, 0.0),
        (-66.0, 4.0),
        true,
    );
    scene.words(
        words::NEAR_FINGERS,
        frame.at(7.8, 2.2, 0.0),
        (94.0, -30.0),
        true,
    );
    scene
}

/// The person seated upright, the hands in the lap.
fn breathing() -> Scene {
    let posture = Posture {
        elbow_deg: Some(75.0),
        forearm: ForearmSupport::Free,
        direction: ForearmDirection::Level,
        rotation: ForearmRotation::PalmDown,
    };
    let directions = (Place::new(0.86, -0.5, 0.0), Place::new(-0.1, 0.99, 0.0));
    let mut scene = setting::person_with(&posture, directions, Ink::Person);
    let inward: Vec<Place> = (0..=14)
        .map(|step| {
            let share = f64::from(step) / 14.0;
            Place::new(44.0 - 28.0 * share, 76.0 - 9.0 * share, 0.0)
        })
        .collect();
    let outward: Vec<Place> = (0..=14)
        .map(|step| {
            let share = f64::from(step) / 14.0;
            Place::new(16.0 + 28.0 * share, 63.0 - 9.0 * share, 0.0)
        })
        .collect();
    scene.arrow(&inward);
    scene.thin_arrow(&outward);
    scene.words(
        words::IN,
        Place::new(44.0, 76.0, 0.0),
        (-16.0, -12.0),
        false,
    );
    scene.words(
        words::OUT,
        Place::new(44.0, 54.0, 0.0),
        (-18.0, 14.0),
        false,
    );
    scene
}
