//! The elbow's share in a set of the pipeline: where it is asked for, and what it says of each
//! repetition.
//!
//! One unit on the hand has to tell it from accelerations ([`crate::reps::elbow`]). A unit on the
//! forearm would see the forearm turn: then its share is measured, and belongs here in its place.

use crate::joint::Alignment;
use crate::movement::{JointAxis, Movement};
use crate::orientation::Oriented;
use crate::reps::elbow::{
    ElbowFollow, ElbowParams, ElbowReading, ElbowShare, HandInSensor, Lift, elbow_share,
};
use crate::reps::{Doubt, Repetition};
use nalgebra::Vector3;

/// Whether a movement can be helped by the elbow and seen to be: bending the wrist to any side. A
/// movement that is not named may be any movement of the arm.
pub fn can_be_helped(movement: Option<Movement>) -> bool {
    matches!(
        movement.and_then(Movement::joint_axis),
        Some(JointAxis::Flexion | JointAxis::Deviation)
    )
}

/// What a whole set shows of the elbow's share.
pub fn reading_of(
    movement: Option<Movement>,
    oriented: &[Oriented],
    alignment: Option<&Alignment>,
    reps: &[Repetition],
) -> Option<ElbowReading> {
    if !can_be_helped(movement) || reps.is_empty() {
        return None;
    }
    let lifts: Vec<Lift> = reps.iter().map(lift_of).collect();
    let hand = alignment.map(hand_of);
    let params = ElbowParams::default();
    Some(elbow_share(oriented, &lifts, hand.as_ref(), &params))
}

/// Follows a set that can be helped.
pub fn follow(movement: Option<Movement>, alignment: Option<&Alignment>) -> Option<ElbowFollow> {
    can_be_helped(movement)
        .then(|| ElbowFollow::new(ElbowParams::default(), alignment.map(hand_of)))
}

/// The share of a set, with the doubt on each repetition that has a large one and on no other,
/// whatever was said of it while the set went on.
pub fn told(reading: Option<&ElbowReading>, reps: &mut [Repetition]) -> Option<ElbowShare> {
    let moved =
        |index: usize| reading.is_some_and(|reading| reading.moved.get(index) == Some(&true));
    for (index, repetition) in reps.iter_mut().enumerate() {
        repetition
            .doubts
            .retain(|doubt| *doubt != Doubt::ForearmMoved);
        if moved(index) {
            repetition.doubt(Doubt::ForearmMoved);
        }
    }
    reading.map(|reading| reading.share)
}

/// A repetition as the elbow's share needs it.
pub fn lift_of(repetition: &Repetition) -> Lift {
    Lift {
        lift_start_s: repetition.lift_start_s,
        lift_end_s: repetition.lift_end_s,
        lower_end_s: repetition.lower_end_s,
    }
}

fn hand_of(alignment: &Alignment) -> HandInSensor {
    HandInSensor {
        distal: alignment.sensor_from_hand * -Vector3::y(),
        volar: Some(alignment.sensor_from_hand * Vector3::x()),
    }
}
