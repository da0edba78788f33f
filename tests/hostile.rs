//! Arbitrary bytes and numbers through the whole pipeline: no panic, no hang, nothing infinite.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::fmt::Write;

use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::pipeline::{Analysis, Expectation, analyse_in_detail, set_specs};
use carpotempo::recording::{ForeignOptions, Recording, open_any};
use carpotempo::routine::TempoBand;
use carpotempo::sample::Sample;
use nalgebra::Vector3;
use proptest::prelude::*;

const HEAD: &str = "t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n";

/// Everything that happens to a recording that was accepted.
fn whole_pipeline(recording: &Recording) {
    let detail = analyse_in_detail(recording, &Expectation::default()).unwrap();
    for set in &detail.analysis.sets {
        for rep in &set.reps {
            assert!(rep.range_deg.is_finite() && rep.range_deg >= 0.0, "{rep:?}");
            let times = [
                rep.lift_start_s,
                rep.lift_end_s,
                rep.lower_start_s,
                rep.lower_end_s,
            ];
            assert!(times.is_sorted(), "{times:?}");
        }
    }
    let specs = set_specs(recording, &Expectation::default()).unwrap();
    let mut live = Live::new(LiveParams {
        rate_hz: 50.0,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: specs.into_iter().next(),
    });
    for event in &recording.events {
        live.event(event.clone());
    }
    for sample in &recording.hand {
        let step = live.sample(sample);
        assert!(step.measured_deg.is_none_or(f64::is_finite), "{step:?}");
        let q = step.oriented.world_from_sensor;
        assert!([q.w, q.i, q.j, q.k].iter().all(|part| part.is_finite()));
    }
    let analysis = live.finish();
    for rep in analysis.sets.iter().flat_map(|set| &set.reps) {
        assert!(rep.range_deg.is_finite() && rep.range_deg >= 0.0, "{rep:?}");
    }
    // An infinite number is written as null, which reads back only where unknown is allowed.
    for analysis in [&detail.analysis, &analysis] {
        let text = serde_json::to_string(analysis).unwrap();
        serde_json::from_str::<Analysis>(&text).unwrap();
    }
}

const SESSION: &str = r#"{"format":"carpotempo-recording","version":1,"started_at":"2026-03-02T18:30:00+01:00","patient":"P-0001","routine":null}"#;

fn through_a_session(session: &[u8], samples: &[u8], events: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("session.json"), session).unwrap();
    std::fs::write(folder.path().join("samples.csv"), samples).unwrap();
    std::fs::write(folder.path().join("events.csv"), events).unwrap();
    if let Ok(recording) = open_any(folder.path(), &ForeignOptions::default()) {
        whole_pipeline(&recording);
    }
}

/// Twenty seconds at 50 Hz: still, then swings of 40 degrees.
fn good_samples() -> String {
    let mut text = String::from("sensor,") + HEAD;
    for index in 0..1000 {
        let t_s = f64::from(index) * 0.02;
        let phase = if t_s < 3.0 { 0.0 } else { (t_s - 3.0) * 1.8 };
        let angle = 0.35 * (1.0 - phase.cos());
        let rate = 0.35 * 1.8 * phase.sin();
        let (ax, az) = (-9.8 * angle.sin(), 9.8 * angle.cos());
        writeln!(text, "hand,{t_s},{ax},0.01,{az},0.001,{rate},0").unwrap();
    }
    text
}

fn any_word() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "set-start",
            "set-end",
            "calibration",
            "sensor",
            "clock",
            "gap",
            "pain",
            "note",
            "battery",
            "sensor-lost",
            "visit",
            "juggling",
        ])
        .prop_map(str::to_owned),
        "[a-z-]{0,12}",
    ]
}

fn any_value() -> impl Strategy<Value = serde_json::Value> {
    prop_oneof![
        Just(serde_json::Value::Null),
        any::<bool>().prop_map(serde_json::Value::from),
        any::<i64>().prop_map(serde_json::Value::from),
        (-30.0..30.0_f64).prop_map(serde_json::Value::from),
        any::<f64>().prop_map(serde_json::Value::from),
        prop::sample::select(vec![
            "left",
            "right",
            "hand",
            "forearm",
            "wrist-extension",
            "arm-circles",
            "supination",
            "4-0-2-1",
            "99-99-X-0",
            "reached",
            "lost",
        ])
        .prop_map(serde_json::Value::from),
        "[^\"]{0,20}".prop_map(serde_json::Value::from),
        Just(serde_json::json!({"rotation": "palm-down"})),
        Just(serde_json::json!([[[]]])),
    ]
}

fn any_detail() -> impl Strategy<Value = serde_json::Value> {
    let key = prop::sample::select(vec![
        "place",
        "side",
        "movement",
        "posture",
        "still_start_s",
        "still_end_s",
        "move_start_s",
        "move_end_s",
        "item",
        "load_kg",
        "tempo",
        "target_reps",
        "reason",
        "rate_hz",
        "accel_range_g",
        "gyro_range_deg_s",
        "value",
        "other",
    ]);
    prop::collection::btree_map(key, any_value(), 0..8).prop_map(|parts| {
        let parts = parts
            .into_iter()
            .map(|(key, value)| (key.to_owned(), value));
        serde_json::Value::Object(parts.collect())
    })
}

fn through_a_file(name: &str, content: &[u8]) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(name);
    std::fs::write(&file, content).unwrap();
    if let Ok(recording) = open_any(&file, &ForeignOptions::default()) {
        whole_pipeline(&recording);
    }
}

fn sample(t_s: f64, values: [f64; 6]) -> Sample {
    let [ax, ay, az, gx, gy, gz] = values;
    Sample {
        t_s,
        accel_m_s2: Vector3::new(ax, ay, az),
        gyro_rad_s: Vector3::new(gx, gy, gz),
    }
}

fn recording_of(hand: Vec<Sample>) -> Recording {
    Recording {
        name: "arbitrary".to_owned(),
        head: None,
        hand,
        forearm: Vec::new(),
        forearm_after: Vec::new(),
        events: Vec::new(),
        warnings: Vec::new(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(content in prop::collection::vec(any::<u8>(), 0..4000)) {
        through_a_file("a.csv", &content);
    }

    #[test]
    fn arbitrary_bytes_under_a_good_head(content in prop::collection::vec(any::<u8>(), 0..4000)) {
        let mut whole = HEAD.as_bytes().to_vec();
        whole.extend(content);
        through_a_file("a.csv", &whole);
    }

    #[test]
    fn arbitrary_bytes_in_a_session_folder(
        session in prop_oneof![
            Just(SESSION.as_bytes().to_vec()), prop::collection::vec(any::<u8>(), 0..300)],
        samples in prop::collection::vec(any::<u8>(), 0..2000),
        events in prop::collection::vec(any::<u8>(), 0..2000),
    ) {
        through_a_session(&session, good_samples().as_bytes(), &events);
        let headed = [b"sensor,", HEAD.as_bytes(), samples.as_slice()].concat();
        through_a_session(&session, &headed, b"t_s,event,detail\n");
    }

    #[test]
    fn arbitrary_events_over_good_samples(
        events in prop::collection::vec(
            (prop_oneof![0.0..21.0_f64, any::<f64>()], any_word(), any_detail()), 0..12),
        in_order in any::<bool>(),
    ) {
        let mut events = events;
        if in_order {
            events.sort_by(|a, b| a.0.total_cmp(&b.0));
        }
        let mut text = String::from("t_s,event,detail\n");
        for (t_s, word, detail) in events {
            let detail = detail.to_string().replace('"', "\"\"");
            writeln!(text, "{t_s},{word},\"{detail}\"").unwrap();
        }
        through_a_session(SESSION.as_bytes(), good_samples().as_bytes(), text.as_bytes());
    }

    #[test]
    fn arbitrary_numbers_in_good_rows(
        rows in prop::collection::vec(prop::array::uniform6(prop_oneof![
            -50.0..50.0_f64, prop::num::f64::NORMAL, Just(0.0), Just(9.8)
        ]), 20..300),
        step_s in prop_oneof![Just(0.02), 0.0..0.2_f64],
    ) {
        let mut text = HEAD.to_owned();
        for (index, row) in rows.iter().enumerate() {
            let cells = row.map(|value| value.to_string()).join(",");
            writeln!(text, "{},{cells}", index as f64 * step_s).unwrap();
        }
        through_a_file("a.csv", text.as_bytes());
    }

    #[test]
    fn samples_of_any_size_at_any_spacing(
        rows in prop::collection::vec(
            (0.0..3.0_f64, prop::array::uniform6(-1e6..1e6_f64)), 0..400),
    ) {
        let mut t_s = 0.0;
        let hand = rows.iter().map(|(step_s, values)| {
            t_s += step_s * step_s * step_s * 0.1;
            sample(t_s, *values)
        }).collect();
        whole_pipeline(&recording_of(hand));
    }

    #[test]
    fn swings_of_any_size_and_speed(
        size_rad in 0.0..20.0_f64, frequency_hz in 0.01..12.0_f64, rate_hz in 20.0..250.0_f64,
        tilt_rad in 0.0..6.3_f64,
    ) {
        let hand = (0..1500).map(|index| {
            let t_s = index as f64 / rate_hz;
            let phase = std::f64::consts::TAU * frequency_hz * t_s;
            let angle = size_rad * phase.sin();
            let rate = size_rad * std::f64::consts::TAU * frequency_hz * phase.cos();
            sample(t_s, [
                -9.8 * angle.sin(), 9.8 * angle.cos() * tilt_rad.sin(),
                9.8 * angle.cos() * tilt_rad.cos(), 0.0, rate, 0.0,
            ])
        }).collect();
        whole_pipeline(&recording_of(hand));
    }
}
