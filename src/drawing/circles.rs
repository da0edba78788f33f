//! Arm circles: the upper body seen from behind, one arm stretched out to the side.

use super::arm::{FOREARM_CM, forearm};
use super::hand;
use super::ink::Ink;
use super::page::{Area, Page};
use super::pose::HandPose;
use super::scene::{Layer, Scene};
use super::space::{Eye, Frame, Place, ball};
use super::weight::{self, Held};
use super::words;
use crate::movement::{LoadShape, Movement, Posture, Side};

/// The straight arm to the side, the wrist held back, and the circle it draws.
pub(super) fn drawing(side: Side, posture: &Posture, load: Option<LoadShape>) -> String {
    let mut scene = Scene::new(Eye::from(Place::new(-0.8, 0.18, 0.62), Place::y()));
    let at = Place::new;
    body(&mut scene);
    let shoulder = at(0.0, 0.0, 17.0);
    let wrist = shoulder + at(0.0, 0.0, 27.0 + FOREARM_CM);
    // Arm to the side, palm down: the thumb points forward.
    let frame = Frame::right(wrist, Place::z(), -Place::y());
    let bent = frame.bent(-58.0, 0.0);
    let held = match load {
        None => Held::Nothing,
        Some(LoadShape::Centred) => Held::Dumbbell,
        Some(LoadShape::OneSided) => Held::HeavyAtThumb,
    };
    let pose = if held == Held::Nothing {
        HandPose::flat()
    } else {
        HandPose::grip()
    };
    scene.layer(Layer::Body);
    weight::draw(&mut scene, &bent, held);
    let mut arm = forearm(&frame, FOREARM_CM);
    arm.push(vec![
        ball(frame.at(-FOREARM_CM, 0.0, 0.0), 3.2),
        ball(frame.at(-FOREARM_CM - 14.0, 0.0, 0.0), 4.0),
    ]);
    hand::draw(&mut scene, &bent, &pose, &arm, Ink::Skin);
    let sleeve = vec![vec![
        ball(shoulder, 5.6),
        ball(shoulder + at(0.0, 0.0, 15.0), 4.9),
    ]];
    scene.limb(&sleeve, scene.eye.toward_by(90.0), Ink::Cloth);
    // The circle about the arm's own line, drawn from above forward and down.
    let circle: Vec<Place> = (0..=40)
        .map(|step| {
            let angle_deg = 100.0 - 310.0 * f64::from(step) / 40.0;
            let (sin, cos) = angle_deg.to_radians().sin_cos();
            bent.at(6.0, 0.0, 0.0) + at(cos * 15.0, sin * 15.0, 9.0)
        })
        .collect();
    scene.arrow(&circle);
    let thumb = hand::thumb_end(&bent, &pose.thumb);
    scene.words(words::THUMB, thumb, (-46.0, 60.0), true);
    let mut page = Page::new(360.0, 270.0, side);
    let area = Area {
        x: 0.0,
        y: 0.0,
        width: 360.0,
        height: 240.0,
    };
    page.place(&scene, area, 7.5);
    page.words(
        words::direction(Movement::ArmCircles, posture),
        180.0,
        254.0,
        21.0,
    );
    page.finish(
        "movement",
        &words::movement_title(Movement::ArmCircles, side, posture),
        &words::circles_description(side, load),
    )
}

/// Head, trunk and the other arm, from behind.
fn body(scene: &mut Scene) {
    let at = Place::new;
    scene.layer(Layer::Ground);
    let near = |scene: &Scene, level: f64| scene.eye.toward_by(level);
    let other = vec![vec![
        ball(at(0.0, 0.0, -17.0), 5.0),
        ball(at(-1.0, -28.0, -20.0), 4.0),
    ]];
    scene.limb(&other, near(scene, 0.0), Ink::Cloth);
    let trunk = vec![vec![
        ball(at(0.0, 1.0, -13.0), 6.0),
        ball(at(0.0, 1.0, 13.0), 6.0),
        ball(at(0.0, -28.0, -10.0), 7.0),
        ball(at(0.0, -28.0, 10.0), 7.0),
    ]];
    let neck = vec![ball(at(0.0, 6.0, 0.0), 5.5), ball(at(1.0, 14.0, 0.0), 5.0)];
    scene.limb(&[neck], near(scene, 1.0), Ink::Person);
    scene.limb(&trunk, near(scene, 2.0), Ink::Cloth);
    let head = vec![ball(at(1.0, 22.0, 0.0), 9.5), ball(at(1.5, 26.0, 0.0), 9.0)];
    let ears = [-1.0, 1.0].map(|sign| vec![ball(at(1.0, 21.0, sign * 9.6), 1.8)]);
    let mut hulls = vec![head];
    hulls.extend(ears);
    scene.limb(&hulls, near(scene, 3.0), Ink::Person);
}
