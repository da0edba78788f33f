//! Frames, wrist angles and alignment against published definitions and simulated truth.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise and says why it did nothing"
)]

mod common;

use std::collections::HashMap;

use carpotempo::joint::{
    Alignment, CalibrationFault, CalibrationParams, CalibrationWindows, IsbAngles, align,
    up_in_hand, wrist_angles, wrist_rotation,
};
use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::{Oriented, RateMeaning, SmootherParams, level, smooth};
use carpotempo::sample::Sample;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::{Piece, Shape, Timeline};
use carpotempo::source::simulator::unit::UnitErrors;
use common::reference::reference;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

type Row = HashMap<String, String>;

fn vectors(name: &str) -> Vec<Row> {
    let Some(folder) = reference() else {
        return Vec::new();
    };
    let mut reader = csv::Reader::from_path(folder.join("vectors").join(name)).unwrap();
    let rows: Vec<Row> = reader.deserialize().map(Result::unwrap).collect();
    assert!(!rows.is_empty(), "{name}");
    rows
}

fn number(row: &Row, key: &str) -> f64 {
    row[key]
        .parse()
        .unwrap_or_else(|_| panic!("{key} of {row:?}"))
}

fn quaternion(w: f64, x: f64, y: f64, z: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_quaternion(Quaternion::new(w, x, y, z))
}

/// Source: Wu et al., J Biomech 38:981-992, 2005; poses computed with scipy.
#[test]
fn the_isb_poses_read_as_their_angles_on_both_hands() {
    for row in vectors("isb_wrist_angles.csv") {
        for (side, word) in [(Side::Right, "right"), (Side::Left, "left")] {
            let q = ["qw", "qx", "qy", "qz"].map(|part| number(&row, &format!("{word}_{part}")));
            let pose = quaternion(q[0], q[1], q[2], q[3]);
            let asked = IsbAngles {
                flexion_deg: number(&row, "flex_deg"),
                deviation_deg: number(&row, "ulnar_deg"),
                rotation_deg: number(&row, "pron_deg"),
            };
            let made = wrist_rotation(&asked, side);
            assert!(
                made.angle_to(&pose).to_degrees() < 1e-6,
                "{} {word}",
                row["name"]
            );
            let found = wrist_angles(&pose, side);
            // At 90 degrees of deviation the other two angles merge; no pose here goes there.
            assert!(
                (found.flexion_deg - asked.flexion_deg).abs() < 1e-4,
                "{}",
                row["name"]
            );
            assert!((found.deviation_deg - asked.deviation_deg).abs() < 1e-4);
            assert!((found.rotation_deg - asked.rotation_deg).abs() < 1e-4);
        }
    }
}

/// Geometry: at rest gravity alone tells the angle of a level forearm's hand.
#[test]
fn gravity_at_rest_tells_flexion_palm_down() {
    for (file, side) in [
        ("static_inclination_right_hand.csv", Side::Right),
        ("static_inclination_left_hand.csv", Side::Left),
    ] {
        let rows: Vec<Row> = vectors(file)
            .into_iter()
            .filter(|row| row["case"] == "FE_forearm_horizontal_pronated")
            .collect();
        let pose = |row: &Row| {
            level(&Vector3::new(
                number(row, "ax"),
                number(row, "ay"),
                number(row, "az"),
            ))
        };
        let Some(neutral) = rows.iter().find(|row| number(row, "angle_deg") == 0.0) else {
            continue;
        };
        for row in &rows {
            // Heading is free: both poses are turned so that the flexion axis points the same way.
            let hand = pose(row);
            let turn = |q: UnitQuaternion<f64>| {
                let axis = q * Vector3::z();
                UnitQuaternion::from_axis_angle(&Vector3::z_axis(), -axis.y.atan2(axis.x)) * q
            };
            let between = turn(pose(neutral)).inverse() * turn(hand);
            let found = wrist_angles(&between, side).flexion_deg;
            assert!(
                (found - number(row, "angle_deg")).abs() < 1e-4,
                "{row:?}: {found}"
            );
        }
    }
}

#[test]
fn two_sensors_with_mounts_give_the_angles_of_their_pose() {
    let Some(folder) = reference() else {
        return;
    };
    let text = std::fs::read_to_string(folder.join("vectors/two_sensor_vectors.json")).unwrap();
    let cases: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    assert_eq!(cases.len(), 16);
    for case in cases {
        let q = |key: &str| {
            let v: Vec<f64> = serde_json::from_value(case[key].clone()).unwrap();
            quaternion(v[0], v[1], v[2], v[3])
        };
        let forearm = q("q_forearm_sensor_wxyz") * q("mount_forearm_wxyz").inverse();
        let hand = q("q_hand_sensor_wxyz") * q("mount_hand_wxyz").inverse();
        let found = wrist_angles(&(forearm.inverse() * hand), Side::Right);
        let close = |a: f64, key: &str| (a - case[key].as_f64().unwrap()).abs() < 1e-4;
        assert!(close(found.flexion_deg, "flex_deg"), "{case} {found:?}");
        assert!(close(found.deviation_deg, "ulnar_deg"), "{case} {found:?}");
        assert!(close(found.rotation_deg, "pron_deg"), "{case} {found:?}");
    }
}

const MOVEMENTS: [Movement; 6] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
    Movement::Supination,
    Movement::Pronation,
];

/// Two seconds still, one lift and back as calibration, a pause, two more.
fn timeline(travel_deg: f64) -> Timeline {
    let mut pieces = Vec::new();
    let mut now_s = 0.0;
    let mut at_deg = 0.0;
    let mut go = |to_deg: f64, lasting_s: f64| {
        pieces.push(Piece {
            start_s: now_s,
            end_s: now_s + lasting_s,
            from_deg: at_deg,
            to_deg,
            shape: Shape::MinimumJerk,
        });
        now_s += lasting_s;
        at_deg = to_deg;
    };
    go(0.0, 2.0);
    for _ in 0..3 {
        go(travel_deg, 1.2);
        go(0.0, 1.6);
        go(0.0, 0.7);
    }
    Timeline {
        duration_s: now_s,
        pieces,
        ..Timeline::default()
    }
}

fn body(movement: Movement, side: Side, hand_from_sensor: UnitQuaternion<f64>) -> Body {
    Body {
        movement,
        side,
        posture: movement.usual_posture(),
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor,
    }
}

fn windows(movement: Movement, side: Side) -> CalibrationWindows {
    CalibrationWindows {
        side,
        movement,
        posture: movement.usual_posture(),
        still_start_s: 0.3,
        still_end_s: 1.9,
        move_start_s: 1.9,
        move_end_s: 5.2,
    }
}

fn smoothed(samples: &[Sample]) -> Vec<Oriented> {
    let params = SmootherParams {
        rate_meaning: RateMeaning::AtInstant,
        ..SmootherParams::default()
    };
    smooth(samples, &params)
}

fn aligned(samples: &[Sample], windows: &CalibrationWindows) -> (Vec<Oriented>, Alignment) {
    let oriented = smoothed(samples);
    let alignment = align(&oriented, windows, &CalibrationParams::default())
        .unwrap_or_else(|fault| panic!("{windows:?}: {fault}"));
    (oriented, alignment)
}

#[test]
fn any_mounting_of_either_hand_gives_anatomical_angles() {
    let mut random = Random::new(2026);
    for movement in MOVEMENTS {
        for side in [Side::Right, Side::Left] {
            for _ in 0..3 {
                let body = body(movement, side, random.rotation());
                let timeline = timeline(45.0);
                let unit = UnitErrors::consumer(104.0, &mut random);
                let samples = unit.sample(&body, &timeline, &mut random);
                let (oriented, alignment) = aligned(&samples, &windows(movement, side));
                let axis = movement.joint_axis().unwrap();
                let mut squares = 0.0;
                for one in &oriented {
                    let found = alignment.angles(one).component_deg(axis) * movement.isb_sign();
                    squares += (found - timeline.angle_deg(one.t_s)).powi(2);
                }
                let rms_deg = (squares / oriented.len() as f64).sqrt();
                assert!(rms_deg < 1.5, "{} {side:?}: {rms_deg}", movement.name());
                assert!((alignment.travel_deg - 45.0).abs() < 1.5);
            }
        }
    }
}

#[test]
fn without_noise_another_mounting_changes_nothing() {
    let angles = |mounting: UnitQuaternion<f64>| -> Vec<f64> {
        let movement = Movement::WristExtension;
        let body = body(movement, Side::Right, mounting);
        let mut random = Random::new(1);
        let samples = UnitErrors::none(100.0).sample(&body, &timeline(45.0), &mut random);
        let (oriented, alignment) = aligned(&samples, &windows(movement, Side::Right));
        let flexion = |one: &Oriented| alignment.angles(one).flexion_deg;
        oriented.iter().map(flexion).collect()
    };
    let mut random = Random::new(7);
    let straight = angles(UnitQuaternion::identity());
    for _ in 0..3 {
        let turned = angles(random.rotation());
        for (a, b) in straight.iter().zip(&turned) {
            assert!((a - b).abs() < 1e-6, "{a} {b}");
        }
    }
}

fn fault(travel_deg: f64, change: impl Fn(&mut CalibrationWindows)) -> CalibrationFault {
    let movement = Movement::WristExtension;
    let mut random = Random::new(3);
    let body = body(movement, Side::Right, random.rotation());
    let unit = UnitErrors::consumer(104.0, &mut random);
    let samples = unit.sample(&body, &timeline(travel_deg), &mut random);
    let mut windows = windows(movement, Side::Right);
    change(&mut windows);
    align(&smoothed(&samples), &windows, &CalibrationParams::default()).unwrap_err()
}

#[test]
fn poor_calibrations_are_refused_with_the_reason() {
    let short = fault(45.0, |w| w.still_end_s = 0.7);
    assert!(
        matches!(short, CalibrationFault::TooShort { .. }),
        "{short}"
    );
    let moved = fault(45.0, |w| w.still_end_s = 3.5);
    assert!(
        matches!(moved, CalibrationFault::NotStill { .. }),
        "{moved}"
    );
    let small = fault(8.0, |_| {});
    assert!(
        matches!(small, CalibrationFault::TooSmall { .. }),
        "{small}"
    );
    let circles = fault(45.0, |w| w.movement = Movement::ArmCircles);
    assert!(
        matches!(circles, CalibrationFault::NoJointAxis(_)),
        "{circles}"
    );
    for fault in [short, moved] {
        assert!(fault.to_string().contains("hold still again"), "{fault}");
    }
    assert!(small.to_string().contains("move further"), "{small}");
}

#[test]
fn a_movement_about_the_vertical_cannot_align() {
    // Deviation with the palm down turns about the vertical.
    let movement = Movement::UlnarDeviation;
    let mut random = Random::new(5);
    let mut body = body(movement, Side::Right, random.rotation());
    body.posture = Movement::WristExtension.usual_posture();
    let unit = UnitErrors::consumer(104.0, &mut random);
    let samples = unit.sample(&body, &timeline(35.0), &mut random);
    let windows = CalibrationWindows {
        posture: body.posture,
        ..windows(movement, Side::Right)
    };
    let fault = align(&smoothed(&samples), &windows, &CalibrationParams::default()).unwrap_err();
    assert!(
        matches!(fault, CalibrationFault::AlongGravity { .. }),
        "{fault}"
    );
    assert!(fault.to_string().contains("another movement or posture"));
}

#[test]
fn a_movement_about_two_axes_is_no_calibration() {
    let mut random = Random::new(9);
    let mut timeline = timeline(30.0);
    let body = body(Movement::WristExtension, Side::Right, random.rotation());
    // The whole arm turns as far about other axes meanwhile.
    for (start_s, turn) in [
        (2.0, Vector3::new(0.0, 0.9, 0.0)),
        (3.2, Vector3::new(0.0, 0.0, 0.9)),
    ] {
        timeline
            .arm_moves
            .push(carpotempo::source::simulator::timeline::ArmMove {
                start_s,
                stroke_s: 0.6,
                stay_s: 0.0,
                turn_rad: turn,
                kind: carpotempo::source::simulator::timeline::ArmMoveKind::OutAndBack,
            });
    }
    let unit = UnitErrors::consumer(104.0, &mut random);
    let samples = unit.sample(&body, &timeline, &mut random);
    let windows = windows(Movement::WristExtension, Side::Right);
    let fault = align(&smoothed(&samples), &windows, &CalibrationParams::default()).unwrap_err();
    assert!(
        matches!(fault, CalibrationFault::NotOneAxis { .. }),
        "{fault}"
    );
}

#[test]
fn up_seen_from_the_hand_follows_the_posture() {
    let down = Movement::WristExtension.usual_posture();
    let palm_up = Movement::WristFlexion.usual_posture();
    for side in [Side::Right, Side::Left] {
        assert!((up_in_hand(&down, side) + Vector3::x()).norm() < 1e-12);
        assert!((up_in_hand(&palm_up, side) - Vector3::x()).norm() < 1e-12);
    }
}
