//! The catalogue of movements: which angle each one measures and with what sign, what gravity
//! loads in it, what it needs to be careful of, and what one sensor cannot see of it. Beside it,
//! the stretches and what is done for a time.

mod activity;
mod plane;
mod said;
mod stretch;

use serde::{Deserialize, Serialize};

pub use activity::{Activity, GlidePosition};
pub use plane::{Plane, RANGE_TEST_CAUTION};
pub use stretch::Stretch;

/// Said before every stretch and everything done for a time (common practice, no source).
pub const WEIGHT_DOWN: &str = "Put any weight down first.";

/// Where the words and cautions of stretches and activities come from.
pub const COMMON_PRACTICE: &str = "common practice, no source";

/// Which hands something takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hands {
    /// One hand at a time; both is one after the other.
    OneAtATime,
    /// One hand, or both at once.
    OneOrBoth,
    /// Both hands at once, always.
    BothAtOnce,
    /// No hand in particular.
    None,
}

/// A counted movement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Movement {
    /// Bending the wrist back.
    WristExtension,
    /// Bending the wrist towards the palm.
    WristFlexion,
    /// Moving the hand towards the thumb side.
    RadialDeviation,
    /// Moving the hand towards the little-finger side.
    UlnarDeviation,
    /// Turning the forearm palm up.
    Supination,
    /// Turning the forearm palm down.
    Pronation,
    /// Circles of the arm with the wrist held back; counted by whole turns.
    ArmCircles,
}

/// The component of the wrist's ISB angles that a movement is measured by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum JointAxis {
    /// Flexion (+) and extension (−).
    Flexion,
    /// Ulnar (+) and radial (−) deviation.
    Deviation,
    /// Pronation (+) and supination (−) of the forearm.
    Rotation,
}

/// Left or right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The left hand.
    Left,
    /// The right hand.
    Right,
}

/// One of the two moving phases of a repetition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum MovingPhase {
    /// Travel away from the start.
    Lift,
    /// The way back.
    Lower,
}

/// Whether the forearm lies on something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ForearmSupport {
    /// On the table or the thigh; the hand alone moves.
    #[default]
    Rested,
    /// Held in the air.
    Free,
}

/// How the forearm points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ForearmDirection {
    /// Along the table top.
    #[default]
    Level,
    /// Down, the arm hanging at the side.
    Hanging,
    /// Up, the elbow on the table.
    Upright,
}

/// How the forearm is turned about its own length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ForearmRotation {
    /// Pronated.
    PalmDown,
    /// Half way: the clinical zero of rotation.
    ThumbUp,
    /// Supinated.
    PalmUp,
    /// Pronated past palm down until the little finger is uppermost.
    LittleFingerUp,
}

/// How the arm is held while a movement is done. A range belongs to its posture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Posture {
    /// Angle of the elbow in degrees: 0 is straight; `None` is not prescribed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elbow_deg: Option<f64>,
    /// Rested or free.
    #[serde(default)]
    pub forearm: ForearmSupport,
    /// Level, hanging or upright.
    #[serde(default)]
    pub direction: ForearmDirection,
    /// Palm down, thumb up, palm up or little finger up.
    pub rotation: ForearmRotation,
}

/// Where the mass of a weight lies in the hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadShape {
    /// Held at its centre, like a short dumbbell: hardly loads rotation.
    Centred,
    /// Heavy at one end, like a hammer or a bottle held by the neck.
    OneSided,
}

impl Movement {
    /// Every movement, in the order of the documentation.
    pub const ALL: [Movement; 7] = [
        Movement::WristExtension,
        Movement::WristFlexion,
        Movement::RadialDeviation,
        Movement::UlnarDeviation,
        Movement::Supination,
        Movement::Pronation,
        Movement::ArmCircles,
    ];

    /// The word used in commands and recordings.
    pub fn name(self) -> &'static str {
        match self {
            Movement::WristExtension => "wrist-extension",
            Movement::WristFlexion => "wrist-flexion",
            Movement::RadialDeviation => "radial-deviation",
            Movement::UlnarDeviation => "ulnar-deviation",
            Movement::Supination => "supination",
            Movement::Pronation => "pronation",
            Movement::ArmCircles => "arm-circles",
        }
    }

    /// The movement of that name.
    pub fn from_name(name: &str) -> Option<Movement> {
        Movement::ALL.into_iter().find(|m| m.name() == name)
    }

    /// The word for headings and charts.
    pub fn title(self) -> &'static str {
        match self {
            Movement::WristExtension => "Wrist extension",
            Movement::WristFlexion => "Wrist flexion",
            Movement::RadialDeviation => "Radial deviation",
            Movement::UlnarDeviation => "Ulnar deviation",
            Movement::Supination => "Supination",
            Movement::Pronation => "Pronation",
            Movement::ArmCircles => "Arm circles",
        }
    }

    /// The direction as a short word before a positive number ("extension 42").
    pub fn direction_word(self) -> &'static str {
        match self {
            Movement::WristExtension => "extension",
            Movement::WristFlexion => "flexion",
            Movement::RadialDeviation => "radial deviation",
            Movement::UlnarDeviation => "ulnar deviation",
            Movement::Supination => "supination",
            Movement::Pronation => "pronation",
            Movement::ArmCircles => "turn",
        }
    }

    /// The opposite direction's word.
    pub fn opposite_word(self) -> &'static str {
        match self {
            Movement::WristExtension => "flexion",
            Movement::WristFlexion => "extension",
            Movement::RadialDeviation => "ulnar deviation",
            Movement::UlnarDeviation => "radial deviation",
            Movement::Supination => "pronation",
            Movement::Pronation => "supination",
            Movement::ArmCircles => "turn back",
        }
    }

    /// The ISB component measured; `None` for arm circles, which are counted by turns.
    pub fn joint_axis(self) -> Option<JointAxis> {
        match self {
            Movement::WristExtension | Movement::WristFlexion => Some(JointAxis::Flexion),
            Movement::RadialDeviation | Movement::UlnarDeviation => Some(JointAxis::Deviation),
            Movement::Supination | Movement::Pronation => Some(JointAxis::Rotation),
            Movement::ArmCircles => None,
        }
    }

    /// +1 where the lift raises the ISB angle (flexion, ulnar deviation, pronation), else −1.
    ///
    /// Source: sign convention of Wu et al., J Biomech 38:981-992, 2005.
    pub fn isb_sign(self) -> f64 {
        match self {
            Movement::WristFlexion | Movement::UlnarDeviation | Movement::Pronation => 1.0,
            Movement::WristExtension | Movement::RadialDeviation | Movement::Supination => -1.0,
            Movement::ArmCircles => 1.0,
        }
    }

    /// The posture that loads the movement when nothing else is prescribed (common practice, no
    /// source).
    pub fn usual_posture(self) -> Posture {
        let level = |rotation| Posture {
            elbow_deg: Some(90.0),
            forearm: ForearmSupport::Rested,
            direction: ForearmDirection::Level,
            rotation,
        };
        match self {
            Movement::WristExtension => level(ForearmRotation::PalmDown),
            Movement::WristFlexion => level(ForearmRotation::PalmUp),
            Movement::RadialDeviation | Movement::Supination | Movement::Pronation => {
                level(ForearmRotation::ThumbUp)
            }
            Movement::UlnarDeviation => Posture {
                elbow_deg: Some(0.0),
                forearm: ForearmSupport::Free,
                direction: ForearmDirection::Hanging,
                rotation: ForearmRotation::ThumbUp,
            },
            Movement::ArmCircles => Posture {
                elbow_deg: Some(0.0),
                forearm: ForearmSupport::Free,
                direction: ForearmDirection::Level,
                rotation: ForearmRotation::PalmDown,
            },
        }
    }

    /// Which moving phase lengthens the loaded muscle, or `None` where neither does.
    ///
    /// Geometry of gravity on a hand-held weight: the lift is concentric where it raises the
    /// weight, eccentric where it lets it down. Rotation from thumb up is loaded only by a
    /// one-sided weight, and then the way out lets it down. `load_kg` of `None` is unknown.
    pub fn eccentric(
        self,
        posture: &Posture,
        load_kg: Option<f64>,
        shape: Option<LoadShape>,
    ) -> Option<MovingPhase> {
        use ForearmDirection::{Hanging, Level, Upright};
        use ForearmRotation::{LittleFingerUp, PalmDown, PalmUp, ThumbUp};
        let lift_raises = match (self, posture.direction, posture.rotation) {
            (Movement::ArmCircles, ..) => return None,
            (Movement::Supination | Movement::Pronation, ..) => {
                let loaded = load_kg.is_some_and(|kg| kg > 0.0);
                let one_sided = shape != Some(LoadShape::Centred);
                return (loaded && one_sided && posture.rotation == ThumbUp)
                    .then_some(MovingPhase::Lift);
            }
            (Movement::WristExtension, Level, PalmDown) => true,
            (Movement::WristExtension, Level, PalmUp) => false,
            (Movement::WristFlexion, Level, PalmUp) => true,
            (Movement::WristFlexion, Level, PalmDown) => false,
            (Movement::RadialDeviation, Level, ThumbUp) => true,
            (Movement::RadialDeviation, Level, LittleFingerUp) => false,
            (Movement::UlnarDeviation, Level, LittleFingerUp) => true,
            (Movement::UlnarDeviation, Level, ThumbUp) => false,
            // Arm hanging: any movement away from hanging straight raises the weight.
            (_, Hanging, _) => true,
            // Forearm upright: leaving the vertical lets a centred weight down, while a
            // one-sided weight that points the other way is raised by it.
            (Movement::RadialDeviation | Movement::UlnarDeviation, Upright, _) => true,
            (_, Upright, _) => false,
            // The movement turns about the vertical: gravity loads neither phase.
            (_, Level, _) => return None,
        };
        Some(if lift_raises {
            MovingPhase::Lower
        } else {
            MovingPhase::Lift
        })
    }

    /// What the wearer should be careful of, in plain words.
    ///
    /// Source: McGorry et al., J Orthop Res 32:524-530, 2014 for grip with extension; the rest is
    /// common practice, no source.
    pub fn caution(self) -> &'static str {
        match self {
            Movement::WristExtension => {
                "Bending back with a firm grip presses most on the carpal tunnel in the wrist: hold as loosely as is safe, lightest weight, small movements first."
            }
            Movement::ArmCircles => {
                "This can bring on tingling, so you are asked half-way. Stop on any tingling, dizziness or arm pain."
            }
            _ => "Never push into pain; any new tingling or numbness means stop.",
        }
    }

    /// Whether the movement can bring on tingling, so that half-way is asked for it: circles of the
    /// arm with the wrist held back (common practice, no source).
    pub fn provokes(self) -> bool {
        self == Movement::ArmCircles
    }

    /// What one sensor on the hand cannot see of this movement.
    pub fn blind_spot(self) -> &'static str {
        match self {
            Movement::ArmCircles => {
                "Whether the wrist stays bent back: the sensor sees the hand, not the joint."
            }
            Movement::Supination | Movement::Pronation => {
                "Whether the elbow or shoulder turns along."
            }
            _ => "Whether the forearm moves along: the angle is the hand against its neutral pose.",
        }
    }
}

impl Side {
    /// The word used in commands and recordings.
    pub fn name(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }

    /// The side of that name.
    pub fn from_name(name: &str) -> Option<Side> {
        match name {
            "left" => Some(Side::Left),
            "right" => Some(Side::Right),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;

    #[test]
    fn names_read_back() {
        for movement in Movement::ALL {
            assert_eq!(Movement::from_name(movement.name()), Some(movement));
            let json = serde_json::to_string(&movement).unwrap();
            assert_eq!(json, format!("\"{}\"", movement.name()));
        }
        assert_eq!(Movement::from_name("curl"), None);
    }

    #[test]
    fn thumb_up_ulnar_deviation_is_the_lowering_of_the_radial_deviators() {
        let thumb_up = Movement::RadialDeviation.usual_posture();
        let phase = Movement::UlnarDeviation.eccentric(&thumb_up, Some(1.0), None);
        assert_eq!(phase, Some(MovingPhase::Lift));
    }

    #[test]
    fn the_usual_postures_of_the_curls_make_the_lowering_eccentric() {
        for movement in [
            Movement::WristExtension,
            Movement::WristFlexion,
            Movement::RadialDeviation,
            Movement::UlnarDeviation,
        ] {
            let phase = movement.eccentric(&movement.usual_posture(), None, None);
            assert_eq!(phase, Some(MovingPhase::Lower), "{}", movement.name());
        }
    }

    #[test]
    fn rotation_is_eccentric_outward_only_under_a_one_sided_weight() {
        let posture = Movement::Supination.usual_posture();
        let phase = |kg, shape| Movement::Supination.eccentric(&posture, kg, shape);
        assert_eq!(
            phase(Some(0.5), Some(LoadShape::OneSided)),
            Some(MovingPhase::Lift)
        );
        assert_eq!(phase(Some(0.5), Some(LoadShape::Centred)), None);
        assert_eq!(phase(Some(0.0), Some(LoadShape::OneSided)), None);
        assert_eq!(phase(None, None), None);
    }
}
