//! What a movement is called to the person who makes it, on the page, aloud and beside the drawing.
//!
//! Ours: common practice, no source.

use super::{ForearmDirection, ForearmRotation, Movement, Posture};

impl Movement {
    /// The movement in a patient's words, right for how the arm is held: "bend down" leads down
    /// only with the palm down.
    pub fn said(self, posture: &Posture) -> &'static str {
        match self {
            Movement::WristExtension => "bend back",
            Movement::WristFlexion if bends_down(posture) => "bend down",
            Movement::WristFlexion => "bend towards the palm",
            Movement::RadialDeviation => "thumb side",
            Movement::UlnarDeviation => "little-finger side",
            Movement::Supination => "palm up",
            Movement::Pronation => "palm down",
            Movement::ArmCircles => "arm circles",
        }
    }

    /// The same at the beginning of a sentence or as a heading.
    pub fn said_first(self, posture: &Posture) -> &'static str {
        match self.said(posture) {
            "bend back" => "Bend back",
            "bend down" => "Bend down",
            "bend towards the palm" => "Bend towards the palm",
            "thumb side" => "Thumb side",
            "little-finger side" => "Little-finger side",
            "palm up" => "Palm up",
            "palm down" => "Palm down",
            _ => "Arm circles",
        }
    }
}

/// Whether bending towards the palm leads down.
fn bends_down(posture: &Posture) -> bool {
    posture.rotation == ForearmRotation::PalmDown && posture.direction == ForearmDirection::Level
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_is_the_word_with_a_capital() {
        for movement in Movement::ALL {
            for rotation in [ForearmRotation::PalmDown, ForearmRotation::PalmUp] {
                let posture = Posture {
                    rotation,
                    ..movement.usual_posture()
                };
                let heading = movement.said_first(&posture);
                assert_eq!(heading.to_lowercase(), movement.said(&posture));
                assert!(heading.starts_with(char::is_uppercase));
            }
        }
    }

    #[test]
    fn down_is_said_only_where_the_hand_goes_down() {
        let flexion = Movement::WristFlexion;
        let palm_down = Movement::WristExtension.usual_posture();
        assert_eq!(flexion.said(&palm_down), "bend down");
        let hanging = Posture {
            direction: ForearmDirection::Hanging,
            ..palm_down
        };
        for posture in [flexion.usual_posture(), hanging] {
            assert_eq!(flexion.said(&posture), "bend towards the palm");
        }
    }
}
