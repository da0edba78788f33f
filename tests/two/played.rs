//! Live use of two units: the same again in a replay, to the bit, whatever came when.

use carpotempo::joint::wear::WearKind;
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, Step};
use carpotempo::pipeline::{Analysis, Expectation, analyse};
use carpotempo::recording::{Recording, SessionHead, Writer, open};
use carpotempo::reps::Doubt;
use carpotempo::sample::{Place, Sample};
use carpotempo::source::simulator::random::Random;
use nalgebra::{Matrix3, SymmetricEigen, Unit, UnitQuaternion, Vector3};

use crate::two_units::{Kind, ORDINARY, TwoUnits, one_unit, online, simulate};

/// Samples of both units as a radio brings them: in packets, late, and now and then in a burst.
fn as_they_come(recording: &Recording, seed: u64) -> Vec<(Place, Sample)> {
    let mut random = Random::new(seed);
    let mut arrivals: Vec<(f64, Place, Sample)> = Vec::new();
    for (place, samples) in [
        (Place::Hand, &recording.hand),
        (Place::Forearm, &recording.forearm),
    ] {
        let (mut comes_s, mut silent_until_s) = (0.0_f64, 0.0);
        for (index, sample) in samples.iter().enumerate() {
            if index % 8 == 0 {
                if random.chance(0.01) {
                    silent_until_s = sample.t_s + random.between(0.3, 1.5);
                }
                let late_s = random.between(0.01, 0.06);
                comes_s = comes_s.max(sample.t_s + late_s).max(silent_until_s);
            }
            arrivals.push((comes_s, place, *sample));
        }
    }
    arrivals.sort_by(|a, b| a.0.total_cmp(&b.0));
    arrivals
        .into_iter()
        .map(|(_, place, sample)| (place, sample))
        .collect()
}

fn head() -> SessionHead {
    SessionHead {
        started_at: "2026-03-02T09:00:00+01:00[+01:00]".parse().unwrap(),
        patient: "P1".parse().unwrap(),
        routine: None,
    }
}

fn live(recording: &Recording, samples: &[(Place, Sample)]) -> (Vec<Step>, Analysis) {
    let params =
        LiveParams::of_recording(recording, &Expectation::default(), FilterKind::Vqf).unwrap();
    let mut live = Live::new(params);
    let mut events = recording.events.iter().cloned().peekable();
    let mut steps = Vec::new();
    for (place, sample) in samples {
        while let Some(event) = events.next_if(|event| event.t_s <= sample.t_s + 0.2) {
            live.event(event);
        }
        match place {
            Place::Forearm => live.forearm_sample(sample),
            Place::Hand => steps.push(live.sample(sample)),
        }
    }
    for event in events {
        live.event(event);
    }
    (steps, live.finish())
}

#[test]
fn live_use_and_a_replay_of_its_recording_agree_to_the_bit() {
    for seed in 200..204 {
        let set = simulate(seed, ORDINARY);
        let samples = as_they_come(&set.recording, seed);
        let (steps, analysis) = live(&set.recording, &samples);
        let dir = tempfile::tempdir().unwrap();
        let folder = dir.path().join("session");
        let mut writer = Writer::create(&folder, &head()).unwrap();
        for (place, sample) in &samples {
            writer.sample(*place, sample).unwrap();
        }
        for event in &set.recording.events {
            writer.event(event).unwrap();
        }
        writer.finish().unwrap();
        let (again, replayed) = online(&open(&folder).unwrap());
        assert_eq!(steps, again, "seed {seed}");
        assert_eq!(analysis, replayed, "seed {seed}");
        let part = analysis.sets[0].forearm.clone().unwrap();
        assert!(part.two_sensors(), "seed {seed}: {part:?}");
    }
}

fn ranges(kind: Kind, seeds: std::ops::Range<u64>) -> Vec<f64> {
    let mut all: Vec<f64> = Vec::new();
    for seed in seeds {
        let set: TwoUnits = simulate(seed, kind);
        let (_, analysis) = online(&set.recording);
        all.extend(set.ranges_off_deg(&analysis.sets[0].reps));
    }
    all.sort_by(f64::total_cmp);
    all
}

#[test]
fn live_ranges_are_the_wrists_own_once_the_forearm_has_moved() {
    let ranges_deg = ranges(ORDINARY, 300..312);
    let at = |share: f64| ranges_deg[((ranges_deg.len() - 1) as f64 * share) as usize];
    println!(
        "live range error median {:.2}, 95 % {:.2} deg",
        at(0.5),
        at(0.95)
    );
    assert!(at(0.5) < 1.0, "{}", at(0.5));
    assert!(at(0.9) < 2.5, "{}", at(0.9));
}

#[test]
fn a_forearm_that_is_never_heard_leaves_live_use_as_it_is() {
    let set = simulate(320, ORDINARY);
    let alone = Recording {
        forearm: Vec::new(),
        ..set.recording.clone()
    };
    let (_, one) = online(&alone);
    assert_eq!(one.sets[0].forearm, None);
    let mut late = set.recording.clone();
    // Heard only once the set is over.
    for sample in &mut late.forearm {
        sample.t_s += 1000.0;
    }
    let (_, other) = online(&late);
    assert_eq!(one.sets[0].reps, other.sets[0].reps);
}

/// Without a calibration, and the clocks far apart: what comes before the offset is found is seen anew.
#[test]
fn live_sets_are_counted_whole_whatever_the_clocks_say() {
    let kind = Kind {
        calibrated: false,
        ..ORDINARY
    };
    let (mut exact, mut all) = (0, 0);
    for seed in 330..336 {
        for apart_s in [-0.55, -0.4, -0.25, 0.25, 0.4, 0.55] {
            let mut set = simulate(seed, kind);
            for sample in &mut set.recording.forearm {
                sample.t_s += apart_s;
            }
            let (_, analysis) = online(&set.recording);
            let reps = &analysis.sets[0].reps;
            all += 1;
            exact += usize::from(reps.len() == set.truth.len());
        }
    }
    assert!(exact + 1 >= all, "{exact} of {all}");
}

/// The hand turned about the vertical within a time, by so much, as on a chair.
fn turned_about(recording: &mut Recording, [from_s, to_s]: [f64; 2], turn_deg: f64) {
    let rate_rad_s = turn_deg.to_radians() / (to_s - from_s);
    let within = |sample: &&mut Sample| (from_s..to_s).contains(&sample.t_s);
    for sample in recording.hand.iter_mut().filter(within) {
        sample.gyro_rad_s += sample.accel_m_s2.normalize() * rate_rad_s;
    }
}

/// A set that begins when the forearm is no longer heard takes the calibration as one unit's.
#[test]
fn a_forearm_lost_before_a_set_is_no_measure_of_it() {
    for (seed, turn_deg) in [(340, 40.0), (341, -40.0), (342, 60.0), (343, -60.0)] {
        let mut set = simulate(seed, ORDINARY);
        let start_s = set.start_s;
        turned_about(
            &mut set.recording,
            [start_s - 0.2, start_s - 0.02],
            turn_deg,
        );
        let alone = online(&one_unit(&set.recording)).1;
        set.recording.forearm.retain(|s| s.t_s < start_s - 0.4);
        set.recording
            .forearm_after
            .truncate(set.recording.forearm.len());
        let silent = online(&set.recording).1;
        let [own, reps] = [&alone.sets[0].reps, &silent.sets[0].reps];
        assert_eq!(reps.len(), own.len(), "seed {seed}");
        for (rep, own) in reps.iter().zip(own) {
            assert!(
                (rep.range_deg - own.range_deg).abs() < 1.0,
                "seed {seed}: {rep:?}"
            );
            assert_eq!(rep.range_error_deg.is_some(), own.range_error_deg.is_some());
            assert!(!rep.doubts.contains(&Doubt::ForearmUnheard), "{rep:?}");
        }
    }
}

/// The axis that most of these samples turn about.
fn main_axis(samples: &[Sample]) -> Vector3<f64> {
    let outer = |sample: &Sample| sample.gyro_rad_s * sample.gyro_rad_s.transpose();
    let eigen = SymmetricEigen::new(samples.iter().map(outer).sum::<Matrix3<f64>>());
    eigen.eigenvectors.column(eigen.eigenvalues.imax()).into()
}

/// A hand's unit that slips by 25 degrees across the movement's axis, whatever the forearm does.
#[test]
fn a_slip_is_found_while_the_forearm_moves() {
    let kind = Kind {
        lasting_s: 60.0,
        ..ORDINARY
    };
    let (mut hits, mut live_hits) = (0, 0);
    for seed in 350..362 {
        let mut set = simulate(seed, kind);
        let at_s = set.truth[set.truth.len() / 2].lower_end_s;
        let from = set.recording.hand.partition_point(|s| s.t_s < at_s);
        let axis = main_axis(&set.recording.hand[..from]);
        let across = Unit::new_normalize(axis.cross(&Vector3::new(0.3, -0.7, 0.6)));
        // Within 0.3 s; the unit itself turns the other way about than what it reads.
        let rate_rad_s = 25_f64.to_radians() / 0.3;
        for sample in &mut set.recording.hand[from..] {
            let since_s = (sample.t_s - at_s).min(0.3);
            let slipped = UnitQuaternion::from_axis_angle(&across, rate_rad_s * since_s);
            let slipping_rad_s = if since_s < 0.3 { rate_rad_s } else { 0.0 };
            sample.gyro_rad_s = slipped * sample.gyro_rad_s - *across * slipping_rad_s;
            sample.accel_m_s2 = slipped * sample.accel_m_s2;
        }
        let named = |analysis: &Analysis| {
            let mut wear = analysis.sets[0].wear.iter();
            wear.any(|found| found.kind == WearKind::Slipped)
        };
        hits += usize::from(named(
            &analyse(&set.recording, &Expectation::default()).unwrap(),
        ));
        live_hits += usize::from(named(&online(&set.recording).1));
    }
    assert!(
        hits >= 11 && live_hits >= 10,
        "{hits} and {live_hits} of 12"
    );
}
