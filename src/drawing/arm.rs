//! Forearm and upper arm.

use super::space::{Ball, Frame, Place, ball};

/// Length of a forearm from elbow to wrist.
pub(super) const FOREARM_CM: f64 = 23.0;

/// The forearm's hulls from the wrist's frame backwards; `length_cm` shorter than the whole cuts it
/// off at the picture's edge.
pub(super) fn forearm(frame: &Frame, length_cm: f64) -> Vec<Vec<Ball>> {
    let share = length_cm / FOREARM_CM;
    let belly = 0.62_f64.min(share);
    vec![
        vec![
            ball(frame.at(0.3, 1.1, 0.0), 1.8),
            ball(frame.at(0.3, -1.1, 0.0), 1.75),
            ball(frame.at(-4.0, 1.0, 0.0), 2.1),
            ball(frame.at(-4.0, -1.0, 0.0), 2.1),
        ],
        vec![
            ball(frame.at(-4.0, 1.0, 0.0), 2.1),
            ball(frame.at(-4.0, -1.0, 0.0), 2.1),
            ball(frame.at(-belly * FOREARM_CM, 0.5, 0.0), 3.3),
            ball(frame.at(-belly * FOREARM_CM, -0.5, 0.0), 3.3),
        ],
        vec![
            ball(frame.at(-belly * FOREARM_CM, 0.5, 0.0), 3.3),
            ball(frame.at(-belly * FOREARM_CM, -0.5, 0.0), 3.3),
            ball(frame.at(-length_cm, 0.0, 0.0), 3.2),
        ],
    ]
}

/// The upper arm in its sleeve from the elbow.
pub(super) fn upper_arm(elbow: Place, to_shoulder: Place, length_cm: f64) -> Vec<Vec<Ball>> {
    vec![
        vec![ball(elbow, 3.25), ball(elbow + to_shoulder * 3.0, 3.5)],
        vec![
            ball(elbow + to_shoulder * 3.0, 3.5),
            ball(elbow + to_shoulder * length_cm, 4.2),
        ],
    ]
}

/// The sleeve over the upper arm.
pub(super) fn sleeve(elbow: Place, to_shoulder: Place, length_cm: f64) -> Vec<Vec<Ball>> {
    vec![vec![
        ball(elbow + to_shoulder * (length_cm * 0.45), 4.3),
        ball(elbow + to_shoulder * length_cm, 4.9),
    ]]
}

/// A cuff over the end of a forearm that is cut off at `length_cm`.
pub(super) fn cuff(frame: &Frame, length_cm: f64) -> Vec<Vec<Ball>> {
    let across = [-2.0, 2.0];
    let end = across.map(|radial_cm| ball(frame.at(-length_cm - 1.0, radial_cm, 0.0), 2.4));
    let rim = across.map(|radial_cm| ball(frame.at(-length_cm + 3.0, radial_cm, 0.0), 2.3));
    vec![end.into_iter().chain(rim).collect()]
}
