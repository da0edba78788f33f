//! What surrounds the arm: table, towel, and the small picture of the whole person.

use super::ink::Ink;
use super::scene::{Layer, Scene};
use super::space::{Ball, Eye, Place, ball};
use crate::movement::{ForearmDirection, ForearmSupport, Posture};

/// A box with its edges along the axes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slab {
    /// From the person forward.
    pub x_cm: (f64, f64),
    /// From the under side to the upper side.
    pub y_cm: (f64, f64),
    /// From left to right.
    pub z_cm: (f64, f64),
}

impl Slab {
    fn corners(&self) -> Vec<Place> {
        let mut corners = Vec::new();
        for x in [self.x_cm.0, self.x_cm.1] {
            for y in [self.y_cm.0, self.y_cm.1] {
                for z in [self.z_cm.0, self.z_cm.1] {
                    corners.push(Place::new(x, y, z));
                }
            }
        }
        corners
    }
}

/// A table top.
pub(super) fn table(scene: &mut Scene, slab: Slab) {
    scene.layer(Layer::Ground);
    let seen: Vec<_> = slab.corners();
    let spots: Vec<_> = seen.iter().map(|own| scene.eye.spot(*own)).collect();
    scene.outline(super::outline::convex(&spots), seen_from_afar(), Ink::Table);
    let (x, z, top) = (slab.x_cm, slab.z_cm, slab.y_cm.1);
    let upper =
        [(x.0, z.0), (x.1, z.0), (x.1, z.1), (x.0, z.1)].map(|(x, z)| Place::new(x, top, z));
    scene.polygon(&upper, seen_from_afar(), Ink::Table);
}

/// Behind everything of its layer.
fn seen_from_afar() -> Place {
    Place::zeros()
}

/// A folded towel in layers between two heights.
pub(super) fn towel(scene: &mut Scene, slab: Slab) {
    scene.layer(Layer::Ground);
    let height = slab.y_cm.1 - slab.y_cm.0;
    let folds = (height / 2.2).round().max(1.0);
    let thick = height / folds;
    let radius = thick / 2.0;
    let mut level = slab.y_cm.0 + radius;
    while level < slab.y_cm.1 {
        let mut corners: Vec<Ball> = Vec::new();
        for x in [slab.x_cm.0, slab.x_cm.1] {
            for z in [slab.z_cm.0, slab.z_cm.1] {
                corners.push(ball(Place::new(x, level, z), radius));
            }
        }
        // Higher folds cover lower ones and the table.
        let depth = scene.eye.toward_by(1.0 + level - slab.y_cm.0);
        scene.limb(&[corners], depth, Ink::Towel);
        level += thick;
    }
}

/// Directions of forearm and upper arm in the plane of forward and up: from elbow to wrist and
/// from elbow to shoulder.
pub(super) fn arm_directions(posture: &Posture) -> (Place, Place) {
    let (forearm, usual_deg) = match posture.direction {
        ForearmDirection::Level => (Place::x(), 90.0),
        ForearmDirection::Hanging => (-Place::y(), 0.0),
        ForearmDirection::Upright => (Place::y(), 120.0),
    };
    let given = posture.elbow_deg.filter(|own| own.is_finite());
    let elbow_deg = given.unwrap_or(usual_deg).clamp(0.0, 145.0);
    (
        forearm,
        super::space::turned(-forearm, Place::z(), -elbow_deg),
    )
}

/// The whole person from the side, small: seated at a table, seated, or standing; the arm coloured.
pub(super) fn person(posture: &Posture) -> Scene {
    person_with(posture, arm_directions(posture), Ink::PersonArm)
}

/// The same with an arm of other directions and ink.
pub(super) fn person_with(
    posture: &Posture,
    (forearm, to_shoulder): (Place, Place),
    arm: Ink,
) -> Scene {
    let mut scene = Scene::new(Eye::from(-Place::z(), Place::y()));
    let rested = posture.forearm == ForearmSupport::Rested;
    let standing = posture.direction == ForearmDirection::Hanging;
    let at = |x: f64, y: f64| Place::new(x, y, 0.0);
    let shoulder = at(0.0, 46.0);
    let elbow = shoulder - to_shoulder * 29.0;
    let wrist = elbow + forearm * 25.0;
    scene.layer(Layer::Ground);
    let limb = |scene: &mut Scene, from: Place, to: Place, thick: (f64, f64), near: f64, ink| {
        let depth = scene.eye.toward_by(near);
        scene.limb(&[vec![ball(from, thick.0), ball(to, thick.1)]], depth, ink);
    };
    if rested {
        // The forearm lies on the folded towel, the elbow of an upright one on the table.
        let top = match posture.direction {
            ForearmDirection::Level => elbow.y - 12.0,
            ForearmDirection::Upright => elbow.y - 4.5,
            ForearmDirection::Hanging => 8.0,
        };
        let start = (elbow.x - 4.0).max(14.0);
        for (x, y) in [
            ((start, start + 52.0), (top - 4.0, top)),
            ((start + 40.0, start + 44.0), (-44.0, top - 4.0)),
        ] {
            let corners = [(x.0, y.0), (x.1, y.0), (x.1, y.1), (x.0, y.1)].map(|(x, y)| at(x, y));
            let depth = scene.eye.toward_by(-1.0);
            scene.polygon(&corners, depth, Ink::Table);
        }
        if posture.direction == ForearmDirection::Level {
            let depth = scene.eye.toward_by(-0.5);
            let corners = [
                (elbow.x + 2.0, top),
                (elbow.x + 20.0, top),
                (elbow.x + 20.0, top + 8.0),
                (elbow.x + 2.0, top + 8.0),
            ]
            .map(|(x, y)| at(x, y));
            scene.polygon(&corners, depth, Ink::Towel);
        }
    }
    if standing {
        limb(
            &mut scene,
            at(0.0, 0.0),
            at(1.0, -42.0),
            (9.5, 6.5),
            0.0,
            Ink::Person,
        );
        limb(
            &mut scene,
            at(1.0, -42.0),
            at(0.0, -84.0),
            (6.5, 4.0),
            0.1,
            Ink::Person,
        );
        limb(
            &mut scene,
            at(0.0, -85.0),
            at(13.0, -86.0),
            (4.0, 3.0),
            0.2,
            Ink::Person,
        );
    } else {
        let seat = [(-14.0, -14.0), (18.0, -14.0), (18.0, -10.0), (-14.0, -10.0)];
        let back = [(-18.0, -14.0), (-14.0, -14.0), (-14.0, 34.0), (-18.0, 34.0)];
        let leg = [
            (-17.0, -48.0),
            (-14.0, -48.0),
            (-14.0, -14.0),
            (-17.0, -14.0),
        ];
        let front_leg = leg.map(|(x, y)| (x + 31.0, y));
        for corners in [seat, back, leg, front_leg] {
            let depth = scene.eye.toward_by(-2.0);
            scene.polygon(&corners.map(|(x, y)| at(x, y)), depth, Ink::Table);
        }
        limb(
            &mut scene,
            at(0.0, 0.0),
            at(38.0, 1.0),
            (9.5, 7.0),
            0.0,
            Ink::Person,
        );
        limb(
            &mut scene,
            at(38.0, 1.0),
            at(37.0, -42.0),
            (7.0, 4.0),
            0.1,
            Ink::Person,
        );
        limb(
            &mut scene,
            at(36.0, -44.0),
            at(50.0, -45.0),
            (4.0, 3.0),
            0.2,
            Ink::Person,
        );
    }
    limb(
        &mut scene,
        at(0.0, 2.0),
        at(0.0, 44.0),
        (10.0, 11.0),
        1.0,
        Ink::Person,
    );
    limb(
        &mut scene,
        at(0.5, 55.0),
        at(2.0, 62.0),
        (4.5, 4.5),
        1.1,
        Ink::Person,
    );
    let depth = scene.eye.toward_by(1.2);
    scene.limb(
        &[
            vec![ball(at(2.0, 72.0), 10.5)],
            vec![ball(at(11.5, 70.0), 2.2)],
        ],
        depth,
        Ink::Person,
    );
    let depth = scene.eye.toward_by(2.0);
    scene.limb(
        &[
            vec![ball(shoulder, 5.5), ball(elbow, 4.2)],
            vec![ball(elbow, 4.2), ball(wrist, 3.2)],
            vec![ball(wrist + forearm * 4.0, 4.6)],
        ],
        depth,
        arm,
    );
    scene
}
