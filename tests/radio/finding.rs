//! What `sensors` finds.

use std::process::{Command, Output};

use serde_json::Value;

use crate::bluez::{Bluez, Bus, Unit, without_bus};

pub fn carpotempo(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_carpotempo"));
    command.args(arguments).env("RUST_BACKTRACE", "1");
    command
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// Runs it on that bus.
pub fn run(bus: &Bus, arguments: &[&str]) -> Output {
    bus.give(carpotempo(arguments)).output().unwrap()
}

/// The one object on standard output, and the exit status.
pub fn json(output: &Output) -> Value {
    let text = stdout(output);
    assert_eq!(text.lines().count(), 1, "{text}{}", stderr(output));
    serde_json::from_str(&text).unwrap()
}

/// The one message of a failure, nothing on standard output.
pub fn fails(output: &Output) -> String {
    let message = stderr(output);
    assert_eq!(output.status.code(), Some(1), "{message}");
    assert!(stdout(output).is_empty(), "{}", stdout(output));
    for word in ["panicked", "backtrace", "src/"] {
        assert!(!message.contains(word), "{message}");
    }
    message
}

const LIST: [&str; 4] = ["sensors", "--json", "--for", "1"];

#[test]
fn sensors_are_found_by_their_service_and_listed_by_their_signal() {
    let Some(bus) = Bus::start() else { return };
    let far = Unit {
        rssi_dbm: -82,
        battery: Some(9),
        advertises_battery: true,
        ..Unit::new("carpo-far")
    };
    let near = Unit {
        rssi_dbm: -50,
        ..Unit::new("carpo-near")
    };
    let silent = Unit {
        battery: None,
        rssi_dbm: -70,
        ..Unit::new("carpo-nobattery")
    };
    // Somebody else's heart rate strap; a unit that the service remembers and that is not there.
    let strap = Unit {
        is_ours: false,
        ..Unit::new("strap")
    };
    let old = Unit {
        known: true,
        present: false,
        ..Unit::new("carpo-old")
    };
    let bluez = Bluez::start(&bus, vec![far, near, strap, old, silent]);
    let output = run(&bus, &LIST);
    assert!(output.status.success(), "{}", stderr(&output));
    assert!(stderr(&output).is_empty(), "{}", stderr(&output));
    let object = json(&output);
    let sensors = object["sensors"].as_array().unwrap();
    let names: Vec<&str> = sensors
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["carpo-near", "carpo-nobattery", "carpo-far"]);
    assert_eq!(sensors[0]["battery_percent"], 82, "read over a connection");
    assert_eq!(sensors[1]["battery_percent"], Value::Null, "unknown");
    assert_eq!(sensors[2]["battery_percent"], 9, "as advertised");
    assert_eq!(sensors[0]["signal"], "strong");
    assert_eq!(sensors[2]["signal"], "weak");
    let rssi_dbm = sensors[0]["rssi_dbm"].as_i64().unwrap();
    assert!((-51..=-49).contains(&rssi_dbm), "{rssi_dbm}");
    // It let go of what it connected, and of the search.
    assert_eq!(bluez.calls_of("Connect carpo-near"), 1);
    assert_eq!(bluez.calls_of("Disconnect carpo-near"), 1);
    // Where it is set to be worn is asked, whatever it advertises.
    assert_eq!(bluez.calls_of("Connect carpo-far"), 1);
    assert_eq!(bluez.calls_of("Disconnect carpo-far"), 1);
    assert_eq!(bluez.calls_of("StopDiscovery"), 1);
}

#[test]
fn the_table_names_each_sensor_and_says_what_to_do_next() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        battery: Some(9),
        ..Unit::new("left hand\u{1b}[31m")
    };
    let _bluez = Bluez::start(&bus, vec![unit]);
    let output = run(&bus, &["sensors", "--for", "1"]);
    assert!(output.status.success(), "{}", stderr(&output));
    let table = stdout(&output);
    assert!(table.contains("strong (-5"), "{table}");
    assert!(table.contains("9 % (charge it)"), "{table}");
    assert!(table.contains("--check 'left hand[31m'"), "{table}");
    assert!(
        !table.contains('\u{1b}'),
        "a name does not steer a terminal"
    );
}

#[test]
fn no_sensor_near_is_a_result_and_no_failure() {
    let Some(bus) = Bus::start() else { return };
    let _bluez = Bluez::start(&bus, Vec::new());
    let output = run(&bus, &LIST);
    assert!(output.status.success());
    assert_eq!(json(&output)["sensors"].as_array().unwrap().len(), 0);
    let output = run(&bus, &["sensors", "--for", "1"]);
    assert!(output.status.success());
    let words = stdout(&output);
    for word in ["No sensor found", "Switch the sensor on", "--for"] {
        assert!(words.contains(word), "{words}");
    }
}

#[test]
fn a_unit_that_is_in_use_is_listed_though_it_is_silent() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    let plan = crate::listener::Plan {
        seconds: 4.0,
        ..Default::default()
    };
    let listener = crate::listener::listen(&bus, &plan);
    while bluez.calls_of("StartNotify") == 0 {
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let object = json(&run(&bus, &LIST));
    let one = &object["sensors"][0];
    assert_eq!(one["name"], "carpo-1");
    assert_eq!(one["connected"], true);
    assert_eq!(one["rssi_dbm"], Value::Null);
    assert_eq!(one["battery_percent"], 82);
    let account = listener.heard();
    assert_eq!(account.of("lost").len(), 0, "its user keeps it");
}

#[test]
fn trouble_of_the_computer_is_told_with_what_to_do() {
    let output = without_bus(carpotempo(&LIST)).output().unwrap();
    let message = fails(&output);
    assert!(
        message.contains("is not running") && message.contains("start it"),
        "{message}"
    );

    let Some(bus) = Bus::start() else { return };
    // A bus, and no Bluetooth service on it.
    let message = fails(&run(&bus, &LIST));
    assert!(message.contains("is not running"), "{message}");
    let service = Bluez::with(&bus, None, Vec::new());
    let message = fails(&run(&bus, &LIST));
    assert!(message.contains("no Bluetooth adapter"), "{message}");
    drop(service);
    let service = Bluez::with(&bus, Some(false), vec![Unit::new("carpo-1")]);
    let message = fails(&run(&bus, &LIST));
    assert!(message.contains("switched off"), "{message}");
    assert_eq!(
        service.calls_of("StartDiscovery"),
        0,
        "it is not ours to switch on"
    );
}

#[test]
fn a_time_that_cannot_be_waited_for_is_exit_2() {
    for time in ["0", "-3", "soon", "1e9"] {
        let output = carpotempo(&["sensors", "--for", time]).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{time}");
        assert!(stdout(&output).is_empty());
    }
}
