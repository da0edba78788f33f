//! The planes in which a joint is tested: two opposite movements from one start.
//!
//! The words are the field's own (Wu et al., J Biomech 38:981-992, 2005); which posture a plane is
//! tested in follows from what one sensor can see: gravity must turn with the hand.

use serde::{Deserialize, Serialize};

use super::{ForearmDirection, ForearmRotation, ForearmSupport, JointAxis, Movement, Posture};

/// Said of every range test (common practice, no source).
pub const RANGE_TEST_CAUTION: &str =
    "Only as far as is comfortable: never push into pain; any new tingling or numbness means stop.";

/// Two opposite movements about one axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Plane {
    /// Flexion and extension of the wrist.
    FlexionExtension,
    /// Radial and ulnar deviation of the wrist.
    RadialUlnarDeviation,
    /// Pronation and supination of the forearm.
    PronationSupination,
}

impl Plane {
    /// Every plane, in the order of the documentation.
    pub const ALL: [Plane; 3] = [
        Plane::FlexionExtension,
        Plane::RadialUlnarDeviation,
        Plane::PronationSupination,
    ];

    /// The word used in routines.
    pub fn name(self) -> &'static str {
        match self {
            Plane::FlexionExtension => "flexion-extension",
            Plane::RadialUlnarDeviation => "radial-ulnar-deviation",
            Plane::PronationSupination => "pronation-supination",
        }
    }

    /// The words for headings and tables.
    pub fn title(self) -> &'static str {
        match self {
            Plane::FlexionExtension => "Flexion and extension",
            Plane::RadialUlnarDeviation => "Radial and ulnar deviation",
            Plane::PronationSupination => "Pronation and supination",
        }
    }

    /// Its two directions, in the order in which they are led.
    pub fn directions(self) -> [Movement; 2] {
        match self {
            Plane::FlexionExtension => [Movement::WristFlexion, Movement::WristExtension],
            Plane::RadialUlnarDeviation => [Movement::RadialDeviation, Movement::UlnarDeviation],
            Plane::PronationSupination => [Movement::Pronation, Movement::Supination],
        }
    }

    /// The plane of a movement; `None` of one that turns round.
    pub fn of(movement: Movement) -> Option<Plane> {
        match movement.joint_axis()? {
            JointAxis::Flexion => Some(Plane::FlexionExtension),
            JointAxis::Deviation => Some(Plane::RadialUlnarDeviation),
            JointAxis::Rotation => Some(Plane::PronationSupination),
        }
    }

    /// The posture in which gravity sees both directions: forearm rested and level, palm down for
    /// flexion and extension, else thumb up.
    pub fn usual_posture(self) -> Posture {
        Posture {
            elbow_deg: Some(90.0),
            forearm: ForearmSupport::Rested,
            direction: ForearmDirection::Level,
            rotation: match self {
                Plane::FlexionExtension => ForearmRotation::PalmDown,
                Plane::RadialUlnarDeviation | Plane::PronationSupination => {
                    ForearmRotation::ThumbUp
                }
            },
        }
    }

    /// Whether the plane lies level in that posture, so that the hand turns about the vertical:
    /// then only the gyroscope sees it, and the angle drifts.
    pub fn drifts(self, posture: &Posture) -> bool {
        use ForearmRotation::{LittleFingerUp, PalmDown, PalmUp, ThumbUp};
        let level = posture.direction == ForearmDirection::Level;
        match (self, posture.rotation) {
            (Plane::FlexionExtension, ThumbUp | LittleFingerUp) => level,
            (Plane::RadialUlnarDeviation, PalmDown | PalmUp) => level,
            (Plane::PronationSupination, _) => !level,
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_direction_belongs_to_its_plane_and_opposes_the_other() {
        for plane in Plane::ALL {
            let [first, second] = plane.directions();
            assert_eq!(Plane::of(first), Some(plane));
            assert_eq!(Plane::of(second), Some(plane));
            assert_eq!(first.isb_sign(), -second.isb_sign(), "{}", plane.name());
            assert_eq!(first.opposite_word(), second.direction_word());
        }
        assert_eq!(Plane::of(Movement::ArmCircles), None);
    }

    /// Geometry: a level plane is turned about the vertical. The long axis of the forearm is level
    /// or upright; the axis of flexion points to the thumb side, that of deviation out of the palm.
    #[test]
    fn a_plane_drifts_exactly_where_its_axis_is_vertical() {
        let up_of_level = |rotation| match rotation {
            ForearmRotation::PalmDown | ForearmRotation::PalmUp => JointAxis::Deviation,
            ForearmRotation::ThumbUp | ForearmRotation::LittleFingerUp => JointAxis::Flexion,
        };
        for plane in Plane::ALL {
            assert!(!plane.drifts(&plane.usual_posture()), "{}", plane.name());
            for direction in [
                ForearmDirection::Level,
                ForearmDirection::Hanging,
                ForearmDirection::Upright,
            ] {
                for rotation in [
                    ForearmRotation::PalmDown,
                    ForearmRotation::ThumbUp,
                    ForearmRotation::PalmUp,
                    ForearmRotation::LittleFingerUp,
                ] {
                    let vertical = match direction {
                        ForearmDirection::Level => up_of_level(rotation),
                        _ => JointAxis::Rotation,
                    };
                    let posture = Posture {
                        direction,
                        rotation,
                        ..plane.usual_posture()
                    };
                    let axis = plane.directions().map(Movement::joint_axis);
                    assert_eq!(plane.drifts(&posture), axis == [Some(vertical); 2]);
                }
            }
        }
    }
}
