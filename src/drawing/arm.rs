//! Forearm and upper arm.

use super::space::{Ball, Frame, Place, ball};

/// Length of a forearm from elbow to wrist.
pub(super) const FOREARM_CM: f64 = 23.0;

/// The forearm's shape: distance from the wrist backwards, half of what it is wider than thick,
/// and its radius.
const STATIONS_CM: [(f64, f64, f64); 4] = [
    (-0.3, 1.1, 1.8),
    (4.0, 1.0, 2.1),
    (14.0, 0.5, 3.3),
    (FOREARM_CM, 0.0, 3.2),
];

/// The forearm's hulls from the wrist's frame backwards; a `length_cm` shorter than the whole cuts
/// it off.
pub(super) fn forearm(frame: &Frame, length_cm: f64) -> Vec<Vec<Ball>> {
    let pair = |back_cm: f64, half_cm: f64, radius_cm: f64| {
        [half_cm, -half_cm].map(|radial_cm| ball(frame.at(-back_cm, radial_cm, 0.0), radius_cm))
    };
    let mut hulls = Vec::new();
    for (from, to) in STATIONS_CM.iter().zip(STATIONS_CM.iter().skip(1)) {
        if from.0 >= length_cm {
            break;
        }
        let share = ((length_cm - from.0) / (to.0 - from.0)).min(1.0);
        let mix = |a: f64, b: f64| a + (b - a) * share;
        let mut hull = pair(from.0, from.1, from.2).to_vec();
        hull.extend(pair(
            mix(from.0, to.0),
            mix(from.1, to.1),
            mix(from.2, to.2),
        ));
        hulls.push(hull);
    }
    hulls
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
    let radius_cm = 2.4 + 1.2 * (length_cm / 14.0).min(1.0);
    let mut balls = Vec::new();
    for back_cm in [-2.4, 1.0] {
        for radial_cm in [-0.9, 0.9] {
            balls.push(ball(
                frame.at(-length_cm - back_cm, radial_cm, 0.0),
                radius_cm,
            ));
        }
    }
    vec![balls]
}
