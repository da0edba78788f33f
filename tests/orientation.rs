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

#[test]
#[ignore = "scan"]
fn scan() {
    let trials = trials();
    for tau in [1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0] {
        let mut sum = 0.0;
        let mut s = String::new();
        for t in &trials {
            let o = smooth(
                &t.samples,
                &SmootherParams {
                    tau_acc_s: tau,
                    ..Default::default()
                },
            );
            let e = inclination_rmse_deg(&o, &t.truth);
            sum += e;
            s += &format!("{e:.4} ");
        }
        println!("tau {tau}: {s} mean {:.4}", sum / 6.0);
    }
}

/// A hinge, swung in closed form: rest, then `amplitude · (1 − cos 2πft) / 2`, then rest again.
/// The sensor sits `lever` from the hinge and is mounted askew.
#[derive(Clone, Copy)]
struct Hinge {
    amplitude_deg: f64,
    frequency_hz: f64,
    rest_s: f64,
    swings: f64,
    /// Hinge axis in the world.
    axis_in_world: Vector3<f64>,
    lever_in_sensor_m: Vector3<f64>,
    bias_deg_s: Vector3<f64>,
    instant_rate: bool,
}

const HINGE: Hinge = Hinge {
    amplitude_deg: 70.0,
    frequency_hz: 0.25,
    rest_s: 3.0,
    swings: 10.0,
    axis_in_world: Vector3::new(0.96, 0.28, 0.0),
    lever_in_sensor_m: Vector3::new(0.07, 0.01, -0.02),
    bias_deg_s: Vector3::new(0.0, 0.0, 0.0),
    instant_rate: false,
};

const GRAVITY_M_S2: f64 = 9.80665;

impl Hinge {
    fn end_s(&self) -> f64 {
        2.0 * self.rest_s + self.swings / self.frequency_hz
    }

    /// Angle and its two derivatives, rad.
    fn angle(&self, t_s: f64) -> (f64, f64, f64) {
        let t_s = t_s - self.rest_s;
        if t_s <= 0.0 || t_s >= self.swings / self.frequency_hz {
            return (0.0, 0.0, 0.0);
        }
        let a = 0.5 * self.amplitude_deg.to_radians();
        let w = std::f64::consts::TAU * self.frequency_hz;
        let (sin, cos) = (w * t_s).sin_cos();
        (a * (1.0 - cos), a * w * sin, a * w * w * cos)
    }

    fn mounting(&self) -> UnitQuaternion<f64> {
        UnitQuaternion::from_euler_angles(0.4, -0.8, 1.9)
    }

    fn truth(&self, t_s: f64) -> UnitQuaternion<f64> {
        UnitQuaternion::new(self.axis_in_world * self.angle(t_s).0) * self.mounting()
    }

    fn sample(&self, t_s: f64, since_s: f64) -> Sample {
        let axis = self.mounting().inverse() * self.axis_in_world;
        let (angle, rate, turn) = self.angle(t_s);
        let (omega, alpha, r) = (axis * rate, axis * turn, self.lever_in_sensor_m);
        let mean = if self.instant_rate || t_s <= since_s {
            rate
        } else {
            (angle - self.angle(since_s).0) / (t_s - since_s)
        };
        Sample {
            t_s,
            accel_m_s2: self.truth(t_s).inverse() * Vector3::new(0.0, 0.0, GRAVITY_M_S2)
                + alpha.cross(&r)
                + omega.cross(&omega.cross(&r)),
            gyro_rad_s: axis * mean + self.bias_deg_s.map(f64::to_radians),
        }
    }

    fn samples(&self, rate_hz: f64) -> Vec<Sample> {
        let count = (self.end_s() * rate_hz) as usize;
        (0..count)
            .map(|i| self.sample(i as f64 / rate_hz, (i as f64 - 1.0) / rate_hz))
            .collect()
    }
}

#[test]
#[ignore = "scan"]
fn speed() {
    let samples: Vec<Sample> = Hinge {
        swings: 300.0,
        ..HINGE
    }
    .samples(104.0);
    println!("speed n {}", samples.len());
    for _ in 0..3 {
        let t = std::time::Instant::now();
        let o = smooth(&samples, &SmootherParams::default());
        println!("speed smooth {:?}", t.elapsed());
        let t = std::time::Instant::now();
        let o2 = real_time(&samples, FilterKind::Vqf);
        println!("speed rt {:?} {}", t.elapsed(), o.len() + o2.len());
        let t = std::time::Instant::now();
        let o2 = carpotempo::orientation::still_spans(&samples, &Default::default());
        println!("speed still {:?} {}", t.elapsed(), o.len() + o2.len());
    }
}

fn lcg(state: &mut u64) -> f64 {
    *state = state
        .wrapping_mul(6364136223846793005)
        .wrapping_add(1442695040888963407);
    (*state >> 11) as f64 / (1u64 << 53) as f64
}

#[test]
#[ignore = "scan"]
fn gaps() {
    for (f, lever) in [(0.125, 0.07), (0.25, 0.07), (0.5, 0.07), (0.25, 0.35)] {
        for gap in [0.0, 0.05, 0.1, 0.2, 0.24, 0.3, 0.5, 1.0, 2.5, 5.0] {
            let mut line = format!("gaps f {f} lever {lever} gap {gap:4}: ");
            let (mut e, mut c) = ([0.0f64; 8], 0.0);
            for k in 0..8 {
                let hinge = Hinge {
                    frequency_hz: f,
                    swings: 40.0 * f,
                    lever_in_sensor_m: Vector3::new(lever, 0.01, -0.02),
                    ..HINGE
                };
                let at = 3.0 + 20.0 + k as f64 / 8.0 / f;
                let samples: Vec<Sample> = hinge
                    .samples(100.0)
                    .into_iter()
                    .filter(|s| s.t_s < at || s.t_s > at + gap)
                    .collect();
                for (j, out) in [real_time(&samples, FilterKind::Vqf), offline(&samples)]
                    .iter()
                    .enumerate()
                {
                    let i0 = samples.iter().position(|s| s.t_s > at + gap).unwrap();
                    for (w, (a, b)) in [(0, 1), (1, 50), (50, 200), (200, 600)]
                        .into_iter()
                        .enumerate()
                    {
                        let m = out[i0 + a..i0 + b]
                            .iter()
                            .map(|o| {
                                inclination_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s))
                            })
                            .fold(0.0, f64::max);
                        e[j * 4 + w] = e[j * 4 + w].max(m);
                    }
                }
                c += 1.0;
            }
            let _ = c;
            for v in e {
                line += &format!("{v:6.2}");
            }
            println!("{line}");
        }
    }
}

fn normal(state: &mut u64) -> f64 {
    (0..12).map(|_| lcg(state)).sum::<f64>() - 6.0
}

#[test]
#[ignore = "scan"]
fn rough() {
    for cut in [0.0, 4.3] {
        for bias in [0.0, 1.0, 5.0] {
            for rate in [25.0, 50.0, 104.0, 200.0] {
                let hinge = Hinge {
                    bias_deg_s: Vector3::new(0.6, -0.64, 0.48) * bias,
                    ..HINGE
                };
                let mut seed = 7;
                let mut samples = Vec::new();
                let n = (hinge.end_s() * rate) as usize;
                let mut last = 0.0;
                for i in 0..n {
                    let t = i as f64 / rate + 0.001 * (2.0 * lcg(&mut seed) - 1.0);
                    if t < cut {
                        last = t;
                        continue;
                    }
                    let mut s = hinge.sample(t, last);
                    last = t;
                    s.accel_m_s2 += Vector3::from_fn(|_, _| 0.05 * normal(&mut seed));
                    s.gyro_rad_s +=
                        Vector3::from_fn(|_, _| 0.1f64.to_radians() * normal(&mut seed));
                    if lcg(&mut seed) < 0.06 {
                        continue;
                    }
                    samples.push(s);
                }
                let mut line = format!("rough cut {cut} bias {bias} rate {rate:5}: ");
                for out in [
                    real_time(&samples, FilterKind::Vqf),
                    offline(&samples),
                    real_time(&samples, FilterKind::Madgwick),
                ] {
                    let e: Vec<f64> = out
                        .iter()
                        .map(|o| inclination_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s)))
                        .collect();
                    let rms = (e.iter().map(|x| x * x).sum::<f64>() / e.len() as f64).sqrt();
                    let max = e.iter().copied().fold(0.0, f64::max);
                    let half = e[e.len() / 2..].iter().copied().fold(0.0, f64::max);
                    let yaw = |o: &Oriented| {
                        let q = o.world_from_sensor * hinge.truth(o.t_s).inverse();
                        2.0 * q.k.atan2(q.w).to_degrees()
                    };
                    let y = (yaw(&out[out.len() - 1]) - yaw(&out[20]) + 540.0).rem_euclid(360.0)
                        - 180.0;
                    line += &format!("rms {rms:5.2} max {max:5.2} late {half:5.2} yaw {y:6.2} | ");
                }
                println!("{line}");
            }
        }
    }
}
