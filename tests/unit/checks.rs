//! The check of a unit against units of known faults.

use carpotempo::sample::{GRAVITY_M_S2, Sample};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::unit::check::{Arrived, Mark, Observed, Row, Verdict, verdict};
use carpotempo::source::unit::profile::Description;
use carpotempo::source::unit::stream::Figures;
use nalgebra::Vector3;

use crate::making::DESCRIPTION;

/// A unit that lies still.
#[derive(Debug, Clone, Copy)]
struct Lying {
    rate_hz: f64,
    lasting_s: f64,
    /// One-sided densities.
    gyro_deg_s_rthz: f64,
    accel_micro_g_rthz: f64,
    bias_deg_s: f64,
    norm_m_s2: f64,
    ppm: f64,
    /// Standard deviation of the time stamps.
    jitter_s: f64,
    /// The radio's beat.
    interval_s: f64,
    /// Swing of the gyroscope: a unit in the hand that moves.
    swing_deg_s: f64,
    seed: u64,
}

const LYING: Lying = Lying {
    rate_hz: 103.7,
    lasting_s: 30.0,
    gyro_deg_s_rthz: 0.006,
    accel_micro_g_rthz: 110.0,
    bias_deg_s: 0.7,
    norm_m_s2: 9.85,
    ppm: 15.0,
    jitter_s: 0.0,
    interval_s: 0.03,
    swing_deg_s: 0.0,
    seed: 1,
};

fn description(lying: &Lying) -> Description {
    Description {
        rate_tenth_hz: (10.0 * lying.rate_hz).round() as u16,
        ..DESCRIPTION
    }
}

fn arrived(lying: &Lying) -> Vec<Arrived> {
    let mut random = Random::new(lying.seed);
    // White noise of one-sided density N sampled at f has the deviation N √(f / 2).
    let root = (lying.rate_hz / 2.0).sqrt();
    let direction = Vector3::new(2.0, -1.0, 2.0) / 3.0;
    let count = (lying.lasting_s * lying.rate_hz) as usize;
    (0..count)
        .map(|index| {
            let true_s = index as f64 / lying.rate_hz;
            let swing_deg_s = lying.swing_deg_s * (std::f64::consts::TAU * 0.5 * true_s).sin();
            let gyro_deg_s = direction * (lying.bias_deg_s + swing_deg_s)
                + random.normal_vector(lying.gyro_deg_s_rthz * root);
            let noise_m_s2 = lying.accel_micro_g_rthz * 1e-6 * GRAVITY_M_S2 * root;
            let stamp_s = true_s * (1.0 + 1e-6 * lying.ppm) + lying.jitter_s * random.normal();
            Arrived {
                arrival_s: (true_s / lying.interval_s).ceil() * lying.interval_s + 0.002,
                sample: Sample {
                    t_s: (stamp_s.max(0.0) * 1e6).round() / 1e6,
                    accel_m_s2: direction * lying.norm_m_s2 + random.normal_vector(noise_m_s2),
                    gyro_rad_s: gyro_deg_s.map(f64::to_radians),
                },
            }
        })
        .collect()
}

fn figures(received: usize) -> Figures {
    Figures {
        packets_count: received as u64,
        received_count: received as u64,
        ..Figures::default()
    }
}

fn check(lying: &Lying) -> Verdict {
    let arrived = arrived(lying);
    verdict(&Observed {
        description: &description(lying),
        arrived: &arrived,
        figures: figures(arrived.len()),
        battery_percent: Some(80),
        firmware: Some("1.4.0"),
    })
}

fn row<'a>(verdict: &'a Verdict, key: &str) -> &'a Row {
    let found = verdict.rows.iter().find(|row| row.key == key);
    found.unwrap_or_else(|| panic!("no row {key}"))
}

fn figure(verdict: &Verdict, key: &str) -> f64 {
    row(verdict, key).figure.unwrap()
}

#[track_caller]
fn near(found: f64, expected: f64, ratio: f64) {
    assert!(
        (found / expected - 1.0).abs() <= ratio,
        "{found} is not {expected}"
    );
}

#[test]
fn a_good_unit_is_good_and_its_figures_are_the_true_ones() {
    let found = check(&LYING);
    assert_eq!(found.mark, Mark::Ok, "{:#?}", found.rows);
    assert!(found.still);
    near(figure(&found, "rate_hz"), 103.7, 1e-3);
    near(figure(&found, "gyro_noise_deg_s_rthz"), 0.006, 0.1);
    near(
        figure(&found, "gyro_noise_deg_s"),
        0.006 * 51.85_f64.sqrt(),
        0.03,
    );
    near(figure(&found, "gyro_bias_deg_s"), 0.7, 0.01);
    near(figure(&found, "accel_noise_micro_g_rthz"), 110.0, 0.1);
    near(figure(&found, "accel_norm_m_s2"), 9.85, 1e-3);
    near(found.still_s.unwrap(), 30.0, 0.02);
    assert!(figure(&found, "jitter_ms") < 0.01);
    assert_eq!(figure(&found, "lost_percent"), 0.0);
    // A sample waits for the next beat: 15 ms on average, 28.5 at the 95th percentile.
    near(figure(&found, "latency_median_ms"), 15.0, 0.05);
    near(figure(&found, "latency_p95_ms"), 28.5, 0.03);
    assert_eq!(row(&found, "firmware").words, "1.4.0");
    assert_eq!(figure(&found, "battery_percent"), 80.0);
}

#[test]
fn the_noise_density_is_the_true_one_at_any_rate_and_size() {
    for (at, (rate_hz, gyro, accel)) in [
        (50.0, 0.004, 60.0),
        (100.0, 0.03, 300.0),
        (208.0, 0.01, 500.0),
        (400.0, 0.008, 90.0),
    ]
    .into_iter()
    .enumerate()
    {
        let found = check(&Lying {
            rate_hz,
            gyro_deg_s_rthz: gyro,
            accel_micro_g_rthz: accel,
            seed: at as u64,
            ..LYING
        });
        near(figure(&found, "gyro_noise_deg_s_rthz"), gyro, 0.12);
        near(figure(&found, "accel_noise_micro_g_rthz"), accel, 0.12);
    }
}

#[test]
fn the_noise_density_does_not_hang_on_the_parts_low_pass() {
    // Means of four of 400 a second, sent at 400 a second: in-band the same noise.
    let lying = Lying {
        rate_hz: 400.0,
        gyro_deg_s_rthz: 0.02,
        ..LYING
    };
    let raw = arrived(&lying);
    let smooth: Vec<Arrived> = raw
        .windows(4)
        .map(|four| {
            let sum: Vector3<f64> = four.iter().map(|own| own.sample.gyro_rad_s).sum();
            let mut last = four[3];
            last.sample.gyro_rad_s = sum / 4.0;
            last
        })
        .collect();
    let found = verdict(&Observed {
        description: &description(&lying),
        arrived: &smooth,
        figures: figures(smooth.len()),
        battery_percent: None,
        firmware: None,
    });
    near(figure(&found, "gyro_noise_deg_s_rthz"), 0.02, 0.12);
    // Its root mean square is half of what it was.
    near(
        figure(&found, "gyro_noise_deg_s"),
        0.5 * 0.02 * 200_f64.sqrt(),
        0.03,
    );
}

#[test]
fn faults_are_found_and_named() {
    for (key, lying, mark) in [
        (
            "gyro_noise_deg_s_rthz",
            Lying {
                gyro_deg_s_rthz: 0.05,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "gyro_bias_deg_s",
            Lying {
                bias_deg_s: 5.0,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "gyro_bias_deg_s",
            Lying {
                bias_deg_s: 14.0,
                ..LYING
            },
            Mark::Bad,
        ),
        (
            "accel_norm_m_s2",
            Lying {
                norm_m_s2: 9.5,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "accel_norm_m_s2",
            Lying {
                norm_m_s2: 10.8,
                ..LYING
            },
            Mark::Bad,
        ),
        (
            "accel_noise_micro_g_rthz",
            Lying {
                accel_micro_g_rthz: 900.0,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "jitter_ms",
            Lying {
                jitter_s: 0.7e-3,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "rate_hz",
            Lying {
                rate_hz: 20.0,
                ..LYING
            },
            Mark::Bad,
        ),
        (
            "rate_hz",
            Lying {
                rate_hz: 26.0,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "latency_median_ms",
            Lying {
                interval_s: 0.2,
                ..LYING
            },
            Mark::Look,
        ),
        (
            "clock_ppm",
            Lying {
                ppm: 4000.0,
                ..LYING
            },
            Mark::Bad,
        ),
    ] {
        let found = check(&lying);
        assert_eq!(row(&found, key).mark, mark, "{:#?}", row(&found, key));
        assert_eq!(found.mark, mark, "{}", found.words);
        assert!(found.words.contains(row(&found, key).name));
    }
}

#[test]
fn a_rate_that_is_not_the_one_described_is_found() {
    let arrived = arrived(&LYING);
    for (rate_tenth_hz, mark) in [(1037, Mark::Ok), (1150, Mark::Look), (2000, Mark::Bad)] {
        let description = Description {
            rate_tenth_hz,
            ..DESCRIPTION
        };
        let found = verdict(&Observed {
            description: &description,
            arrived: &arrived,
            figures: figures(arrived.len()),
            battery_percent: Some(50),
            firmware: None,
        });
        assert_eq!(row(&found, "rate_hz").mark, mark, "{rate_tenth_hz}");
    }
}

#[test]
fn a_unit_that_moves_is_not_judged_where_it_needs_stillness() {
    let found = check(&Lying {
        swing_deg_s: 60.0,
        ..LYING
    });
    assert!(!found.still);
    assert_eq!((found.mark, found.still_s), (Mark::Unknown, None));
    assert!(found.words.contains("not held still"), "{}", found.words);
    for key in [
        "gyro_noise_deg_s",
        "gyro_noise_deg_s_rthz",
        "gyro_bias_deg_s",
        "accel_noise_m_s2",
        "accel_noise_micro_g_rthz",
        "accel_norm_m_s2",
    ] {
        let row = row(&found, key);
        assert_eq!((row.figure, row.mark), (None, Mark::Unknown), "{key}");
    }
    // What needs none is judged.
    assert_eq!(row(&found, "rate_hz").mark, Mark::Ok);
}

#[test]
fn unknown_is_unknown() {
    let lying = Lying {
        lasting_s: 8.0,
        rate_hz: 100.0,
        ..LYING
    };
    let arrived = arrived(&lying);
    let found = verdict(&Observed {
        description: &description(&lying),
        arrived: &arrived,
        figures: figures(arrived.len()),
        battery_percent: None,
        firmware: Some(" \u{1b}[2J "),
    });
    for key in ["battery_percent", "clock_ppm"] {
        let row = row(&found, key);
        assert_eq!((row.figure, row.mark), (None, Mark::Unknown), "{row:?}");
        assert!(row.words.starts_with("Unknown"), "{}", row.words);
    }
    assert!(!row(&found, "firmware").words.contains('\u{1b}'));
    // Unknown battery and clock do not spoil a good unit.
    assert_eq!(found.mark, Mark::Ok);

    let none = verdict(&Observed {
        description: &DESCRIPTION,
        arrived: &[],
        figures: Figures::default(),
        battery_percent: None,
        firmware: None,
    });
    assert_eq!(none.mark, Mark::Bad);
    assert!(none.words.starts_with("No samples came"));
    assert_eq!(row(&none, "rate_hz").figure, None);
}

#[test]
fn losses_restarts_and_a_low_battery_are_judged() {
    let arrived = arrived(&LYING);
    let with = |lost_count: u64, restarts_count: u64, battery: u8| {
        verdict(&Observed {
            description: &description(&LYING),
            arrived: &arrived,
            figures: Figures {
                lost_count,
                restarts_count,
                ..figures(arrived.len())
            },
            battery_percent: Some(battery),
            firmware: None,
        })
    };
    // 3111 samples came.
    assert_eq!(row(&with(2, 0, 90), "lost_percent").mark, Mark::Ok);
    assert_eq!(row(&with(20, 0, 90), "lost_percent").mark, Mark::Look);
    let many = with(64, 0, 90);
    assert_eq!(row(&many, "lost_percent").mark, Mark::Bad);
    near(figure(&many, "lost_percent"), 100.0 * 64.0 / 3175.0, 1e-9);
    assert_eq!(row(&with(0, 1, 90), "broken_count").mark, Mark::Bad);
    assert_eq!(row(&with(0, 0, 15), "battery_percent").mark, Mark::Look);
    assert_eq!(row(&with(0, 0, 5), "battery_percent").mark, Mark::Bad);
}

#[test]
fn readings_sent_twice_are_found() {
    let mut twice = arrived(&LYING);
    for index in (1..twice.len()).step_by(2) {
        let before = twice[index - 1].sample;
        twice[index].sample.accel_m_s2 = before.accel_m_s2;
        twice[index].sample.gyro_rad_s = before.gyro_rad_s;
    }
    let found = verdict(&Observed {
        description: &description(&LYING),
        arrived: &twice,
        figures: figures(twice.len()),
        battery_percent: None,
        firmware: None,
    });
    near(figure(&found, "same_percent"), 50.0, 0.01);
    assert_eq!(row(&found, "same_percent").mark, Mark::Bad);
}

#[test]
fn the_clock_is_known_with_its_error_after_minutes() {
    let found = check(&Lying {
        lasting_s: 180.0,
        ppm: -42.0,
        ..LYING
    });
    let clock = row(&found, "clock_ppm");
    let error_ppm = clock.error.unwrap();
    assert!(
        (clock.figure.unwrap() + 42.0).abs() <= error_ppm,
        "{clock:?}"
    );
    assert!(error_ppm < 50.0, "{clock:?}");
    assert_eq!(clock.mark, Mark::Ok);
}

#[test]
fn the_verdict_is_an_object_of_rows_for_scripts() {
    let json = serde_json::to_value(check(&LYING)).unwrap();
    assert_eq!(json["mark"], "ok");
    assert_eq!(json["still"], true);
    let rows = json["rows"].as_array().unwrap();
    let keys: Vec<&str> = rows
        .iter()
        .map(|row| row["key"].as_str().unwrap())
        .collect();
    for key in [
        "rate_hz",
        "jitter_ms",
        "lost_percent",
        "latency_median_ms",
        "latency_p95_ms",
        "battery_percent",
        "gyro_noise_deg_s",
        "gyro_bias_deg_s",
        "accel_norm_m_s2",
        "clock_ppm",
        "firmware",
    ] {
        assert_eq!(keys.iter().filter(|own| **own == key).count(), 1, "{key}");
    }
    assert!(
        rows.iter()
            .all(|row| !row["words"].as_str().unwrap().is_empty())
    );
}
