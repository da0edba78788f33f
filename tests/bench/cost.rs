//! Time and memory: the whole `replay --json`, and one live step.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::{FilterKind, RateMeaning, RealTime, RealTimeParams};
use carpotempo::pipeline::Expectation;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::pipeline::set_specs;
use carpotempo::recording::{ForeignOptions, open_foreign};
use carpotempo::routine::TempoBand;
use carpotempo::sample::Sample;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::unit::UnitErrors;

use crate::sets::quantile;

const RATE_HZ: f64 = 104.0;
const LASTING_S: f64 = 20.0 * 60.0;
const ROUNDS: usize = 9;

/// Twenty minutes of curls.
fn twenty_minutes(seed: u64) -> Vec<Sample> {
    let mut random = Random::new(seed);
    let manner = SetManner::ordinary(160, 60.0);
    let mut timeline = manner.timeline(&mut random);
    timeline.duration_s = LASTING_S;
    let body = Body {
        movement: Movement::WristExtension,
        side: Side::Right,
        posture: Movement::WristExtension.usual_posture(),
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    };
    UnitErrors::consumer(RATE_HZ, &mut random).sample(&body, &timeline, &mut random)
}

fn write(samples: &[Sample]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("twenty-minutes.csv");
    let mut text = String::from("t_s,ax_m_s2,ay_m_s2,az_m_s2,gx_rad_s,gy_rad_s,gz_rad_s\n");
    for s in samples {
        let (a, g) = (s.accel_m_s2, s.gyro_rad_s);
        writeln!(
            text,
            "{},{},{},{},{},{},{}",
            s.t_s, a.x, a.y, a.z, g.x, g.y, g.z
        )
        .unwrap();
    }
    std::fs::write(&file, text).unwrap();
    (folder, file)
}

/// The yardstick: every number of the file into f64 by csv::StringRecord.
fn read_plainly(file: &Path) -> f64 {
    let mut reader = csv::Reader::from_path(file).unwrap();
    let mut record = csv::StringRecord::new();
    let mut sum = 0.0;
    while reader.read_record(&mut record).unwrap() {
        for field in &record {
            sum += field.parse::<f64>().unwrap();
        }
    }
    sum
}

fn timed(work: impl FnMut()) -> f64 {
    timed_in(ROUNDS, work)
}

/// Seconds of so many rounds, their median.
pub fn timed_in(rounds: usize, mut work: impl FnMut()) -> f64 {
    let times_s: Vec<f64> = (0..rounds)
        .map(|_| {
            let began = Instant::now();
            work();
            began.elapsed().as_secs_f64()
        })
        .collect();
    quantile(&times_s, 0.5)
}

/// Runs the program and tells its peak memory, bytes.
pub fn peak_bytes(arguments: &[&str]) -> u64 {
    let mut child = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(arguments)
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    while child.try_wait().unwrap().is_none() {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        if let Some(line) = text.lines().find(|line| line.starts_with("VmHWM:")) {
            let kib: u64 = line.split_whitespace().nth(1).unwrap().parse().unwrap();
            peak = peak.max(kib * 1024);
        }
    }
    peak
}

pub fn replay(seed: u64) {
    let samples = twenty_minutes(seed);
    let (_folder, file) = write(&samples);
    let path = file.to_str().unwrap();
    let yardstick_s = timed(|| {
        std::hint::black_box(read_plainly(&file));
    });
    let arguments = ["replay", path, "--json"];
    let replay_s = timed(|| {
        let status = Command::new(env!("CARGO_BIN_EXE_carpotempo"))
            .args(arguments)
            .stdout(Stdio::null())
            .status()
            .unwrap();
        assert!(status.success());
    });
    let peak = peak_bytes(&arguments);
    let allowed = 40e6 + 200.0 * samples.len() as f64;
    println!(
        "replay --json of {} samples (20 min at 104 Hz): {:.3} s; reading the file with csv::StringRecord {:.3} s; ratio {:.2} (goal 4)",
        samples.len(),
        replay_s,
        yardstick_s,
        replay_s / yardstick_s
    );
    println!(
        "  peak memory {:.1} MB (goal {:.1} MB)",
        peak as f64 / 1e6,
        allowed / 1e6
    );
}

pub fn live(seed: u64) {
    let samples = twenty_minutes(seed);
    let (_folder, file) = write(&samples);
    let recording = open_foreign(&file, &ForeignOptions::default()).unwrap();
    let specs = set_specs(&recording, &Expectation::default()).unwrap();
    let mut filter = RealTime::new(RealTimeParams {
        rate_hz: RATE_HZ,
        rate_meaning: RateMeaning::AtInstant,
        ..RealTimeParams::default()
    });
    let mut live = Live::new(LiveParams {
        rate_hz: RATE_HZ,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: specs.into_iter().next(),
    });
    let each = |work: &mut dyn FnMut(&Sample)| -> Vec<f64> {
        samples
            .iter()
            .map(|sample| {
                let began = Instant::now();
                work(sample);
                began.elapsed().as_secs_f64() * 1e6
            })
            .collect()
    };
    let filter_us = each(&mut |sample| {
        std::hint::black_box(filter.push(sample));
    });
    let step_us = each(&mut |sample| {
        std::hint::black_box(live.sample(sample));
    });
    let (filter_50, step_50) = (quantile(&filter_us, 0.5), quantile(&step_us, 0.5));
    println!(
        "live step: median {step_50:.2} us, the filter alone {filter_50:.2} us, beyond it {:.2} us (goal 1); 99 % {:.1} us, mean {:.2} us",
        step_50 - filter_50,
        quantile(&step_us, 0.99),
        step_us.iter().sum::<f64>() / step_us.len() as f64
    );
}

/// Where the time of a replay goes.
pub fn parts(seed: u64) {
    use carpotempo::orientation::{SmootherParams, StillParams, smooth, still_spans};
    use carpotempo::pipeline::motion::{MotionInput, read_motion};
    use carpotempo::reps::CountParams;

    let samples = twenty_minutes(seed);
    let (_folder, file) = write(&samples);
    let recording = open_foreign(&file, &ForeignOptions::default()).unwrap();
    let params = SmootherParams {
        rate_meaning: RateMeaning::AtInstant,
        ..SmootherParams::default()
    };
    let still = still_spans(&recording.hand, &StillParams::default());
    let oriented = smooth(&recording.hand, &still, &params);
    let input = MotionInput {
        of_wrist: false,
        oriented: &oriented,
        still: &still,
        alignment: None,
        movement: None,
    };
    let ms = |work: &mut dyn FnMut()| 1e3 * timed(work);
    println!(
        "parts of it: read {:.1} ms, smooth {:.1} ms, still spans {:.1} ms, motion {:.1} ms",
        ms(&mut || {
            std::hint::black_box(open_foreign(&file, &ForeignOptions::default()).unwrap());
        }),
        ms(&mut || {
            std::hint::black_box(smooth(&recording.hand, &still, &params));
        }),
        ms(&mut || {
            std::hint::black_box(still_spans(&recording.hand, &StillParams::default()));
        }),
        ms(&mut || {
            std::hint::black_box(read_motion(&input, &CountParams::default()));
        }),
    );
}
