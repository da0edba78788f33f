//! The English words of the drawings, in one place.

use crate::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, LoadShape, Movement, Posture, Side,
};

/// The side's word at the start of a title.
pub(super) fn side(side: Side) -> &'static str {
    match side {
        Side::Left => "Left",
        Side::Right => "Right",
    }
}

/// Which way to move, as the arrow says it.
pub(super) fn direction(movement: Movement, posture: &Posture) -> &'static str {
    match movement {
        Movement::WristExtension => "bend back",
        // With the palm up the hand comes up: "down" would say the opposite of the arrow.
        Movement::WristFlexion if posture.rotation == ForearmRotation::PalmDown => "bend down",
        Movement::WristFlexion => "palm side",
        Movement::RadialDeviation => "thumb side",
        Movement::UlnarDeviation => "little-finger side",
        Movement::Supination => "palm up",
        Movement::Pronation => "palm down",
        Movement::ArmCircles => "circles",
    }
}

/// The movement as a request.
fn request(movement: Movement, posture: &Posture) -> &'static str {
    match movement {
        Movement::WristExtension => "bend the hand back",
        Movement::WristFlexion if posture.rotation == ForearmRotation::PalmDown => {
            "bend the hand down"
        }
        Movement::WristFlexion => "bend the hand towards the palm side",
        Movement::RadialDeviation => "move the hand to the thumb side",
        Movement::UlnarDeviation => "move the hand to the little-finger side",
        Movement::Supination => "turn the forearm palm up",
        Movement::Pronation => "turn the forearm palm down",
        Movement::ArmCircles => "draw small circles with the straight arm",
    }
}

/// The title of a movement's drawing.
pub(super) fn movement_title(movement: Movement, own: Side, posture: &Posture) -> String {
    format!("{} hand: {}", side(own), request(movement, posture))
}

/// The longer description for those who do not see the drawing.
pub(super) fn movement_description(
    movement: Movement,
    own: Side,
    posture: &Posture,
    load: Option<LoadShape>,
) -> String {
    let rotation = match posture.rotation {
        ForearmRotation::PalmDown => "palm down",
        ForearmRotation::ThumbUp => "thumb up",
        ForearmRotation::PalmUp => "palm up",
        ForearmRotation::LittleFingerUp => "little finger up",
    };
    let place = match (posture.direction, posture.forearm) {
        (ForearmDirection::Level, ForearmSupport::Rested) => {
            "the forearm lies on a folded towel on the table, the hand free beyond it, over the table"
        }
        (ForearmDirection::Level, ForearmSupport::Free) => "the forearm is held level in the air",
        (ForearmDirection::Hanging, _) => "the arm hangs at the side",
        (ForearmDirection::Upright, ForearmSupport::Rested) => {
            "the elbow rests on the table, the forearm points up"
        }
        (ForearmDirection::Upright, ForearmSupport::Free) => "the forearm points up",
    };
    let elbow = match posture.elbow_deg {
        Some(angle_deg) if angle_deg < 15.0 => " The elbow is straight.".to_owned(),
        Some(angle_deg) if (80.0..=100.0).contains(&angle_deg) => {
            " The elbow is bent to a right angle.".to_owned()
        }
        Some(angle_deg) => format!(" The elbow is bent by {angle_deg:.0} degrees."),
        None => String::new(),
    };
    let held = match load {
        None => "The hand is empty, in a loose fist.",
        Some(LoadShape::Centred) => "The hand holds a short dumbbell at its middle.",
        Some(LoadShape::OneSided) => "The hand holds a weight that is heavy at one end, by its handle.",
    };
    format!(
        "{} arm, {rotation}; {place}.{elbow} {held} From the start, drawn solid, {} to where it is drawn dashed, as the thick arrow shows, and slowly back along the thin one.",
        side(own),
        request(movement, posture)
    )
}
