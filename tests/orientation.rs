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

use carpotempo::orientation::{
    DecimateRates, FilterKind, OrientationFilter, Oriented, RateMeaning, RealTime, RealTimeParams,
    SmootherParams, StillParams, TAU_ACC_S, Vqf, decimate_by_mean, nominal_rate_hz, smooth,
    still_spans,
};
use carpotempo::sample::Sample;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

#[path = "common/reference.rs"]
mod reference;

use reference::reference;

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
    // 2 acos(sqrt(w² + z²)) in a form that keeps its digits at zero.
    let e = estimate * truth.inverse();
    2.0 * e.i.hypot(e.j).atan2(e.w.hypot(e.k)).to_degrees()
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

fn smoothed(samples: &[Sample], params: &SmootherParams) -> Vec<Oriented> {
    smooth(
        samples,
        &still_spans(samples, &StillParams::default()),
        params,
    )
}

fn offline(samples: &[Sample]) -> Vec<Oriented> {
    smoothed(samples, &SmootherParams::default())
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

/// Heading of the error of an estimate, deg; the constant part means nothing.
fn heading_error_deg(estimate: &UnitQuaternion<f64>, truth: &UnitQuaternion<f64>) -> f64 {
    let e = estimate * truth.inverse();
    2.0 * e.k.atan2(e.w).to_degrees()
}

fn wrapped_deg(angle_deg: f64) -> f64 {
    (angle_deg + 540.0).rem_euclid(360.0) - 180.0
}

/// Root mean square and largest inclination error against a hinge, deg.
fn errors_deg(oriented: &[Oriented], hinge: &Hinge) -> (f64, f64) {
    let errors = oriented
        .iter()
        .map(|o| inclination_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s)));
    let (sum, largest) = errors.fold((0.0, 0.0), |(sum, largest): (f64, f64), e| {
        (sum + e * e, largest.max(e))
    });
    ((sum / oriented.len() as f64).sqrt(), largest)
}

/// Uniform between 0 and 1, and nearly normal: a linear congruential generator (Knuth, The Art of
/// Computer Programming vol. 2, 3.3.4, the multiplier of MMIX) and the sum of twelve.
struct Random(u64);

impl Random {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A hinge as a cheap radio sensor has it: 1 ms jitter, 6 % lost, noise of gyroscope and
/// accelerometer.
fn rough_samples(hinge: &Hinge, rate_hz: f64, from_s: f64, seed: u64) -> Vec<Sample> {
    let mut random = Random(seed);
    let mut samples = Vec::new();
    let mut last_s = 0.0;
    for i in 0..(hinge.end_s() * rate_hz) as usize {
        let t_s = i as f64 / rate_hz + 0.001 * (2.0 * random.uniform() - 1.0);
        let mut sample = hinge.sample(t_s, last_s);
        last_s = t_s;
        sample.accel_m_s2 += Vector3::from_fn(|_, _| 0.05 * random.normal());
        sample.gyro_rad_s += Vector3::from_fn(|_, _| 0.1_f64.to_radians() * random.normal());
        if random.uniform() >= 0.06 && t_s >= from_s {
            samples.push(sample);
        }
    }
    samples
}

#[test]
fn the_real_time_filter_is_the_published_one() {
    // Source: PyPI vqf 2.1.2 (C++ reference), tests/reference/vqf_vectors.py.
    let rows = vectors();
    let mut filter = Vqf::new(40.0, TAU_ACC_S);
    for (sample, real_time, _) in &rows {
        let q = filter.update(&sample.gyro_rad_s, &sample.accel_m_s2);
        let difference = (q.coords - real_time.coords).norm();
        assert!(difference < 1e-9, "{difference} at {} s", sample.t_s);
    }
}

#[test]
fn the_smoother_agrees_with_the_published_offline_variant() {
    // Source: PyPI vqf 2.1.2, offlineVQF, tests/reference/vqf_vectors.py.
    let rows = vectors();
    let samples: Vec<Sample> = rows.iter().map(|row| row.0).collect();
    for tau_acc_s in [TAU_ACC_S, SmootherParams::default().tau_acc_s] {
        let params = SmootherParams {
            tau_acc_s,
            ..SmootherParams::default()
        };
        let oriented = smoothed(&samples, &params);
        let heading = |i: usize| heading_error_deg(&oriented[i].world_from_sensor, &rows[i].2);
        let (mut inclination, mut inner, mut total) = (0.0_f64, 0.0_f64, 0.0_f64);
        for (i, row) in rows.iter().enumerate() {
            let e = inclination_error_deg(&oriented[i].world_from_sensor, &row.2);
            inclination = inclination.max(e);
            if (3.0..22.0).contains(&row.0.t_s) {
                inner = inner.max(e);
            }
            total = total.max(wrapped_deg(heading(i) - heading(0)).abs());
        }
        println!(
            "tau {tau_acc_s} s: inclination within {inclination:.3} deg, {inner:.3} but for 3 s at \
             both ends, heading {total:.3}"
        );
        assert!(inclination < 0.25 && inner < 0.1 && total < 0.4);
    }
}

type Row = (Sample, UnitQuaternion<f64>, UnitQuaternion<f64>);

fn vectors() -> Vec<Row> {
    let text = include_str!("reference/vqf_vectors.csv");
    let rows: Vec<Row> = text
        .lines()
        .skip(1)
        .map(|line| {
            let v: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let q = |i: usize| {
                UnitQuaternion::new_unchecked(Quaternion::new(v[i], v[i + 1], v[i + 2], v[i + 3]))
            };
            let sample = Sample {
                t_s: v[0],
                accel_m_s2: Vector3::new(v[1], v[2], v[3]),
                gyro_rad_s: Vector3::new(v[4], v[5], v[6]),
            };
            (sample, q(7), q(11))
        })
        .collect();
    assert_eq!(rows.len(), 1000);
    rows
}

#[test]
fn a_tilted_sensor_at_rest_is_level_at_once_and_stays() {
    // Closed form: at rest the specific force points up.
    for (roll, pitch) in [
        (0.0, 0.0),
        (0.7, -0.3),
        (3.0, 0.1),
        (1.57, 1.5),
        (-2.2, 0.9),
    ] {
        let truth = UnitQuaternion::from_euler_angles(roll, pitch, 0.4);
        let samples: Vec<Sample> = (0..300)
            .map(|i| Sample {
                t_s: f64::from(i) / 50.0,
                accel_m_s2: truth.inverse() * Vector3::new(0.0, 0.0, GRAVITY_M_S2),
                gyro_rad_s: Vector3::new(0.04, -0.05, 0.06),
            })
            .collect();
        // Madgwick's step has the same length however small the error is: it trembles by that much.
        for (oriented, within_deg) in [
            (real_time(&samples, FilterKind::Vqf), 1e-6),
            (real_time(&samples, FilterKind::Madgwick), 0.1),
            (offline(&samples), 1e-6),
        ] {
            for o in oriented {
                let e = inclination_error_deg(&o.world_from_sensor, &truth);
                assert!(e < within_deg, "{e} deg at {} s", o.t_s);
                if o.t_s > 1.0 {
                    assert!(o.gyro_in_sensor_rad_s.norm() < 1e-9, "the bias is gone");
                }
            }
        }
    }
}

#[test]
fn a_steady_turn_about_a_tilted_axis_is_followed_to_the_last_digits() {
    // Closed form, without noise: turn by 90 deg/s about an axis 60 deg off the vertical.
    let axis = Vector3::new(0.75_f64.sqrt(), 0.0, 0.5);
    let rate_rad_s = 90.0_f64.to_radians();
    let truth = |t_s: f64| UnitQuaternion::new(axis * rate_rad_s * t_s);
    let samples: Vec<Sample> = (0..800)
        .map(|i| {
            let t_s = f64::from(i) / 100.0;
            Sample {
                t_s,
                accel_m_s2: truth(t_s).inverse() * Vector3::new(0.0, 0.0, GRAVITY_M_S2),
                gyro_rad_s: axis * rate_rad_s,
            }
        })
        .collect();
    for oriented in [real_time(&samples, FilterKind::Vqf), offline(&samples)] {
        let start = oriented[0].world_from_sensor * truth(0.0).inverse();
        for o in &oriented {
            let e = (o.world_from_sensor * truth(o.t_s).inverse()).angle_to(&start);
            assert!(
                e.to_degrees() < 1e-5,
                "{} deg at {} s",
                e.to_degrees(),
                o.t_s
            );
        }
    }
}

#[test]
fn a_swinging_hinge_is_followed_with_and_without_a_lever() {
    // Closed form: gravity, tangential and centripetal acceleration of a rigid hinge.
    println!("lever m, rate Hz: real time rms and max deg, offline rms and max deg");
    for (lever_m, rt_deg, offline_deg) in [(0.0, 0.001, 0.001), (0.07, 0.1, 0.02), (0.35, 0.5, 0.1)]
    {
        for rate_hz in [25.0, 50.0, 104.0, 200.0] {
            let lever_in_sensor_m = Vector3::new(lever_m, 0.01 * lever_m, -0.2 * lever_m);
            let hinge = Hinge {
                lever_in_sensor_m,
                ..HINGE
            };
            let samples = hinge.samples(rate_hz);
            let rt = errors_deg(&real_time(&samples, FilterKind::Vqf), &hinge);
            let off = errors_deg(&offline(&samples), &hinge);
            println!(
                "{lever_m}, {rate_hz}: {:.4} {:.4}, {:.5} {:.5}",
                rt.0, rt.1, off.0, off.1
            );
            assert!(rt.1 < rt_deg && off.1 < offline_deg);
        }
    }
}

#[test]
fn what_a_rate_means_can_be_said() {
    let hinge = Hinge {
        instant_rate: true,
        lever_in_sensor_m: Vector3::zeros(),
        ..HINGE
    };
    let samples = hinge.samples(25.0);
    let with = |rate_meaning| {
        let mut filter = RealTime::new(RealTimeParams {
            rate_hz: 25.0,
            rate_meaning,
            ..Default::default()
        });
        let rt: Vec<Oriented> = samples.iter().map(|s| filter.push(s)).collect();
        let off = smoothed(
            &samples,
            &SmootherParams {
                rate_meaning,
                ..Default::default()
            },
        );
        (errors_deg(&rt, &hinge).1, errors_deg(&off, &hinge).1)
    };
    let (at, since) = (
        with(RateMeaning::AtInstant),
        with(RateMeaning::SincePrevious),
    );
    println!("rates of instants at 25 Hz: {at:?} deg, taken for means {since:?}");
    assert!(at.0 < 0.05 && at.1 < 0.02);
    // Half a spacing, 20 ms, of up to 55 deg/s.
    assert!(since.1 > 0.5 && since.1 < 1.3);
}

#[test]
fn jitter_losses_noise_and_bias_leave_the_inclination_alone() {
    println!(
        "rate Hz, bias deg/s: rms and max deg of real time, offline, madgwick; heading deg/min"
    );
    for rate_hz in [25.0, 50.0, 104.0, 200.0] {
        for bias in [0.0, 5.0] {
            for seed in [1, 2, 3] {
                let bias_deg_s = Vector3::new(0.6, -0.64, 0.48) * bias;
                let hinge = Hinge {
                    bias_deg_s,
                    ..HINGE
                };
                let samples = rough_samples(&hinge, rate_hz, 0.0, seed);
                let live = real_time(&samples, FilterKind::Vqf);
                let refined = offline(&samples);
                // The very first orientation is as noisy as the accelerometer.
                let settled = &live[live.partition_point(|o| o.t_s < 0.5)..];
                let rt = errors_deg(settled, &hinge);
                let off = errors_deg(&refined, &hinge);
                let madgwick = errors_deg(&real_time(&samples, FilterKind::Madgwick), &hinge);
                let heading = |i: usize| {
                    let o = &refined[i];
                    heading_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s))
                };
                let drift =
                    wrapped_deg(heading(refined.len() - 1) - heading(0)) * 60.0 / hinge.end_s();
                println!(
                    "{rate_hz}, {bias}: {:.3} {:.3}, {:.3} {:.3}, {:.2} {:.2}; {drift:.2}",
                    rt.0, rt.1, off.0, off.1, madgwick.0, madgwick.1
                );
                assert!(rt.0 < 0.12 && rt.1 < 0.5, "real time {rt:?}");
                assert!(off.0 < 0.08 && off.1 < 0.25, "offline {off:?}");
                assert!(madgwick.0 < 2.0, "madgwick {madgwick:?}");
                assert!(drift.abs() < 2.0, "heading {drift} deg/min");
            }
        }
    }
}

#[test]
fn a_short_or_late_stillness_tells_the_real_time_filter_the_bias() {
    let bias_deg_s = Vector3::new(3.0, -3.2, 2.4);
    // Still for 0.6 s only; still from the end of a first movement; still after ten swings.
    let short = Hinge {
        bias_deg_s,
        rest_s: 0.6,
        ..HINGE
    };
    let settling = Hinge {
        bias_deg_s,
        rest_s: 2.0,
        swings: 1.0,
        frequency_hz: 1.0,
        ..HINGE
    };
    let late = Hinge {
        bias_deg_s,
        ..HINGE
    };
    for (hinge, from_s, known_by_s) in [
        (short, 0.0, 0.9),
        (settling, 2.5, 4.2),
        (late, 4.3, late.end_s() - 0.5),
    ] {
        let samples = rough_samples(&hinge, 104.0, from_s, 21);
        let mut filter = RealTime::new(RealTimeParams {
            rate_hz: 104.0,
            ..Default::default()
        });
        for sample in &samples {
            let o = filter.push(sample);
            if sample.t_s > known_by_s {
                assert!(filter.bias_is_from_stillness(), "at {} s", sample.t_s);
                let bias_deg_s = filter.bias_in_sensor_rad_s().map(f64::to_degrees);
                assert!(
                    (bias_deg_s - hinge.bias_deg_s).norm() < 0.5,
                    "{bias_deg_s:?}"
                );
                let e = inclination_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s));
                assert!(e < 1.0, "{e} deg at {} s", o.t_s);
            }
        }
    }
}

#[test]
fn stillness_anywhere_tells_the_smoother_the_bias() {
    // The record starts in motion; it is still only in its last 3 s.
    let hinge = Hinge {
        bias_deg_s: Vector3::new(3.0, -3.2, 2.4),
        ..HINGE
    };
    let samples = rough_samples(&hinge, 104.0, 4.3, 11);
    let off = errors_deg(&offline(&samples), &hinge);
    assert!(off.0 < 0.08 && off.1 < 0.25, "{off:?}");
}

#[test]
fn without_any_stillness_the_filters_own_estimate_goes_past_its_limit() {
    let hinge = Hinge {
        bias_deg_s: Vector3::new(3.0, -3.2, 2.4),
        rest_s: 0.0,
        ..HINGE
    };
    let samples = rough_samples(&hinge, 104.0, 0.6, 12);
    let off = errors_deg(&offline(&samples), &hinge);
    let live = real_time(&samples, FilterKind::Vqf);
    let late = errors_deg(&live[live.len() / 2..], &hinge);
    println!("5 deg/s and never still: offline {off:?}, real time's second half {late:?} deg");
    assert!(off.0 < 1.5, "{off:?}");
    assert!(late.0 < 5.0, "{late:?}");
}

#[test]
fn after_a_gap_the_inclination_is_right_at_once_and_the_heading_goes_on() {
    println!(
        "frequency Hz, gap s: max deg at once, in 0.5 s, in 6 s (real time; offline); heading deg"
    );
    for (frequency_hz, rt_deg, offline_deg) in
        [(0.125, 0.3, 0.2), (0.25, 0.8, 0.2), (0.5, 2.6, 0.5)]
    {
        for gap_s in [0.05, 0.1, 0.18, 0.22, 0.5, 1.0, 2.5, 5.0] {
            let mut worst = [0.0_f64; 6];
            let mut turned: f64 = 0.0;
            for eighth in 0..8 {
                let swings = 40.0 * frequency_hz;
                let hinge = Hinge {
                    frequency_hz,
                    swings,
                    ..HINGE
                };
                let from_s = 23.0 + f64::from(eighth) / 8.0 / frequency_hz;
                let mut samples = hinge.samples(100.0);
                samples.retain(|s| s.t_s < from_s || s.t_s > from_s + gap_s);
                let first = samples.iter().position(|s| s.t_s > from_s + gap_s).unwrap();
                for (variant, oriented) in [real_time(&samples, FilterKind::Vqf), offline(&samples)]
                    .iter()
                    .enumerate()
                {
                    for (span, to) in [(0, 1), (1, 50), (2, 600)] {
                        let (_, largest) = errors_deg(&oriented[first..first + to], &hinge);
                        let worst = &mut worst[3 * variant + span];
                        *worst = worst.max(largest);
                    }
                    let heading =
                        |o: &Oriented| heading_error_deg(&o.world_from_sensor, &hinge.truth(o.t_s));
                    let turn = heading(&oriented[first + 50]) - heading(&oriented[first - 1]);
                    turned = turned.max(wrapped_deg(turn).abs());
                }
            }
            println!("{frequency_hz}, {gap_s}: {worst:.2?}; {turned:.2}");
            assert!(
                worst[2] < rt_deg,
                "real time creeps after {gap_s} s: {worst:?}"
            );
            assert!(worst[5] < offline_deg, "{gap_s} s: {worst:?}");
            assert!(turned < 5.0, "heading {turned} after {gap_s} s");
        }
    }
}

#[test]
fn repeated_stamps_and_a_clock_set_back_do_no_harm() {
    let hinge = HINGE;
    let mut samples = Vec::new();
    for (i, sample) in hinge.samples(100.0).into_iter().enumerate() {
        samples.push(sample);
        if i % 7 == 3 {
            samples.push(sample);
        }
    }
    let live = real_time(&samples, FilterKind::Vqf);
    assert_eq!(live.len(), samples.len());
    assert!(errors_deg(&live, &hinge).1 < 0.1);
    assert!(errors_deg(&offline(&samples), &hinge).1 < 0.05);
    for pair in live
        .windows(2)
        .filter(|pair| pair[0].t_s == pair[1].t_s && pair[0].t_s > 1.5)
    {
        assert_eq!(pair[0].world_from_sensor, pair[1].world_from_sensor);
    }
    // A unit that restarts: its clock falls back by 20 s in mid-swing.
    let truth = |index: usize, t_s: f64| hinge.truth(if index >= 2500 { t_s + 20.0 } else { t_s });
    let mut samples = hinge.samples(100.0);
    for sample in samples.iter_mut().skip(2500) {
        sample.t_s -= 20.0;
    }
    for oriented in [real_time(&samples, FilterKind::Vqf), offline(&samples)] {
        for (i, o) in oriented.iter().enumerate() {
            assert!(inclination_error_deg(&o.world_from_sensor, &truth(i, o.t_s)) < 1.0);
        }
    }
}

#[test]
fn the_same_samples_give_the_same_bits() {
    let samples = rough_samples(&HINGE, 104.0, 0.0, 5);
    for kind in [FilterKind::Vqf, FilterKind::Madgwick] {
        let whole = real_time(&samples, kind);
        let rate_hz = nominal_rate_hz(&samples).unwrap();
        let mut filter = RealTime::new(RealTimeParams {
            kind,
            rate_hz,
            ..Default::default()
        });
        let parts: Vec<Oriented> = samples
            .chunks(17)
            .flatten()
            .map(|s| filter.push(s))
            .collect();
        assert_eq!(whole, parts);
        filter.reset();
        let again: Vec<Oriented> = samples.iter().map(|s| filter.push(s)).collect();
        assert_eq!(whole, again);
    }
    assert_eq!(offline(&samples), offline(&samples));
}

#[test]
fn another_mounting_and_another_hour_give_the_same_movement() {
    let samples = rough_samples(&HINGE, 104.0, 0.0, 6);
    let remount = UnitQuaternion::from_euler_angles(2.0, 0.7, -1.1);
    let other: Vec<Sample> = samples
        .iter()
        .map(|s| Sample {
            t_s: s.t_s + 4096.0,
            accel_m_s2: remount * s.accel_m_s2,
            gyro_rad_s: remount * s.gyro_rad_s,
        })
        .collect();
    for (ours, theirs) in [
        (
            real_time(&samples, FilterKind::Vqf),
            real_time(&other, FilterKind::Vqf),
        ),
        (offline(&samples), offline(&other)),
    ] {
        let between =
            |i: usize| theirs[i].world_from_sensor * remount * ours[i].world_from_sensor.inverse();
        let first = between(200);
        // VQF limits what it takes for bias on each axis by itself; noise reaches the limit at first.
        assert!(
            first.i.hypot(first.j) < 1e-3,
            "the two worlds differ by a heading alone"
        );
        for i in 200..ours.len() {
            assert!(
                between(i).angle_to(&first).to_degrees() < 0.02,
                "sample {i}"
            );
        }
    }
}

#[test]
fn decimation_by_means_keeps_the_turn() {
    let samples = HINGE.samples(1000.0);
    let rates = DecimateRates {
        from_hz: 1000.0,
        to_at_most_hz: 200.0,
    };
    let fewer = decimate_by_mean(&samples, rates);
    assert_eq!(fewer.len(), samples.len() / 5);
    assert!((nominal_rate_hz(&fewer).unwrap() - 200.0).abs() < 1e-6);
    let turn = |some: &[Sample], dt_s: f64| {
        some.iter()
            .map(|s| s.gyro_rad_s * dt_s)
            .sum::<Vector3<f64>>()
    };
    assert!((turn(&fewer, 0.005) - turn(&samples, 0.001)).norm() < 1e-9);
    assert!(errors_deg(&offline(&fewer), &HINGE).1 < 0.05);
    assert_eq!(
        decimate_by_mean(
            &fewer,
            DecimateRates {
                from_hz: 200.0,
                ..rates
            }
        ),
        fewer
    );
}

#[test]
fn few_samples_or_none_are_no_trouble() {
    for count in 0..8 {
        let samples: Vec<Sample> = HINGE.samples(100.0).into_iter().take(count).collect();
        let oriented = offline(&samples);
        assert_eq!(oriented.len(), count);
        for (o, s) in oriented.iter().zip(&samples) {
            assert!(inclination_error_deg(&o.world_from_sensor, &HINGE.truth(s.t_s)) < 1e-5);
        }
    }
    // All at one time: no rate, no turn, one result each.
    let sample = Sample {
        t_s: 1.0,
        ..HINGE.sample(0.0, 0.0)
    };
    assert_eq!(offline(&[sample; 5]).len(), 5);
    assert_eq!(nominal_rate_hz(&[sample; 5]), None);
}

#[test]
fn a_twenty_minute_recording_is_smoothed_in_well_under_150_ms() {
    let samples = Hinge {
        swings: 300.0,
        ..HINGE
    }
    .samples(104.0);
    let mut fastest_s = f64::INFINITY;
    for _ in 0..3 {
        let start = std::time::Instant::now();
        assert_eq!(offline(&samples).len(), samples.len());
        fastest_s = fastest_s.min(start.elapsed().as_secs_f64());
    }
    println!("{} samples in {:.0} ms", samples.len(), fastest_s * 1e3);
    // A figure of optimised builds; the margin is for busy machines.
    assert!(cfg!(debug_assertions) || fastest_s < 0.15, "{fastest_s} s");
}
