//! A hand that a page turns by itself: the forearm stands still, the hand turns about the wrist.
//!
//! Ours: seen along the axis that the movement turns about, in parallel light, a turn of the hand is a
//! turn of its picture, so that a page shows any angle by turning one part. The lift goes up; a
//! rotation of the forearm is seen from the front, along the forearm.

use super::arm::{cuff, forearm};
use super::course::forearm_frame;
use super::hand;
use super::ink::Ink;
use super::outline::Spot;
use super::page::Page;
use super::pose::HandPose;
use super::scene::{Layer, Scene};
use super::space::{Eye, Frame, Place};
use super::weight::{self, Held};
use super::words;
use crate::movement::{JointAxis, Movement, Side};

/// Width and height.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 280.0;
/// Units of the page a centimetre, from the side and along the forearm.
const SCALE: f64 = 9.4;
const SCALE_ALONG: f64 = 14.5;
/// Where the wrist of a right hand is when the hand is seen from its side.
const WRIST: Spot = Spot { x: 158.0, y: 140.0 };
/// Length of forearm that is seen, and of that over which the hand's outline is hidden.
const ARM_CM: f64 = 14.0;
const SEAM_CM: f64 = 5.0;

/// The drawing of a hand that a movement turns, at its zero: in line with the forearm, or thumb up.
///
/// Two parts stand at the wrist, in units of the viewBox: `.drawing-turning` holds the hand. To show an
/// angle give it the transform `rotate(SIGN * angle)`, SIGN being the attribute `data-turn` (1 or -1);
/// the angle in degrees, positive in the direction of the lift. Without a movement the hand bends back.
/// Arm circles have no such drawing: they are drawn as a bend, too.
pub fn turning_drawing(movement: Option<Movement>, side: Side, loaded: bool) -> String {
    let movement = movement.unwrap_or(Movement::WristExtension);
    let rotates = movement.joint_axis() == Some(JointAxis::Rotation);
    let supination_deg = match movement {
        Movement::WristExtension | Movement::ArmCircles => -90.0,
        Movement::WristFlexion => 90.0,
        Movement::RadialDeviation | Movement::Supination | Movement::Pronation => 0.0,
        Movement::UlnarDeviation => 180.0,
    };
    let along = Place::x();
    let still = forearm_frame(along, supination_deg);
    let eye = if rotates {
        Eye::from(along, Place::y())
    } else {
        Eye::from(-Place::z(), Place::y())
    };
    let middle = Spot {
        x: WIDTH / 2.0,
        y: HEIGHT / 2.0,
    };
    let (wrist, scale) = if rotates {
        (middle, SCALE_ALONG)
    } else {
        (WRIST, SCALE)
    };
    let held = if loaded {
        Held::Dumbbell
    } else {
        Held::Nothing
    };
    let mut page = Page::new(WIDTH, HEIGHT, side);
    let arm = forearm(&still, ARM_CM);
    let mut arm_scene = Scene::new(eye);
    arm_scene.limb(&arm, -along, Ink::Skin);
    arm_scene.limb(&cuff(&still, ARM_CM), eye.toward_by(1.0), Ink::Cloth);
    let mut hand_scene = Scene::new(eye);
    hand_scene.layer(Layer::Body);
    weight::draw(&mut hand_scene, &still, held);
    let pose = if loaded {
        HandPose::grip()
    } else if rotates {
        HandPose::flat()
    } else {
        HandPose::loose_fist()
    };
    hand::draw(&mut hand_scene, &still, &pose, &[], Ink::Skin);
    let mut seam_scene = Scene::new(eye);
    seam_scene.limb(&forearm(&still, SEAM_CM), Place::zeros(), Ink::Seam);
    page.group_at(wrist, "class=\"drawing-still\"", &arm_scene, scale);
    let sign = turn_sign(movement, eye, &still) * if side == Side::Left { -1.0 } else { 1.0 };
    let turning = format!("class=\"drawing-turning\" data-turn=\"{sign:.0}\"");
    page.group_at(wrist, &turning, &hand_scene, scale);
    if !rotates {
        // Forearm and hand flow into each other: no outline of the hand runs across the wrist.
        page.group_at(wrist, "class=\"drawing-seam\"", &seam_scene, scale);
    }
    page.finish(
        "hand-turning",
        words::TURNING_TITLE,
        words::turning_description(rotates),
    )
}

/// Which way the picture of a right hand turns on the page where the hand lifts: 1 as the clock does.
fn turn_sign(movement: Movement, eye: Eye, still: &Frame) -> f64 {
    const LIFT_DEG: f64 = 30.0;
    let lifted = match movement {
        Movement::WristExtension | Movement::ArmCircles => still.bent(-LIFT_DEG, 0.0),
        Movement::WristFlexion => still.bent(LIFT_DEG, 0.0),
        Movement::RadialDeviation => still.bent(0.0, -LIFT_DEG),
        Movement::UlnarDeviation => still.bent(0.0, LIFT_DEG),
        Movement::Supination => still.turned(still.distal, LIFT_DEG),
        Movement::Pronation => still.turned(still.distal, -LIFT_DEG),
    };
    let point = |frame: &Frame| eye.spot(frame.at(8.0, 8.0, 0.0));
    let (from, to) = (point(still), point(&lifted));
    // Up is up in the eye, down on the page.
    if from.x * to.y - from.y * to.x > 0.0 {
        -1.0
    } else {
        1.0
    }
}
