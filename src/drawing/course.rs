//! The course of a movement: where it starts and ends, what is held, from where it is seen, and the
//! line of its arrows.

use super::space::{Eye, Frame, Place};
use super::weight::{self, HEAVY_CM, Held};
use crate::movement::{ForearmDirection, ForearmRotation, LoadShape, Movement, Posture};

/// How far the hand is bent and the forearm turned.
#[derive(Debug, Clone, Copy)]
pub(super) struct Angles {
    /// Flexion (+), extension (-).
    pub flexion_deg: f64,
    /// Ulnar (+) and radial (-) deviation.
    pub ulnar_deg: f64,
    /// From thumb up, positive to palm up.
    pub supination_deg: f64,
}

impl Angles {
    /// The angles on the way to others, 0 to 1.
    pub fn between(self, other: Angles, share: f64) -> Angles {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        Angles {
            flexion_deg: mix(self.flexion_deg, other.flexion_deg),
            ulnar_deg: mix(self.ulnar_deg, other.ulnar_deg),
            supination_deg: mix(self.supination_deg, other.supination_deg),
        }
    }
}

/// The forearm's frame with the wrist at the origin, turned from thumb up.
pub(super) fn forearm_frame(along: Place, supination_deg: f64) -> Frame {
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
pub(super) fn ends(movement: Movement, posture: &Posture) -> (Angles, Angles) {
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
            (
                own(0.0, 0.0, start),
                own(0.0, 0.0, (start + 85.0).min(90.0)),
            )
        }
        Movement::Pronation => {
            let start = turn.max(-85.0);
            (
                own(0.0, 0.0, start),
                own(0.0, 0.0, (start - 85.0).max(-170.0)),
            )
        }
    }
}

/// Where the heavy end of a one-sided weight lies, by what the movement has to lift.
pub(super) fn held(movement: Movement, posture: &Posture, load: Option<LoadShape>) -> Held {
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
pub(super) fn eye(movement: Movement, frame: &Frame, along: Place) -> Eye {
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

/// A point that the movement carries along an arc; larger `out_cm` lies farther out.
pub(super) fn arrow_point(movement: Movement, held: Held, hand: &Frame, out_cm: f64) -> Place {
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
                Held::Nothing => 9.0,
                Held::Dumbbell => 10.5,
                _ => HEAVY_CM + 4.8,
            };
            weight::on_axis(hand, sign * (reach_cm + out_cm))
        }
        _ => hand.at(15.0 + out_cm, 0.0, 1.0),
    }
}
