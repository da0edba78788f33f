//! From sensor orientation to the joint angle: frames, calibration, ISB angles, and the measured
//! angle where there is no calibration.
//!
//! With one sensor the forearm is taken to stay where it was in the neutral pose: every angle here
//! is the hand against its neutral pose.

pub mod alignment;
pub mod axis;
pub mod frames;
pub mod measured;
pub mod two;
pub mod wear;

pub use alignment::{
    Alignment, CalibrationFault, CalibrationParams, CalibrationWindows, align, mean_pose,
};
pub use axis::{AxisParams, MainAxis, main_axis};
pub use frames::{
    IsbAngles, lift_axis_in_hand, up_in_hand, world_from_forearm, wrist_angles, wrist_rotation,
};
pub use measured::{AnglePoint, AngleTracker, Measure};
