//! The heading between two units and the hand seen from the forearm, where the answer is known.

use carpotempo::joint::two::{
    Bout, ForearmPose, ForearmTrack, Heading, HeadingParams, in_hand_world, pose_at, seen_by,
    seen_from_forearm, solve,
};
use carpotempo::joint::{Alignment, wrist_angles};
use carpotempo::movement::Side;
use carpotempo::orientation::Oriented;
use carpotempo::source::simulator::random::Random;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

use crate::reference::reference;

fn about(axis: Vector3<f64>, deg: f64) -> UnitQuaternion<f64> {
    UnitQuaternion::from_scaled_axis(axis.normalize() * deg.to_radians())
}

fn upright(deg: f64) -> UnitQuaternion<f64> {
    about(Vector3::z(), deg)
}

/// Both units of an arm that moves, each in its own world; `heading_deg` at a time.
struct Arm {
    hand: Vec<Oriented>,
    forearm: Vec<Oriented>,
    /// The hand against the forearm's unit.
    relative: Vec<UnitQuaternion<f64>>,
}

fn arm(seed: u64, lasting_s: f64, forearm_deg: f64, heading_deg: impl Fn(f64) -> f64) -> Arm {
    let mut random = Random::new(seed);
    let (on_hand, on_forearm) = (random.rotation(), random.rotation());
    let axis = random.direction();
    let sway: Vec<(Vector3<f64>, f64, f64)> = (0..3)
        .map(|_| {
            (
                random.direction(),
                random.between(0.05, 0.2),
                random.between(0.0, 6.0),
            )
        })
        .collect();
    let base = random.rotation();
    let mut made = Arm {
        hand: Vec::new(),
        forearm: Vec::new(),
        relative: Vec::new(),
    };
    let forearm_at = |t_s: f64| {
        sway.iter().fold(base, |turned, (axis, hz, phase)| {
            let wave = (std::f64::consts::TAU * hz * t_s + phase).sin();
            about(*axis, 0.5 * forearm_deg * wave) * turned
        })
    };
    let wrist_at = |t_s: f64| about(axis, 25.0 * (1.0 - (1.3 * t_s).cos()));
    let both_at = |t_s: f64| {
        let forearm = forearm_at(t_s);
        (
            upright(-heading_deg(t_s)) * forearm * wrist_at(t_s) * on_hand,
            forearm * on_forearm,
        )
    };
    for step in 0..(lasting_s / 0.02) as usize {
        let t_s = 0.02 * step as f64;
        let (hand, forearm) = both_at(t_s);
        let (hand_next, forearm_next) = both_at(t_s + 1e-4);
        let oriented = |now: UnitQuaternion<f64>, next: UnitQuaternion<f64>| Oriented {
            t_s,
            world_from_sensor: now,
            gyro_in_sensor_rad_s: (now.inverse() * next).scaled_axis() / 1e-4,
            accel_in_sensor_m_s2: now.inverse() * Vector3::new(0.0, 0.0, 9.81),
        };
        made.hand.push(oriented(hand, hand_next));
        made.forearm.push(oriented(forearm, forearm_next));
        made.relative
            .push(on_forearm.inverse() * wrist_at(t_s) * on_hand);
    }
    made
}

fn solved(arm: &Arm) -> Heading {
    let track = ForearmTrack::new(&arm.forearm);
    let bouts = [Bout { hand: &arm.hand }];
    solve(&track, &bouts, &HeadingParams::default(), None).unwrap()
}

/// By how much the hand against the forearm is off at most, degrees.
fn off_deg(arm: &Arm, heading: &Heading) -> f64 {
    let track = ForearmTrack::new(&arm.forearm);
    arm.hand
        .iter()
        .zip(&arm.relative)
        .map(|(hand, relative)| {
            let forearm = pose_at(&track, heading, hand.t_s).unwrap();
            (forearm.inverse() * hand.world_from_sensor)
                .angle_to(relative)
                .to_degrees()
        })
        .fold(0.0, f64::max)
}

#[test]
fn exact_data_give_the_exact_hand_against_the_forearm_for_any_mounting_and_heading() {
    for seed in 0..24 {
        let heading_deg = 15.0 * seed as f64;
        let arm = arm(seed, 40.0, 30.0, |_| heading_deg);
        let heading = solved(&arm);
        assert!(off_deg(&arm, &heading) < 0.05, "seed {seed}");
        assert!(heading.offset_s().abs() < 1e-3, "seed {seed}: {heading:?}");
        assert!(heading.sd_deg < 2.0, "seed {seed}: {}", heading.sd_deg);
    }
}

#[test]
fn a_heading_that_drifts_by_three_degrees_a_minute_is_followed_for_ten_minutes() {
    for (seed, drift_deg_s) in [(40, 0.05), (41, -0.05), (42, 0.3)] {
        let arm = arm(seed, 600.0, 30.0, |t_s| 70.0 + drift_deg_s * t_s);
        let heading = solved(&arm);
        for at_s in [0.0, 150.0, 300.0, 450.0, 600.0_f64] {
            let off = upright(heading.at_rad(at_s).to_degrees())
                .angle_to(&upright(70.0 + drift_deg_s * at_s));
            assert!(off.to_degrees() < 0.5, "seed {seed} at {at_s} s: {off}");
        }
        assert!(off_deg(&arm, &heading) < 0.5, "seed {seed}");
    }
}

#[test]
fn what_the_forearm_sees_does_not_depend_on_either_units_heading() {
    let one = arm(7, 30.0, 30.0, |_| 20.0);
    let mut other = arm(7, 30.0, 30.0, |_| 20.0);
    for oriented in &mut other.forearm {
        oriented.world_from_sensor = upright(140.0) * oriented.world_from_sensor;
    }
    let seen = |arm: &Arm| {
        let heading = solved(arm);
        let track = ForearmTrack::new(&arm.forearm);
        let reference = pose_at(&track, &heading, 0.0).unwrap();
        seen_from_forearm(&arm.hand, &track, &heading, &reference)
    };
    let (one, other) = (seen(&one), seen(&other));
    for (a, b) in one.oriented.iter().zip(&other.oriented) {
        let apart_deg = a
            .world_from_sensor
            .angle_to(&b.world_from_sensor)
            .to_degrees();
        assert!(apart_deg < 0.02, "{} s: {apart_deg}", a.t_s);
    }
    assert!((one.travel_deg.unwrap() - other.travel_deg.unwrap()).abs() < 0.02);
}

#[test]
fn a_forearm_that_keeps_still_shows_no_heading_and_needs_none() {
    let arm = arm(3, 40.0, 0.0, |_| 50.0);
    let heading = solved(&arm);
    assert!(heading.bouts[0].sd_deg > 57.0, "{:?}", heading.bouts);
    assert_eq!(heading.offset, None, "no clock offset shows either");
}

#[test]
fn a_clock_offset_is_found_to_some_milliseconds() {
    for (seed, offset_s) in [(11, 0.3), (12, -0.45), (13, 0.02), (14, -0.004)] {
        let mut arm = arm(seed, 60.0, 30.0, |_| 10.0);
        for oriented in &mut arm.forearm {
            oriented.t_s -= offset_s;
        }
        let heading = solved(&arm);
        let off_s = heading.offset_s() - offset_s;
        assert!(off_s.abs() < 0.005, "seed {seed}: {:?}", heading.offset);
    }
}

#[test]
fn the_check_vectors_read_the_same_through_the_forearms_sight() {
    // Source: reference data two_sensor_vectors.json, right arm: world_from_sensor =
    // world_from_segment * mount. The first is the neutral pose.
    let Some(folder) = reference() else { return };
    let text = std::fs::read_to_string(folder.join("vectors/two_sensor_vectors.json")).unwrap();
    let poses: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    assert_eq!(poses.len(), 16);
    let rotation = |pose: &serde_json::Value, key: &str| {
        let q: Vec<f64> = serde_json::from_value(pose[key].clone()).unwrap();
        UnitQuaternion::from_quaternion(Quaternion::new(q[0], q[1], q[2], q[3]))
    };
    let segment = |pose: &serde_json::Value| {
        rotation(pose, "q_forearm_sensor_wxyz") * rotation(pose, "mount_forearm_wxyz").inverse()
    };
    let at = |world_from_sensor| Oriented {
        t_s: 0.0,
        world_from_sensor,
        gyro_in_sensor_rad_s: Vector3::zeros(),
        accel_in_sensor_m_s2: Vector3::zeros(),
    };
    let neutral = segment(&poses[0]);
    for (index, pose) in poses.iter().enumerate() {
        // The forearm's world has another heading.
        let heading_rad = 0.3 + 0.4 * index as f64;
        let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
        let forearm = ForearmPose {
            world_from_sensor: turn * segment(pose),
            gyro_in_sensor_rad_s: Vector3::zeros(),
        };
        assert!(in_hand_world(&forearm, heading_rad).angle_to(&segment(pose)) < 1e-9);
        let hand = at(rotation(pose, "q_hand_sensor_wxyz"));
        let seen = seen_by(&hand, &forearm, heading_rad, &neutral);
        let alignment = Alignment {
            side: Side::Right,
            sensor_from_hand: rotation(pose, "mount_hand_wxyz").inverse(),
            world_from_neutral_hand: neutral,
            travel_deg: 0.0,
        };
        let read = alignment.angles(&seen);
        let expected = ["flex_deg", "ulnar_deg", "pron_deg"].map(|key| pose[key].as_f64().unwrap());
        let found = [read.flexion_deg, read.deviation_deg, read.rotation_deg];
        for (found, expected) in found.iter().zip(expected) {
            assert!(
                (found - expected).abs() < 1e-6,
                "{}: {read:?}",
                pose["name"]
            );
        }
        let straight = wrist_angles(
            &(segment(pose).inverse() * hand.world_from_sensor * alignment.sensor_from_hand),
            Side::Right,
        );
        assert!((straight.flexion_deg - read.flexion_deg).abs() < 1e-6);
    }
}
