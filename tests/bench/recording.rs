//! What recording costs: time on the processor for a second of samples at 200 Hz, and the longest
//! that a writing kept its caller waiting.

use std::time::{Duration, Instant};

use carpotempo::movement::Movement;
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::Expectation;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::recording::{SessionHead, SetStart, Writer};
use carpotempo::routine::TempoBand;
use carpotempo::sample::{Place, Sample};
use carpotempo::source::signal::Told;
use carpotempo::source::simulator::live::{LivePerson, LivePlan};

const RATE_HZ: f64 = 200.0;
const LASTING_S: f64 = 120.0;
/// Samples come in packets of this many.
const PACKET: usize = 5;
/// The time that is waited after each packet, so that the clock's flushes and syncs take part.
const PAUSE: Duration = Duration::from_micros(2500);

/// Time on the processor of all threads so far, seconds. Source: the kernel's documentation of
/// /proc/PID/task/TID/schedstat.
fn processor_s() -> Option<f64> {
    let mut total_ns = 0_u64;
    for task in std::fs::read_dir("/proc/self/task").ok()? {
        let path = task.ok()?.path().join("schedstat");
        let text = std::fs::read_to_string(path).ok()?;
        total_ns += text.split_whitespace().next()?.parse::<u64>().ok()?;
    }
    Some(total_ns as f64 * 1e-9)
}

fn samples(seed: u64) -> Vec<Sample> {
    let plan = LivePlan {
        set: SetStart {
            movement: Some(Movement::WristExtension),
            ..SetStart::default()
        },
        calibrates: true,
        repetitions: None,
        lost_ratio: 0.0,
        losses_s: Vec::new(),
        forearm: None,
        seed,
    };
    LivePerson::new(plan)
        .take_while(|signal| signal.at_s < LASTING_S)
        .filter_map(|signal| match signal.told {
            Told::Sample(_, sample) => Some(sample),
            _ => None,
        })
        .collect()
}

/// Processor time for a second of samples, as a share of one core, and the longest packet.
fn share(samples: &[Sample], mut work: impl FnMut(&[Sample])) -> (f64, Duration) {
    let mut longest = Duration::ZERO;
    let before_s = processor_s().unwrap_or(f64::NAN);
    for packet in samples.chunks(PACKET) {
        let began = Instant::now();
        work(packet);
        longest = longest.max(began.elapsed());
        std::thread::sleep(PAUSE);
    }
    let spent_s = processor_s().unwrap_or(f64::NAN) - before_s;
    (spent_s / (samples.len() as f64 / RATE_HZ), longest)
}

pub fn run(seed: u64) {
    let samples = samples(seed);
    let folder = tempfile::tempdir().unwrap();
    let head = SessionHead {
        started_at: "2026-03-02T18:30:00+01:00[+01:00]".parse().unwrap(),
        patient: "P-0001".parse().unwrap(),
        routine: None,
    };
    let mut writer = Writer::create(&folder.path().join("recording"), &head).unwrap();
    let mut live = Live::new(LiveParams {
        rate_hz: RATE_HZ,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: None,
    });
    // Ten times as fast as life: waking up and sleeping again are taken off.
    let (idle, _) = share(&samples, |_| {});
    let (write, longest) = share(&samples, |packet| {
        for sample in packet {
            writer.sample(Place::Hand, sample).unwrap();
        }
        writer.tick().unwrap();
    });
    writer.finish().unwrap();
    let (step, _) = share(&samples, |packet| {
        for sample in packet {
            std::hint::black_box(live.sample(sample));
        }
    });
    println!(
        "recording at 200 Hz: {:.3} % of one core (goal 3), longest wait {:.2} ms; the live step beside it {:.3} %; the sleeping between packets, taken off, {:.3} %",
        100.0 * (write - idle),
        longest.as_secs_f64() * 1e3,
        100.0 * (step - idle),
        100.0 * idle
    );
}
