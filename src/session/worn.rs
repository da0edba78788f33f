//! What a person is told when the sensor is worn strangely: what seems to be, and what to do.

use crate::joint::wear::WearKind;

/// One short line. Nothing is stopped by it: hands may hold a weight.
pub fn told(kind: WearKind) -> &'static str {
    match kind {
        WearKind::FaceDown => {
            "The sensor lies with its upper side on the skin. Leave it so for today, and put it on the other way up next time."
        }
        WearKind::Turned => {
            "The sensor seems to sit the other way round, or the hand moves the other way. Please check the strap, then go on."
        }
        WearKind::OtherHand => {
            "The sensor seems to be on the other hand. Please check it when you rest."
        }
        WearKind::OnForearm => {
            "The sensor hardly turns. It belongs on the back of the hand. If it is there, go no further than is comfortable."
        }
        WearKind::Slipped => {
            "The sensor seems to have slipped. Please check the strap when you rest."
        }
        WearKind::LeftLying => "The sensor lies still. Is it on your hand?",
    }
}

/// After so long without a sign of life it is asked whether anybody wears the sensor, seconds.
pub(super) const LIES_S: f64 = 8.0;
