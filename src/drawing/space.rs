//! Space before it is drawn: balls, frames and the eye that looks at them.
//!
//! Frame of a drawing, in centimetres: x forward from the person, y up, z to the person's right.
//! Everything is built for a right arm; a left arm is the finished picture mirrored.

use nalgebra::{Rotation3, Unit, Vector3};

use super::outline::{Circle, Spot};

/// A point or direction in space, in centimetres.
pub(super) type Place = Vector3<f64>;

/// A ball in space; limbs are hulls of balls.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ball {
    /// Its centre.
    pub centre: Place,
    /// Its radius.
    pub radius_cm: f64,
}

/// A ball at a place.
pub(super) fn ball(centre: Place, radius_cm: f64) -> Ball {
    Ball { centre, radius_cm }
}

/// A direction turned about an axis, right-handed.
pub(super) fn turned(direction: Place, axis: Place, angle_deg: f64) -> Place {
    Rotation3::from_axis_angle(&Unit::new_normalize(axis), angle_deg.to_radians()) * direction
}

/// A wrist's frame: where it is, and where fingers, thumb side and palm point. On a right hand the
/// thumb side is distal x palmar, on a left hand the opposite.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// The middle of the wrist.
    pub origin: Place,
    /// From the wrist to the fingers.
    pub distal: Place,
    /// To the thumb side.
    pub radial: Place,
    /// Out of the palm.
    pub palmar: Place,
}

impl Frame {
    /// A right hand's frame by where the fingers and the palm point.
    pub fn right(origin: Place, distal: Place, palmar: Place) -> Frame {
        Frame {
            origin,
            distal,
            radial: distal.cross(&palmar),
            palmar,
        }
    }

    /// The other hand with the same fingers and palm direction.
    pub fn other_hand(self) -> Frame {
        Frame {
            radial: -self.radial,
            ..self
        }
    }

    /// A point by its distances from the wrist: to the fingers, to the thumb side, out of the palm.
    pub fn at(&self, distal_cm: f64, radial_cm: f64, palmar_cm: f64) -> Place {
        self.origin + self.along(distal_cm, radial_cm, palmar_cm)
    }

    /// A direction by the same three numbers.
    pub fn along(&self, distal: f64, radial: f64, palmar: f64) -> Place {
        self.distal * distal + self.radial * radial + self.palmar * palmar
    }

    /// The frame with its directions turned about an axis through its origin.
    pub fn turned(&self, axis: Place, angle_deg: f64) -> Frame {
        Frame {
            origin: self.origin,
            distal: turned(self.distal, axis, angle_deg),
            radial: turned(self.radial, axis, angle_deg),
            palmar: turned(self.palmar, axis, angle_deg),
        }
    }

    /// The hand's frame, bent at the wrist: flexion (+) towards the palm, ulnar deviation (+)
    /// towards the little finger.
    pub fn bent(&self, flexion_deg: f64, ulnar_deg: f64) -> Frame {
        let to_palm = self.distal.cross(&self.palmar);
        let to_little_finger = self.radial.cross(&self.distal);
        self.turned(to_little_finger, ulnar_deg)
            .turned(to_palm, flexion_deg)
    }
}

/// Where the picture is seen from; parallel light, no perspective.
#[derive(Debug, Clone, Copy)]
pub(super) struct Eye {
    right: Place,
    up: Place,
    toward: Place,
}

impl Eye {
    /// An eye in a direction seen from the things, with a direction that is up in the picture.
    pub fn from(toward: Place, up: Place) -> Eye {
        let toward = toward.normalize();
        let right = up.cross(&toward).normalize();
        Eye {
            right,
            up: toward.cross(&right),
            toward,
        }
    }

    /// Where a place is seen.
    pub fn spot(&self, place: Place) -> Spot {
        Spot {
            x: self.right.dot(&place),
            y: self.up.dot(&place),
        }
    }

    /// How near a place is.
    pub fn nearness(&self, place: Place) -> f64 {
        self.toward.dot(&place)
    }

    /// A place that is so near, for things whose order is given by hand.
    pub fn toward_by(&self, nearness_cm: f64) -> Place {
        self.toward * nearness_cm
    }

    /// How much a surface faces the eye: 1 fully, 0 from its edge.
    pub fn faces(&self, normal: Place) -> f64 {
        self.toward.dot(&normal) / normal.norm()
    }

    /// How a ball is seen.
    pub fn circle(&self, ball: Ball) -> Circle {
        Circle {
            centre: self.spot(ball.centre),
            radius: ball.radius_cm,
        }
    }
}
