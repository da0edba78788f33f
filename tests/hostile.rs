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
use carpotempo::pipeline::{Expectation, analyse_in_detail, set_specs};
use carpotempo::recording::{ForeignOptions, Recording, open_any};
use carpotempo::routine::TempoBand;
use carpotempo::sample::Sample;
use nalgebra::Vector3;
use proptest::prelude::*;

const HEAD: &str = "t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n";

/// Everything that happens to a recording that was accepted.
fn whole_pipeline(recording: &Recording) {
    let detail = analyse_in_detail(recording, &Expectation::default()).unwrap();
    let text = serde_json::to_string(&detail.analysis).unwrap();
    assert!(
        !text.contains("inf") || text.contains("information"),
        "{text}"
    );
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
        live.sample(sample);
    }
    live.finish();
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
