//! Smoothness against published vectors and invariances.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

#[path = "common/reference.rs"]
mod reference;

use carpotempo::reps::smoothness::{Smoothness, ldlj, sparc};
use reference::reference;

/// Speed of a minimum-jerk movement of `size` in `duration_s` (Flash & Hogan, J Neurosci 5:1688, 1985).
fn minimum_jerk(size: f64, duration_s: f64, t_s: f64) -> f64 {
    let x = t_s / duration_s;
    if (0.0..=1.0).contains(&x) {
        30.0 * size / duration_s * (x * (1.0 - x)).powi(2)
    } else {
        0.0
    }
}

fn sampled(count: usize, rate_hz: f64, speed: impl Fn(f64) -> f64) -> Vec<f64> {
    (0..count).map(|i| speed(i as f64 / rate_hz)).collect()
}

/// The profile that a row of the vectors describes.
fn profile(name: &str, count: usize, rate_hz: f64) -> Vec<f64> {
    let tau = std::f64::consts::TAU;
    let duration_s = (count as f64 - 1.0) / rate_hz;
    let parts = |size: f64, length_s: f64, starts: &'static [f64]| {
        move |t: f64| {
            starts
                .iter()
                .map(|s| minimum_jerk(size, length_s, t - s))
                .sum::<f64>()
        }
    };
    match name {
        "gauss_doctest" => sampled(count, rate_hz, |t| (-5.0 * (t - 1.0).powi(2)).exp()),
        "minjerk_T2_D1" => sampled(count, rate_hz, |t| minimum_jerk(1.0, 2.0, t)),
        "halfsine_T2" => sampled(count, rate_hz, |t| (0.25 * tau * t).sin()),
        "two_sub_overlap" => sampled(count, rate_hz, parts(45.0, 2.0, &[0.0, 1.5])),
        "two_sub_gap" => sampled(count, rate_hz, parts(45.0, 1.5, &[0.0, 2.5])),
        "four_sub" => sampled(count, rate_hz, parts(22.5, 1.0, &[0.0, 1.0, 2.0, 3.0])),
        "tremor5hz" => sampled(count, rate_hz, |t| {
            (minimum_jerk(90.0, 4.0, t) + 5.0 * (tau * 5.0 * t).sin()).abs()
        }),
        name if name.starts_with("minjerk") => {
            sampled(count, rate_hz, |t| minimum_jerk(90.0, duration_s, t))
        }
        other => panic!("a row that no profile is known for: {other}"),
    }
}

#[test]
fn sparc_and_ldlj_are_those_of_the_published_code() {
    // Source: Balasubramanian et al., J NeuroEng Rehabil 12:112, 2015; the reference data's
    // smoothness_vectors.csv, whose first row is the reference code's own doctest.
    let Some(folder) = reference() else {
        return;
    };
    let mut rows = csv::Reader::from_path(folder.join("vectors/smoothness_vectors.csv")).unwrap();
    let mut smoothness = Smoothness::new();
    let mut count = 0;
    for row in rows.records() {
        let row = row.unwrap();
        let cell = |i: usize| row.get(i).unwrap().parse::<f64>().unwrap();
        let speed = profile(row.get(0).unwrap(), cell(2) as usize, cell(1));
        let (s, l) = (
            smoothness.sparc(&speed, cell(1)).unwrap(),
            ldlj(&speed, cell(1)).unwrap(),
        );
        println!(
            "{}: SPARC {s:.8} ({}), LDLJ {l:.8} ({})",
            &row[0],
            cell(5),
            cell(7)
        );
        assert!((s - cell(5)).abs() < 1e-7, "SPARC of {}", &row[0]);
        assert!((l - cell(7)).abs() < 1e-7, "LDLJ of {}", &row[0]);
        count += 1;
    }
    assert!(count >= 16, "{count} rows");
}

#[test]
fn the_published_doctest_holds() {
    // Source: the doctest of the reference code of Balasubramanian et al. 2015.
    let speed = profile("gauss_doctest", 200, 100.0);
    assert!((sparc(&speed, 100.0).unwrap() + 1.41403).abs() < 5e-6);
    assert!((ldlj(&speed, 100.0).unwrap() + 5.81636).abs() < 5e-6);
}

#[test]
fn neither_size_nor_duration_makes_a_movement_smoother() {
    let slow = sampled(401, 100.0, |t| minimum_jerk(90.0, 4.0, t));
    let large: Vec<f64> = slow.iter().map(|v| v * 1234.5).collect();
    for (a, b) in [
        (sparc(&slow, 100.0), sparc(&large, 100.0)),
        (ldlj(&slow, 100.0), ldlj(&large, 100.0)),
    ] {
        assert!((a.unwrap() - b.unwrap()).abs() < 1e-9);
    }
    for duration_s in [0.7, 1.3, 2.9, 8.0] {
        let fast = sampled((duration_s * 100.0) as usize + 1, 100.0, |t| {
            minimum_jerk(90.0, duration_s, t)
        });
        assert!((sparc(&fast, 100.0).unwrap() - sparc(&slow, 100.0).unwrap()).abs() < 0.01);
        assert!((ldlj(&fast, 100.0).unwrap() - ldlj(&slow, 100.0).unwrap()).abs() < 0.1);
    }
}

#[test]
fn stops_and_tremor_are_less_smooth() {
    let of = |name| sparc(&profile(name, 401, 100.0), 100.0).unwrap();
    let smooth = of("minjerk_T4");
    for worse in ["two_sub_overlap", "two_sub_gap", "four_sub", "tremor5hz"] {
        assert!(of(worse) < smooth - 0.3, "{worse}");
    }
}

#[test]
fn what_has_no_smoothness_has_none() {
    for speed in [
        &[][..],
        &[1.0],
        &[0.0; 50],
        &[f64::NAN; 50],
        &[f64::INFINITY; 50],
    ] {
        assert_eq!(sparc(speed, 100.0), None, "{speed:?}");
        assert_eq!(ldlj(speed, 100.0), None, "{speed:?}");
    }
    assert_eq!(ldlj(&[1.0; 50], 100.0), None);
    let speed = sampled(101, 100.0, |t| minimum_jerk(90.0, 1.0, t));
    for rate_hz in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(
            (sparc(&speed, rate_hz), ldlj(&speed, rate_hz)),
            (None, None)
        );
    }
}

#[test]
fn a_thousand_phases_are_cheap() {
    let speed = sampled(401, 100.0, |t| minimum_jerk(90.0, 4.0, t));
    let start = std::time::Instant::now();
    let mut smoothness = Smoothness::new();
    for _ in 0..1000 {
        assert!(smoothness.sparc(&speed, 100.0).is_some() && ldlj(&speed, 100.0).is_some());
    }
    println!(
        "1000 phases of 4 s: {:.0} ms",
        start.elapsed().as_secs_f64() * 1e3
    );
}
