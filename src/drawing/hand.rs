//! The hand: palm, fingers and thumb as balls in a wrist's frame, posed by joint angles.
//!
//! Ours: lengths are those of a middling adult hand in centimetres (from memory, check), rounded to
//! what reads well as a line drawing; nothing is measured by them.

use super::ink::Ink;
use super::pose::{HandPose, Thumb};
use super::scene::Scene;
use super::space::{Ball, Frame, Place, ball};

/// Knuckles from index to little: distal, radial, palmar.
const KNUCKLES: [[f64; 3]; 4] = [
    [9.2, 2.9, 0.0],
    [9.6, 0.95, -0.2],
    [9.2, -1.0, -0.1],
    [8.3, -2.85, 0.2],
];
/// Lengths of the three bones of each finger.
const BONES: [[f64; 3]; 4] = [
    [4.4, 2.7, 2.1],
    [4.9, 3.1, 2.3],
    [4.5, 2.9, 2.3],
    [3.5, 2.1, 1.9],
];
/// Radii at knuckle, middle joint, end joint and tip.
const THICK: [[f64; 4]; 4] = [
    [1.08, 1.00, 0.92, 0.80],
    [1.10, 1.02, 0.94, 0.82],
    [1.06, 0.98, 0.90, 0.78],
    [0.96, 0.88, 0.80, 0.70],
];
const THUMB_ROOT: [f64; 3] = [1.9, 1.9, 0.9];
const THUMB_BONES: [f64; 3] = [4.4, 3.1, 2.5];
/// The root runs out to a point, so that the ball of the thumb ends as the crease of the palm does.
const THUMB_THICK: [f64; 4] = [0.75, 1.3, 1.08, 0.85];
/// Thickest place of the ball of the thumb: share of the first bone, radius.
const THUMB_BALL: (f64, f64) = (0.62, 1.5);
/// Up to this bend two bones flow into one outline.
const FLOWING_DEG: f64 = 36.0;

/// The palm's hull from wrist to knuckles.
pub(super) fn palm(frame: &Frame) -> Vec<Vec<Ball>> {
    let [index, middle, ring, little] = KNUCKLES.map(|own| knuckle(frame, own));
    vec![
        vec![
            ball(frame.at(0.3, 1.15, 0.0), 1.85),
            ball(frame.at(0.3, -1.15, 0.0), 1.8),
            ball(frame.at(2.6, -2.0, 0.4), 1.6),
            ball(frame.at(2.4, 1.7, 0.5), 1.7),
            index,
            middle,
            ring,
            little,
        ],
        // The thumb's ball and the web to the index finger.
        vec![
            ball(frame.at(2.0, 1.8, 0.8), 1.6),
            ball(frame.at(4.6, 2.9, 0.9), 1.2),
            ball(frame.at(7.0, 2.9, 0.3), 0.9),
        ],
    ]
}

fn knuckle(frame: &Frame, [distal, radial, palmar]: [f64; 3]) -> Ball {
    ball(frame.at(distal, radial, palmar), 1.15)
}

/// The middle of the thumb's last bone.
pub(super) fn thumb_end(frame: &Frame, pose: &Thumb) -> Place {
    let root = frame.at(THUMB_ROOT[0], THUMB_ROOT[1], THUMB_ROOT[2]);
    let bones = pose.bones.iter().zip(THUMB_BONES);
    bones
        .zip([1.0, 1.0, 0.5])
        .fold(root, |place, ((bone, length_cm), share)| {
            place + frame.along(bone[0], bone[1], bone[2]).normalize() * (length_cm * share)
        })
}

/// Adds a hand to a scene, its palm in one outline with `arm` (the forearm's hulls).
pub(super) fn draw(scene: &mut Scene, frame: &Frame, pose: &HandPose, arm: &[Vec<Ball>], ink: Ink) {
    let mut body: Vec<Vec<Ball>> = arm.to_vec();
    body.extend(palm(frame));
    let centre = frame.at(6.0, 0.0, 0.0);
    let mut apart: Vec<(Vec<Vec<Ball>>, Place)> = Vec::new();
    let mut nails = Vec::new();
    let mut joints = Vec::new();
    let fingers = KNUCKLES.iter().zip(&BONES).zip(&THICK);
    let poses = pose.fingers.iter().zip(&pose.splay_deg);
    for (((root, bones), thick), (bend, splay_deg)) in fingers.zip(poses) {
        let bends = [bend.mcp_deg, bend.pip_deg, bend.dip_deg];
        let mut place = frame.at(root[0], root[1], root[2]);
        let mut total_deg = 0.0;
        // Bent fingers close up.
        let splay_deg = splay_deg * bend.mcp_deg.to_radians().cos().max(0.0);
        let (sin, cos) = splay_deg.to_radians().sin_cos();
        let straight = frame.along(cos, sin, 0.0);
        let mut within: Option<usize> = None;
        for ((bone_cm, bend_deg), ends) in bones.iter().zip(bends).zip(thick.windows(2)) {
            total_deg += bend_deg;
            let (sin, cos) = f64::to_radians(total_deg).sin_cos();
            let along = straight * cos + frame.palmar * sin;
            let back = straight * sin - frame.palmar * cos;
            let next = place + along * *bone_cm;
            let &[near, far] = ends else { continue };
            let hull = vec![ball(place, near), ball(next, far)];
            let middle = (place + next) / 2.0;
            if bend_deg > FLOWING_DEG {
                apart.push((vec![hull], middle));
                within = Some(apart.len() - 1);
            } else if let Some((hulls, depth)) = within.and_then(|at| apart.get_mut(at)) {
                hulls.push(hull);
                *depth = (*depth + middle) / 2.0;
            } else {
                body.push(hull);
            }
            joints.push((place, along, back, near, within));
            place = next;
        }
        if let Some((_, along, back, _, at)) = joints.last() {
            let tip = thick[3];
            nails.push((
                place + along * (tip * 0.25) + back * (tip * 0.9),
                *along,
                *back,
                tip,
                *at,
            ));
        }
    }
    scene.limb(&body, centre, ink);
    marks(scene, frame, centre);
    for (place, along, back, radius, at) in &joints {
        if at.is_none() && scene.eye.faces(*back) > 0.7 && *radius < 1.0 {
            wrinkle(
                scene,
                *place + *back * *radius,
                *along,
                back,
                *radius,
                centre,
            );
        }
    }
    for (hulls, depth) in &apart {
        scene.limb(hulls, *depth, ink);
    }
    for (middle, along, back, radius, at) in nails {
        let depth = at
            .and_then(|at| apart.get(at))
            .map_or(centre, |(_, depth)| *depth);
        nail(scene, middle, along, back, radius * 0.62, depth);
    }
    thumb(scene, frame, &pose.thumb, ink);
}

/// Adds a thumb alone.
pub(super) fn thumb(scene: &mut Scene, frame: &Frame, pose: &Thumb, ink: Ink) {
    let mut place = frame.at(THUMB_ROOT[0], THUMB_ROOT[1], THUMB_ROOT[2]);
    let mut hulls = Vec::new();
    let mut depth = place;
    let mut tip = None;
    let bones = pose.bones.iter().zip(THUMB_BONES);
    for ((bone, length_cm), ends) in bones.zip(THUMB_THICK.windows(2)) {
        let along = frame.along(bone[0], bone[1], bone[2]).normalize();
        let next = place + along * length_cm;
        let &[near, far] = ends else { continue };
        if hulls.is_empty() {
            let swell = ball(place + (next - place) * THUMB_BALL.0, THUMB_BALL.1);
            hulls.push(vec![ball(place, near), swell]);
            hulls.push(vec![swell, ball(next, far)]);
        } else {
            hulls.push(vec![ball(place, near), ball(next, far)]);
        }
        depth = (place + next) / 2.0;
        tip = Some((next, along, far));
        place = next;
    }
    scene.limb(&hulls, depth, ink);
    if let Some((middle, along, radius)) = tip {
        let hint = frame.along(pose.nail[0], pose.nail[1], pose.nail[2]);
        let back = (hint - along * hint.dot(&along)).normalize();
        let middle = middle + along * (radius * 0.2) + back * (radius * 0.9);
        nail(scene, middle, along, back, radius * 0.62, depth);
    }
}

/// A nail is seen from the back of its finger only.
pub(super) fn nail(
    scene: &mut Scene,
    middle: Place,
    along: Place,
    back: Place,
    half_cm: f64,
    depth: Place,
) {
    if scene.eye.faces(back) < 0.4 {
        return;
    }
    let across = along.cross(&back);
    let rim: Vec<Place> = (0..=18)
        .map(|step| {
            let (sin, cos) = (f64::from(step) * std::f64::consts::TAU / 18.0).sin_cos();
            middle + along * (cos * half_cm * 1.25) + across * (sin * half_cm)
        })
        .collect();
    scene.line(&rim, depth, Ink::Fine);
}

fn wrinkle(scene: &mut Scene, at: Place, along: Place, back: &Place, radius_cm: f64, depth: Place) {
    let across = along.cross(back);
    let rim: Vec<Place> = (-3..=3)
        .map(|step| {
            let share = f64::from(step) / 3.0;
            at + across * (share * radius_cm * 0.5) + along * (0.18 * (1.0 - share * share))
        })
        .collect();
    scene.line(&rim, depth, Ink::Fine);
}

/// The lines of the palm, where it is seen.
fn marks(scene: &mut Scene, frame: &Frame, depth: Place) {
    if scene.eye.faces(frame.palmar) < 0.6 {
        return;
    }
    let curve = |points: [[f64; 2]; 3]| -> Vec<Place> {
        let [a, b, c] = points;
        (0..=12)
            .map(|step| {
                let t = f64::from(step) / 12.0;
                let mix = |a: f64, b: f64, c: f64| {
                    a * (1.0 - t) * (1.0 - t) + 2.0 * b * t * (1.0 - t) + c * t * t
                };
                frame.at(mix(a[0], b[0], c[0]), mix(a[1], b[1], c[1]), 1.4)
            })
            .collect()
    };
    for points in [
        [[7.6, 3.0], [5.8, -0.6], [1.4, 0.2]],
        [[6.6, -3.2], [7.4, -0.6], [8.6, 1.0]],
    ] {
        scene.line(&curve(points), depth, Ink::Fine);
    }
}
