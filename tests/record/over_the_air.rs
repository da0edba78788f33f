//! The whole way: an invented hand in a played unit, the played Bluetooth service, the library's
//! real path, the program, its recording.

use std::sync::{Arc, OnceLock};
use std::thread::sleep;
use std::time::{Duration, Instant};

use carpotempo::recording::{EventKind, open};
use carpotempo::source::simulator::live::LivePerson;

use crate::bluez::{Act, Bluez, Bus, Unit};
use crate::run::{command, new_folder, person, replayed, start, stderr, stdout};

/// The person waits so long when the unit is set up, seconds.
const WAITS_S: f64 = 1.0;

#[test]
fn a_repetition_across_a_second_without_the_link_is_counted_once_and_marked() {
    let Some(bus) = Bus::start() else { return };
    let set = start("4-0-1-0");
    let person = LivePerson::new(person(&set, 5));
    let truth = person.truth();
    let began = Arc::new(OnceLock::new());
    let begins = Arc::clone(&began);
    let mut as_made = None;
    let mut set_up_s = None;
    let unit = Unit {
        source: Box::new(move |unit_s, accel_m_s2, gyro_rad_s| {
            // The program asks for another range than the unit has as it is made.
            if *as_made.get_or_insert(gyro_rad_s) != gyro_rad_s {
                set_up_s.get_or_insert(unit_s);
                begins.get_or_init(Instant::now);
            }
            let now_s = set_up_s.map_or(0.0, |set_up_s| unit_s - set_up_s) - WAITS_S;
            let ideal = person.ideal(now_s);
            let [ax, ay, az] = ideal
                .accel_m_s2
                .map(|v| (v / accel_m_s2).round() as i16)
                .into();
            let [gx, gy, gz] = ideal
                .gyro_rad_s
                .map(|v| (v / gyro_rad_s).round() as i16)
                .into();
            [ax, ay, az, gx, gy, gz]
        }),
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    let (_root, folder) = new_folder();
    let child = bus
        .give(command(&[
            "record",
            "--exercise",
            "wrist-extension",
            "--side",
            "right",
            "--tempo",
            "4-0-1-0",
            "--reps",
            "2",
            "--json",
            "--for",
            "45",
            "--out",
            folder.to_str().unwrap(),
        ]))
        .spawn()
        .unwrap();
    // The link is lost in the middle of the second lowering.
    let lowering = &truth[1];
    let lost_s = 0.5 * (lowering.lower_start_s + lowering.lower_end_s) - 0.5;
    let began = loop {
        match began.get() {
            Some(began) => break *began,
            None => sleep(Duration::from_millis(5)),
        }
    };
    let until = began + Duration::from_secs_f64(WAITS_S + lost_s);
    sleep(until.saturating_duration_since(Instant::now()));
    bluez.now(Act::Lose("carpo-1"));
    sleep(Duration::from_secs(1));
    bluez.now(Act::Return("carpo-1"));
    let output = child.wait_with_output().unwrap();
    let said = stderr(&output);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("Calibrated"), "{said}");
    assert!(said.contains("The link to the sensor is lost"), "{said}");
    assert!(said.contains("The sensor is back"), "{said}");
    assert_eq!(stdout(&output), replayed(&folder) + "\n");

    let object: serde_json::Value = serde_json::from_str(&stdout(&output)).unwrap();
    let reps = object["sets"][0]["reps"].as_array().unwrap();
    assert_eq!(reps.len(), 2, "{said}");
    assert_eq!(reps[0]["doubts"].as_array().unwrap().len(), 0);
    assert!(
        reps[1]["doubts"]
            .as_array()
            .unwrap()
            .contains(&"gap".into())
    );
    for (rep, truth) in reps.iter().zip(&truth) {
        let time = |name: &str| rep[name].as_f64().unwrap();
        let lowered_s = time("lower_end_s") - time("lower_start_s");
        let off_s = lowered_s - (truth.lower_end_s - truth.lower_start_s);
        // The second one has the doubt that its times deserve.
        let allowed_s = if rep["doubts"].as_array().unwrap().is_empty() {
            0.15
        } else {
            0.6
        };
        assert!(
            off_s.abs() < allowed_s,
            "lowered in {lowered_s} s, off by {off_s} s"
        );
    }
    let recording = open(&folder).unwrap();
    let count = |wanted: fn(&EventKind) -> bool| {
        recording
            .events
            .iter()
            .filter(|event| wanted(&event.kind))
            .count()
    };
    assert_eq!(count(|kind| matches!(kind, EventKind::Sensor(_))), 2);
    assert_eq!(count(|kind| matches!(kind, EventKind::SensorLost(_))), 1);
    assert_eq!(count(|kind| matches!(kind, EventKind::SensorBack(_))), 1);
    assert!(count(|kind| matches!(kind, EventKind::Gap(_))) >= 1);
    assert!(count(|kind| matches!(kind, EventKind::Battery(_))) >= 1);
    assert!(count(|kind| matches!(kind, EventKind::Clock(_))) >= 1);
    assert!(recording.warnings.is_empty(), "{:?}", recording.warnings);
}
