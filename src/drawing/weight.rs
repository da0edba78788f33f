//! The weight in the hand.

use super::ink::Ink;
use super::scene::Scene;
use super::space::{Frame, Place};

/// What the hand holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Held {
    /// Nothing.
    Nothing,
    /// A short dumbbell held at its centre.
    Dumbbell,
    /// A weight that is heavy at one end, beyond the thumb.
    HeavyAtThumb,
    /// A weight that is heavy at one end, beyond the little finger.
    HeavyAtLittleFinger,
}

/// How far the handle's axis lies from the wrist, to the fingers and out of the palm.
const AXIS_CM: (f64, f64) = (8.6, 2.35);
/// How far the heavy end lies from the middle of the hand.
pub(super) const HEAVY_CM: f64 = 15.5;

/// A point of the handle's axis, positive to the thumb side.
pub(super) fn on_axis(frame: &Frame, radial_cm: f64) -> Place {
    // The handle leans a little across the palm, as a held stick does.
    frame.at(AXIS_CM.0 + 0.06 * radial_cm, radial_cm, AXIS_CM.1)
}

/// Adds what the hand holds.
pub(super) fn draw(scene: &mut Scene, frame: &Frame, held: Held) {
    let mut part = |from_cm: f64, to_cm: f64, radius_cm: f64| {
        scene.cylinder(
            on_axis(frame, from_cm),
            on_axis(frame, to_cm),
            radius_cm,
            Ink::Weight,
        );
    };
    match held {
        Held::Nothing => {}
        Held::Dumbbell => {
            for sign in [1.0, -1.0] {
                part(sign * 3.8, sign * 5.2, 1.1);
                part(sign * 5.2, sign * 8.2, 2.6);
            }
            part(-3.8, 3.8, 1.2);
        }
        Held::HeavyAtThumb | Held::HeavyAtLittleFinger => {
            let sign = if held == Held::HeavyAtThumb {
                1.0
            } else {
                -1.0
            };
            part(sign * 3.9, sign * 13.2, 1.0);
            part(sign * 13.2, sign * 17.8, 2.7);
            part(-sign * 3.9, -sign * 5.6, 1.0);
            part(-3.9, 3.9, 1.2);
        }
    }
}
