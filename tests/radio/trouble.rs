//! What goes wrong at the start, and in the middle, and what is said of it.

use std::time::{Duration, Instant};

use crate::bluez::{Act, Bluez, Bus, Unit, numbered};
use crate::listener::{Account, Plan, listen};

/// Why no unit could be opened.
fn refused(units: Vec<Unit>, plan: &Plan) -> Option<(String, Bluez)> {
    let bus = Bus::start()?;
    let bluez = Bluez::start(&bus, units);
    let account = listen(&bus, plan).heard();
    let words = account.error.expect("it cannot be opened");
    println!("{words}");
    Some((words, bluez))
}

fn contains(words: &str, all: &[&str]) {
    for word in all {
        assert!(words.contains(word), "\"{word}\" is not in: {words}");
    }
}

#[test]
fn one_of_several_must_be_named() {
    let several = || vec![Unit::new("carpo-1"), Unit::new("carpo-2")];
    let Some((words, bluez)) = refused(several(), &Plan::default()) else {
        return;
    };
    contains(&words, &["several", "carpo-1", "carpo-2", "say which"]);
    assert_eq!(bluez.calls_of("Connect"), 0);
    let named = Plan {
        name: Some("Carpo-2"),
        seconds: 1.0,
        ..Plan::default()
    };
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, several());
    let account = listen(&bus, &named).heard();
    assert_eq!(account.error, None);
    assert_eq!(account.of("connected")[0].detail["name"], "carpo-2");
    assert_eq!(bluez.calls_of("Connect carpo-1"), 0);
}

#[test]
fn a_name_that_is_not_near_is_told_with_those_that_are() {
    let named = Plan {
        name: Some("carpo-9"),
        seek_s: 2,
        ..Plan::default()
    };
    let units = vec![Unit::new("carpo-1"), Unit::new("carpo-2")];
    let Some((words, _bluez)) = refused(units, &named) else {
        return;
    };
    contains(&words, &["carpo-9", "carpo-1", "carpo-2", "check the name"]);
}

#[test]
fn no_unit_near_is_told_with_what_to_do() {
    let plan = Plan {
        seek_s: 1,
        ..Plan::default()
    };
    let Some((words, _bluez)) = refused(Vec::new(), &plan) else {
        return;
    };
    contains(&words, &["no sensor found in 1 s", "switch it on"]);
}

#[test]
fn a_wrong_description_is_refused_at_once_and_says_which_byte() {
    let cases: [(&[u8], &str); 4] = [
        (&[2; 16], "version 2"),
        (&[1, 0, 3], "3 bytes"),
        (&[], "0 bytes"),
        // A range of 2000 deg/s with a scale of zero.
        (
            &[1, 0, 0xd0, 7, 0x10, 0xb9, 3, 0, 0, 0, 0, 0, 8, 0, 0xd0, 7],
            "gyroscope scale is 0",
        ),
    ];
    for (bytes, word) in cases {
        let unit = Unit {
            description: Some(bytes.to_vec()),
            ..Unit::new("carpo-1")
        };
        let Some((words, bluez)) = refused(vec![unit], &Plan::default()) else {
            return;
        };
        contains(&words, &["carpo-1", word, "firmware"]);
        assert_eq!(bluez.calls_of("Connect"), 1, "it will not change by itself");
        assert_eq!(bluez.calls_of("Disconnect"), 1);
        assert_eq!(bluez.calls_of("StartNotify"), 0);
    }
}

#[test]
fn a_connection_without_services_is_made_again() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        bare_connections: 2,
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    let plan = Plan {
        seconds: 1.0,
        ..Plan::default()
    };
    let account = listen(&bus, &plan).heard();
    assert_eq!(account.error, None);
    assert!(account.samples().len() > 50);
    assert_eq!(bluez.calls_of("Connect"), 3);
    let unit = Unit {
        bare_connections: 9,
        ..Unit::new("carpo-1")
    };
    let Some((words, bluez)) = refused(vec![unit], &Plan::default()) else {
        return;
    };
    contains(&words, &["carpo-1", "motion characteristic is missing"]);
    assert_eq!(bluez.calls_of("Connect"), 3);
}

#[test]
fn settings_are_written_where_they_differ_and_read_again() {
    let Some(bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    let plan = Plan {
        rate_tenth_hz: 2000,
        packet_us: 25_000,
        seconds: 1.0,
        ..Plan::default()
    };
    let account = listen(&bus, &plan).heard();
    assert_eq!(account.error, None);
    // 200 Hz, +-8 g, +-1000 deg/s, 5 samples in a packet.
    assert_eq!(bluez.calls_of("WriteValue settings d0 07 08 e8 03 05"), 1);
    let order: Vec<String> = bluez.calls().into_iter().map(|call| call.what).collect();
    let at = |what: &str| order.iter().rposition(|one| one.starts_with(what)).unwrap();
    assert!(at("ReadValue settings") > at("WriteValue settings"));
    assert!(at("ReadValue description") > at("WriteValue settings"));
    assert!(at("StartNotify motion") > at("ReadValue description"));
    let info = &account.of("connected")[0].detail;
    assert_eq!(info["rate_hz"], 200.0);
    assert_eq!(info["gyro_range_deg_s"], 1000.0);
    assert_eq!(info["accel_range_g"], 8.0);
    assert_eq!(info["firmware"], "1.2.0");
    assert_eq!(account.of("battery")[0].detail["percent"], 82);

    // The unit keeps them: nothing to write the second time.
    let account = listen(&bus, &plan).heard();
    assert_eq!(account.error, None);
    assert_eq!(bluez.calls_of("WriteValue"), 1);
}

#[test]
fn a_small_notification_holds_one_sample_and_the_unit_may_choose_the_nearest_rate() {
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        mtu: 23,
        battery: None,
        firmware: None,
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    let plan = Plan {
        rate_tenth_hz: 2300,
        packet_us: 25_000,
        seconds: 1.0,
        ..Plan::default()
    };
    let account = listen(&bus, &plan).heard();
    assert_eq!(account.error, None);
    assert_eq!(bluez.calls_of("WriteValue settings fc 08 08 e8 03 01"), 1);
    let info = &account.of("connected")[0].detail;
    assert_eq!(info["rate_hz"], 200.0);
    assert_eq!(info["firmware"], serde_json::Value::Null, "unknown");
    assert!(account.of("battery").is_empty(), "unknown");
    assert!(account.samples().len() > 150);
}

/// Listens while one thing happens.
fn through(act: Act, more: &[(f64, Act)], plan: &Plan) -> Option<(Account, Bluez)> {
    let bus = Bus::start()?;
    let unit = Unit {
        source: numbered(),
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    bluez.at(1.0, act);
    for (after_s, act) in more {
        bluez.at(*after_s, act.clone());
    }
    let account = listen(&bus, plan).heard();
    assert_eq!(account.error, None);
    Some((account, bluez))
}

#[test]
fn an_adapter_switched_off_and_on_is_a_lost_link_that_comes_back() {
    let plan = Plan {
        seconds: 6.0,
        ..Plan::default()
    };
    let on = [(2.5, Act::Power(true))];
    let Some((account, bluez)) = through(Act::Power(false), &on, &plan) else {
        return;
    };
    assert_eq!(account.of("lost").len(), 1);
    assert_eq!(account.of("back").len(), 1);
    let on_at = bluez.done_at(&on[0].1).unwrap();
    let back = account.of("back")[0].at.duration_since(on_at).unwrap();
    assert!(back < Duration::from_secs(2), "{back:?}");
}

#[test]
fn an_adapter_that_stays_off_ends_the_source_with_words() {
    let plan = Plan {
        seconds: 9.0,
        patience_s: 3,
        ..Plan::default()
    };
    let Some((account, _bluez)) = through(Act::Power(false), &[], &plan) else {
        return;
    };
    let ended = account.of("ended")[0].detail.as_str().unwrap();
    contains(ended, &["switched off", "switch it on"]);
    assert_eq!(account.story().last(), Some(&"closed"));
}

#[test]
fn a_service_that_is_started_anew_is_found_again() {
    let plan = Plan {
        seconds: 8.0,
        ..Plan::default()
    };
    let Some((account, bluez)) = through(Act::Leave, &[(3.0, Act::Come)], &plan) else {
        return;
    };
    let left = bluez.done_at(&Act::Leave).unwrap();
    let stalled = account.of("stalled")[0].at.duration_since(left).unwrap();
    assert!(stalled < Duration::from_millis(1300), "{stalled:?}");
    assert_eq!(account.of("lost").len(), 1);
    assert_eq!(account.of("back").len(), 1);
    let came = bluez.done_at(&Act::Come).unwrap();
    let back = account.of("back")[0].at.duration_since(came).unwrap();
    println!("back {:.3} s after the service", back.as_secs_f64());
}

#[test]
fn a_bus_that_dies_is_told_and_ends_the_source_in_the_end() {
    let Some(mut bus) = Bus::start() else { return };
    let bluez = Bluez::start(&bus, vec![Unit::new("carpo-1")]);
    let plan = Plan {
        seconds: 20.0,
        patience_s: 4,
        ..Plan::default()
    };
    let began = Instant::now();
    let listener = listen(&bus, &plan);
    while bluez.calls_of("StartNotify") == 0 {
        std::thread::sleep(Duration::from_millis(20));
    }
    std::thread::sleep(Duration::from_secs(1));
    bus.kill();
    let account = listener.heard();
    assert_eq!(account.of("stalled").len(), 1);
    assert_eq!(account.of("lost").len(), 1);
    let ended = account.of("ended")[0].detail.as_str().unwrap();
    println!("{ended}");
    contains(ended, &["Bluetooth service"]);
    assert!(
        began.elapsed() < Duration::from_secs(19),
        "it ended by itself"
    );
}

#[test]
fn a_unit_that_stays_away_ends_the_source_with_words() {
    let plan = Plan {
        seconds: 12.0,
        patience_s: 3,
        ..Plan::default()
    };
    let Some(bus) = Bus::start() else { return };
    let unit = Unit {
        connect_waits: false,
        ..Unit::new("carpo-1")
    };
    let bluez = Bluez::start(&bus, vec![unit]);
    bluez.at(1.0, Act::Lose("carpo-1"));
    let account = listen(&bus, &plan).heard();
    let ended = account.of("ended")[0].detail.as_str().unwrap();
    println!("{ended}");
    contains(ended, &["cannot connect to carpo-1", "bring it closer"]);
}
