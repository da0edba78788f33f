//! Simulated sets through the whole analysis.

use carpotempo::movement::Movement;
use carpotempo::pipeline::forearm::{AngleBy, OneSensorWhy};
use carpotempo::pipeline::{Detail, Expectation, analyse, analyse_in_detail};
use carpotempo::recording::{EventKind, Recording};
use carpotempo::reps::{Doubt, Repetition};
use nalgebra::UnitQuaternion;

use crate::two_units::{Kind, ORDINARY, TwoUnits, one_unit, simulate};

fn detail(recording: &Recording) -> Detail {
    analyse_in_detail(recording, &Expectation::default()).unwrap()
}

fn largest(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

#[test]
fn perfect_units_give_the_wrists_own_angle_while_the_forearm_moves() {
    let exact = Kind {
        exact: true,
        ..ORDINARY
    };
    for seed in 0..6 {
        let set = simulate(seed, exact);
        let detail = detail(&set.recording);
        let off_deg = set.off_deg(&set.angles(&detail));
        assert!(off_deg < 0.5, "seed {seed}: {off_deg}");
        let part = detail.analysis.sets[0].forearm.clone().unwrap();
        assert!(part.two_sensors(), "seed {seed}: {part:?}");
        assert!((part.travel_deg.unwrap() - set.travel_deg).abs() < 4.0);
        let alone = analyse_in_detail(&one_unit(&set.recording), &Expectation::default()).unwrap();
        let alone_deg = set.off_deg(&set.angles(&alone));
        assert!(alone_deg > 2.0, "the forearm does move: {alone_deg}");
    }
}

#[test]
fn consumer_units_keep_to_the_goals() {
    let mut ranges_deg = Vec::new();
    for seed in 500..512 {
        let set = simulate(seed, ORDINARY);
        let detail = detail(&set.recording);
        let reps = &detail.analysis.sets[0].reps;
        assert_eq!(reps.len(), set.truth.len(), "seed {seed}");
        ranges_deg.extend(set.ranges_off_deg(reps));
        let off_deg = set.off_deg(&set.angles(&detail));
        assert!(off_deg < 2.0, "seed {seed}: {off_deg}");
    }
    ranges_deg.sort_by(f64::total_cmp);
    let at = |share: f64| ranges_deg[((ranges_deg.len() - 1) as f64 * share) as usize];
    println!(
        "range error median {:.2}, 95 % {:.2} deg",
        at(0.5),
        at(0.95)
    );
    assert!(at(0.5) < 1.0 && at(0.95) < 2.5, "{} {}", at(0.5), at(0.95));
}

/// Turns the unit on the forearm about in its strap.
fn mounted_otherwise(recording: &Recording) -> Recording {
    let turn = UnitQuaternion::from_euler_angles(0.7, -1.9, 2.4);
    let mut other = recording.clone();
    for sample in &mut other.forearm {
        sample.accel_m_s2 = turn * sample.accel_m_s2;
        sample.gyro_rad_s = turn * sample.gyro_rad_s;
    }
    other
}

#[test]
fn how_the_forearms_unit_is_mounted_changes_nothing() {
    for seed in 20..23 {
        let set = simulate(seed, ORDINARY);
        let one = detail(&set.recording);
        let other = detail(&mounted_otherwise(&set.recording));
        let pairs = set.angles(&one).into_iter().zip(set.angles(&other));
        for ((t_s, a), (_, b)) in pairs {
            assert!((a - b).abs() < 0.1, "seed {seed}, {t_s} s: {a} and {b}");
        }
    }
}

#[test]
fn without_a_forearm_unit_nothing_is_said_of_one() {
    let set = simulate(31, ORDINARY);
    let analysis = analyse(&one_unit(&set.recording), &Expectation::default()).unwrap();
    assert_eq!(analysis.sets[0].forearm, None);
    let text = serde_json::to_string(&analysis).unwrap();
    assert!(!text.contains("angle_by"), "the key is not written");
}

/// Forgets the forearm's samples between two times.
fn unheard(set: &TwoUnits, from_s: f64, to_s: f64) -> Recording {
    let mut recording = set.recording.clone();
    recording
        .forearm
        .retain(|sample| !(from_s..to_s).contains(&sample.t_s));
    recording
}

#[test]
fn a_silence_of_the_forearms_unit_is_said_and_doubts_what_it_touches() {
    let set = simulate(32, ORDINARY);
    let middle = set.truth[set.truth.len() / 2];
    let (from_s, to_s) = (middle.lift_start_s, middle.lift_start_s + 3.0);
    let analysis = analyse(&unheard(&set, from_s, to_s), &Expectation::default()).unwrap();
    let said = analysis.warnings.join("\n");
    assert!(said.contains("not heard from"), "{said}");
    let part = analysis.sets[0].forearm.clone().unwrap();
    assert!((part.unheard_s - 2.8).abs() < 0.4, "{part:?}");
    for rep in &analysis.sets[0].reps {
        let touched = rep.lift_start_s <= to_s && rep.lower_end_s >= from_s + 0.3;
        let doubted = rep.doubts.contains(&Doubt::ForearmUnheard);
        let far = rep.lower_end_s < from_s - 0.5 || rep.lift_start_s > to_s + 0.5;
        assert!(if touched { doubted } else { !(doubted && far) }, "{rep:?}");
    }
    // Never heard within the set: one unit's angles, and it is said.
    let silent = analyse(
        &unheard(&set, set.start_s - 0.3, 1e9),
        &Expectation::default(),
    )
    .unwrap();
    let part = silent.sets[0].forearm.clone().unwrap();
    assert_eq!(part.why, Some(OneSensorWhy::NotHeard));
    let alone = analyse(&one_unit(&set.recording), &Expectation::default()).unwrap();
    assert_eq!(silent.sets[0].reps, alone.sets[0].reps);
}

#[test]
fn clocks_half_a_second_apart_are_set_right_and_that_is_said() {
    let apart = Kind {
        clocks_apart: true,
        ..ORDINARY
    };
    for seed in 60..64 {
        let set = simulate(seed, apart);
        let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
        let part = analysis.sets[0].forearm.clone().unwrap();
        let off_s = part.clock_offset_s.unwrap() - set.offset_s;
        assert!(off_s.abs() < 0.02, "seed {seed}: {off_s}");
        let said = analysis.warnings.join("\n");
        assert!(
            said.contains("clocks") || set.offset_s.abs() < 0.06,
            "{said}"
        );
        assert!(largest(&set.ranges_off_deg(&analysis.sets[0].reps)) < 2.5);
    }
}

/// Beyond what is looked for an offset is not found, and one that is not found is not used.
#[test]
fn clocks_more_than_a_second_apart_leave_one_sensors_angles_and_that_is_said() {
    for (seed, apart_s) in [(70, 1.3), (71, -1.3), (72, 2.0), (73, -2.0), (74, 3.0)] {
        let mut set = simulate(seed, ORDINARY);
        for sample in &mut set.recording.forearm {
            sample.t_s += apart_s;
        }
        let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
        let part = analysis.sets[0].forearm.clone().unwrap();
        assert_eq!(part.why, Some(OneSensorWhy::NotOneJoint), "seed {seed}");
        let said = analysis.warnings.join("\n");
        assert!(said.contains("no motion of one wrist"), "{said}");
        let alone = analyse(&one_unit(&set.recording), &Expectation::default()).unwrap();
        let ranges = |reps: &[Repetition]| reps.iter().map(|r| r.range_deg).collect::<Vec<f64>>();
        let [own, reps] = [&alone.sets[0].reps, &analysis.sets[0].reps];
        assert_eq!(ranges(reps), ranges(own), "seed {seed}");
        assert_eq!(analysis.sets[0].wear, [], "seed {seed}");
        // The forearm moves by 30 degrees: how much of a range is the wrist's is not known.
        assert!(reps.iter().all(|rep| rep.range_error_deg.is_none()));
    }
}

/// Names the set otherwise.
fn named(recording: &Recording, movement: Movement) -> Recording {
    let mut other = recording.clone();
    for event in &mut other.events {
        if let EventKind::SetStart(start) = &mut event.kind {
            start.movement = Some(movement);
            start.posture = None;
        }
    }
    other
}

#[test]
fn a_turn_of_the_forearm_stays_one_units_angle_and_says_why() {
    let set = simulate(80, ORDINARY);
    for (movement, why) in [
        (Movement::Supination, OneSensorWhy::TurnsAlong),
        (Movement::Pronation, OneSensorWhy::TurnsAlong),
        (Movement::ArmCircles, OneSensorWhy::Circles),
    ] {
        let recording = named(&set.recording, movement);
        let analysis = analyse(&recording, &Expectation::default()).unwrap();
        let alone = analyse(&one_unit(&recording), &Expectation::default()).unwrap();
        let part = analysis.sets[0].forearm.clone().unwrap();
        assert_eq!((part.angle_by, part.why), (AngleBy::OneSensor, Some(why)));
        assert!(part.travel_deg.unwrap() > 10.0);
        assert_eq!(analysis.sets[0].reps, alone.sets[0].reps);
    }
}

#[test]
fn a_forearm_that_keeps_still_leaves_the_angle_as_it_is() {
    let still = Kind {
        travel_deg: 0.0,
        ..ORDINARY
    };
    for seed in 90..93 {
        let set = simulate(seed, still);
        let analysis = analyse(&set.recording, &Expectation::default()).unwrap();
        let off_deg = largest(&set.ranges_off_deg(&analysis.sets[0].reps));
        assert!(off_deg < 1.5, "seed {seed}: {off_deg}");
    }
}
