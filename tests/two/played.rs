//! Live use of two units: the same again in a replay, to the bit, whatever came when.

use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, Step};
use carpotempo::pipeline::{Analysis, Expectation};
use carpotempo::recording::{Recording, SessionHead, Writer, open};
use carpotempo::sample::{Place, Sample};
use carpotempo::source::simulator::random::Random;

use crate::two_units::{Kind, ORDINARY, TwoUnits, online, simulate};

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
