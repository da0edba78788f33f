//! Two units at once: both are recorded, the hand's leads, and a replay says what was said live.

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{EventKind, SetStart};
use carpotempo::sample::{Place, Sample};
use carpotempo::session::{QuickSetPlan, Say};
use carpotempo::source::signal::{Signal, Told};
use carpotempo::source::simulator::live::{LivePerson, LivePlan};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::units::ForearmPlan;

use crate::run::{Sat, carpotempo, new_folder, person, replayed};
use crate::run::{sat_through, simulated, start, stderr, stdout};

/// That person with a unit on the forearm too.
fn with_forearm(set: &SetStart, seed: u64, forearm: ForearmPlan) -> LivePlan {
    LivePlan {
        forearm: Some(forearm),
        ..person(set, seed)
    }
}

fn samples(told: impl Iterator<Item = Signal>, wanted: Place) -> Vec<Sample> {
    told.filter_map(|signal| match signal.told {
        Told::Sample(place, sample) if place == wanted => Some(sample),
        _ => None,
    })
    .collect()
}

fn until(plan: &LivePlan, end_s: f64) -> Vec<Signal> {
    LivePerson::new(plan.clone())
        .take_while(|signal| signal.at_s < end_s)
        .collect()
}

fn sat(set: &SetStart, told: Vec<Signal>, press_s: f64) -> Sat {
    let plan = QuickSetPlan {
        start: set.clone(),
        forearm: true,
        ..QuickSetPlan::default()
    };
    sat_through(plan, told.into_iter(), press_s + 5.0, Some(press_s))
}

fn assert_same(sat: &Sat) {
    assert!(sat.outcome.trouble.is_none());
    assert_eq!(sat.object(), sat.replayed());
}

fn said(sat: &Sat, wanted: &Say) -> usize {
    sat.says.iter().filter(|say| *say == wanted).count()
}

/// How many events of a place there are: sensor, clock, battery, lost, back, gap.
fn events_of(sat: &Sat, wanted: Place) -> [usize; 6] {
    let mut counts = [0; 6];
    for event in &sat.recording.events {
        let (at, place) = match &event.kind {
            EventKind::Sensor(own) => (0, own.place),
            EventKind::Clock(own) => (1, own.place),
            EventKind::Battery(own) => (2, own.place),
            EventKind::SensorLost(own) => (3, own.place),
            EventKind::SensorBack(own) => (4, own.place),
            EventKind::Gap(own) => (5, own.place),
            _ => continue,
        };
        counts[at] += usize::from(place == Some(wanted));
    }
    counts
}

fn reps(sat: &Sat) -> usize {
    sat.outcome.analysis.sets[0].reps.len()
}

fn true_reps(plan: &LivePlan, end_s: f64) -> usize {
    let truth = LivePerson::new(plan.clone()).truth();
    let over =
        |rep: &&carpotempo::source::simulator::truth::TrueRepetition| rep.lower_end_s + 0.8 < end_s;
    truth.iter().filter(over).count()
}

#[test]
fn the_hand_tells_the_same_to_the_bit_with_a_forearm_and_without() {
    for seed in [1, 8] {
        let set = start("3-0-2-1");
        let alone = until(&person(&set, seed), 30.0);
        let plan = with_forearm(&set, seed, ForearmPlan::default());
        let both = until(&plan, 30.0);
        let of_hand = |signal: &Signal| match &signal.told {
            Told::Connected(info) => info.place != Some(Place::Forearm),
            Told::Clock(clock) => clock.place != Some(Place::Forearm),
            Told::Battery(battery) => battery.place != Some(Place::Forearm),
            Told::Sample(place, _) => *place == Place::Hand,
            told => panic!("nothing goes wrong here: {told:?}"),
        };
        let hand: Vec<Signal> = both.iter().filter(|own| of_hand(own)).cloned().collect();
        assert_eq!(hand, alone);
        assert_eq!(both, until(&plan, 30.0), "the same plan tells the same");
        let times: Vec<f64> = both.iter().map(|signal| signal.at_s).collect();
        // Packets of one unit may pass each other within a few milliseconds.
        let back_s = times.windows(2).map(|pair| pair[0] - pair[1]);
        assert!(back_s.fold(0.0, f64::max) < 0.02);
    }
}

#[test]
fn both_are_recorded_with_their_place_and_replay_to_the_byte() {
    let set = start("3-0-2-1");
    let plan = with_forearm(&set, 7, ForearmPlan::default());
    let told = until(&plan, 60.0);
    let sat = sat(&set, told.clone(), 50.0);
    assert_same(&sat);
    for place in [Place::Hand, Place::Forearm] {
        let [sensors, clocks, batteries, lost, back, gaps] = events_of(&sat, place);
        assert_eq!((sensors, lost, back, gaps), (1, 0, 0, 0), "{place:?}");
        assert!(clocks >= 1 && batteries == 1, "{place:?}");
    }
    let recorded = &sat.recording.forearm;
    let given = samples(told.into_iter(), Place::Forearm);
    assert!(recorded.len() > 9_000, "{}", recorded.len());
    assert_eq!(recorded[..], given[..recorded.len()], "none is held back");
    let truth = true_reps(&plan, 50.0);
    assert!(truth >= 5 && (truth..=truth + 1).contains(&reps(&sat)));
    assert_eq!(said(&sat, &Say::WearBoth), 1);
    // The rows interleave as they came, in packets.
    let rows = std::fs::read_to_string(sat.folder.path().join("samples.csv")).unwrap();
    let changes = rows
        .lines()
        .skip(1)
        .map(|row| row.split(',').next().unwrap().to_owned())
        .collect::<Vec<_>>()
        .windows(2)
        .filter(|pair| pair[0] != pair[1])
        .count();
    assert!(changes > 1_000, "{changes}");
}

/// A forearm's link on which every packet takes another time, up to half a second.
fn late(told: Vec<Signal>, seed: u64, most_s: f64) -> Vec<Signal> {
    let mut random = Random::new(seed);
    let mut latest_s = 0.0_f64;
    let mut packet_s = (0.0, 0.0);
    let mut all: Vec<Signal> = told
        .into_iter()
        .map(|mut signal| {
            if matches!(signal.told, Told::Sample(Place::Forearm, _)) {
                if signal.at_s != packet_s.0 {
                    packet_s = (signal.at_s, random.between(0.0, most_s));
                }
                // A link keeps the order.
                latest_s = latest_s.max(signal.at_s + packet_s.1);
                signal.at_s = latest_s;
            }
            signal
        })
        .collect();
    all.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    all
}

#[test]
fn packets_of_the_forearm_that_are_late_or_lost_replay_to_the_byte() {
    for (seed, most_s, lost_ratio) in [(3, 0.06, 0.0), (4, 0.5, 0.1), (5, 2.0, 0.3)] {
        let set = start("3-0-2-1");
        let forearm = ForearmPlan {
            lost_ratio,
            ..ForearmPlan::default()
        };
        let plan = with_forearm(&set, seed, forearm);
        let told = late(until(&plan, 50.0), seed, most_s);
        let sat = sat(&set, told, 40.0);
        assert_same(&sat);
        assert!(sat.recording.forearm.len() > 4_000);
        let truth = true_reps(&plan, 40.0);
        assert!((truth..=truth + 1).contains(&reps(&sat)), "seed {seed}");
    }
}

#[test]
fn a_forearm_that_is_lost_stops_no_set_and_is_said_once() {
    for seed in [21, 22] {
        let set = start("3-0-2-1");
        let forearm = ForearmPlan {
            losses_s: vec![[16.0, 9.0]],
            ..ForearmPlan::default()
        };
        let plan = with_forearm(&set, seed, forearm);
        let sat = sat(&set, until(&plan, 50.0), 40.0);
        assert_same(&sat);
        let [sensors, _, _, lost, back, gaps] = events_of(&sat, Place::Forearm);
        assert_eq!((sensors, lost, back), (2, 1, 1));
        assert!(gaps >= 1);
        assert_eq!(events_of(&sat, Place::Hand)[3..], [0, 0, 0]);
        assert_eq!(said(&sat, &Say::ForearmAway), 1);
        assert_eq!(said(&sat, &Say::ForearmBack), 1);
        assert_eq!(said(&sat, &Say::LinkLost) + said(&sat, &Say::Back), 0);
        assert_eq!(sat.outcome.analysis.sets.len(), 1);
        let truth = true_reps(&plan, 40.0);
        assert!((truth..=truth + 1).contains(&reps(&sat)));
    }
}

#[test]
fn a_hand_that_is_lost_does_as_it_does_alone() {
    let set = start("4-0-2-0");
    let lost = |forearm| {
        let plan = LivePlan {
            losses_s: vec![[18.0, 2.0]],
            forearm,
            ..person(&set, 23)
        };
        sat(&set, until(&plan, 50.0), 45.0)
    };
    let (alone, both) = (lost(None), lost(Some(ForearmPlan::default())));
    for sat in [&alone, &both] {
        assert_same(sat);
        assert_eq!(events_of(sat, Place::Hand)[3..5], [1, 1]);
        assert_eq!(said(sat, &Say::LinkLost), 1);
        assert_eq!(said(sat, &Say::Back), 1);
    }
    assert_eq!(events_of(&both, Place::Forearm)[3..5], [0, 0]);
    // The press comes some samples sooner or later.
    let hands = alone.recording.hand.iter().zip(&both.recording.hand);
    assert!(hands.len() > 8_000);
    assert!(hands.into_iter().all(|(alone, both)| alone == both));
}

#[test]
fn a_forearm_that_comes_first_or_late_or_not_at_all_replays_to_the_byte() {
    let set = start("3-0-2-1");
    let plan = with_forearm(&set, 9, ForearmPlan::default());
    let is_forearm = |signal: &Signal| match &signal.told {
        Told::Connected(info) => info.place == Some(Place::Forearm),
        Told::Clock(clock) => clock.place == Some(Place::Forearm),
        Told::Battery(battery) => battery.place == Some(Place::Forearm),
        Told::Sample(place, _) => *place == Place::Forearm,
        _ => false,
    };
    // The hand's from 1.5 s on alone; the forearm's from 20 s on alone; nothing of the forearm.
    for (hand_s, forearm_s) in [(1.5, 0.0), (0.0, 20.0), (0.0, 1e9)] {
        let told = until(&plan, 45.0).into_iter().filter(|signal| {
            let is_sample = matches!(signal.told, Told::Sample(..));
            let from_s = if is_forearm(signal) {
                forearm_s
            } else {
                hand_s
            };
            signal.at_s >= from_s || (!is_sample && from_s < 1e9)
        });
        let sat = sat(&set, told.collect(), 40.0);
        assert_same(&sat);
        assert_eq!(sat.recording.forearm.is_empty(), forearm_s == 1e9);
        let truth = true_reps(&plan, 40.0);
        assert!((truth..=truth + 1).contains(&reps(&sat)), "{forearm_s}");
    }
}

#[test]
fn a_forearm_whose_source_ends_leaves_the_hand_to_go_on() {
    let set = start("3-0-2-1");
    let plan = with_forearm(&set, 10, ForearmPlan::default());
    let mut told = until(&plan, 45.0);
    told.retain(|signal| {
        signal.at_s < 15.0 || !matches!(signal.told, Told::Sample(Place::Forearm, _))
    });
    let at = told.iter().position(|signal| signal.at_s > 15.5).unwrap();
    let words = "carpo-2 does not come back".to_owned();
    told.insert(
        at,
        Signal {
            at_s: 15.5,
            told: Told::Gone(Place::Forearm, words),
        },
    );
    let sat = sat(&set, told, 40.0);
    assert_same(&sat);
    assert!(sat.outcome.source_ended.is_none());
    assert_eq!(said(&sat, &Say::ForearmGone), 1);
    let truth = true_reps(&plan, 40.0);
    assert!((truth..=truth + 1).contains(&reps(&sat)));
}

#[test]
fn every_movement_and_side_calibrates_and_counts_with_two() {
    use rayon::prelude::*;
    let mut cases = Vec::new();
    for movement in Movement::ALL {
        for side in [Side::Left, Side::Right] {
            cases.push((movement, side));
        }
    }
    cases.par_iter().for_each(|(movement, side)| {
        let set = SetStart {
            movement: Some(*movement),
            side: Some(*side),
            posture: Some(movement.usual_posture()),
            tempo: Some("2.5-0-1.5-0".parse().unwrap()),
            ..SetStart::default()
        };
        let plan = with_forearm(&set, 40 + *movement as u64, ForearmPlan::default());
        let sat = sat(&set, until(&plan, 40.0), 32.0);
        assert_same(&sat);
        let (truth, found) = (true_reps(&plan, 32.0), reps(&sat));
        let name = movement.name();
        assert!(
            truth >= 3 && (truth..=truth + 1).contains(&found),
            "{name}: {found} of {truth}"
        );
    });
}

#[test]
fn the_program_records_two_invented_sensors_and_prints_what_a_replay_prints() {
    let (_root, folder) = new_folder();
    let more = [
        "--forearm",
        "--json",
        "--for",
        "22",
        "--pace",
        "4",
        "--lose-forearm",
        "14:3",
    ];
    let output = carpotempo(&simulated(&folder, &more));
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert_eq!(stdout(&output), replayed(&folder) + "\n");
    for words in [
        "two invented sensors",
        "two fingers' breadth above the wrist",
        "Connected on the forearm: Simulated forearm unit",
        "The forearm sensor is out of reach. Go on",
        "The forearm sensor is back.",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let recording = carpotempo::recording::open(&folder).unwrap();
    assert!(recording.warnings.is_empty(), "{:?}", recording.warnings);
    assert!(recording.forearm.len() > 2_000);
}

#[test]
fn an_invented_sensor_with_a_name_is_exit_2() {
    let (_root, folder) = new_folder();
    let output = carpotempo(&simulated(&folder, &["--forearm", "carpo-2"]));
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("carpo-2"), "{}", stderr(&output));
    assert!(!folder.exists(), "nothing is begun");
}

#[test]
#[ignore = "takes two minutes: cargo test --test record any_two -- --ignored --nocapture"]
fn any_two_units_replay_to_the_byte() {
    use rayon::prelude::*;
    (0..200_u64).into_par_iter().for_each(|seed| {
        let mut random = Random::new(9100 + seed);
        let movement = Movement::ALL[random.whole(0, 5)];
        let set = SetStart {
            movement: Some(movement),
            side: Some(Side::Right),
            posture: Some(movement.usual_posture()),
            ..start("2-0-1-0")
        };
        let loss =
            |random: &mut Random| vec![[random.between(1.0, 40.0), random.between(0.2, 6.0)]];
        let forearm = ForearmPlan {
            lost_ratio: 0.1 * random.between(0.0, 1.0),
            losses_s: loss(&mut random),
        };
        let plan = LivePlan {
            calibrates: random.chance(0.7),
            losses_s: loss(&mut random),
            ..with_forearm(&set, seed, forearm)
        };
        let press_s = random.between(0.5, 50.0);
        let most_s = random.between(0.0, 1.0);
        let told = late(until(&plan, press_s + 5.0), seed, most_s);
        let quick = QuickSetPlan {
            start: set,
            raw: !plan.calibrates,
            forearm: true,
            ..QuickSetPlan::default()
        };
        let sat = sat_through(quick, told.into_iter(), press_s + 5.0, Some(press_s));
        assert_same(&sat);
    });
}
