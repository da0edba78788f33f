//! Where the sensor and its strap go.

use super::arm::{cuff, forearm};
use super::hand;
use super::ink::Ink;
use super::outline::{convex, hatch};
use super::page::{Area, Page};
use super::pose::{HandPose, Thumb};
use super::scene::{Layer, Scene};
use super::space::{Ball, Eye, Frame, Place, ball};
use super::words;
use crate::movement::Side;

/// From which side the hand is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HandView {
    /// The back of the hand.
    Back,
    /// The palm.
    Palm,
    /// The back of the hand and of the forearm, each with a unit.
    Forearm,
}

/// How far beyond the wrist the middle of the unit and of the strap lies: over the middle of the
/// third metacarpal (as the project places it: about 7 cm beyond the wrist joint).
const STRAP_CM: f64 = 6.9;
/// How far above the wrist the middle of the forearm's unit lies: its near edge two fingers' breadth
/// (about 3.5 cm) above the crease.
const ABOVE_CM: f64 = 5.2;

/// An open hand with the fingers up, seen flat.
pub(super) fn flat_hand(view: HandView) -> (Scene, Frame) {
    let scene = Scene::new(Eye::from(Place::z(), Place::y()));
    let palmar = match view {
        HandView::Back | HandView::Forearm => -Place::z(),
        HandView::Palm => Place::z(),
    };
    (scene, Frame::right(Place::zeros(), Place::y(), palmar))
}

/// The drawing of where the unit sits: on the back of the hand, or how the strap runs through the
/// palm, clear of the wrist and of the heel of the palm.
pub fn sensor_drawing(side: Side, view: HandView) -> String {
    let (mut scene, frame) = flat_hand(view);
    let pose = HandPose {
        splay_deg: [6.0, 1.5, -4.0, -10.0],
        thumb: Thumb::OUT,
        ..HandPose::flat()
    };
    let bare_cm = match view {
        HandView::Back | HandView::Palm => 11.0,
        HandView::Forearm => 15.0,
    };
    let arm = forearm(&frame, bare_cm);
    hand::draw(&mut scene, &frame, &pose, &arm, Ink::Skin);
    scene.limb(&cuff(&frame, bare_cm), scene.eye.toward_by(9.0), Ink::Cloth);
    // Out of the picture, towards the eye.
    let out = match view {
        HandView::Back | HandView::Forearm => -1.0,
        HandView::Palm => 1.0,
    };
    scene.layer(Layer::Above);
    let strap = [
        (STRAP_CM - 0.9, -3.75),
        (STRAP_CM + 1.0, -3.95),
        (STRAP_CM + 1.1, 4.1),
        (STRAP_CM - 0.6, 3.95),
    ]
    .map(|(distal, radial)| frame.at(distal, radial, out * 2.0));
    let depth = |scene: &Scene, level: f64| scene.eye.toward_by(level);
    match view {
        HandView::Back | HandView::Forearm => {
            scene.polygon(&strap, depth(&scene, 1.0), Ink::Strap);
            unit(&mut scene, &frame, (STRAP_CM, 0.6));
            scene.words(
                words::SENSOR,
                frame.at(STRAP_CM, 0.2, -2.0),
                (88.0, 8.0),
                true,
            );
            if view == HandView::Forearm {
                on_forearm(&mut scene, &frame);
            }
            scene.words(
                words::THUMB,
                hand::thumb_end(&frame, &pose.thumb),
                (-26.0, 38.0),
                true,
            );
            let wrist = [frame.at(0.2, 2.8, 0.0), frame.at(0.2, -2.7, 0.0)];
            scene.layer(Layer::Above);
            scene.line(&wrist, depth(&scene, 3.0), Ink::Fine);
            scene.words(words::WRIST, wrist[1], (52.0, 8.0), true);
        }
        HandView::Palm => {
            // The heel of the palm and the wrist crease.
            let heel = [
                (-1.2, 2.5),
                (-1.2, -2.5),
                (1.2, -3.2),
                (3.6, -3.1),
                (4.1, -0.8),
                (3.7, 1.8),
                (1.8, 3.0),
            ]
            .map(|(distal, radial)| frame.at(distal, radial, 2.0));
            forbidden(&mut scene, &heel);
            finger_beneath(&mut scene, &frame);
            scene.polygon(&strap, depth(&scene, 4.0), Ink::Strap);
            scene.words(
                words::NOT_HERE,
                frame.at(0.8, -1.9, 0.0),
                (-86.0, 18.0),
                true,
            );
            scene.words(
                words::STRAP,
                frame.at(STRAP_CM, 3.3, 0.0),
                (66.0, -26.0),
                true,
            );
            scene.words(
                words::ONE_FINGER,
                frame.at(11.2, -6.6, 0.0),
                (-50.0, -38.0),
                true,
            );
            scene.words(
                words::THUMB,
                hand::thumb_end(&frame, &pose.thumb),
                (26.0, 38.0),
                true,
            );
        }
    }
    let mut page = Page::new(320.0, 320.0, side);
    let area = Area {
        x: 40.0,
        y: 0.0,
        width: 240.0,
        height: 290.0,
    };
    page.place(&scene, area, 12.0);
    page.words(words::view(view), 160.0, 304.0, 21.0);
    page.finish(
        "sensor",
        &words::sensor_title(side, view),
        words::sensor_description(view),
    )
}

/// A unit, seen from above; its middle lies so far beyond the wrist and to the thumb's side.
fn unit(scene: &mut Scene, frame: &Frame, (distal_cm, radial_cm): (f64, f64)) {
    let corners: Vec<Ball> = [(-0.9, -1.2), (-0.9, 1.2), (0.9, -1.2), (0.9, 1.2)]
        .map(|(distal, radial)| ball(frame.at(distal_cm + distal, radial_cm + radial, -2.4), 0.55))
        .to_vec();
    scene.limb(&[corners], scene.eye.toward_by(2.0), Ink::Sensor);
}

/// The second unit and its strap, and how far above the wrist they are.
fn on_forearm(scene: &mut Scene, frame: &Frame) {
    let strap = [(0.8, -3.2), (0.8, 3.2), (-0.8, 3.3), (-0.8, -3.3)]
        .map(|(distal, radial)| frame.at(distal - ABOVE_CM, radial, -2.0));
    scene.polygon(&strap, scene.eye.toward_by(1.0), Ink::Strap);
    unit(scene, frame, (-ABOVE_CM, 0.0));
    scene.words(
        words::SECOND_SENSOR,
        frame.at(-ABOVE_CM, 1.0, -2.0),
        (-90.0, 20.0),
        true,
    );
    let between = [
        frame.at(0.0, 1.6, -2.0),
        frame.at(1.45 - ABOVE_CM, 1.6, -2.0),
    ];
    scene.line(&between, scene.eye.toward_by(3.0), Ink::Fine);
    scene.words(
        words::TWO_FINGERS,
        (between[0] + between[1]) * 0.5,
        (-92.0, 8.0),
        true,
    );
}

/// A hatched polygon with its rim.
pub(super) fn forbidden(scene: &mut Scene, rim: &[Place]) {
    scene.layer(Layer::Above);
    let seen: Vec<_> = rim.iter().map(|own| scene.eye.spot(*own)).collect();
    let around = convex(&seen);
    let depth = scene.eye.toward_by(0.5);
    for stroke in hatch(&around, 0.75) {
        scene.stroke(stroke.to_vec(), depth, Ink::Forbidden);
    }
    let mut closed = around;
    closed.extend(closed.first().copied());
    scene.stroke(closed, depth, Ink::Forbidden);
}

/// A finger of the other hand, beneath the strap from the little-finger side.
fn finger_beneath(scene: &mut Scene, frame: &Frame) {
    let (tip, joint, root) = (
        frame.at(5.4, -0.9, 2.0),
        frame.at(9.2, -4.6, 2.0),
        frame.at(12.6, -8.0, 2.0),
    );
    let depth = scene.eye.toward_by(3.0);
    let finger = vec![
        vec![ball(tip, 0.72), ball(joint, 0.85)],
        vec![ball(joint, 0.85), ball(root, 0.95)],
    ];
    scene.limb(&finger, depth, Ink::OtherSkin);
    let along = (tip - joint).normalize();
    hand::nail(scene, tip - along * 0.1, along, frame.palmar, 0.45, depth);
}
