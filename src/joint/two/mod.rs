//! Two units: the hand as it is seen from the forearm, while the forearm moves.
//!
//! Each unit knows its own orientation against the vertical, and a heading of its own that drifts.
//! What is missing between them is one angle that changes slowly, and a constant difference of their
//! clocks: [`heading`] has them from the joint between the two. [`relative`] then takes the forearm's
//! turn off the hand's orientation, and all that follows is as with one unit.

mod equations;
mod fit;
pub mod heading;
pub mod live;
mod looks;
pub mod rates;
pub mod relative;
mod told;
pub mod track;

pub use heading::{Bout, BoutTold, Heading, HeadingParams, Offset, Prior, refit, solve};
pub use live::{Anew, KNOWN_DEG, LiveHeading};
pub use relative::{Seen, in_hand_world, pose_at, seen_by, seen_from_forearm};
pub use track::{FORWARD_S, ForearmPose, ForearmTrack};
