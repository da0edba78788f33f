//! Sessions with a second sensor, on the forearm.

use carpotempo::recording::{EventKind, Recording};
use carpotempo::sample::Place;
use serde_json::{Value, json};

use super::led::Program;
use super::program::{PACE, ROUTINE, Running, recordings, replayed, untroubled};

/// Names and places of the sensors that were connected.
fn connected(recording: &Recording) -> Vec<(Option<Place>, String)> {
    let events = recording.events.iter();
    events
        .filter_map(|event| match &event.kind {
            EventKind::Sensor(info) => Some((info.place, info.name.clone()?)),
            _ => None,
        })
        .collect()
}

#[test]
fn a_session_with_two_sensors_is_led_to_its_end_and_records_both() {
    let folder = tempfile::tempdir().unwrap();
    // The forearm's is lost for a while: in one set or another.
    let more = ["--pace", PACE, "--forearm", "--lose-forearm", "45:20"];
    let mut running = Running::of(Program::begin(folder.path(), ROUTINE, &more));
    running.answer(&untroubled, &|_| false);
    let screens = running.screens.join(" ");
    assert!(screens.ends_with("symptoms remark summary"), "{screens}");
    assert!(!screens.contains("paused"), "{screens}");
    assert_eq!(running.counts, ["1", "2", "3", "1", "2"]);
    running.end();
    let recordings = recordings(folder.path());
    let [(path, recording)] = &recordings[..] else {
        panic!("{} recordings", recordings.len());
    };
    assert_eq!(replayed(path), [3, 2]);
    let (hand, forearm) = (recording.hand.len(), recording.forearm.len());
    assert!(forearm > 4_000 && hand > forearm, "{hand} and {forearm}");
    let lost = |kind: &EventKind| matches!(kind, EventKind::SensorLost(_));
    assert_eq!(
        recording
            .events
            .iter()
            .filter(|own| lost(&own.kind))
            .count(),
        1
    );
    assert_eq!(connected(recording).len(), 3, "the forearm's came back");
}

#[test]
#[cfg(target_os = "linux")]
fn both_are_found_over_the_air_by_where_they_are_set_to_be_worn() {
    use super::bluez::{Act, Bluez, Bus, Unit};
    use super::led::session;

    let Some(bus) = Bus::start() else { return };
    let unit = |name, place| Unit {
        place,
        ..Unit::new(name)
    };
    let bluez = Bluez::start(&bus, vec![unit("carpo-1", 1), unit("carpo-2", 0)]);
    let folder = tempfile::tempdir().unwrap();
    let routine = folder.path().join("routine.toml");
    std::fs::write(&routine, ROUTINE).unwrap();
    let prescribed = ["--routine", routine.to_str().unwrap()];
    let command = session(folder.path(), &prescribed, &["--forearm"]);
    let mut running = Running::of(Program::run(bus.give(command)));
    let screen_is = |view: &Value, name: &str| view["screen"]["screen"] == name;
    let view = running.answer(&untroubled, &|view| screen_is(view, "hearing"));
    assert_eq!(view["sensor"]["link"], "there");
    assert_eq!(view["forearm"]["link"], "there");
    assert_eq!(view["forearm"]["battery_percent"], json!(82));
    let a_second = std::time::Duration::from_secs(1);
    std::thread::sleep(a_second);
    bluez.now(Act::Lose("carpo-1"));
    let lost = |view: &Value| view["forearm"]["link"] == "lost";
    let view = running.answer(&|_| None, &lost);
    assert_eq!(view["sensor"]["link"], "there", "the hand's stays");
    bluez.now(Act::Return("carpo-1"));
    let back = |view: &Value| view["forearm"]["link"] == "there";
    running.answer(&|_| None, &back);
    std::thread::sleep(a_second);
    running.interrupt();
    running.answer(&|_| None, &|_| false);
    running.end();
    let recordings = recordings(folder.path());
    let recording = &recordings[0].1;
    let names = connected(recording);
    assert_eq!(names[0], (Some(Place::Hand), "carpo-2".to_owned()));
    assert_eq!(names[1], (Some(Place::Forearm), "carpo-1".to_owned()));
    let (hand, forearm) = (recording.hand.len(), recording.forearm.len());
    assert!(forearm > 200 && hand > forearm, "{hand} and {forearm}");
}
