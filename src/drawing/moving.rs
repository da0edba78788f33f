//! The drawing of a counted movement: how it starts, where it goes, and the way back.

use super::arm::{FOREARM_CM, cuff, forearm, sleeve, upper_arm};
use super::course::{Angles, arrow_point, ends, eye, forearm_frame, held};
use super::hand;
use super::ink::Ink;
use super::page::{Area, Page};
use super::pose::HandPose;
use super::scene::{Layer, Scene};
use super::setting::{self, Slab, arm_directions};
use super::space::{Frame, Place};
use super::weight::{self, HEAVY_CM, Held};
use super::words;
use crate::movement::{ForearmDirection, ForearmSupport, LoadShape, Movement, Posture, Side};

/// Width and height of a movement's drawing.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 310.0;
/// Height of the strip below for the small picture and the word.
const STRIP: f64 = 76.0;

/// The drawing of a movement in a posture: the start solid, the end dashed, a thick arrow for the
/// lift and a thin one for the way back.
///
/// `load` is the shape of the weight, `None` the empty hand. A heavy end lies where the movement
/// has to lift it. The angles drawn show the direction; they are no prescription. A drawing of the
/// left hand is that of the right, mirrored.
pub fn movement_drawing(
    movement: Movement,
    side: Side,
    posture: &Posture,
    load: Option<LoadShape>,
) -> String {
    if movement == Movement::ArmCircles {
        return super::circles::drawing(side, posture, load);
    }
    let held = held(movement, posture, load);
    let (start, end) = ends(movement, posture);
    let (along, to_shoulder) = arm_directions(posture);
    let frame = |angles: Angles| forearm_frame(along, angles.supination_deg);
    let hand_frame = |angles: Angles| frame(angles).bent(angles.flexion_deg, angles.ulnar_deg);
    let mut scene = Scene::new(eye(movement, &frame(start), along));
    let pose = match (held, movement) {
        // An open hand shows best which way the palm looks.
        (Held::Nothing, Movement::Supination | Movement::Pronation) => HandPose::flat(),
        (Held::Nothing, _) => HandPose::loose_fist(),
        _ => HandPose::grip(),
    };
    let elbow = -along * FOREARM_CM;
    // An upper arm that points at the eye would only hide the hand, and one that hangs would make it
    // small: the forearm is cut off with a cuff, and the small picture shows the whole arm.
    let hanging = posture.direction == ForearmDirection::Hanging;
    let cuff_only = hanging || scene.eye.faces(to_shoulder) > 0.6;
    let arm_cm = if cuff_only { 14.0 } else { FOREARM_CM };
    if posture.forearm == ForearmSupport::Rested {
        ground(
            &mut scene,
            posture,
            held,
            cuff_only,
            &[hand_frame(start), hand_frame(end)],
        );
    }
    scene.layer(Layer::Ghost);
    weight::draw(&mut scene, &hand_frame(end), held);
    hand::draw(&mut scene, &hand_frame(end), &pose, &[], Ink::Skin);
    scene.layer(Layer::Body);
    weight::draw(&mut scene, &hand_frame(start), held);
    let mut arm = forearm(&frame(start), arm_cm);
    if !cuff_only {
        arm.extend(upper_arm(elbow, to_shoulder, 9.0));
    }
    hand::draw(&mut scene, &hand_frame(start), &pose, &arm, Ink::Skin);
    let cloth = if cuff_only {
        cuff(&frame(start), arm_cm)
    } else {
        sleeve(elbow, to_shoulder, 10.0)
    };
    scene.limb(&cloth, scene.eye.toward_by(60.0), Ink::Cloth);
    let path = |radius_cm: f64, from: f64, to: f64| -> Vec<Place> {
        (0..=24)
            .map(|step| {
                let share = from + (to - from) * f64::from(step) / 24.0;
                let angles = start.between(end, share);
                arrow_point(movement, held, &hand_frame(angles), radius_cm)
            })
            .collect()
    };
    scene.arrow(&path(0.0, 0.06, 1.0));
    scene.thin_arrow(&path(2.6, 0.94, 0.1));
    let thumb = hand::thumb_end(&hand_frame(start), &pose.thumb);
    scene.words(
        words::THUMB,
        thumb,
        thumb_words(movement, &frame(start)),
        true,
    );
    if held == Held::HeavyAtLittleFinger || held == Held::HeavyAtThumb && along.y.abs() > 0.5 {
        let sign = if held == Held::HeavyAtThumb {
            1.0
        } else {
            -1.0
        };
        let heavy = weight::on_axis(&hand_frame(start), sign * HEAVY_CM);
        scene.words(words::HEAVY_END, heavy, (0.0, 34.0), true);
    }
    let mut page = Page::new(WIDTH, HEIGHT, side);
    let area = Area {
        x: 0.0,
        y: 0.0,
        width: WIDTH,
        height: HEIGHT - STRIP,
    };
    page.place(&scene, area, 9.0);
    page.words(
        words::direction(movement, posture),
        130.0,
        HEIGHT - STRIP / 2.0,
        26.0,
    );
    let inset = Area {
        x: 262.0,
        y: HEIGHT - STRIP - 4.0,
        width: 96.0,
        height: STRIP + 4.0,
    };
    page.place(&setting::person(posture), inset, 2.0);
    page.finish(
        "movement",
        &words::movement_title(movement, side, posture),
        &words::movement_description(movement, side, posture, load),
    )
}

/// Where the word for the thumb stands, from the thumb: away from the arrows.
fn thumb_words(movement: Movement, frame: &Frame) -> (f64, f64) {
    match movement {
        _ if frame.distal.y.abs() > 0.5 => (-60.0, -34.0),
        Movement::Supination => (-62.0, -16.0),
        Movement::Pronation => (92.0, -14.0),
        Movement::WristExtension | Movement::WristFlexion if frame.palmar.y > 0.7 => (118.0, -52.0),
        Movement::WristExtension | Movement::WristFlexion => (34.0, 62.0),
        _ => (-26.0, 62.0),
    }
}

/// Table and towel beneath a rested arm, low enough for all that is drawn.
fn ground(scene: &mut Scene, posture: &Posture, held: Held, cut: bool, hands: &[Frame]) {
    let upright = posture.direction == ForearmDirection::Upright;
    let half_cm = match held {
        Held::Nothing => 3.5,
        Held::Dumbbell => 8.2,
        _ => 5.6,
    };
    let heavy_cm = match held {
        Held::HeavyAtThumb => HEAVY_CM,
        Held::HeavyAtLittleFinger => -HEAVY_CM,
        _ => 0.0,
    };
    let mut lowest_cm = -6.5_f64;
    for frame in hands {
        for radial_cm in [-half_cm, half_cm] {
            let low = weight::on_axis(frame, radial_cm).y - 2.6;
            lowest_cm = lowest_cm.min(low).min(frame.at(11.0, 0.0, 2.0).y - 2.4);
        }
    }
    let top_cm = if upright {
        -FOREARM_CM - 3.3
    } else {
        lowest_cm - 0.6
    };
    let x_cm = if upright {
        (-12.0, 14.0)
    } else {
        (if cut { -11.0 } else { -20.0 }, 13.0)
    };
    // Under all of a weight that swings to either side.
    let swing_cm = hands
        .iter()
        .flat_map(|frame| {
            [-half_cm, half_cm, heavy_cm].map(|radial_cm| weight::on_axis(frame, radial_cm).z)
        })
        .fold((-6.0_f64, 6.0_f64), |(low, high), z| {
            (low.min(z - 2.5), high.max(z + 2.5))
        });
    setting::table(
        scene,
        Slab {
            x_cm,
            y_cm: (top_cm - 1.6, top_cm),
            z_cm: swing_cm,
        },
    );
    if !upright {
        setting::towel(
            scene,
            Slab {
                x_cm: (if cut { -8.5 } else { -17.5 }, -5.0),
                y_cm: (top_cm, -2.2),
                z_cm: (-4.0, 4.0),
            },
        );
    }
}
