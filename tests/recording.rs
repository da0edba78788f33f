//! Recordings: what is written reads back to the bit, what is cut still opens, what any bytes do.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise"
)]

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::Instant;

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{
    Battery, Calibration, ClockInfo, Event, EventKind, ForeignOptions, Gap, ItemMark, ItemRef,
    Night, Note, PlaceMark, Reason, Recording, RecordingError, Scale, SensorInfo, SessionHead,
    SetEnd, SetEndReason, SetStart, Stamp, Store, Symptom, When, Writer, open, open_foreign,
    read_summary, session_name, write_summary,
};
use carpotempo::routine::{Routine, STARTING};
use carpotempo::sample::{Place, Sample};
use jiff::tz::{Offset, TimeZone};
use nalgebra::Vector3;
use proptest::prelude::*;
use serde_json::json;

const HEADER: &str = "t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s";

/// A hand that tips by ±0.4 rad about x once in 2 s: rigid-body truth.
fn tipping(rate_hz: f64, count: usize) -> Vec<Sample> {
    (0..count)
        .map(|row| {
            let t_s = row as f64 / rate_hz;
            let phase = std::f64::consts::PI * t_s;
            let angle_rad = 0.4 * phase.sin();
            Sample {
                t_s,
                accel_m_s2: Vector3::new(0.1, 9.81 * angle_rad.sin(), 9.81 * angle_rad.cos()),
                gyro_rad_s: Vector3::new(
                    0.4 * std::f64::consts::PI * phase.cos(),
                    0.011 + 1e-7 * t_s,
                    -0.02 / 3.0,
                ),
            }
        })
        .collect()
}

fn numbers(sample: &Sample) -> [f64; 7] {
    let (a, g) = (sample.accel_m_s2, sample.gyro_rad_s);
    [sample.t_s, a.x, a.y, a.z, g.x, g.y, g.z]
}

fn head() -> SessionHead {
    let offset = Offset::constant(2);
    let instant: jiff::Timestamp = "2026-03-28T22:30:00.25Z".parse().unwrap();
    SessionHead {
        started_at: instant.to_zoned_datetime(TimeZone::fixed(offset)),
        patient: "invented-07".parse().unwrap(),
        routine: Some(Routine::from_toml(STARTING[0].toml).unwrap()),
    }
}

fn event(t_s: f64, kind: EventKind) -> Event {
    Event { t_s, kind }
}

/// One of every event, in the shape that a session writes.
fn every_event() -> Vec<Event> {
    let hand = Some(Place::Hand);
    let symptom = |value, when| Symptom {
        value: Scale::new(value),
        side: Some(Side::Left),
        when: Some(when),
        of: Some("2026-03-27T063000Z".to_owned()),
    };
    let reason = |words: &str| Reason {
        reason: Some(words.to_owned()),
    };
    vec![
        event(
            0.0,
            EventKind::Sensor(SensorInfo {
                place: hand,
                name: Some("unit \"7\", blue".to_owned()),
                rate_hz: Some(104.0),
                accel_range_g: Some(8.0),
                gyro_range_deg_s: Some(1000.0),
                firmware: Some("1.0".to_owned()),
            }),
        ),
        event(
            0.1,
            EventKind::Clock(ClockInfo {
                place: hand,
                offset_s: Some(-12.5),
                drift_ppm: Some(18.25),
            }),
        ),
        event(
            5.0,
            EventKind::Calibration(Calibration {
                place: hand,
                side: Some(Side::Left),
                movement: Some(Movement::WristExtension),
                posture: Some(Movement::WristExtension.usual_posture()),
                still_start_s: Some(1.0),
                still_end_s: Some(2.5),
                move_start_s: Some(3.0),
                move_end_s: Some(4.5),
            }),
        ),
        event(5.5, EventKind::Pain(symptom(2, When::Before))),
        event(5.6, EventKind::Tingling(symptom(0, When::NextMorning))),
        event(5.7, EventKind::Numbness(symptom(10, When::During))),
        event(
            6.0,
            EventKind::ItemStart(ItemMark {
                item: Some(ItemRef::Number(1)),
            }),
        ),
        event(
            6.25,
            EventKind::SetStart(SetStart {
                item: Some(ItemRef::Name("first".to_owned())),
                movement: Some(Movement::RadialDeviation),
                side: Some(Side::Left),
                load_kg: Some(0.5),
                load_shape: None,
                posture: Some(Movement::RadialDeviation.usual_posture()),
                tempo: Some("4-0-X-1".parse().unwrap()),
                target_reps: Some(8),
                range_test: false,
            }),
        ),
        event(
            7.0,
            EventKind::Gap(Gap {
                place: hand,
                start_s: Some(6.5),
                end_s: Some(6.75),
                lost_count: Some(26),
            }),
        ),
        event(7.5, EventKind::SensorLost(PlaceMark { place: hand })),
        event(8.0, EventKind::SensorBack(PlaceMark { place: hand })),
        event(
            8.5,
            EventKind::Battery(Battery {
                place: hand,
                percent: Some(81),
            }),
        ),
        event(
            9.0,
            EventKind::SetEnd(SetEnd {
                reason: Some(SetEndReason::Tired),
                ..SetEnd::default()
            }),
        ),
        event(9.1, EventKind::ItemEnd(ItemMark::default())),
        event(9.2, EventKind::Stop(reason("tingling"))),
        event(
            9.3,
            EventKind::Declined(reason("tired, \"not today\"\nreally")),
        ),
        event(
            9.4,
            EventKind::Night(Night {
                woke: Some(true),
                splint: Some(false),
                dropped: None,
            }),
        ),
        event(9.5, EventKind::Skipped(reason("no time"))),
        event(
            9.6,
            EventKind::Note(Note {
                text: Some("stiff, l\u{e4}ngs \u{1f590}".to_owned()),
            }),
        ),
        event(
            9.7,
            EventKind::Visit(json!({"grip_kg": [20, 21.5, 19], "words": "go on"})),
        ),
        event(
            9.8,
            EventKind::Unknown {
                name: "of-a-newer-writer".to_owned(),
                detail: json!({"x": [1, {"y": null}]}),
            },
        ),
    ]
}

fn write(folder: &Path, head: &SessionHead, hand: &[Sample], forearm: &[Sample], events: &[Event]) {
    let mut writer = Writer::create(folder, head).unwrap();
    let mut forearm = forearm.iter().peekable();
    for sample in hand {
        while let Some(other) = forearm.next_if(|other| other.t_s < sample.t_s) {
            writer.sample(Place::Forearm, other).unwrap();
        }
        writer.sample(Place::Hand, sample).unwrap();
    }
    for other in forearm {
        writer.sample(Place::Forearm, other).unwrap();
    }
    for event in events {
        writer.event(event).unwrap();
    }
    writer.finish().unwrap();
}

fn same_bits(a: &[Sample], b: &[Sample]) {
    assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(b) {
        assert_eq!(numbers(a).map(f64::to_bits), numbers(b).map(f64::to_bits));
    }
}

#[test]
fn a_session_reads_back_as_it_was_written() {
    let store = tempfile::tempdir().unwrap();
    let folder = store.path().join("session");
    let (hand, forearm) = (tipping(104.0, 1100), tipping(52.0, 550));
    write(&folder, &head(), &hand, &forearm, &every_event());
    let read = open(&folder).unwrap();
    assert_eq!(read.name, "session");
    assert_eq!(read.warnings, Vec::<String>::new());
    assert_eq!(read.events, every_event());
    let read_head = read.head.unwrap();
    assert_eq!(read_head, head());
    assert_eq!(read_head.started_at.date().to_string(), "2026-03-29");
    same_bits(&read.hand, &hand);
    same_bits(&read.forearm, &forearm);
}

#[test]
fn every_event_of_the_format_is_written_under_its_own_word() {
    let words: Vec<String> = every_event()
        .iter()
        .map(|event| event.kind.name().to_owned())
        .collect();
    assert_eq!(
        words.join(" "),
        "sensor clock calibration pain tingling numbness item-start set-start gap sensor-lost \
         sensor-back battery set-end item-end stop declined night skipped note visit \
         of-a-newer-writer"
    );
}

#[test]
fn a_session_of_events_alone_is_valid() {
    let store = tempfile::tempdir().unwrap();
    let night = every_event().split_off(16);
    write(&store.path().join("s"), &head(), &[], &[], &night);
    assert!(!store.path().join("s/samples.csv").exists());
    let read = open(&store.path().join("s")).unwrap();
    assert_eq!(
        (read.hand.len(), read.events, read.warnings),
        (0, night, Vec::new())
    );
}

#[test]
fn the_samples_file_of_a_folder_reads_alone_too() {
    let store = tempfile::tempdir().unwrap();
    let folder = store.path().join("s");
    let (hand, forearm) = (tipping(104.0, 300), tipping(52.0, 150));
    write(&folder, &head(), &hand, &forearm, &[]);
    let read = open_foreign(&folder.join("samples.csv"), &ForeignOptions::default()).unwrap();
    assert_eq!((read.head, read.warnings), (None, Vec::new()));
    same_bits(&read.hand, &hand);
    same_bits(&read.forearm, &forearm);
}

#[test]
fn nothing_existing_is_overwritten() {
    let store = tempfile::tempdir().unwrap();
    write(
        store.path(),
        &head(),
        &tipping(104.0, 30),
        &[],
        &every_event(),
    );
    let before = std::fs::read(store.path().join("samples.csv")).unwrap();
    let error = Writer::create(store.path(), &head()).unwrap_err();
    assert!(matches!(error, RecordingError::Exists { .. }), "{error}");
    std::fs::remove_file(store.path().join("session.json")).unwrap();
    let error = Writer::create(store.path(), &head()).unwrap_err();
    assert!(matches!(error, RecordingError::Exists { .. }), "{error}");
    assert!(!store.path().join("session.json").exists());
    assert_eq!(
        std::fs::read(store.path().join("samples.csv")).unwrap(),
        before
    );
}

#[cfg(unix)]
#[test]
fn files_are_private_to_the_user() {
    use std::os::unix::fs::PermissionsExt;
    let root = tempfile::tempdir().unwrap();
    let store = Store::at(root.path().join("new/store"));
    let folder = store
        .new_session(&head().patient, &head().started_at)
        .unwrap();
    write(&folder, &head(), &tipping(104.0, 30), &[], &every_event());
    write_summary(&folder, &Stamp::of(&folder, 1).unwrap(), &7).unwrap();
    let mode = |path: &Path| path.metadata().unwrap().permissions().mode() & 0o777;
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        assert_eq!(mode(&path), 0o600, "{}", path.display());
    }
    for path in [root.path().join("new"), store.root().to_owned(), folder] {
        assert_eq!(mode(&path), 0o700, "{}", path.display());
    }
}

#[test]
fn samples_reach_the_file_within_half_a_second_of_their_time() {
    let store = tempfile::tempdir().unwrap();
    let mut writer = Writer::create(store.path(), &head()).unwrap();
    for sample in tipping(100.0, 500) {
        writer.sample(Place::Hand, &sample).unwrap();
        let path = store.path().join("samples.csv");
        let rows = std::fs::read_to_string(path)
            .unwrap_or_default()
            .lines()
            .count();
        let in_file_s = rows.saturating_sub(1) as f64 / 100.0;
        assert!(sample.t_s - in_file_s < 0.52, "{} {in_file_s}", sample.t_s);
    }
}

#[test]
fn a_sample_that_the_format_does_not_allow_is_refused_and_the_rest_goes_on() {
    let store = tempfile::tempdir().unwrap();
    let mut writer = Writer::create(store.path(), &head()).unwrap();
    let mut samples = tipping(104.0, 40);
    for sample in &samples {
        writer.sample(Place::Hand, sample).unwrap();
    }
    let mut bad = samples[0];
    assert!(writer.sample(Place::Hand, &bad).is_err(), "time goes back");
    bad.t_s = 1.0;
    bad.gyro_rad_s.y = f64::NAN;
    assert!(writer.sample(Place::Hand, &bad).is_err(), "not finite");
    let mut last = samples[39];
    last.t_s = 1.0;
    writer.sample(Place::Hand, &last).unwrap();
    writer.finish().unwrap();
    samples.push(last);
    same_bits(&open(store.path()).unwrap().hand, &samples);
}

#[cfg(unix)]
#[test]
fn a_name_that_is_taken_is_never_written_through_and_the_event_is_kept() {
    let store = tempfile::tempdir().unwrap();
    let mut writer = Writer::create(store.path(), &head()).unwrap();
    let elsewhere = store.path().join("elsewhere");
    std::os::unix::fs::symlink(&elsewhere, store.path().join("events.csv")).unwrap();
    let error = writer.event(&every_event()[0]).unwrap_err();
    assert!(matches!(error, RecordingError::Exists { .. }), "{error}");
    assert!(!elsewhere.exists());
    std::fs::remove_file(store.path().join("events.csv")).unwrap();
    writer.event(&every_event()[1]).unwrap();
    writer.finish().unwrap();
    assert_eq!(open(store.path()).unwrap().events, every_event()[..2]);
}

#[test]
fn ends_that_are_missing_show_in_the_other_file() {
    let store = tempfile::tempdir().unwrap();
    let set = |t_s, start| {
        let kind = if start {
            EventKind::SetStart(SetStart::default())
        } else {
            EventKind::SetEnd(SetEnd::default())
        };
        event(t_s, kind)
    };
    let opened = |name: &str, hand: &[Sample], events: &[Event]| {
        let folder = store.path().join(name);
        write(&folder, &head(), hand, &[], events);
        open(&folder).unwrap().warnings
    };
    let samples = tipping(104.0, 1040);
    let set_of_9_s = [set(0.5, true), set(9.5, false)];
    assert_eq!(opened("whole", &samples, &set_of_9_s), Vec::<String>::new());
    let warnings = opened("no-end", &samples, &set_of_9_s[..1]);
    assert!(
        warnings.len() == 1 && warnings[0].contains("events.csv: the set-end"),
        "{warnings:?}"
    );
    let warnings = opened("short", &samples[..500], &set_of_9_s);
    assert!(
        warnings.len() == 1 && warnings[0].contains("samples.csv: the samples end at 4.79"),
        "{warnings:?}"
    );
    let warnings = opened("none", &[], &set_of_9_s);
    assert!(
        warnings.len() == 1 && warnings[0].contains("samples.csv: the file is missing"),
        "{warnings:?}"
    );
}

#[test]
fn a_folder_cut_at_any_byte_opens_and_names_what_is_missing() {
    let store = tempfile::tempdir().unwrap();
    write(
        store.path(),
        &head(),
        &tipping(104.0, 60),
        &tipping(52.0, 30),
        &every_event(),
    );
    let whole = open(store.path()).unwrap();
    for (name, step) in [("samples.csv", 7), ("events.csv", 1)] {
        let path = store.path().join(name);
        let bytes = std::fs::read(&path).unwrap();
        for cut in (0..bytes.len()).step_by(step) {
            std::fs::write(&path, &bytes[..cut]).unwrap();
            let read = open(store.path()).unwrap();
            same_start(&read, &whole);
            let within_a_line = cut == 0 || bytes[cut - 1] != b'\n';
            assert!(
                !within_a_line || read.warnings.iter().any(|warning| warning.contains(name)),
                "{name} cut at {cut}: {:?}",
                read.warnings
            );
        }
        std::fs::write(&path, &bytes).unwrap();
    }
    for name in ["samples.csv", "events.csv"] {
        std::fs::remove_file(store.path().join(name)).unwrap();
        let warnings = open(store.path()).unwrap().warnings;
        assert!(
            warnings
                .iter()
                .any(|warning| warning.contains("events.csv"))
                || name == "samples.csv"
        );
    }
    let path = store.path().join("session.json");
    let bytes = std::fs::read(&path).unwrap();
    // The last byte is a line end: the JSON before it is whole.
    for cut in 0..bytes.len() - 1 {
        std::fs::write(&path, &bytes[..cut]).unwrap();
        let error = open(store.path()).expect_err("cut").to_string();
        assert!(error.contains("session.json"), "{error}");
    }
}

/// What a cut recording still holds is what the whole one holds there.
fn same_start(cut: &Recording, whole: &Recording) {
    same_bits(&cut.hand, &whole.hand[..cut.hand.len()]);
    same_bits(&cut.forearm, &whole.forearm[..cut.forearm.len()]);
    assert_eq!(cut.events, whole.events[..cut.events.len()]);
}

#[test]
fn a_newer_writer_of_this_version_is_read_and_its_additions_ignored() {
    let store = tempfile::tempdir().unwrap();
    write(
        store.path(),
        &head(),
        &tipping(104.0, 60),
        &[],
        &every_event(),
    );
    let edit = |name: &str, change: &dyn Fn(String) -> String| {
        let path = store.path().join(name);
        std::fs::write(&path, change(std::fs::read_to_string(&path).unwrap())).unwrap();
    };
    let whole = open(store.path()).unwrap();
    edit("session.json", &|text| {
        text.replacen('{', "{\"weather\": 1,", 1)
    });
    edit("session.json", &|text| {
        text.replacen("\"rounds\"", "\"music\": \"on\", \"rounds\"", 1)
    });
    edit("samples.csv", &|text| {
        text.replacen("gz_rad_s\n", "gz_rad_s,heat_c\n", 1)
            .replacen("\nhand", ",21\nhand", 60)
            .trim_end()
            .to_owned()
            + ",21\n"
    });
    edit("samples.csv", &|text| {
        text.replacen("heat_c,21", "heat_c", 1)
    });
    edit("events.csv", &|text| {
        text.replacen("\"\"rate_hz", "\"\"colour\"\":3,\"\"rate_hz", 1)
    });
    let read = open(store.path()).unwrap();
    assert_eq!(read, whole);
    edit("session.json", &|text| {
        text.replacen("\"counted\"", "\"dance\"", 1)
    });
    let read = open(store.path()).unwrap();
    assert_eq!(read.head.unwrap().routine, None);
    assert!(read.warnings[0].contains("routine"), "{:?}", read.warnings);
}

#[test]
fn foreign_files_read_to_the_same_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let samples = tipping(104.0, 200);
    let read = |name: &str, text: String, options: &ForeignOptions| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        let recording = open_foreign(&path, options).unwrap();
        assert_eq!(recording.name, name.trim_end_matches(".csv"));
        recording
    };
    let text = |names: &str, row: &dyn Fn([f64; 7]) -> String| {
        samples
            .iter()
            .fold(names.to_owned() + "\n", |mut text, sample| {
                writeln!(text, "{}", row(numbers(sample))).unwrap();
                text
            })
    };
    let plain = |row: [f64; 7]| row.map(|number| number.to_string()).join(",");
    let defaults = ForeignOptions::default();
    let ours = text(HEADER, &plain);
    same_bits(&read("a.csv", ours.clone(), &defaults).hand, &samples);
    same_bits(
        &read(
            "b.csv",
            format!("\u{feff}{}", ours.replace('\n', "\r\n")),
            &defaults,
        )
        .hand,
        &samples,
    );
    same_bits(
        &read("c.csv", ours.replace(',', ";"), &defaults).hand,
        &samples,
    );
    same_bits(
        &read("d.csv", ours.replace(',', "\t"), &defaults).hand,
        &samples,
    );
    let quoted = text(
        "\"gz_rad_s\",\"note, long\",\"gy_rad_s\",gx_rad_s,az_m_s2,ay_m_s2,ax_m_s2,t_s,sensor",
        &|row| {
            let [t, ax, ay, az, gx, gy, gz] = row;
            format!("\"{gz}\",\"a, \"\"b\"\"\", {gy} ,{gx:e},{az},{ay},{ax},{t},unit 3")
        },
    );
    same_bits(&read("e.csv", quoted, &defaults).hand, &samples);
    let comma = ForeignOptions {
        decimal_comma: true,
        columns: vec!["t_s=Zeit (s)".parse().unwrap()],
        ..ForeignOptions::default()
    };
    let german = ours
        .replace(',', ";")
        .replace('.', ",")
        .replacen("t_s", "Zeit (s)", 1);
    same_bits(&read("f.csv", german, &comma).hand, &samples);
    let rate = ForeignOptions {
        rate_hz: Some(104.0),
        ..ForeignOptions::default()
    };
    let timeless = text(HEADER.trim_start_matches("t_s,"), &|row| {
        plain(row).split_once(',').unwrap().1.to_owned()
    });
    same_bits(&read("g.csv", timeless, &rate).hand, &samples);
    let warned = read("h.csv", ours, &rate);
    same_bits(&warned.hand, &samples);
    assert!(
        warned.warnings[0].contains("t_s was not used"),
        "{:?}",
        warned.warnings
    );
    for rate_hz in [0.0, -1.0, f64::NAN, 19.0, 1e5] {
        let options = ForeignOptions {
            rate_hz: Some(rate_hz),
            ..ForeignOptions::default()
        };
        let error = open_foreign(&folder.path().join("g.csv"), &options).unwrap_err();
        assert!(
            matches!(error, RecordingError::RateOption { .. }),
            "{error}"
        );
    }
}

#[test]
fn units_are_converted_as_declared() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("units.csv");
    let mut text = HEADER.to_owned() + "\n";
    for row in 0..50 {
        writeln!(text, "{},0,0,1,90,0,-180", row * 20).unwrap();
    }
    std::fs::write(&path, text).unwrap();
    let options = ForeignOptions {
        accel_unit: "g".parse().unwrap(),
        gyro_unit: "deg_s".parse().unwrap(),
        time_unit: "ms".parse().unwrap(),
        ..ForeignOptions::default()
    };
    let read = open_foreign(&path, &options).unwrap();
    let last = read.hand[49];
    assert_eq!(last.t_s, 0.98);
    assert_eq!(last.accel_m_s2, Vector3::new(0.0, 0.0, 9.80665));
    let half_pi = std::f64::consts::FRAC_PI_2;
    assert!((last.gyro_rad_s - Vector3::new(half_pi, 0.0, -2.0 * half_pi)).norm() < 1e-15);
    for bad in ["", "G", "m/s2"] {
        assert!(bad.parse::<carpotempo::recording::AccelUnit>().is_err());
    }
}

#[test]
fn the_store_lists_patients_and_sessions_by_start() {
    let root = tempfile::tempdir().unwrap();
    let store = Store::at(root.path().join("store"));
    assert_eq!(store.patients().unwrap(), []);
    let patient = head().patient;
    let error = store.sessions(&patient).unwrap_err();
    assert!(matches!(error, RecordingError::UnknownPatient { .. }));
    assert!(
        error
            .to_string()
            .contains(&store.root().display().to_string()),
        "{error}"
    );
    // The clock goes back within these: instants, not local times, decide. Invented data.
    let starts = [
        "2026-10-25T02:30:00+02:00",
        "2026-10-25T02:10:00+01:00",
        "2026-10-24T20:00:00-04:00",
    ];
    for start in starts {
        let instant: jiff::Timestamp = start.parse().unwrap();
        let head = SessionHead {
            started_at: instant.to_zoned_datetime(TimeZone::fixed(
                jiff::fmt::temporal::Pieces::parse(start)
                    .unwrap()
                    .to_numeric_offset()
                    .unwrap(),
            )),
            ..head()
        };
        let folder = store.new_session(&patient, &head.started_at).unwrap();
        write(&folder, &head, &[], &[], &[]);
        let again = store.new_session(&patient, &head.started_at).unwrap();
        assert_ne!(again, folder);
    }
    std::fs::create_dir(store.root().join(patient.as_str()).join("broken")).unwrap();
    std::fs::create_dir(store.root().join("not a code")).unwrap();
    std::fs::write(store.root().join("a-file"), "").unwrap();
    assert_eq!(store.patients().unwrap(), std::slice::from_ref(&patient));
    let listed = store.sessions(&patient).unwrap();
    let order: Vec<String> = listed
        .sessions
        .iter()
        .map(|session| {
            session
                .folder
                .file_name()
                .unwrap()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(
        order,
        [
            "2026-10-25T000000Z",
            "2026-10-25T003000Z",
            "2026-10-25T011000Z"
        ]
    );
    assert_eq!(listed.broken.len(), 1);
    assert_eq!(
        listed.sessions[0].open().unwrap().head.unwrap().patient,
        patient
    );
    assert_eq!(session_name(&listed.sessions[1].started_at), order[1]);
}

#[test]
fn a_summary_is_stale_when_anything_it_was_computed_from_differs() {
    let folder = tempfile::tempdir().unwrap();
    let session = folder.path().join("s");
    write(&session, &head(), &tipping(104.0, 60), &[], &every_event());
    let summary = json!({"reps": 8, "range_deg": 41.5});
    let store = || {
        write_summary(&session, &Stamp::of(&session, 3).unwrap(), &summary).unwrap();
        assert_eq!(
            read_summary::<serde_json::Value>(&session, 3),
            Some(summary.clone())
        );
    };
    let fresh = || read_summary::<serde_json::Value>(&session, 3).is_some();
    assert!(!fresh(), "missing");
    store();
    assert_eq!(read_summary::<serde_json::Value>(&session, 4), None);
    assert_eq!(
        read_summary::<Vec<u8>>(&session, 3),
        None,
        "of another shape"
    );
    for name in ["session.json", "samples.csv", "events.csv"] {
        store();
        let path = session.join(name);
        let bytes = std::fs::read(&path).unwrap();
        let modified = path.metadata().unwrap().modified().unwrap();
        let set_time = |time| {
            let file = std::fs::OpenOptions::new()
                .append(true)
                .open(&path)
                .unwrap();
            file.set_modified(time).unwrap();
        };
        set_time(modified + std::time::Duration::from_nanos(1000));
        assert!(!fresh(), "{name}: time");
        set_time(modified);
        assert!(fresh(), "{name}");
        std::fs::write(&path, [&bytes[..], b"\n"].concat()).unwrap();
        set_time(modified);
        assert!(!fresh(), "{name}: size");
        std::fs::remove_file(&path).unwrap();
        assert!(!fresh(), "{name}: gone");
        std::fs::write(&path, &bytes).unwrap();
    }
    store();
    std::fs::write(session.join("summary.json"), "{\"stamp\":").unwrap();
    assert!(!fresh(), "cut");
    let names: Vec<_> = std::fs::read_dir(&session)
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .filter(|name| name.to_string_lossy().contains("part"))
        .collect();
    assert!(names.is_empty(), "left over: {names:?}");
}

#[test]
fn a_routine_survives_toml_and_json() {
    for starting in STARTING {
        let routine = Routine::from_toml(starting.toml).unwrap();
        assert_eq!(
            Routine::from_toml(&routine.to_toml().unwrap()).unwrap(),
            routine
        );
        let json = serde_json::to_string(&routine).unwrap();
        assert_eq!(serde_json::from_str::<Routine>(&json).unwrap(), routine);
    }
    let text = "title = \"Pounds\"\nscreened_on = 2026-03-09\nreview_by = \"2026-04-09\"\n\
        [[items]]\nkind = \"counted\"\nmovement = \"supination\"\nside = \"left\"\n\
        repetitions = 10\nload_lb = 2\ntempo = \"X-0-4\"\n";
    let routine = Routine::from_toml(text).unwrap();
    let carpotempo::routine::Item::Counted(item) = &routine.items[0] else {
        panic!("a counted item");
    };
    // Source: International Yard and Pound Agreement, 1959.
    assert_eq!(item.load_kg, Some(0.907_184_74));
    assert_eq!(routine.screened_on.unwrap().to_string(), "2026-03-09");
    assert_eq!(
        Routine::from_toml(&routine.to_toml().unwrap()).unwrap(),
        routine
    );
}

/// Lines are read many at a time: what is told of one must not depend on where those begin.
#[test]
fn a_long_file_reads_to_the_bit_and_a_bad_cell_is_named_where_it_stands() {
    let samples = tipping(100.0, 20_000);
    let mut text = format!("{HEADER}\r\n");
    for sample in &samples {
        let row = numbers(sample).map(|number| number.to_string()).join(",");
        writeln!(text, "{row}\r").unwrap();
        // Lines without anything are passed over, and counted.
        text.push_str(if text.len() % 3 == 0 { "\r\n" } else { "" });
    }
    same_bits(
        &foreign(text.as_bytes(), &ForeignOptions::default())
            .unwrap()
            .hand,
        &samples,
    );
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    for at in [1, 2_500, 9_999, 19_000] {
        let mut lines = lines.clone();
        let line = at + lines[at..].iter().position(|line| line.len() > 2).unwrap();
        let cells: Vec<&str> = lines[line].splitn(3, ',').collect();
        let bad = format!("{},x{},{}", cells[0], cells[1], cells[2]);
        lines[line] = &bad;
        // One more, later: the first is named.
        let later = "y,1\n";
        *lines.last_mut().unwrap() = later;
        let told = foreign(lines.concat().as_bytes(), &ForeignOptions::default()).unwrap_err();
        let RecordingError::NotANumber { line: named, .. } = told else {
            panic!("{told}");
        };
        assert_eq!(named, line as u64 + 1);
    }
}

fn any_finite() -> impl Strategy<Value = f64> {
    any::<u64>()
        .prop_map(f64::from_bits)
        .prop_filter("finite", |number| number.is_finite())
}

fn foreign(bytes: &[u8], options: &ForeignOptions) -> Result<Recording, RecordingError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("any.csv");
    std::fs::write(&path, bytes).unwrap();
    open_foreign(&path, options)
}

/// Pieces that files are made of, so that arbitrary files get past the header.
fn piece() -> impl Strategy<Value = Vec<u8>> {
    prop_oneof![
        4 => any_finite().prop_map(|number| number.to_string().into_bytes()),
        2 => Just(b",".to_vec()),
        2 => Just(b"\n".to_vec()),
        1 => Just(b"\r\n".to_vec()),
        1 => Just(b"\"".to_vec()),
        1 => Just(b"hand,".to_vec()),
        1 => Just(b"forearm,".to_vec()),
        1 => Just(b"nan".to_vec()),
        1 => Just(b"{\"value\": 3}".to_vec()),
        1 => Just(b"pain,\"{\"\"value\"\": 3}\"".to_vec()),
        1 => Just(b"0,0,0,9.81,0,0,0\n".to_vec()),
        1 => proptest::collection::vec(any::<u8>(), 0..8),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_read_without_panic(pieces in proptest::collection::vec(piece(), 0..200), with_header in any::<bool>(), comma in any::<bool>()) {
        let mut bytes = if with_header { format!("{HEADER}\n").into_bytes() } else { Vec::new() };
        bytes.extend(pieces.concat());
        let options = ForeignOptions { decimal_comma: comma, ..ForeignOptions::default() };
        if let Err(error) = foreign(&bytes, &options) {
            prop_assert!(error.to_string().lines().count() == 1);
            prop_assert!(error.to_string().len() < 3000, "{}", error);
        }
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("session.json"), SESSION).unwrap();
        let sensor = if with_header { format!("sensor,{HEADER}\n") } else { String::new() };
        std::fs::write(folder.path().join("samples.csv"), [sensor.as_bytes(), &pieces.concat()].concat()).unwrap();
        let events = if with_header { "t_s,event,detail\n" } else { "" };
        std::fs::write(folder.path().join("events.csv"), [events.as_bytes(), &pieces.concat()].concat()).unwrap();
        let _ = open(folder.path());
        std::fs::write(folder.path().join("session.json"), pieces.concat()).unwrap();
        prop_assert!(open(folder.path()).is_err());
        let _ = Routine::problems(&String::from_utf8_lossy(&pieces.concat()));
    }

    #[test]
    fn any_numbers_read_without_panic(rows in proptest::collection::vec(proptest::array::uniform7(any_finite()), 20..60), rate in any::<bool>()) {
        let mut text = HEADER.to_owned() + "\n";
        for row in &rows {
            writeln!(text, "{}", row.map(|number| format!("{number:e}")).join(",")).unwrap();
        }
        let options = ForeignOptions { rate_hz: rate.then_some(100.0), ..ForeignOptions::default() };
        let _ = foreign(text.as_bytes(), &options);
    }

    #[test]
    fn any_routine_text_is_read_or_refused(text in "(title|rounds|items|tempo|kind| = |\\[|\\]|\\{|\\}|\"|\n|,|[0-9.-]{1,4}|counted|X|.){0,60}") {
        let problems = Routine::problems(&text);
        prop_assert_eq!(problems.is_empty(), Routine::from_toml(&text).is_ok());
        let _ = text.parse::<carpotempo::routine::Tempo>();
    }

    /// Decimals of any length and size are the nearest f64, as the standard library reads them.
    #[test]
    fn decimals_read_as_the_standard_library_reads_them(whole in "[0-9]{1,25}", part in "[0-9]{0,25}", exponent in -330..330_i32, sign in "[+-]?", scientific in any::<bool>()) {
        let cell = if scientific { format!("{sign}{whole}.{part}e{exponent}") } else { format!("{sign}{whole}.{part}") };
        let expected: f64 = cell.parse().unwrap();
        prop_assume!(expected.is_finite());
        // Times as whole hundredths, so that nothing but the cell decides.
        let mut text = HEADER.to_owned() + "\n";
        for row in 0..20 {
            writeln!(text, "{},0,0,9.81,{cell},0,0", f64::from(row) / 100.0).unwrap();
        }
        match foreign(text.as_bytes(), &ForeignOptions::default()) {
            Ok(read) => prop_assert_eq!(read.hand[7].gyro_rad_s.x.to_bits(), expected.to_bits()),
            Err(error) => prop_assert!(matches!(error, RecordingError::GyroUnit { .. }), "{}", error),
        }
    }

    #[test]
    fn any_numbers_write_and_read_back_to_the_bit(values in proptest::collection::vec(proptest::array::uniform6(any_finite()), 1..15), start_s in -1e6..1e6_f64, steps_s in proptest::collection::vec(0.0..1.0_f64, 15)) {
        // Fewer rows than are judged for their units.
        let mut t_s = start_s;
        let samples: Vec<Sample> = values.iter().zip(steps_s).map(|([ax, ay, az, gx, gy, gz], step_s)| {
            t_s += step_s;
            Sample { t_s, accel_m_s2: Vector3::new(*ax, *ay, *az), gyro_rad_s: Vector3::new(*gx, *gy, *gz) }
        }).collect();
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &head(), &samples, &samples, &[]);
        let read = open(folder.path()).unwrap();
        same_bits(&read.hand, &samples);
        same_bits(&read.forearm, &samples);
    }
}

const SESSION: &str = r#"{"format": "carpotempo-recording", "version": 1,
 "started_at": "2026-03-09T08:30:00+01:00", "patient": "p1", "routine": null}"#;

#[test]
fn deeply_nested_routines_are_refused() {
    for nest in ["[", "a={", "a.", "[["] {
        assert!(Routine::from_toml(&nest.repeat(100_000)).is_err());
        assert!(Routine::from_toml(&format!("a = {}", nest.repeat(100_000))).is_err());
    }
}

fn median(mut times_s: Vec<f64>) -> f64 {
    times_s.sort_by(f64::total_cmp);
    times_s[times_s.len() / 2]
}

fn timed<T>(mut work: impl FnMut() -> T) -> f64 {
    median(
        (0..11)
            .map(|_| {
                let start = Instant::now();
                std::hint::black_box(work());
                start.elapsed().as_secs_f64()
            })
            .collect(),
    )
}

/// Run with: cargo test --release --test recording -- --ignored --nocapture
#[test]
#[ignore = "a measurement, not a check"]
fn reading_speed_against_the_csv_library() {
    let folder = tempfile::tempdir().unwrap();
    let session = folder.path().join("s");
    let count = 20 * 60 * 104;
    write(&session, &head(), &noisy(count), &[], &[]);
    let path = session.join("samples.csv");
    let bytes = path.metadata().unwrap().len();
    let library = || {
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let mut record = csv::StringRecord::new();
        let mut rows = Vec::new();
        while reader.read_record(&mut record).unwrap() {
            let mut row = [0.0_f64; 7];
            for (place, cell) in row.iter_mut().zip(record.iter().skip(1)) {
                *place = cell.parse().unwrap();
            }
            rows.push(row);
        }
        rows
    };
    let library_s = timed(library);
    let folder_s = timed(|| open(&session).unwrap());
    let plain_s = timed(|| open_foreign(&path, &ForeignOptions::default()).unwrap());
    println!("{count} rows, {bytes} bytes");
    println!("csv::StringRecord and parse: {:.1} ms", library_s * 1e3);
    println!(
        "session folder: {:.1} ms, {:.2} of that",
        folder_s * 1e3,
        folder_s / library_s
    );
    println!(
        "plain CSV: {:.1} ms, {:.2} of that",
        plain_s * 1e3,
        plain_s / library_s
    );
    let mut nth = 0;
    let writing_s = timed(|| {
        nth += 1;
        write(
            &folder.path().join(format!("w{nth}")),
            &head(),
            &noisy(count),
            &[],
            &[],
        );
    });
    println!("writing: {:.0} ns a sample", writing_s * 1e9 / count as f64);
    assert!(
        folder_s < library_s,
        "the reader is faster than the library's strings"
    );
}

/// Run with: cargo test --release --test recording -- --ignored --nocapture
#[test]
#[ignore = "a measurement, not a check"]
fn listing_300_sessions_with_their_summaries() {
    let root = tempfile::tempdir().unwrap();
    let store = Store::at(root.path());
    let patient = head().patient;
    let summary = json!({"sets": (0..6).map(|set| json!({"set": set, "reps": (0..12).map(|rep| json!({"rep": rep, "range_deg": 41.25, "lower_s": 3.875, "doubts": []})).collect::<Vec<_>>()})).collect::<Vec<_>>()});
    for _ in 0..300 {
        let folder: PathBuf = store.new_session(&patient, &head().started_at).unwrap();
        write(&folder, &head(), &tipping(104.0, 30), &[], &every_event());
        write_summary(&folder, &Stamp::of(&folder, 1).unwrap(), &summary).unwrap();
    }
    let time_s = timed(|| {
        let listed = store.sessions(&patient).unwrap();
        let read = listed
            .sessions
            .iter()
            .filter_map(|session| read_summary::<serde_json::Value>(&session.folder, 1))
            .count();
        assert_eq!(read, 300);
    });
    println!(
        "300 sessions listed and their summaries read: {:.1} ms",
        time_s * 1e3
    );
    assert!(time_s < 0.3);
}

/// Full-length decimals, as a sensor's scaled counts give them.
fn noisy(count: usize) -> Vec<Sample> {
    let mut samples = tipping(104.0, count);
    let mut state = 1_u64;
    for sample in &mut samples {
        for number in sample
            .accel_m_s2
            .iter_mut()
            .chain(sample.gyro_rad_s.iter_mut())
        {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            *number += (state >> 33) as f64 * 1e-13;
        }
    }
    samples
}

#[test]
fn two_sensors_come_back_in_the_order_they_were_written() {
    let (hand, forearm) = (tipping(104.0, 40), tipping(52.0, 20));
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("s");
    let mut writer = Writer::create(&folder, &head()).unwrap();
    // The forearm's packets come late, and in bursts of five.
    let mut written = Vec::new();
    let mut late = forearm.iter().peekable();
    for (index, sample) in hand.iter().enumerate() {
        writer.sample(Place::Hand, sample).unwrap();
        written.push((Place::Hand, sample.t_s));
        if index % 10 == 9 {
            for other in late.by_ref().take(5) {
                writer.sample(Place::Forearm, other).unwrap();
                written.push((Place::Forearm, other.t_s));
            }
        }
    }
    writer.finish().unwrap();
    let read = open(&folder).unwrap();
    let order: Vec<(Place, f64)> = read.in_order().map(|(place, s)| (place, s.t_s)).collect();
    assert_eq!(order, written);
    let by_time = Recording {
        forearm_after: Vec::new(),
        ..read
    };
    let times: Vec<f64> = by_time.in_order().map(|(_, s)| s.t_s).collect();
    assert_eq!(times.len(), 60);
    assert!(times.is_sorted());
}
