//! The drawing of a counted movement: how it starts, where it goes, and the way back.

use super::arm::{FOREARM_CM, cuff, forearm, sleeve, upper_arm};
use super::hand::{self, HandPose};
use super::ink::Ink;
use super::page::{Area, Page};
use super::scene::{Layer, Scene};
use super::setting::{self, Slab, arm_directions};
use super::space::{Eye, Frame, Place};
use super::weight::{self, HEAVY_CM, Held};
use super::words;
use crate::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, LoadShape, Movement, Posture, Side,
};

/// Width and height of a movement's drawing.
const WIDTH: f64 = 360.0;
const HEIGHT: f64 = 310.0;
/// Height of the strip below for the small picture and the word.
const STRIP: f64 = 88.0;

/// How far the hand is bent and the forearm turned.
#[derive(Debug, Clone, Copy)]
struct Angles {
    flexion_deg: f64,
    ulnar_deg: f64,
    /// From thumb up, positive to palm up.
    supination_deg: f64,
}

impl Angles {
    fn between(self, other: Angles, share: f64) -> Angles {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Angles {
            flexion_deg: mix(self.flexion_deg, other.flexion_deg),
            ulnar_deg: mix(self.ulnar_deg, other.ulnar_deg),
            supination_deg: mix(self.supination_deg, other.supination_deg),
        }
    }
}

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
    let hand_frame =
        |angles: Angles| frame(angles).bent(angles.flexion_deg, angles.ulnar_deg);
    let mut scene = Scene::new(eye(movement, &frame(start), along));
    let pose = match (held, movement) {
        // An open hand shows best which way the palm looks.
        (Held::Nothing, Movement::Supination | Movement::Pronation) => HandPose::flat(),
        (Held::Nothing, _) => HandPose::fist(),
        _ => HandPose::grip(),
    };
    let elbow = -along * FOREARM_CM;
    if posture.forearm == ForearmSupport::Rested {
        ground(&mut scene, posture, held, &[hand_frame(start), hand_frame(end)]);
    }
    scene.layer(Layer::Ghost);
    weight::draw(&mut scene, &hand_frame(end), held);
    hand::draw(&mut scene, &hand_frame(end), &pose, &[], Ink::Skin);
    scene.layer(Layer::Body);
    weight::draw(&mut scene, &hand_frame(start), held);
    // A hanging arm is cut off above: the small picture shows where it hangs from.
    let hanging = posture.direction == ForearmDirection::Hanging;
    let arm_cm = if hanging { 14.0 } else { FOREARM_CM };
    let mut arm = forearm(&frame(start), arm_cm);
    // An upper arm that points at the eye would only hide the hand: a cuff stands for it.
    let cuff_only = hanging || scene.eye.faces(to_shoulder) > 0.5;
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
    scene.words(words::THUMB, thumb, thumb_words(movement, &frame(start)), true);
    if held == Held::HeavyAtLittleFinger || held == Held::HeavyAtThumb && along.y.abs() > 0.5 {
        let sign = if held == Held::HeavyAtThumb { 1.0 } else { -1.0 };
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
    page.words(words::direction(movement, posture), 130.0, HEIGHT - STRIP / 2.0, 26.0);
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

/// The forearm's frame with the wrist at the origin, turned from thumb up.
fn forearm_frame(along: Place, supination_deg: f64) -> Frame {
    // Thumb up, level: the palm faces the middle of the body; hanging and upright are the same
    // forearm swung about the elbow.
    Frame::right(Place::zeros(), along, -Place::z()).turned(along, supination_deg)
}

/// Degrees from thumb up, positive to palm up.
fn supination_deg(rotation: ForearmRotation) -> f64 {
    match rotation {
        ForearmRotation::PalmUp => 90.0,
        ForearmRotation::ThumbUp => 0.0,
        ForearmRotation::PalmDown => -90.0,
        ForearmRotation::LittleFingerUp => -170.0,
    }
}

/// Start and end as they are drawn.
fn ends(movement: Movement, posture: &Posture) -> (Angles, Angles) {
    let turn = supination_deg(posture.rotation);
    let own = |flexion_deg: f64, ulnar_deg: f64, supination_deg: f64| Angles {
        flexion_deg,
        ulnar_deg,
        supination_deg,
    };
    // A level hand first drops; a hanging or upright one starts in line with the forearm.
    let drop = match posture.direction {
        ForearmDirection::Level => 1.0,
        ForearmDirection::Hanging | ForearmDirection::Upright => 0.0,
    };
    match movement {
        Movement::WristExtension => (own(32.0 * drop, 0.0, turn), own(-48.0, 0.0, turn)),
        Movement::WristFlexion => (own(-32.0 * drop, 0.0, turn), own(48.0, 0.0, turn)),
        Movement::RadialDeviation => (own(0.0, 20.0 * drop, turn), own(0.0, -22.0, turn)),
        Movement::UlnarDeviation => (own(0.0, -16.0 * drop, turn), own(0.0, 30.0, turn)),
        Movement::Supination | Movement::ArmCircles => {
            let start = turn.min(10.0);
            (own(0.0, 0.0, start), own(0.0, 0.0, (start + 85.0).min(90.0)))
        }
        Movement::Pronation => {
            let start = turn.max(-85.0);
            (own(0.0, 0.0, start), own(0.0, 0.0, (start - 85.0).max(-170.0)))
        }
    }
}

/// Where the heavy end of a one-sided weight lies, by what the movement has to lift.
fn held(movement: Movement, posture: &Posture, load: Option<LoadShape>) -> Held {
    let upright = posture.direction == ForearmDirection::Upright;
    match (load, movement) {
        (None, _) => Held::Nothing,
        (Some(LoadShape::Centred), _) => Held::Dumbbell,
        (Some(LoadShape::OneSided), Movement::UlnarDeviation) if !upright => {
            Held::HeavyAtLittleFinger
        }
        (Some(LoadShape::OneSided), Movement::RadialDeviation) if upright => {
            Held::HeavyAtLittleFinger
        }
        (Some(LoadShape::OneSided), _) => Held::HeavyAtThumb,
    }
}

/// The eye that sees the movement in its plane, from where the person sees the own arm: the right
/// arm comes in from the right or from below.
fn eye(movement: Movement, frame: &Frame, along: Place) -> Eye {
    let axis = match movement {
        Movement::WristExtension | Movement::WristFlexion => frame.distal.cross(&frame.palmar),
        Movement::RadialDeviation | Movement::UlnarDeviation => frame.radial.cross(&frame.distal),
        Movement::Supination | Movement::Pronation | Movement::ArmCircles => along,
    };
    if axis.z.abs() > 0.7 && frame.palmar.y < -0.7 {
        // Palm down: from above, as the own hand is seen, so that the back of the hand and both
        // ends of a weight show.
        Eye::from(Place::new(-0.35, 0.75, -1.0), Place::y())
    } else if axis.z.abs() > 0.7 {
        Eye::from(Place::new(0.42, 0.42, -1.0), Place::y())
    } else if axis.y.abs() > 0.7 {
        Eye::from(Place::new(-0.45, 1.0, -0.25), Place::x())
    } else {
        Eye::from(Place::new(-1.0, 1.0, -0.35), Place::y())
    }
}

/// Where the word for the thumb stands, from the thumb: away from the arrows.
fn thumb_words(movement: Movement, frame: &Frame) -> (f64, f64) {
    match movement {
        _ if frame.distal.y.abs() > 0.5 => (-60.0, -34.0),
        Movement::Supination => (-62.0, -16.0),
        Movement::Pronation => (66.0, -20.0),
        Movement::WristExtension | Movement::WristFlexion if frame.palmar.y > 0.7 => (64.0, -50.0),
        _ => (-26.0, 62.0),
    }
}

/// A point that the movement carries along an arc; larger `out_cm` lies farther out.
fn arrow_point(movement: Movement, held: Held, hand: &Frame, out_cm: f64) -> Place {
    let sign = match held {
        Held::HeavyAtLittleFinger => -1.0,
        _ => 1.0,
    };
    let one_sided = matches!(held, Held::HeavyAtThumb | Held::HeavyAtLittleFinger);
    match movement {
        Movement::RadialDeviation | Movement::UlnarDeviation if one_sided => {
            weight::on_axis(hand, sign * (HEAVY_CM + 4.8 + out_cm))
        }
        Movement::Supination | Movement::Pronation | Movement::ArmCircles => {
            let reach_cm = match held {
                Held::Nothing => 7.0,
                Held::Dumbbell => 10.5,
                _ => HEAVY_CM + 4.8,
            };
            hand.at(8.6, sign * (reach_cm + out_cm), 0.0)
        }
        _ => hand.at(15.0 + out_cm, 0.0, 1.0),
    }
}

/// Table and towel beneath a rested arm, low enough for all that is drawn.
fn ground(scene: &mut Scene, posture: &Posture, held: Held, hands: &[Frame]) {
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
    let x_cm = if upright { (-12.0, 14.0) } else { (-20.0, 13.0) };
    // Under all of a weight that swings to either side.
    let swing_cm = hands
        .iter()
        .flat_map(|frame| [-half_cm, half_cm, heavy_cm].map(|radial_cm| weight::on_axis(frame, radial_cm).z))
        .fold((-6.0_f64, 6.0_f64), |(low, high), z| (low.min(z - 2.5), high.max(z + 2.5)));
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
                x_cm: (-17.5, -5.0),
                y_cm: (top_cm, -2.2),
                z_cm: (-4.0, 4.0),
            },
        );
    }
}
