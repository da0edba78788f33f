//! Stretches: the pose that is held, the helping hand, and which way it goes.

use super::arm::{FOREARM_CM, cuff, forearm, sleeve, upper_arm};
use super::hand;
use super::ink::Ink;
use super::page::{Area, Page};
use super::pose::{Finger, HandPose, Thumb};
use super::scene::{Layer, Scene};
use super::sensor::{HandView, flat_hand};
use super::space::{Eye, Frame, Place, ball, turned};
use super::words;
use crate::movement::{Side, Stretch};

/// The drawing of a stretch of a hand; the helping hand is grey.
pub fn stretch_drawing(stretch: Stretch, side: Side) -> String {
    let scene = match stretch {
        Stretch::BendBack => bent(-62.0),
        Stretch::BendDown => bent(64.0),
        Stretch::PalmsTogether => together(1.0),
        Stretch::BacksTogether => together(-1.0),
        Stretch::ForearmTurnedUp => rotated(1.0),
        Stretch::ForearmTurnedDown => rotated(-1.0),
        Stretch::FingersSpread => spread(),
        Stretch::ThumbOut => thumb_out(),
    };
    let mut page = Page::new(320.0, 290.0, side);
    let area = Area {
        x: 0.0,
        y: 0.0,
        width: 320.0,
        height: 252.0,
    };
    page.place(&scene, area, 10.0);
    page.words(words::stretch(stretch), 160.0, 271.0, 24.0);
    page.finish(
        "stretch",
        &words::stretch_title(stretch, side),
        words::stretch_description(stretch),
    )
}

/// Adds the helping hand with a piece of its forearm, which comes from the direction `from`.
fn helper(scene: &mut Scene, hand: Frame, pose: &HandPose, from: Place, length_cm: f64) {
    let arm = Frame {
        distal: -from,
        radial: from.cross(&hand.palmar).normalize(),
        ..hand
    };
    hand::draw(
        scene,
        &hand,
        pose,
        &forearm(&arm, length_cm),
        Ink::OtherSkin,
    );
    scene.limb(
        &cuff(&arm, length_cm),
        scene.eye.toward_by(70.0),
        Ink::Cloth,
    );
}

/// The arm stretched forward, the hand bent by the other hand.
fn bent(flexion_deg: f64) -> Scene {
    let mut scene = Scene::new(Eye::from(Place::new(0.2, 0.25, -1.0), Place::y()));
    let frame = Frame::right(Place::zeros(), Place::x(), -Place::y());
    let own = frame.bent(flexion_deg, 0.0);
    let mut arm = forearm(&frame, FOREARM_CM);
    let back = (-Place::x() + Place::y() * 0.12).normalize();
    let elbow = frame.at(-FOREARM_CM, 0.0, 0.0);
    arm.extend(upper_arm(elbow, back, 9.0));
    hand::draw(&mut scene, &own, &HandPose::flat(), &arm, Ink::Skin);
    scene.limb(
        &sleeve(elbow, back, 11.0),
        scene.eye.toward_by(60.0),
        Ink::Cloth,
    );
    // The other hand lies along the palm side of the fingers (bend back) or along the back of the
    // hand (bend down), so that both are seen side by side.
    let backwards = flexion_deg < 0.0;
    let (origin, palm, from) = if backwards {
        (
            own.at(7.0, 0.0, 4.0),
            -own.palmar,
            Place::new(0.25, -1.0, -0.25),
        )
    } else {
        (
            own.at(0.8, 0.0, -4.6),
            own.palmar,
            Place::new(-0.75, 0.6, -0.3),
        )
    };
    let other = Frame::right(origin, own.distal, palm).other_hand();
    let curl = if backwards { 30.0 } else { 8.0 };
    let pose = HandPose {
        fingers: [Finger {
            mcp_deg: 8.0,
            pip_deg: curl,
            dip_deg: curl,
        }; 4],
        ..HandPose::flat()
    };
    scene.layer(Layer::Body);
    helper(&mut scene, other, &pose, from.normalize(), 9.0);
    let path: Vec<Place> = (0..=20)
        .map(|step| {
            let share = 0.45 + 0.55 * f64::from(step) / 20.0;
            frame
                .bent(flexion_deg * share, 0.0)
                .at(21.0, 0.0, if backwards { 7.0 } else { -7.0 })
        })
        .collect();
    scene.arrow(&path);
    let thumb = if backwards {
        own.at(5.4, 3.9, 2.0)
    } else {
        hand::thumb_end(&own, &Thumb::BESIDE)
    };
    let shift = if backwards {
        (74.0, -44.0)
    } else {
        (46.0, 40.0)
    };
    scene.words(words::THUMB, thumb, shift, true);
    scene
}

/// Both hands before the chest, as the person sees them: `up` 1 with palms together and fingers up,
/// -1 with backs together and fingers down.
fn together(up: f64) -> Scene {
    let mut scene = Scene::new(Eye::from(Place::new(-1.0, 0.35, 0.0), Place::y()));
    let distal = Place::y() * up;
    for sign in [1.0, -1.0] {
        let origin = Place::new(0.0, 0.0, sign * 2.2);
        let palmar = Place::z() * (-sign * up);
        let right = Frame::right(origin, distal, palmar);
        let hand = if sign > 0.0 {
            right
        } else {
            right.other_hand()
        };
        let from = Place::new(-0.1, -0.28 * up, sign).normalize();
        let arm = Frame {
            distal: -from,
            radial: hand.radial,
            palmar: from.cross(&hand.radial).normalize(),
            origin,
        };
        let mut hulls = forearm(&arm, 18.0);
        hulls.push(vec![ball(origin, 1.9), ball(hand.at(1.5, 0.0, 0.0), 1.9)]);
        scene.layer(Layer::Body);
        hand::draw(&mut scene, &hand, &HandPose::flat(), &hulls, Ink::Skin);
        scene.limb(&cuff(&arm, 18.0), scene.eye.toward_by(30.0), Ink::Cloth);
        let path: Vec<Place> = [9.0, -1.0]
            .map(|level| Place::new(0.0, level - if up > 0.0 { 0.0 } else { 6.0 }, sign * 10.0))
            .to_vec();
        if up > 0.0 {
            scene.arrow(&path);
        } else {
            let path: Vec<Place> = path.into_iter().rev().collect();
            scene.arrow(&path);
        }
    }
    scene
}

/// The forearm turned by the other hand: `up` 1 to palm up, -1 to palm down.
fn rotated(up: f64) -> Scene {
    let mut scene = Scene::new(Eye::from(Place::new(-0.75, 1.0, -0.25), Place::y()));
    let frame = Frame::right(Place::zeros(), Place::x(), -Place::z()).turned(Place::x(), 82.0 * up);
    hand::draw(
        &mut scene,
        &frame,
        &HandPose::flat(),
        &forearm(&frame, 20.0),
        Ink::Skin,
    );
    scene.limb(&cuff(&frame, 20.0), scene.eye.toward_by(60.0), Ink::Cloth);
    // The other hand holds the forearm behind the wrist from above, never the wrist's palm side.
    let distal = (Place::z() + Place::x() * 0.35).normalize();
    let other = Frame::right(
        Place::new(-5.5, 2.8, 0.0) - distal * 8.0,
        distal,
        -Place::y(),
    )
    .other_hand();
    scene.layer(Layer::Above);
    let pose = HandPose {
        fingers: [Finger {
            mcp_deg: 34.0,
            pip_deg: 34.0,
            dip_deg: 20.0,
        }; 4],
        ..HandPose::flat()
    };
    let from = Place::new(-0.75, 0.0, -0.65).normalize();
    helper(&mut scene, other, &pose, from, 12.0);
    let path: Vec<Place> = (0..=20)
        .map(|step| {
            let angle_deg = (-10.0 + 100.0 * f64::from(step) / 20.0) * up;
            Place::new(21.0, 0.0, 0.0) + turned(Place::y() * 7.5, Place::x(), angle_deg)
        })
        .collect();
    scene.arrow(&path);
    let thumb = hand::thumb_end(&frame, &Thumb::BESIDE);
    scene.words(words::THUMB, thumb, (56.0 * up, 10.0), true);
    scene
}

/// Fingers and thumb spread wide, from the back.
fn spread() -> Scene {
    let (mut scene, frame) = flat_hand(HandView::Back);
    let pose = HandPose::spread();
    hand::draw(&mut scene, &frame, &pose, &forearm(&frame, 8.0), Ink::Skin);
    scene.limb(&cuff(&frame, 8.0), scene.eye.toward_by(9.0), Ink::Cloth);
    for sign in [1.0, -1.0] {
        let path: Vec<Place> = (0..=16)
            .map(|step| {
                let angle_deg = sign * (9.0 + 26.0 * f64::from(step) / 16.0);
                let (sin, cos) = f64::to_radians(angle_deg).sin_cos();
                frame.at(21.0 * cos, 21.0 * sin, 0.0)
            })
            .collect();
        scene.arrow(&path);
    }
    let thumb = hand::thumb_end(&frame, &pose.thumb);
    scene.words(words::THUMB, thumb, (-8.0, 46.0), true);
    scene
}

/// The thumb moves out to the side, from the back; where it goes is dashed.
fn thumb_out() -> Scene {
    let (mut scene, frame) = flat_hand(HandView::Back);
    scene.layer(Layer::Ghost);
    hand::thumb(&mut scene, &frame, &Thumb::WIDE, Ink::Skin);
    scene.layer(Layer::Body);
    let pose = HandPose::flat();
    hand::draw(&mut scene, &frame, &pose, &forearm(&frame, 8.0), Ink::Skin);
    scene.limb(&cuff(&frame, 8.0), scene.eye.toward_by(9.0), Ink::Cloth);
    let centre = frame.at(1.9, 1.9, 0.0);
    let path: Vec<Place> = (0..=16)
        .map(|step| {
            let (sin, cos) = (36.0 + 34.0 * f64::from(step) / 16.0_f64)
                .to_radians()
                .sin_cos();
            centre + frame.along(cos, sin, 0.0) * 12.2
        })
        .collect();
    scene.arrow(&path);
    let thumb = hand::thumb_end(&frame, &Thumb::WIDE);
    scene.words(words::THUMB, thumb, (-6.0, 46.0), true);
    scene
}
