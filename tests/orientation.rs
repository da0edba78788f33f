//! Orientation against an optical reference, closed forms and the published filter.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

use std::io::Read;
use std::path::PathBuf;

use carpotempo::orientation::{
    FilterKind, Oriented, RealTime, RealTimeParams, SmootherParams, nominal_rate_hz, smooth,
};
use carpotempo::sample::Sample;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// The folder of reference data: the environment's CARPOTEMPO_REFERENCE, else beside the repository.
/// `None`, said aloud, where it is absent; under CI its absence fails.
fn reference() -> Option<PathBuf> {
    let folder = std::env::var_os("CARPOTEMPO_REFERENCE").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/reference"),
        PathBuf::from,
    );
    if folder.is_dir() {
        return Some(folder);
    }
    println!(
        "reference data absent: {} (set CARPOTEMPO_REFERENCE)",
        folder.display()
    );
    assert!(
        std::env::var("CI").as_deref() != Ok("true"),
        "reference data absent under CI"
    );
    None
}

/// One trial of BROAD: Laidig, Caruso, Cereatti, Seel, Data 6(7):72, 2021.
struct Trial {
    name: String,
    samples: Vec<Sample>,
    /// Optical orientation where there is one and the trial is to be scored.
    truth: Vec<Option<UnitQuaternion<f64>>>,
    rt_deg: f64,
    offline_deg: f64,
}

fn trials() -> Vec<Trial> {
    let Some(folder) = reference().map(|folder| folder.join("broad")) else {
        return Vec::new();
    };
    let mut trials = Vec::new();
    let mut expected = csv::Reader::from_path(folder.join("expected.csv")).unwrap();
    let headers = expected.headers().unwrap().clone();
    let column = |name: &str| headers.iter().position(|h| h == name).unwrap();
    let (rt, offline) = (column("rt_incl_rmse_deg"), column("offline_incl_rmse_deg"));
    for row in expected.records() {
        let row = row.unwrap();
        let path = folder.join(format!("{}.csv.gz", &row[1]));
        if &row[0] != "broad_95hz" || !path.exists() {
            continue;
        }
        let mut text = String::new();
        let file = std::fs::File::open(path).unwrap();
        flate2::read::GzDecoder::new(file)
            .read_to_string(&mut text)
            .unwrap();
        let mut trial = Trial {
            name: row[1].to_string(),
            samples: Vec::new(),
            truth: Vec::new(),
            rt_deg: row[rt].parse().unwrap(),
            offline_deg: row[offline].parse().unwrap(),
        };
        for line in text.lines().skip(1) {
            let v: Vec<Option<f64>> = line.split(',').map(|cell| cell.parse().ok()).collect();
            let at = |i: usize| v[i].unwrap();
            trial.samples.push(Sample {
                t_s: at(0),
                accel_m_s2: Vector3::new(at(1), at(2), at(3)),
                gyro_rad_s: Vector3::new(at(4), at(5), at(6)),
            });
            let scored = v[11] == Some(1.0) && v[7].is_some();
            trial.truth.push(scored.then(|| {
                UnitQuaternion::from_quaternion(Quaternion::new(at(7), at(8), at(9), at(10)))
            }));
        }
        trials.push(trial);
    }
    assert_eq!(trials.len(), 6, "six trials of BROAD");
    trials
}

/// Inclination error as the reference data's README defines it, deg.
fn inclination_error_deg(estimate: &UnitQuaternion<f64>, truth: &UnitQuaternion<f64>) -> f64 {
    let e = estimate * truth.inverse();
    2.0 * (e.w * e.w + e.k * e.k).sqrt().min(1.0).acos().to_degrees()
}

fn inclination_rmse_deg(oriented: &[Oriented], truth: &[Option<UnitQuaternion<f64>>]) -> f64 {
    assert_eq!(oriented.len(), truth.len());
    let (mut sum, mut count) = (0.0, 0.0);
    for (oriented, truth) in oriented.iter().zip(truth) {
        if let Some(truth) = truth {
            sum += inclination_error_deg(&oriented.world_from_sensor, truth).powi(2);
            count += 1.0;
        }
    }
    (sum / count).sqrt()
}

fn real_time(samples: &[Sample], kind: FilterKind) -> Vec<Oriented> {
    let rate_hz = nominal_rate_hz(samples).unwrap();
    let mut filter = RealTime::new(RealTimeParams {
        kind,
        rate_hz,
        ..RealTimeParams::default()
    });
    samples.iter().map(|sample| filter.push(sample)).collect()
}

fn offline(samples: &[Sample]) -> Vec<Oriented> {
    smooth(samples, &SmootherParams::default())
}

fn biased(samples: &[Sample], bias_deg_s: Vector3<f64>) -> Vec<Sample> {
    let bias = bias_deg_s.map(f64::to_radians);
    samples
        .iter()
        .map(|s| Sample {
            gyro_rad_s: s.gyro_rad_s + bias,
            ..*s
        })
        .collect()
}

#[test]
fn inclination_on_broad_is_that_of_the_reference_or_better() {
    let (mut offline_sum, mut expected_sum) = (0.0, 0.0);
    println!("trial, real time deg (reference), offline deg (reference), madgwick deg");
    let trials = trials();
    for trial in &trials {
        let rt = inclination_rmse_deg(&real_time(&trial.samples, FilterKind::Vqf), &trial.truth);
        let off = inclination_rmse_deg(&offline(&trial.samples), &trial.truth);
        let madgwick = inclination_rmse_deg(
            &real_time(&trial.samples, FilterKind::Madgwick),
            &trial.truth,
        );
        println!(
            "{}, {rt:.4} ({:.4}), {off:.4} ({:.4}), {madgwick:.4}",
            trial.name, trial.rt_deg, trial.offline_deg
        );
        assert!(rt <= trial.rt_deg + 0.02, "real time on {}", trial.name);
        assert!(off <= trial.offline_deg + 0.02, "offline on {}", trial.name);
        offline_sum += off;
        expected_sum += trial.offline_deg;
    }
    if !trials.is_empty() {
        println!(
            "offline mean {:.4} ({:.4})",
            offline_sum / 6.0,
            expected_sum / 6.0
        );
        assert!(offline_sum < expected_sum);
    }
}

#[test]
fn a_gyroscope_bias_of_3_and_5_deg_s_does_not_matter_on_broad() {
    for trial in trials() {
        let rt = inclination_rmse_deg(&real_time(&trial.samples, FilterKind::Vqf), &trial.truth);
        let off = inclination_rmse_deg(&offline(&trial.samples), &trial.truth);
        for bias_deg_s in [
            Vector3::new(3.0, 0.0, 0.0),
            Vector3::new(0.0, -3.0, 0.0),
            Vector3::new(0.0, 0.0, 3.0),
            Vector3::new(-3.0, 3.0, -3.0) / 3.0_f64.sqrt(),
            Vector3::new(-3.0, 4.0, 0.0),
        ] {
            let samples = biased(&trial.samples, bias_deg_s);
            let with = inclination_rmse_deg(&real_time(&samples, FilterKind::Vqf), &trial.truth);
            let off_with = inclination_rmse_deg(&offline(&samples), &trial.truth);
            println!(
                "{} {bias_deg_s:?}: {with:.4} ({rt:.4}), {off_with:.4} ({off:.4})",
                trial.name
            );
            assert!((with - rt).abs() <= 0.05, "real time on {}", trial.name);
            assert!((off_with - off).abs() <= 0.05, "offline on {}", trial.name);
        }
    }
}
