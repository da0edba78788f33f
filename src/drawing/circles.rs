//! Arm circles.
use crate::movement::{LoadShape, Posture, Side};
pub(super) fn drawing(_side: Side, _posture: &Posture, _load: Option<LoadShape>) -> String { String::new() }
