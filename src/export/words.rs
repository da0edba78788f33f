//! The words that recordings use for what has no name of its own.

use crate::movement::{ForearmDirection, ForearmRotation, ForearmSupport, JointAxis, MovingPhase};
use crate::pipeline::motion::{AxisFrom, Zero};
use crate::recording::{ItemRef, SetEndReason};

pub(super) fn forearm(forearm: ForearmSupport) -> &'static str {
    match forearm {
        ForearmSupport::Rested => "rested",
        ForearmSupport::Free => "free",
    }
}

pub(super) fn direction(direction: ForearmDirection) -> &'static str {
    match direction {
        ForearmDirection::Level => "level",
        ForearmDirection::Hanging => "hanging",
        ForearmDirection::Upright => "upright",
    }
}

pub(super) fn rotation(rotation: ForearmRotation) -> &'static str {
    match rotation {
        ForearmRotation::PalmDown => "palm-down",
        ForearmRotation::ThumbUp => "thumb-up",
        ForearmRotation::PalmUp => "palm-up",
        ForearmRotation::LittleFingerUp => "little-finger-up",
    }
}

pub(super) fn axis(axis: JointAxis) -> &'static str {
    match axis {
        JointAxis::Flexion => "flexion",
        JointAxis::Deviation => "deviation",
        JointAxis::Rotation => "rotation",
    }
}

pub(super) fn phase(phase: MovingPhase) -> &'static str {
    match phase {
        MovingPhase::Lift => "lift",
        MovingPhase::Lower => "lower",
    }
}

pub(super) fn zero(zero: Zero) -> &'static str {
    match zero {
        Zero::Calibration => "calibration",
        Zero::StillStart => "still-start",
        Zero::UsualStart => "usual-start",
    }
}

pub(super) fn axis_from(from: AxisFrom) -> &'static str {
    match from {
        AxisFrom::Calibration => "calibration",
        AxisFrom::Movement => "movement",
    }
}

pub(super) fn end_reason(reason: SetEndReason) -> &'static str {
    match reason {
        SetEndReason::Reached => "reached",
        SetEndReason::Tired => "tired",
        SetEndReason::Idle => "idle",
        SetEndReason::Stop => "stop",
        SetEndReason::Skip => "skip",
        SetEndReason::Lost => "lost",
    }
}

pub(super) fn item(item: &ItemRef) -> String {
    match item {
        ItemRef::Number(number) => number.to_string(),
        ItemRef::Name(name) => name.clone(),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;

    /// The word in a recording, which serde writes.
    fn recorded(value: impl serde::Serialize) -> String {
        let value = serde_json::to_value(value).unwrap();
        value.as_str().unwrap().to_owned()
    }

    #[test]
    fn the_words_are_those_of_the_recordings() {
        for one in [ForearmSupport::Rested, ForearmSupport::Free] {
            assert_eq!(forearm(one), recorded(one));
        }
        for one in [
            ForearmDirection::Level,
            ForearmDirection::Hanging,
            ForearmDirection::Upright,
        ] {
            assert_eq!(direction(one), recorded(one));
        }
        for one in [
            ForearmRotation::PalmDown,
            ForearmRotation::ThumbUp,
            ForearmRotation::PalmUp,
            ForearmRotation::LittleFingerUp,
        ] {
            assert_eq!(rotation(one), recorded(one));
        }
        for one in [
            JointAxis::Flexion,
            JointAxis::Deviation,
            JointAxis::Rotation,
        ] {
            assert_eq!(axis(one), recorded(one));
        }
        for one in [MovingPhase::Lift, MovingPhase::Lower] {
            assert_eq!(phase(one), recorded(one));
        }
        for one in [Zero::Calibration, Zero::StillStart, Zero::UsualStart] {
            assert_eq!(zero(one), recorded(one));
        }
        for one in [AxisFrom::Calibration, AxisFrom::Movement] {
            assert_eq!(axis_from(one), recorded(one));
        }
        for one in [
            SetEndReason::Reached,
            SetEndReason::Tired,
            SetEndReason::Idle,
            SetEndReason::Stop,
            SetEndReason::Skip,
            SetEndReason::Lost,
        ] {
            assert_eq!(end_reason(one), recorded(one));
        }
    }
}
