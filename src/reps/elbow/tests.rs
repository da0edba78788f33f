//! Closed form: turns about one and two centres, written down by hand.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use nalgebra::{UnitQuaternion, Vector3};

use super::bayes::{Column, Noise, explain};
use super::columns::Kinematics;
use super::*;

const GRAVITY_M_S2: f64 = 9.806_65;
const FOREARM_M: f64 = 0.26;
const LIFT_S: f64 = 1.5;

/// Repetitions of a squared raised cosine with rests between, about the world's y axis; the hand turns by
/// `travel_rad`, the forearm by a share of it. Exact angles, rates and accelerations.
fn curls(
    share_ratio: f64,
    lever_m: f64,
    mounted: &UnitQuaternion<f64>,
) -> (Vec<Oriented>, Vec<Lift>) {
    curls_about(share_ratio, lever_m, mounted, 0.0, 8)
}

/// So many of them, with hand and forearm so far from across the axis, radians: of their lengths the
/// cosine turns.
fn curls_about(
    share_ratio: f64,
    lever_m: f64,
    mounted: &UnitQuaternion<f64>,
    oblique_rad: f64,
    count: usize,
) -> (Vec<Oriented>, Vec<Lift>) {
    let (travel_rad, period_s) = (0.9, 2.0 * LIFT_S + 1.0);
    let begins = |k: usize| 2.0 + period_s * k as f64;
    let lifts = (0..count)
        .map(|k| Lift {
            lift_start_s: begins(k),
            lift_end_s: begins(k) + LIFT_S,
            lower_end_s: begins(k) + 2.0 * LIFT_S,
        })
        .collect();
    let rate_rad_s = std::f64::consts::PI / LIFT_S;
    let motion = |t_s: f64| {
        let since_s = (t_s - 2.0).rem_euclid(period_s);
        let moving = t_s >= 2.0 && t_s < begins(count) && since_s < 2.0 * LIFT_S;
        if !moving {
            return [0.0; 3];
        }
        let (sine, cosine) = (rate_rad_s * since_s).sin_cos();
        let half = 0.5 * (1.0 - cosine);
        let [speed, speeding] = [0.5 * rate_rad_s * sine, 0.5 * rate_rad_s.powi(2) * cosine];
        [
            half * half,
            2.0 * half * speed,
            2.0 * (speed * speed + half * speeding),
        ]
        .map(|value| travel_rad * value)
    };
    // A point that far out on a rod which points along x at angle zero and turns about -y, upwards.
    let acceleration = |length_m: f64, [angle, speed, speeding]: [f64; 3]| {
        let (sine, cosine) = angle.sin_cos();
        Vector3::new(
            -speeding * sine - speed * speed * cosine,
            0.0,
            speeding * cosine - speed * speed * sine,
        ) * length_m
            * oblique_rad.cos()
    };
    let oriented = (0..)
        .map(|i| 0.01 * f64::from(i))
        .take_while(|t_s| *t_s < begins(count) + 2.0)
        .map(|t_s| {
            let hand = motion(t_s);
            let [angle, speed, _] = hand;
            let turn = UnitQuaternion::from_scaled_axis(-Vector3::y() * angle);
            let world_from_sensor = turn * mounted;
            let force = acceleration(lever_m, hand)
                + acceleration(FOREARM_M, hand.map(|value| share_ratio * value))
                + Vector3::z() * GRAVITY_M_S2;
            Oriented {
                t_s,
                world_from_sensor,
                gyro_in_sensor_rad_s: world_from_sensor.inverse() * (-Vector3::y() * speed),
                accel_in_sensor_m_s2: world_from_sensor.inverse() * force,
            }
        })
        .collect();
    (oriented, lifts)
}

fn mountings() -> [UnitQuaternion<f64>; 3] {
    [
        UnitQuaternion::identity(),
        UnitQuaternion::from_euler_angles(0.4, -1.1, 2.0),
        UnitQuaternion::from_euler_angles(-2.5, 0.3, -0.7),
    ]
}

#[test]
fn a_turn_about_one_centre_gives_its_lever_to_a_millimetre() {
    for lever_m in [0.05, 0.07, 0.33] {
        for mounted in mountings() {
            let (oriented, lifts) = curls(0.0, lever_m, &mounted);
            let kinematics = Kinematics::of(&oriented, &lifts).unwrap();
            let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
            let columns: Vec<Column> = axes
                .iter()
                .map(|axis| kinematics.lever(axis, 0.0, 1.0))
                .collect();
            let noise = Noise {
                memory_ratio: 0.0,
                fresh_variance: 1e-8,
            };
            let found = explain(&kinematics.reading(), &columns, noise, 1e-6).unwrap();
            let lever = Vector3::from_iterator(found.mean.iter().copied());
            let along = lever - kinematics.axis * kinematics.axis.dot(&lever);
            assert!(
                (along.norm() - lever_m).abs() < 1e-3,
                "{lever_m}: {along:?}"
            );
        }
    }
}

#[test]
fn two_centres_give_the_share_whatever_the_mounting() {
    for share_ratio in [0.0, 0.3, 0.5, 0.8] {
        let mut found = Vec::new();
        for mounted in mountings() {
            let (oriented, lifts) = curls(share_ratio, 0.073, &mounted);
            let hand = HandInSensor {
                distal: mounted.inverse() * Vector3::x(),
                volar: None,
            };
            for hand in [None, Some(&hand)] {
                let reading = elbow_share(&oriented, &lifts, hand, &ElbowParams::default());
                let estimate = reading.estimate.unwrap();
                assert!(
                    (estimate.share_ratio - share_ratio).abs() < 0.05,
                    "{share_ratio}: {estimate:?}"
                );
                assert!(reading.each.iter().all(Option::is_some));
                found.push(estimate.share_ratio);
            }
        }
        let (first, rest) = found.split_first().unwrap();
        for other in rest.iter().skip(1).step_by(2) {
            assert!((other - first).abs() < 0.02, "{found:?}");
        }
    }
}

#[test]
fn two_repetitions_are_too_few_and_a_hole_takes_its_own() {
    let (oriented, lifts) = curls(0.6, 0.073, &UnitQuaternion::identity());
    let params = ElbowParams::default();
    let few = elbow_share(&oriented, lifts.get(..2).unwrap(), None, &params);
    assert_eq!(few.share.cannot_tell, Some(CannotTell::TooFew));
    let third = lifts.get(2).unwrap();
    let holed: Vec<Oriented> = oriented
        .iter()
        .filter(|o| (o.t_s - third.lift_end_s).abs() > 0.3)
        .copied()
        .collect();
    let holed = elbow_share(&holed, &lifts, None, &params);
    let told: Vec<bool> = holed.each.iter().map(Option::is_some).collect();
    assert_eq!(told, [false, false, false, true, true, true, true, true]);
}

/// Crisco et al., JBJS-A 93:169-177, 2011: the natural axis is oblique by 26.6 degrees.
#[test]
fn of_a_forearm_oblique_to_the_axis_only_what_lies_across_it_is_carried() {
    let oblique_rad = 26.6_f64.to_radians();
    for share_ratio in [0.0, 0.5, 0.8] {
        for mounted in mountings() {
            let (oriented, lifts) = curls_about(share_ratio, 0.073, &mounted, oblique_rad, 8);
            let along = Vector3::new(oblique_rad.cos(), oblique_rad.sin(), 0.0);
            let hand = HandInSensor {
                distal: mounted.inverse() * along,
                volar: None,
            };
            let reading = elbow_share(&oriented, &lifts, Some(&hand), &ElbowParams::default());
            let found = reading.estimate.unwrap().share_ratio;
            assert!((found - share_ratio).abs() < 0.05, "{share_ratio}: {found}");
        }
    }
}

#[test]
fn following_a_set_ends_where_looking_at_it_whole_does() {
    let mounted = UnitQuaternion::identity();
    // Repetitions in all, and those with a hole in them: blocks that are full, that are cut short, and
    // leftovers too few for one.
    let sets: [(usize, &[usize]); 7] = [
        (8, &[]),
        (14, &[]),
        (15, &[]),
        (27, &[]),
        (18, &[2]),
        (20, &[5, 8, 9]),
        (17, &[13]),
    ];
    for (count, holes) in sets {
        let (oriented, lifts) = curls_about(0.6, 0.073, &mounted, 0.0, count);
        let params = ElbowParams::default();
        let holed = |t_s: f64| {
            let mut holed = holes.iter().filter_map(|index| lifts.get(*index));
            holed.any(|lift| (t_s - lift.lift_end_s).abs() < 0.3)
        };
        let oriented: Vec<Oriented> = oriented.into_iter().filter(|o| !holed(o.t_s)).collect();
        let whole = elbow_share(&oriented, &lifts, None, &params);
        let mut follow = ElbowFollow::new(params, None);
        let mut coming = lifts.iter().peekable();
        for one in &oriented {
            follow.push(one);
            if let Some(lift) = coming.next_if(|lift| lift.lower_end_s + 0.3 < one.t_s) {
                follow.counted(*lift);
            }
        }
        let followed = follow.finish();
        assert_eq!(followed.share, whole.share, "{count}, {holes:?}");
        assert_eq!(followed.each, whole.each, "{count}, {holes:?}");
    }
}

#[test]
fn what_no_fit_explains_is_not_called_slow() {
    let params = ElbowParams::default();
    let beyond = Estimate {
        share_ratio: 1.6,
        error_ratio: 0.02,
    };
    let faint = Estimate {
        share_ratio: 0.4,
        error_ratio: 0.5,
    };
    let why = |looked: bool, found: &[Estimate]| {
        let blocks: Vec<(Estimate, f64)> = found.iter().map(|one| (*one, 8.0)).collect();
        let each = vec![None; 8];
        reading_of(each, looked, &blocks, &params).share.cannot_tell
    };
    assert_eq!(why(true, &[beyond]), Some(CannotTell::NoFit));
    assert_eq!(why(true, &[]), Some(CannotTell::NoFit));
    assert_eq!(why(true, &[faint]), Some(CannotTell::TooFaint));
    assert_eq!(why(false, &[]), Some(CannotTell::TooFew));
}
