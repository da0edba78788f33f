//! Two units near: told apart by where they are set to be worn, checked together, recorded together.

use std::process::Stdio;

use carpotempo::recording::{EventKind, open};
use carpotempo::sample::Place;

use crate::bluez::{Act, Bluez, Bus, Unit, still};
use crate::finding::{carpotempo, fails, json, run, stderr, stdout};

const HAND: u8 = 0;
const FOREARM: u8 = 1;
const UNSET: u8 = 255;

fn unit(name: &'static str, place: u8) -> Unit {
    Unit {
        place,
        ..Unit::new(name)
    }
}

/// The words on a line's end or start do not matter.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn sensors_are_listed_with_where_they_are_set_to_be_worn() {
    let Some(bus) = Bus::start() else { return };
    let broken = Unit {
        description: Some(vec![9; 16]),
        ..unit("carpo-4", HAND)
    };
    let units = vec![
        unit("carpo-1", HAND),
        unit("carpo-2", FOREARM),
        unit("carpo-3", UNSET),
        broken,
    ];
    let bluez = Bluez::start(&bus, units);
    let object = json(&run(&bus, &["sensors", "--json", "--for", "1"]));
    let sensors = object["sensors"].as_array().unwrap();
    let place = |name: &str| {
        let one = sensors.iter().find(|one| one["name"] == name).unwrap();
        one["place"].clone()
    };
    assert_eq!(place("carpo-1"), "hand");
    assert_eq!(place("carpo-2"), "forearm");
    assert_eq!(place("carpo-3"), "unset");
    assert!(place("carpo-4").is_null(), "it cannot be read");
    let places = object["places"].as_array().unwrap();
    assert_eq!(places.len(), 1, "{places:?}");
    assert_eq!(places[0]["trouble"], "no-place");
    for name in ["carpo-1", "carpo-2", "carpo-3", "carpo-4"] {
        assert_eq!(bluez.calls_of(&format!("Disconnect {name}")), 1, "let go");
    }
    let table = stdout(&run(&bus, &["sensors", "--for", "1"]));
    for words in ["worn on", "forearm", "unset", "unknown", "--check\n"] {
        assert!(table.contains(words), "{words}: {table}");
    }
    assert!(
        flat(&table).contains("carpo-3 is set to no place: name it where you use it"),
        "{table}"
    );
}

#[test]
fn two_of_one_place_are_said_with_what_to_do() {
    let Some(bus) = Bus::start() else { return };
    let units = vec![unit("carpo-1", HAND), unit("carpo-2", HAND)];
    let _bluez = Bluez::start(&bus, units);
    let table = flat(&stdout(&run(&bus, &["sensors", "--for", "1"])));
    for words in [
        "are both set to the hand, so they cannot be told apart",
        "--forearm",
        "the description's byte 1",
    ] {
        assert!(table.contains(words), "{words}: {table}");
    }
    // Neither is taken for the hand's by chance.
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("recording");
    let out = out.to_str().unwrap();
    let message = fails(&run(&bus, &["record", "--raw", "--out", out, "--for", "2"]));
    for words in [
        "several sensors near are set to the hand",
        "carpo-1",
        "carpo-2",
        "by its name or its address",
    ] {
        assert!(message.contains(words), "{words}: {message}");
    }
    // Named, they are used as they are named.
    let arguments = [
        "record",
        "--raw",
        "--sensor",
        "carpo-2",
        "--forearm",
        "carpo-1",
        "--for",
        "3",
        "--out",
        out,
        "--json",
    ];
    let output = run(&bus, &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let names: Vec<(Option<Place>, Option<String>)> = open(out.as_ref())
        .unwrap()
        .events
        .iter()
        .filter_map(|event| match &event.kind {
            EventKind::Sensor(info) => Some((info.place, info.name.clone())),
            _ => None,
        })
        .collect();
    let named = |place, name: &str| (Some(place), Some(name.to_owned()));
    assert_eq!(names.len(), 2);
    assert!(names.contains(&named(Place::Hand, "carpo-2")), "{names:?}");
    assert!(
        names.contains(&named(Place::Forearm, "carpo-1")),
        "{names:?}"
    );
}

#[test]
fn two_are_checked_at_once_each_with_its_own_verdict() {
    let Some(bus) = Bus::start() else { return };
    let mut rest = still();
    let half = Unit {
        source: Box::new(move |time_s, accel, gyro| {
            let mut reading = rest(time_s, accel, gyro);
            for value in &mut reading[..3] {
                *value /= 2;
            }
            reading
        }),
        ..unit("carpo-2", FOREARM)
    };
    let bluez = Bluez::start(&bus, vec![unit("carpo-1", HAND), half]);
    let output = run(&bus, &["sensors", "--check", "--json", "--for", "6"]);
    assert_eq!(output.status.code(), Some(1), "one of them is not fit");
    let object = json(&output);
    let sensors = object["sensors"].as_array().unwrap();
    let of = |name: &str| {
        let one = sensors.iter().find(|one| one["name"] == name);
        one.unwrap_or_else(|| panic!("{name}: {object}"))
    };
    assert_eq!(of("carpo-1")["verdict"]["mark"], "ok");
    assert_eq!(of("carpo-1")["place"], "hand");
    assert_eq!(of("carpo-2")["verdict"]["mark"], "bad");
    assert_eq!(of("carpo-2")["place"], "forearm");
    assert_eq!(object["places"].as_array().unwrap().len(), 0);
    let said = stderr(&output);
    assert!(said.contains("carpo-2: Not to be used like this"), "{said}");
    assert!(!said.contains("carpo-1: "), "{said}");
    for name in ["carpo-1", "carpo-2"] {
        let asked = bluez.calls_of(&format!("Connect {name}"));
        assert_eq!(
            bluez.calls_of(&format!("Disconnect {name}")),
            asked,
            "let go"
        );
    }
}

#[test]
fn a_check_of_two_names_tells_of_both_in_words() {
    let Some(bus) = Bus::start() else { return };
    let units = vec![unit("carpo-1", HAND), unit("carpo-2", HAND)];
    let _bluez = Bluez::start(&bus, units);
    let arguments = ["sensors", "--check", "carpo-1", "carpo-2", "--for", "6"];
    let output = run(&bus, &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let table = stdout(&output);
    for words in [
        "carpo-1: Good to use.",
        "carpo-2: Good to use.",
        "set to be worn on",
    ] {
        assert!(table.contains(words), "{words}: {table}");
    }
    assert!(
        flat(&table).contains("carpo-1 and carpo-2 are both set to the hand"),
        "{table}"
    );
    let twice = run(&bus, &["sensors", "--check", "carpo-1", "CARPO-1"]);
    assert_eq!(twice.status.code(), Some(2));
}

#[test]
fn the_hands_unit_is_found_beside_the_forearms_and_the_other_is_hinted_at() {
    let Some(bus) = Bus::start() else { return };
    let units = vec![unit("carpo-1", FOREARM), unit("carpo-2", HAND)];
    let bluez = Bluez::start(&bus, units);
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("recording");
    let arguments = [
        "record",
        "--raw",
        "--for",
        "2",
        "--json",
        "--out",
        out.to_str().unwrap(),
    ];
    let output = run(&bus, &arguments);
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("Connected: carpo-2"), "{said}");
    assert!(
        said.contains("carpo-1 is near and set to the forearm: --forearm"),
        "{said}"
    );
    assert!(open(&out).unwrap().forearm.is_empty());
    assert_eq!(bluez.calls_of("Disconnect carpo-1"), 1, "asked and let go");
}

#[test]
fn a_forearms_unit_alone_is_not_taken_for_the_hands_but_by_its_name() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![unit("carpo-1", FOREARM)]);
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("recording");
    let out = out.to_str().unwrap();
    let message = fails(&run(&bus, &["record", "--raw", "--for", "2", "--out", out]));
    for words in [
        "carpo-1, is set to the forearm",
        "the one for the hand",
        "by its name",
    ] {
        assert!(message.contains(words), "{words}: {message}");
    }
    assert_eq!(bluez.calls_of("Disconnect carpo-1"), 1, "let go");
    let arguments = [
        "record", "--raw", "--sensor", "carpo-1", "--for", "2", "--out", out,
    ];
    let output = run(&bus, &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    assert!(!open(out.as_ref()).unwrap().hand.is_empty());
}

#[test]
fn a_forearms_unit_that_is_not_there_is_said_and_nothing_is_recorded() {
    let Some(bus) = Bus::start() else { return };
    let _bluez = Bluez::start(&bus, vec![unit("carpo-1", HAND)]);
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("recording");
    let arguments = [
        "record",
        "--raw",
        "--forearm",
        "--out",
        out.to_str().unwrap(),
    ];
    let message = fails(&run(&bus, &arguments));
    assert!(
        message.contains("the forearm sensor (without --forearm"),
        "{message}"
    );
    assert!(message.contains("carpo-1, is set to the hand"), "{message}");
    assert!(!out.exists());
}

#[test]
fn both_are_recorded_over_the_air_and_a_lost_forearm_ends_nothing() {
    let Some(bus) = Bus::start() else { return };
    let hand = Unit {
        rssi_dbm: -40,
        ..unit("carpo-1", HAND)
    };
    let bluez = Bluez::start(&bus, vec![hand, unit("carpo-2", FOREARM)]);
    bluez.at(6.0, Act::Lose("carpo-2"));
    bluez.at(8.0, Act::Return("carpo-2"));
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("recording");
    let arguments = [
        "record",
        "--raw",
        "--forearm",
        "--for",
        "14",
        "--json",
        "--out",
        out.to_str().unwrap(),
    ];
    let mut command = bus.give(carpotempo(&arguments));
    let child = command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let output = child.spawn().unwrap().wait_with_output().unwrap();
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    for words in [
        "Connected: carpo-1",
        "Connected on the forearm: carpo-2",
        "The forearm sensor is out of reach. Go on",
        "The forearm sensor is back.",
    ] {
        assert_eq!(
            said.matches(words).count(),
            1 + usize::from(words.starts_with("Connected on")),
            "{words}: {said}"
        );
    }
    assert!(!said.contains("The link to the sensor is lost"), "{said}");
    assert!(!said.contains("no samples since"), "{said}");
    let replayed = carpotempo(&["replay", "--online", "--json", out.to_str().unwrap()]).output();
    assert_eq!(stdout(&output), stdout(&replayed.unwrap()));
    let recording = open(&out).unwrap();
    let seconds = |samples: &[carpotempo::sample::Sample]| samples.len() as f64 / 200.0;
    assert!(
        seconds(&recording.hand) > 12.5,
        "{}",
        seconds(&recording.hand)
    );
    let forearm = recording.forearm.windows(2);
    let away_s = forearm
        .map(|pair| pair[1].t_s - pair[0].t_s)
        .fold(0.0, f64::max);
    assert!((1.8..6.0).contains(&away_s), "{away_s}");
    // The hand's are all there: none waited for the other and none was lost.
    let steps = recording
        .hand
        .windows(2)
        .map(|pair| pair[1].t_s - pair[0].t_s);
    assert!(steps.fold(0.0, f64::max) < 0.006);
    let places = |wanted: fn(&EventKind) -> Option<Option<Place>>| {
        let events = recording.events.iter();
        events
            .filter_map(|event| wanted(&event.kind))
            .collect::<Vec<_>>()
    };
    let lost = places(|kind| match kind {
        EventKind::SensorLost(mark) => Some(mark.place),
        _ => None,
    });
    assert_eq!(lost, [Some(Place::Forearm)]);
    let clocks = places(|kind| match kind {
        EventKind::Clock(clock) => Some(clock.place),
        _ => None,
    });
    for place in [Place::Hand, Place::Forearm] {
        assert!(clocks.contains(&Some(place)), "{clocks:?}");
    }
}
