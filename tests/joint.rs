//! From orientation to wrist angles: published poses, closed forms, and calibrations of a simulated
//! arm whose sensor sits at any angle.
//!
//! Definition: Wu et al., J Biomech 38:981-992, 2005: forearm from hand = Rz(flexion) Rx(ulnar)
//! Ry(pronation); flexion, ulnar deviation and pronation positive on both hands.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

#[path = "common/reference.rs"]
mod reference;

use std::collections::BTreeMap;

use carpotempo::joint::{
    Alignment, CalibrationFault, CalibrationParams, CalibrationWindows, IsbAngles, align,
    lift_axis_in_hand, world_from_forearm, wrist_angles, wrist_rotation,
};
use carpotempo::movement::{ForearmRotation, JointAxis, Movement, Posture, Side};
use carpotempo::orientation::{
    Oriented, RateMeaning, SmootherParams, StillParams, level, smooth, still_spans,
};
use carpotempo::sample::GRAVITY_M_S2;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::{Piece, Shape, Timeline};
use carpotempo::source::simulator::unit::UnitErrors;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use reference::reference;

const SIDES: [Side; 2] = [Side::Right, Side::Left];
const MOVEMENTS: [Movement; 6] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
    Movement::Supination,
    Movement::Pronation,
];

/// Rows of a file of check vectors, by the names of their columns.
fn rows(file: &str) -> Vec<BTreeMap<String, String>> {
    let Some(folder) = reference() else {
        return Vec::new();
    };
    let mut reader = csv::Reader::from_path(folder.join("vectors").join(file)).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap()
}

fn angles_of(row: &BTreeMap<String, String>) -> IsbAngles {
    IsbAngles {
        flexion_deg: number(row, "flex_deg"),
        deviation_deg: number(row, "ulnar_deg"),
        rotation_deg: number(row, "pron_deg"),
    }
}

fn apart_deg(a: &IsbAngles, b: &IsbAngles) -> f64 {
    [
        JointAxis::Flexion,
        JointAxis::Deviation,
        JointAxis::Rotation,
    ]
    .map(|axis| (a.component_deg(axis) - b.component_deg(axis)).abs())
    .into_iter()
    .fold(0.0, f64::max)
}

#[test]
fn the_poses_of_the_isb_definition_read_as_their_angles_on_both_arms() {
    // Source: reference data isb_wrist_angles.csv (scipy 1.17.1 by the definition above).
    let rows = rows("isb_wrist_angles.csv");
    assert!(rows.is_empty() || rows.len() == 20, "{} poses", rows.len());
    for row in &rows {
        let angles = angles_of(row);
        for (side, hand) in [(Side::Right, "right"), (Side::Left, "left")] {
            let part = |letter: &str| number(row, &format!("{hand}_q{letter}"));
            let pose = UnitQuaternion::from_quaternion(Quaternion::new(
                part("w"),
                part("x"),
                part("y"),
                part("z"),
            ));
            // The vectors carry nine decimals: 1e-7 degrees.
            let read = wrist_angles(&pose, side);
            assert!(
                apart_deg(&read, &angles) < 1e-6,
                "{} {hand}: {read:?}",
                row["name"]
            );
            let made = wrist_rotation(&angles, side);
            assert!(
                made.angle_to(&pose) < 1e-8,
                "{} {hand}: {made}",
                row["name"]
            );
        }
        let matrix = wrist_rotation(&angles, Side::Right).to_rotation_matrix();
        for i in 0..3 {
            for j in 0..3 {
                let expected = number(row, &format!("m{}{}", i + 1, j + 1));
                let made = matrix[(i, j)];
                assert!((made - expected).abs() < 1e-9, "{} m{i}{j}", row["name"]);
            }
        }
    }
}

#[test]
fn two_sensors_with_their_mountings_give_the_wrist_between_them() {
    // Source: reference data two_sensor_vectors.json: world_from_sensor = world_from_segment *
    // mount, right arm.
    let Some(folder) = reference() else { return };
    let text = std::fs::read_to_string(folder.join("vectors/two_sensor_vectors.json")).unwrap();
    let poses: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    assert_eq!(poses.len(), 16);
    for pose in &poses {
        let rotation = |key: &str| {
            let q: Vec<f64> = serde_json::from_value(pose[key].clone()).unwrap();
            UnitQuaternion::from_quaternion(Quaternion::new(q[0], q[1], q[2], q[3]))
        };
        let world_from_forearm =
            rotation("q_forearm_sensor_wxyz") * rotation("mount_forearm_wxyz").inverse();
        let world_from_hand =
            rotation("q_hand_sensor_wxyz") * rotation("mount_hand_wxyz").inverse();
        let read = wrist_angles(
            &(world_from_forearm.inverse() * world_from_hand),
            Side::Right,
        );
        let degrees = |key: &str| pose[key].as_f64().unwrap();
        let expected = IsbAngles {
            flexion_deg: degrees("flex_deg"),
            deviation_deg: degrees("ulnar_deg"),
            rotation_deg: degrees("pron_deg"),
        };
        assert!(
            apart_deg(&read, &expected) < 1e-9,
            "{}: {read:?}",
            pose["name"]
        );
    }
}

#[test]
fn gravity_alone_tells_the_angle_of_a_resting_hand() {
    // Source: reference data static_inclination_*_hand.csv: geometry, specific force at rest in
    // hand axes.
    for (file, side) in [
        ("static_inclination_right_hand.csv", Side::Right),
        ("static_inclination_left_hand.csv", Side::Left),
    ] {
        let rows = rows(file);
        assert!(rows.is_empty() || rows.len() >= 17, "{file}");
        for row in &rows {
            let (axis_in_hand, axis) = match &row["case"][..2] {
                "FE" => (Vector3::z(), JointAxis::Flexion),
                "RU" => (Vector3::x(), JointAxis::Deviation),
                "PS" => (Vector3::y(), JointAxis::Rotation),
                other => panic!("a case that is not known: {other}"),
            };
            let gravity = |row: &BTreeMap<String, String>| {
                Vector3::new(number(row, "ax"), number(row, "ay"), number(row, "az"))
            };
            let neutral = rows
                .iter()
                .find(|other| other["case"] == row["case"] && number(other, "angle_deg") == 0.0)
                .expect("every case has its neutral pose");
            let world_from_neutral = level(&gravity(neutral));
            // The heading is arbitrary: the measured axis, which lies level, keeps its own.
            let world_from_hand = level(&gravity(row));
            let (before, now) = (
                world_from_neutral * axis_in_hand,
                world_from_hand * axis_in_hand,
            );
            let heading_rad = before.y.atan2(before.x) - now.y.atan2(now.x);
            let heading = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
            let read = wrist_angles(
                &(world_from_neutral.inverse() * heading * world_from_hand),
                side,
            );
            let mut expected = IsbAngles::default();
            let angle_deg = number(row, "angle_deg");
            match axis {
                JointAxis::Flexion => expected.flexion_deg = angle_deg,
                JointAxis::Deviation => expected.deviation_deg = angle_deg,
                JointAxis::Rotation => expected.rotation_deg = angle_deg,
            }
            // Six decimals of m/s²: about 1e-5 degrees.
            assert!(
                apart_deg(&read, &expected) < 1e-4,
                "{} {angle_deg} on {file}: {read:?}",
                row["case"]
            );
        }
    }
}

/// Where directions of the hand point in the world (x forward, y left, z up) with the wrist moved
/// by 20 degrees in the direction of a movement's lift.
struct Pointing {
    fingers: Vector3<f64>,
    palm: Vector3<f64>,
    thumb: Vector3<f64>,
}

fn pointing(movement: Movement, side: Side, lifted_deg: f64) -> Pointing {
    let posture = movement.usual_posture();
    let turn = lift_axis_in_hand(movement, side).unwrap() * lifted_deg.to_radians();
    let hand = world_from_forearm(&posture, side) * UnitQuaternion::from_scaled_axis(turn);
    let thumb_in_hand = match side {
        Side::Right => Vector3::z(),
        Side::Left => -Vector3::z(),
    };
    Pointing {
        fingers: hand * -Vector3::y(),
        palm: hand * Vector3::x(),
        thumb: hand * thumb_in_hand,
    }
}

#[test]
fn lifts_go_where_anatomy_says_on_both_hands() {
    // Anatomy, in world directions: the usual postures and what the words mean.
    for side in SIDES {
        let rises = |movement| {
            let (rest, lifted) = (
                pointing(movement, side, 0.0),
                pointing(movement, side, 20.0),
            );
            (rest, lifted)
        };
        let inward = match side {
            Side::Right => 1.0,
            Side::Left => -1.0,
        };
        let (rest, lifted) = rises(Movement::WristExtension);
        assert!((rest.palm + Vector3::z()).norm() < 1e-9, "palm down");
        assert!((rest.fingers - Vector3::x()).norm() < 1e-9, "forward");
        assert!(
            (rest.thumb.y - inward).abs() < 1e-9,
            "thumbs face each other"
        );
        assert!(lifted.fingers.z > 0.3, "extension raises the fingers");
        let (rest, lifted) = rises(Movement::WristFlexion);
        assert!((rest.palm - Vector3::z()).norm() < 1e-9, "palm up");
        assert!(lifted.fingers.z > 0.3, "flexion raises the fingers");
        let (rest, lifted) = rises(Movement::RadialDeviation);
        assert!((rest.thumb - Vector3::z()).norm() < 1e-9, "thumb up");
        assert!((rest.palm.y - inward).abs() < 1e-9, "palms face each other");
        assert!(lifted.fingers.z > 0.3, "towards the thumb is up");
        let (rest, lifted) = rises(Movement::UlnarDeviation);
        assert!((rest.fingers + Vector3::z()).norm() < 1e-9, "the arm hangs");
        assert!(rest.thumb.x > 0.99, "the thumb points forward");
        assert!(lifted.fingers.x < -0.3, "towards the little finger is back");
        let (rest, lifted) = rises(Movement::Supination);
        assert!(rest.palm.z.abs() < 1e-9);
        assert!(lifted.palm.z > 0.3, "supination turns the palm up");
        let (_, lifted) = rises(Movement::Pronation);
        assert!(lifted.palm.z < -0.3, "pronation turns the palm down");
    }
}

/// A still pose of 2.5 s, the known movement, and three repetitions of it.
fn calibrating(travel_deg: f64) -> (Timeline, CalibrationTimes) {
    let mut timeline = Timeline::default();
    let mut now_s = 0.0;
    let mut angle_deg = 0.0;
    let mut go = |to_deg: f64, lasting_s: f64| {
        timeline.pieces.push(Piece {
            start_s: now_s,
            end_s: now_s + lasting_s,
            from_deg: angle_deg,
            to_deg,
            shape: Shape::MinimumJerk,
        });
        now_s += lasting_s;
        angle_deg = to_deg;
        now_s
    };
    let still_end_s = go(0.0, 2.5);
    go(travel_deg, 1.2);
    go(travel_deg, 0.4);
    go(0.0, 1.4);
    let move_end_s = go(0.0, 1.0);
    for share in [1.1, 0.9, 1.0] {
        go(share * travel_deg, 1.5);
        go(share * travel_deg, 0.6);
        go(0.0, 2.5);
        go(0.0, 0.8);
    }
    timeline.duration_s = now_s;
    let times = CalibrationTimes {
        still_s: [0.2, still_end_s],
        move_s: [still_end_s, move_end_s],
    };
    (timeline, times)
}

#[derive(Clone, Copy)]
struct CalibrationTimes {
    still_s: [f64; 2],
    move_s: [f64; 2],
}

impl CalibrationTimes {
    fn windows(self, side: Side, movement: Movement, posture: Posture) -> CalibrationWindows {
        CalibrationWindows {
            side,
            movement,
            posture,
            still_start_s: self.still_s[0],
            still_end_s: self.still_s[1],
            move_start_s: self.move_s[0],
            move_end_s: self.move_s[1],
        }
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

fn oriented(samples: &[carpotempo::sample::Sample]) -> Vec<Oriented> {
    smooth(
        samples,
        &still_spans(samples, &StillParams::default()),
        &SmootherParams {
            rate_meaning: RateMeaning::AtInstant,
            ..SmootherParams::default()
        },
    )
}

fn largest_and_rms(errors: impl Iterator<Item = f64>) -> (f64, f64) {
    let (mut largest, mut sum, mut count) = (0.0_f64, 0.0, 0.0);
    for error in errors {
        largest = largest.max(error.abs());
        sum += error * error;
        count += 1.0;
    }
    (largest, (sum / count).sqrt())
}

#[test]
fn a_calibration_aligns_any_mounting_of_a_noisy_unit_on_both_hands() {
    // Truth: the simulator's own wrist angle. The bounds are ours (common practice, no source):
    // twice the worst found.
    const MEASURED_RMS_DEG: f64 = 0.4;
    const ACROSS_RMS_DEG: f64 = 0.3;
    let mut random = Random::new(2005);
    for movement in MOVEMENTS {
        let (mut worst, mut worst_across) = (0.0_f64, 0.0_f64);
        for side in SIDES {
            for _ in 0..4 {
                let travel_deg = match movement.joint_axis().unwrap() {
                    JointAxis::Flexion => random.between(30.0, 60.0),
                    JointAxis::Deviation => random.between(18.0, 30.0),
                    JointAxis::Rotation => random.between(40.0, 75.0),
                };
                let (timeline, times) = calibrating(travel_deg);
                let body = body(movement, side, random.rotation());
                let unit = UnitErrors::consumer(104.0, &mut random);
                let samples = unit.sample(&body, &timeline, &mut random);
                let oriented = oriented(&samples);
                let windows = times.windows(side, movement, body.posture);
                let params = CalibrationParams::default();
                let alignment = align(&oriented, &windows, &params).unwrap();
                assert!((alignment.travel_deg - travel_deg).abs() < 0.02 * travel_deg + 0.5);
                let axis = movement.joint_axis().unwrap();
                let true_deg = |t_s: f64| movement.isb_sign() * timeline.angle_deg(t_s);
                let angles: Vec<(f64, IsbAngles)> = oriented
                    .iter()
                    .map(|o| (o.t_s, alignment.angles(o)))
                    .collect();
                let (_, rms_deg) = largest_and_rms(
                    angles
                        .iter()
                        .map(|(t_s, own)| own.component_deg(axis) - true_deg(*t_s)),
                );
                let across = [
                    JointAxis::Flexion,
                    JointAxis::Deviation,
                    JointAxis::Rotation,
                ]
                .into_iter()
                .filter(|other| *other != axis)
                .map(|other| {
                    largest_and_rms(angles.iter().map(|(_, own)| own.component_deg(other))).1
                })
                .fold(0.0, f64::max);
                worst = worst.max(rms_deg);
                worst_across = worst_across.max(across);
                assert!(
                    rms_deg <= MEASURED_RMS_DEG,
                    "{} {}: {rms_deg} deg",
                    movement.name(),
                    side.name()
                );
                assert!(
                    across <= ACROSS_RMS_DEG,
                    "{} {}: {across} deg across",
                    movement.name(),
                    side.name()
                );
            }
        }
        println!(
            "{}: error of the measured angle at most {worst:.2} deg rms, of the others {worst_across:.2}",
            movement.name()
        );
    }
}

/// Noise-free orientations of a hand that goes through wrist angles, one each hundredth of a
/// second.
fn noise_free(
    posture: &Posture,
    side: Side,
    hand_from_sensor: &UnitQuaternion<f64>,
    duration_s: f64,
    angles_at: impl Fn(f64) -> IsbAngles,
) -> Vec<Oriented> {
    (0..(100.0 * duration_s) as usize)
        .map(|i| {
            let t_s = i as f64 / 100.0;
            let world_from_sensor = world_from_forearm(posture, side)
                * wrist_rotation(&angles_at(t_s), side)
                * hand_from_sensor;
            Oriented {
                t_s,
                world_from_sensor,
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: world_from_sensor.inverse()
                    * Vector3::new(0.0, 0.0, GRAVITY_M_S2),
            }
        })
        .collect()
}

/// Goes from 0 to 1 smoothly between two times.
fn rise(t_s: f64, from_s: f64, to_s: f64) -> f64 {
    let u = ((t_s - from_s) / (to_s - from_s)).clamp(0.0, 1.0);
    u * u * (3.0 - 2.0 * u)
}

fn along(movement: Movement, amount_deg: f64) -> IsbAngles {
    let signed_deg = movement.isb_sign() * amount_deg;
    let mut angles = IsbAngles::default();
    match movement.joint_axis().unwrap() {
        JointAxis::Flexion => angles.flexion_deg = signed_deg,
        JointAxis::Deviation => angles.deviation_deg = signed_deg,
        JointAxis::Rotation => angles.rotation_deg = signed_deg,
    }
    angles
}

const TIMES: CalibrationTimes = CalibrationTimes {
    still_s: [0.0, 2.0],
    move_s: [2.0, 5.0],
};

/// Out by `travel_deg` from 2 to 3.2 s and back by 4.8 s.
fn there_and_back(t_s: f64, travel_deg: f64) -> f64 {
    travel_deg * (rise(t_s, 2.0, 3.2) - rise(t_s, 3.4, 4.8))
}

fn aligned(
    oriented: &[Oriented],
    side: Side,
    movement: Movement,
    posture: Posture,
) -> Result<Alignment, CalibrationFault> {
    align(
        oriented,
        &TIMES.windows(side, movement, posture),
        &CalibrationParams::default(),
    )
}

#[test]
fn combined_poses_are_read_exactly_whatever_movement_calibrated_and_however_the_sensor_sits() {
    // Closed form. After the calibration the wrist goes through poses in all three angles at once:
    // single-axis poses could not find a wrong frame.
    let mut random = Random::new(26);
    let through = |t_s: f64| IsbAngles {
        flexion_deg: 40.0 * rise(t_s, 5.2, 7.0) - 75.0 * rise(t_s, 7.5, 9.5),
        deviation_deg: 25.0 * rise(t_s, 5.5, 7.2) - 40.0 * rise(t_s, 7.4, 9.0),
        rotation_deg: -50.0 * rise(t_s, 5.3, 7.4) + 90.0 * rise(t_s, 7.6, 9.8),
    };
    for movement in MOVEMENTS {
        for side in SIDES {
            for _ in 0..3 {
                let posture = movement.usual_posture();
                let mounting: UnitQuaternion<f64> = random.rotation();
                let angles_at = |t_s: f64| {
                    if t_s < 5.0 {
                        along(movement, there_and_back(t_s, 25.0))
                    } else {
                        through(t_s)
                    }
                };
                let oriented = noise_free(&posture, side, &mounting, 10.0, angles_at);
                let alignment = aligned(&oriented, side, movement, posture).unwrap();
                let wrong = alignment.sensor_from_hand.inverse().angle_to(&mounting);
                assert!(wrong < 1e-8, "{} {}: {wrong}", movement.name(), side.name());
                for own in &oriented {
                    let read = alignment.angles(own);
                    let apart = apart_deg(&read, &angles_at(own.t_s));
                    assert!(
                        apart < 1e-6,
                        "{} {}: {apart} deg at {} s",
                        movement.name(),
                        side.name(),
                        own.t_s
                    );
                }
            }
        }
    }
}

#[test]
fn the_mounting_does_not_change_an_angle_of_noise_free_samples() {
    let mut random = Random::new(3);
    for (movement, side) in MOVEMENTS.into_iter().zip(SIDES.into_iter().cycle()) {
        let (timeline, times) = calibrating(25.0);
        let read = |mounting: UnitQuaternion<f64>, random: &mut Random| -> Vec<IsbAngles> {
            let body = body(movement, side, mounting);
            let samples = UnitErrors::none(100.0).sample(&body, &timeline, random);
            let oriented = oriented(&samples);
            let windows = times.windows(side, movement, body.posture);
            let alignment = align(&oriented, &windows, &CalibrationParams::default()).unwrap();
            oriented.iter().map(|o| alignment.angles(o)).collect()
        };
        let plain = read(UnitQuaternion::identity(), &mut random);
        for _ in 0..3 {
            let mounting = random.rotation();
            let other = read(mounting, &mut random);
            let apart = plain
                .iter()
                .zip(&other)
                .map(|(a, b)| apart_deg(a, b))
                .fold(0.0, f64::max);
            assert!(apart < 1e-6, "{}: {apart} deg", movement.name());
        }
    }
}

#[test]
fn a_calibration_holds_in_another_posture_and_facing() {
    // Closed form: calibrated palm down, then the forearm lies palm up and faces 70 degrees
    // further to the left.
    let mut random = Random::new(8);
    let movement = Movement::WristExtension;
    let from = movement.usual_posture();
    let to = Movement::WristFlexion.usual_posture();
    let facing = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), 70_f64.to_radians());
    for side in SIDES {
        let mounting = random.rotation();
        let calibrating = noise_free(&from, side, &mounting, 6.0, |t_s| {
            along(movement, there_and_back(t_s, 30.0))
        });
        let alignment = aligned(&calibrating, side, movement, from).unwrap();
        let angles_at = |t_s: f64| IsbAngles {
            flexion_deg: 45.0 * rise(t_s, 1.0, 2.5),
            deviation_deg: -15.0 * rise(t_s, 1.5, 3.0),
            rotation_deg: 10.0 * rise(t_s, 1.2, 3.0),
        };
        let mut set = noise_free(&to, side, &mounting, 4.0, angles_at);
        for own in &mut set {
            own.world_from_sensor = facing * own.world_from_sensor;
        }
        let alignment = alignment.at_posture(&from, &to).facing(&set[0]);
        for own in &set {
            let apart = apart_deg(&alignment.angles(own), &angles_at(own.t_s));
            assert!(apart < 1e-6, "{}: {apart} deg", side.name());
        }
    }
}

/// The refusal of a calibration and its message, which must tell what to do.
fn refused(result: Result<Alignment, CalibrationFault>, words: &[&str]) -> CalibrationFault {
    let fault = result.expect_err("the calibration is refused");
    let message = fault.to_string();
    assert_eq!(message.lines().count(), 1);
    for word in words {
        assert!(message.contains(word), "\"{word}\" is not in: {message}");
    }
    fault
}

#[test]
fn a_pose_too_short_is_refused() {
    let movement = Movement::WristExtension;
    let posture = movement.usual_posture();
    let mounting = UnitQuaternion::identity();
    let oriented = noise_free(&posture, Side::Right, &mounting, 6.0, |t_s| {
        along(movement, there_and_back(t_s, 30.0))
    });
    for still_s in [[0.0, 0.5], [7.0, 9.0], [2.0, 1.0]] {
        let times = CalibrationTimes { still_s, ..TIMES };
        let windows = times.windows(Side::Right, movement, posture);
        let fault = refused(
            align(&oriented, &windows, &CalibrationParams::default()),
            &["0.8 s", "hold still again"],
        );
        assert!(
            matches!(fault, CalibrationFault::TooShort { .. }),
            "{fault:?}"
        );
    }
}

#[test]
fn a_pose_that_is_not_still_is_refused() {
    let movement = Movement::WristExtension;
    let posture = movement.usual_posture();
    let oriented = noise_free(
        &posture,
        Side::Left,
        &UnitQuaternion::identity(),
        6.0,
        |t_s| {
            along(
                movement,
                there_and_back(t_s, 30.0) + 12.0 * rise(t_s, 0.2, 1.8),
            )
        },
    );
    let fault = refused(
        aligned(&oriented, Side::Left, movement, posture),
        &["degrees", "hold still again"],
    );
    let CalibrationFault::NotStill { turned_deg } = fault else {
        panic!("{fault:?}");
    };
    assert!((4.0..12.0).contains(&turned_deg), "{turned_deg}");
}

#[test]
fn a_movement_too_small_is_refused() {
    let movement = Movement::Supination;
    let posture = movement.usual_posture();
    for travel_deg in [0.0, 9.0] {
        let mounting = UnitQuaternion::identity();
        let oriented = noise_free(&posture, Side::Right, &mounting, 6.0, |t_s| {
            along(movement, there_and_back(t_s, travel_deg))
        });
        let fault = refused(
            aligned(&oriented, Side::Right, movement, posture),
            &["15 are needed"],
        );
        let CalibrationFault::TooSmall {
            travel_deg: found_deg,
            ..
        } = fault
        else {
            panic!("{fault:?}");
        };
        assert!((found_deg - travel_deg).abs() < 0.1, "{found_deg}");
    }
}

#[test]
fn a_movement_about_more_than_one_axis_is_refused() {
    // The hand goes round instead of out and back.
    let movement = Movement::WristExtension;
    let posture = movement.usual_posture();
    let oriented = noise_free(
        &posture,
        Side::Right,
        &UnitQuaternion::identity(),
        6.0,
        |t_s| {
            let turn_rad = std::f64::consts::TAU * rise(t_s, 2.2, 4.8);
            IsbAngles {
                flexion_deg: 25.0 * (turn_rad.cos() - 1.0),
                deviation_deg: 25.0 * turn_rad.sin(),
                rotation_deg: 0.0,
            }
        },
    );
    let fault = refused(
        aligned(&oriented, Side::Right, movement, posture),
        &["one axis", "in one direction and back"],
    );
    let CalibrationFault::NotOneAxis { share_percent } = fault else {
        panic!("{fault:?}");
    };
    assert!((0.0..70.0).contains(&share_percent), "{share_percent}");
}

#[test]
fn a_movement_about_the_vertical_is_refused() {
    // Deviation with the palm down: gravity cannot tell how the sensor sits around the axis.
    let movement = Movement::RadialDeviation;
    let posture = Posture {
        rotation: ForearmRotation::PalmDown,
        ..movement.usual_posture()
    };
    let mounting = Random::new(1).rotation();
    let oriented = noise_free(&posture, Side::Right, &mounting, 6.0, |t_s| {
        along(movement, there_and_back(t_s, 25.0))
    });
    let fault = refused(
        aligned(&oriented, Side::Right, movement, posture),
        &["vertical", "use another movement or posture"],
    );
    assert!(
        matches!(fault, CalibrationFault::AlongGravity { .. }),
        "{fault:?}"
    );
}

#[test]
fn arm_circles_are_no_calibration() {
    let movement = Movement::WristExtension;
    let posture = movement.usual_posture();
    let oriented = noise_free(
        &posture,
        Side::Right,
        &UnitQuaternion::identity(),
        6.0,
        |t_s| along(movement, there_and_back(t_s, 25.0)),
    );
    let fault = refused(
        aligned(&oriented, Side::Right, Movement::ArmCircles, posture),
        &["arm-circles", "use a movement of the wrist"],
    );
    assert!(
        matches!(fault, CalibrationFault::NoJointAxis(_)),
        "{fault:?}"
    );
}
