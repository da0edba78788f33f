//! Strange wear: the unit upside down, on the other hand, on the forearm, slipped, or left lying.
//!
//! Ours. What one 6-axis unit can know of how it is worn, and what it cannot:
//!
//! - *How it is mounted* is free: a calibration (still pose, one known movement) finds the hand's
//!   frame for any mounting. Strange is only what contradicts something else that is known.
//! - *Turned since it was fitted* ([`WearKind::Turned`]): at the set's still start up, seen from
//!   the sensor, and in the set the axis of the lift with its sense, are where the calibration and
//!   the announced posture put them, or they are not. The opposite movement in the same posture
//!   looks the same as a unit whose ends were swapped; who asks must say both.
//! - *Upper side to the skin* ([`WearKind::FaceDown`]): only of a unit whose +z is known to leave it
//!   on the upper side (our own profile). The calibration makes up for it, so numbers stand.
//! - *The other hand* ([`WearKind::OtherHand`]): hands are mirror images. Flexion and extension with
//!   the palm down look the same on both. With the thumb up, gravity and the lift's sense are both
//!   the other way round on the other hand, and on the way from palm down to palm up the thumb's
//!   side is uppermost for a moment: a forearm turns no other way. Where neither was seen, nothing
//!   is said. A unit that was taken off and turned over in between can look like the other hand;
//!   that is named in [`WearFinding::or`].
//! - *On the forearm* ([`WearKind::OnForearm`]): there bending the wrist turns the unit by a few
//!   degrees only, with the bellies and tendons of the muscles, stroke by stroke about one line.
//!   Turning the forearm turns it as on the hand: then nothing can be said. An arm that does
//!   nothing is not on the forearm; a range of less than 8 degrees cannot be told from it.
//! - *Slipped* ([`WearKind::Slipped`]): a slip turns the unit on the hand, so the axis of the
//!   movement moves in the sensor and stays where it was in the world. A shifted arm does it the
//!   other way round, another manner of moving moves both. A slip about the movement's own axis
//!   looks like another start level: then nothing is said.
//! - *Left lying* ([`WearKind::LeftLying`]): a table has no tremor. A living hand's has a peak of
//!   0.0015 to 0.035 g (Wade, Gresty & Findley, "A normative study of postural tremor of the hand",
//!   Arch Neurol 39:358-362, 1982, doi:10.1001/archneur.1982.00510180036009; 97 people),
//!   mostly at 6 to 12 Hz (Lakie et al., J Physiol 593:4411-4422, 2015, doi:10.1113/JP270464). A unit
//!   whose own noise is larger than the least of these always looks alive.

mod alive;
mod axes;
mod forearm;
mod pose;
mod slip;
mod turned;
mod watch;
mod ways;

use serde::{Deserialize, Serialize};

pub use alive::{Alive, AliveParams};
pub use axes::{Axes, Piece};
pub use forearm::ForearmParams;
pub use slip::SlipParams;
pub use turned::{Fitted, TurnedParams};
pub use watch::{WearContext, WearParams, WearWatch};
pub use ways::{Ways, WaysParams};

/// What is strange about the way a unit is worn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WearKind {
    /// Its upper side lies on the skin, and was there when it was fitted.
    FaceDown,
    /// It was turned on the hand since it was fitted.
    Turned,
    /// It is on the other hand than announced.
    OtherHand,
    /// It is on the forearm, not on the hand; or the hand moves by as little as one sees from there.
    OnForearm,
    /// It slipped within the set.
    Slipped,
    /// Nobody wears it.
    LeftLying,
}

impl WearKind {
    /// Every kind.
    pub const ALL: [WearKind; 6] = [
        WearKind::FaceDown,
        WearKind::Turned,
        WearKind::OtherHand,
        WearKind::OnForearm,
        WearKind::Slipped,
        WearKind::LeftLying,
    ];

    /// The word used in JSON and exports.
    pub fn name(self) -> &'static str {
        match self {
            WearKind::FaceDown => "face-down",
            WearKind::Turned => "turned",
            WearKind::OtherHand => "other-hand",
            WearKind::OnForearm => "on-forearm",
            WearKind::Slipped => "slipped",
            WearKind::LeftLying => "left-lying",
        }
    }

    /// What it is, in words for a reader of a recording.
    pub fn words(self) -> &'static str {
        match self {
            WearKind::FaceDown => "the sensor's upper side lay on the skin",
            WearKind::Turned => {
                "the sensor sat otherwise than when it was fitted, or the movement went the opposite way"
            }
            WearKind::OtherHand => "the sensor was on the other hand",
            WearKind::OnForearm => {
                "the sensor turned by as little as on the forearm: it sat there, or the hand moved by a few degrees only"
            }
            WearKind::Slipped => "the sensor slipped on the hand",
            WearKind::LeftLying => "no sign of a hand was seen: the sensor lay still",
        }
    }
}

/// Something strange, with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WearFinding {
    /// What.
    pub kind: WearKind,
    /// What the samples cannot tell from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub or: Option<WearKind>,
    /// Since when, seconds.
    pub since_s: f64,
    /// How far off the sensor is, or how far it turned, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence_deg: Option<f64>,
    /// For how long that was seen, seconds.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub evidence_s: Option<f64>,
}

impl WearFinding {
    /// Whether the set's angles stand all the same: a unit that was fitted upside down is measured
    /// rightly.
    pub fn angles_stand(&self) -> bool {
        self.kind == WearKind::FaceDown && self.or.is_none()
    }

    /// The finding in words, without when.
    pub fn words(&self) -> String {
        let mut words = self.kind.words().to_owned();
        if let Some(or) = self.or {
            words.push_str(", or ");
            words.push_str(or.words());
        }
        match (self.evidence_deg, self.evidence_s) {
            (Some(deg), _) => words.push_str(&format!(" ({deg:.0} degrees)")),
            (None, Some(s)) => words.push_str(&format!(" ({s:.0} s)")),
            (None, None) => {}
        }
        words
    }
}

/// Whether sets with these findings belong among the person's ranges.
pub fn angles_stand(findings: &[WearFinding]) -> bool {
    findings.iter().all(WearFinding::angles_stand)
}
