//! `sensors --check`: the verdict, in figures, in words, and as an exit status.

use std::process::Stdio;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::bluez::{Act, Bluez, Bus, Source, Unit, still};
use crate::finding::{carpotempo, fails, json, run, stderr, stdout};

const CHECK: [&str; 6] = ["sensors", "--check", "carpo-1", "--json", "--for", "6"];

fn row<'a>(object: &'a Value, key: &str) -> &'a Value {
    let rows = object["verdict"]["rows"].as_array().unwrap();
    let mut rows = rows.iter();
    rows.find(|row| row["key"] == key)
        .unwrap_or_else(|| panic!("no row {key}: {object}"))
}

fn figure(object: &Value, key: &str) -> f64 {
    row(object, key)["figure"].as_f64().unwrap()
}

/// Another source, of the resting one's readings.
fn changed(mut change: impl FnMut(f64, &mut [i16; 6]) + Send + 'static) -> Source {
    let mut rest = still();
    Box::new(move |time_s, accel_m_s2, gyro_rad_s| {
        let mut reading = rest(time_s, accel_m_s2, gyro_rad_s);
        change(time_s, &mut reading);
        reading
    })
}

#[test]
fn a_sound_unit_passes_with_the_figures_that_it_was_made_with() {
    let Some(bus) = Bus::start() else { return };
    let _bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    let output = run(&bus, &CHECK);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let object = json(&output);
    assert_eq!(object["name"], "carpo-1");
    assert_eq!(object["battery_percent"], 82);
    assert_eq!(object["firmware"], "1.2.0");
    assert_eq!(object["link_lost_count"], 0);
    assert_eq!(object["verdict"]["mark"], "ok");
    assert_eq!(object["verdict"]["still"], true);
    assert!((figure(&object, "rate_hz") - 200.0).abs() < 0.1);
    assert!(figure(&object, "jitter_ms") < 0.01);
    assert_eq!(figure(&object, "lost_percent"), 0.0);
    // As the unit was played: 0.06 deg/s and 8 mm/s2 a sample, a bias of 0.4 deg/s; rounding to
    // 0.035 deg/s and 2.4 mm/s2 adds a little (step^2 / 12).
    let noise = figure(&object, "gyro_noise_deg_s");
    assert!((noise - 0.0608).abs() < 0.004, "{noise}");
    let bias = figure(&object, "gyro_bias_deg_s");
    assert!((bias - 0.4).abs() < 0.01, "{bias}");
    let noise = figure(&object, "accel_noise_m_s2");
    assert!((noise - 0.00803).abs() < 0.0006, "{noise}");
    let norm = figure(&object, "accel_norm_m_s2");
    assert!((norm - 9.80665).abs() < 0.01, "{norm}");
    // The words are on the other stream.
    assert!(stderr(&output).contains("Put carpo-1 on a table"));
}

#[test]
fn the_table_says_the_verdict_and_the_figures_in_words() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        battery: Some(12),
        ..Unit::new("carpo-1")
    };
    let _bluez = Bluez::start(&bus, vec![unit]);
    let output = run(&bus, &["sensors", "--check", "CARPO-1", "--for", "6"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let table = stdout(&output);
    for word in [
        "carpo-1: It works",
        "200 Hz, ±8 g, ±1000 deg/s",
        "sample rate",
        "gyroscope bias",
        "lost samples",
        "12 %",
        "1.2.0",
    ] {
        assert!(table.contains(word), "{word}: {table}");
    }
}

#[test]
fn a_unit_that_moved_cannot_be_judged() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        source: changed(|time_s, reading| reading[5] = (3000.0 * (6.0 * time_s).sin()) as i16),
        ..Unit::new("carpo-1")
    };
    let _bluez = Bluez::start(&bus, vec![unit]);
    let output = run(&bus, &CHECK);
    assert_eq!(output.status.code(), Some(1));
    let object = json(&output);
    assert_eq!(object["verdict"]["still"], false);
    assert_eq!(object["verdict"]["mark"], "unknown");
    assert!(
        stderr(&output).contains("check again"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn a_scale_that_is_twice_too_small_is_not_fit_for_use() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        source: changed(|_, reading| {
            for value in &mut reading[..3] {
                *value /= 2;
            }
        }),
        ..Unit::new("carpo-1")
    };
    let _bluez = Bluez::start(&bus, vec![unit]);
    let output = run(&bus, &CHECK);
    assert_eq!(output.status.code(), Some(1));
    let object = json(&output);
    assert_eq!(object["verdict"]["mark"], "bad");
    assert_eq!(row(&object, "accel_norm_m_s2")["mark"], "bad");
    let norm = figure(&object, "accel_norm_m_s2");
    assert!((norm - 9.80665 / 2.0).abs() < 0.02, "{norm}");
}

#[test]
fn lost_samples_and_a_broken_link_are_in_the_verdict() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    bluez.at(0.5, Act::Swallow("carpo-1", 24));
    bluez.at(1.0, Act::Garbage("carpo-1", vec![1, 2, 3]));
    bluez.at(2.0, Act::Lose("carpo-1"));
    bluez.at(3.0, Act::Return("carpo-1"));
    let output = run(&bus, &CHECK);
    let object = json(&output);
    assert_eq!(object["link_lost_count"], 1);
    // 120 samples swallowed, and a second or more without a link, of about seven.
    let lost_percent = figure(&object, "lost_percent");
    assert!((20.0..45.0).contains(&lost_percent), "{lost_percent}");
    assert_eq!(figure(&object, "broken_count"), 1.0);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    assert!(stderr(&output).contains("The link broke"));
}

#[test]
fn a_check_that_loses_its_unit_for_good_ends_with_words() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        connect_waits: false,
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    bluez.at(1.0, Act::Lose("carpo-1"));
    let began = Instant::now();
    let message = fails(&run(&bus, &CHECK));
    assert!(message.contains("bring it closer"), "{message}");
    assert!(began.elapsed() < Duration::from_secs(20));
}

#[test]
fn a_unit_that_never_sends_fails_the_check() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    bluez.now(Act::Stall("carpo-1"));
    let output = run(&bus, &CHECK);
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(json(&output)["verdict"]["mark"], "bad");
    assert!(
        stderr(&output).contains("No samples came"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn a_check_that_is_stopped_lets_go_of_the_unit() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    let mut command = bus.give(carpotempo(&[
        "sensors", "--check", "carpo-1", "--for", "60",
    ]));
    let command = command.stdout(Stdio::piped()).stderr(Stdio::piped());
    let child = command.spawn().unwrap();
    while bluez.calls_of("StartNotify") == 0 {
        std::thread::sleep(Duration::from_millis(20));
    }
    let pid = child.id().to_string();
    let killed = std::process::Command::new("kill")
        .args(["-INT", &pid])
        .status();
    assert!(killed.unwrap().success());
    let began = Instant::now();
    let message = fails(&child.wait_with_output().unwrap());
    assert!(message.contains("stopped"), "{message}");
    assert!(began.elapsed() < Duration::from_secs(3));
    assert_eq!(bluez.calls_of("StopNotify"), 1);
    assert_eq!(bluez.calls_of("Disconnect"), 1);
}

#[test]
fn a_check_that_is_too_short_is_exit_2() {
    let output = carpotempo(&["sensors", "--check", "carpo-1", "--for", "2"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("at least 5 seconds"));
}
