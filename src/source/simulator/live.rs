//! An invented person with a simulated unit, live: calibrates and repeats in real time, told
//! through the packets of our own profile, so that what a radio delivers and this go the same way.
//!
//! Ours. The person listens to no prompt: still, one movement, still, then repetitions until
//! nobody listens any more. The same plan gives the same bytes at the same times.

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use super::acted::{GOES_ON_S, acted};
use super::body::Reading;
use super::random::Random;
use super::timeline::Timeline;
use super::truth::{TrueRepetition, true_repetitions, true_turns};
use super::unit::UnitErrors;
use super::way::Way;
use crate::recording::{Battery, SetStart};
use crate::sample::{GRAVITY_M_S2, Place, Sample};
use crate::source::signal::{Signal, Told};
use crate::source::unit::packet::{Packet, RawReading, Stamp};
use crate::source::unit::profile::Description;
use crate::source::unit::stream::UnitStream;

/// Samples a second, 0.1 Hz: what is asked of a real unit.
const RATE_TENTH_HZ: u16 = 2000;
/// Samples in a packet: 25 ms.
const PACKET_COUNT: usize = 5;
/// The unit is connected so long after the recording began, seconds.
const CONNECTS_S: f64 = 0.3;
/// A lost link is noticed after this long, seconds.
const NOTICED_S: f64 = 0.7;
/// Shortest time from a packet's last sample to its arrival, seconds.
const DELAY_S: f64 = 0.004;

/// What the person does, and what goes wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct LivePlan {
    /// What is exercised: movement (wrist extension where none is named), side (right), tempo.
    pub set: SetStart,
    /// Whether a calibration's movement comes first.
    pub calibrates: bool,
    /// Repetitions; `None` goes on for half an hour.
    pub repetitions: Option<usize>,
    /// Share of packets that never arrive.
    pub lost_ratio: f64,
    /// Lost links: from when, and for how long, seconds of the recording.
    pub losses_s: Vec<[f64; 2]>,
    /// Seed.
    pub seed: u64,
}

/// The person, the unit and its link, as a stream of signals.
#[derive(Debug)]
pub struct LivePerson {
    way: Way,
    errors: UnitErrors,
    description: Description,
    random: Random,
    stream: UnitStream,
    plan: LivePlan,
    /// What is exercised, and when it begins, seconds.
    exercise: (Timeline, f64),
    /// Number of the next sample.
    next: u64,
    /// The unit's clock when the recording began, microseconds.
    awake_us: u64,
    /// Since when the link is lost, and whether that was told.
    lost: Option<bool>,
    waiting: VecDeque<Signal>,
}

impl LivePerson {
    /// A person who is about to begin.
    pub fn new(plan: LivePlan) -> LivePerson {
        let mut random = Random::new(plan.seed);
        let (way, exercise) = acted(&plan, &mut random);
        let rate_hz = f64::from(RATE_TENTH_HZ) / 10.0;
        let description = Description {
            place: Some(Place::Hand),
            rate_tenth_hz: RATE_TENTH_HZ,
            // 8 g over 15 bits, and a common part's 70 mdps at ±2000 deg/s.
            accel_scale_nano_g: 244_141,
            gyro_scale_micro_deg_s: 70_000,
            accel_range_g: 8,
            gyro_range_deg_s: 2000,
        };
        let errors = UnitErrors {
            // The steps are those of the packets.
            accel_step_m_s2: 0.0,
            gyro_step_rad_s: 0.0,
            ..UnitErrors::consumer(rate_hz, &mut random)
        };
        let awake_us = (random.between(5.0, 90.0) * 1e6) as u64;
        let mut person = LivePerson {
            way,
            errors,
            description,
            stream: UnitStream::new(Place::Hand, description),
            plan,
            exercise,
            next: (CONNECTS_S * rate_hz) as u64,
            awake_us,
            lost: None,
            waiting: VecDeque::new(),
            random,
        };
        person.connected(CONNECTS_S);
        let percent = person.random.whole(55, 95) as u8;
        person.tell(
            CONNECTS_S,
            Told::Battery(Battery {
                place: Some(Place::Hand),
                percent: Some(percent),
            }),
        );
        person
    }

    /// What is truly done; times by the recording's start, on the computer's clock.
    pub fn truth(&self) -> Vec<TrueRepetition> {
        let (timeline, start_s) = &self.exercise;
        let mut truth = if timeline.circle_half_angle_deg.is_some() {
            true_turns(timeline)
        } else {
            true_repetitions(timeline)
        };
        for repetition in &mut truth {
            repetition.lift_start_s += start_s;
            repetition.lift_end_s += start_s;
            repetition.lower_start_s += start_s;
            repetition.lower_end_s += start_s;
        }
        truth
    }

    /// What an ideal sensor on this person reads at a time by the recording's start, seconds.
    pub fn ideal(&self, t_s: f64) -> Reading {
        self.way.read(t_s)
    }

    fn tell(&mut self, at_s: f64, told: Told) {
        self.waiting.push_back(Signal { at_s, told });
    }

    fn connected(&mut self, at_s: f64) {
        let name = Some("Simulated unit".to_owned());
        let firmware = Some("simulated 1".to_owned());
        let info = self.description.sensor_info(Place::Hand, name, firmware);
        self.tell(at_s, Told::Connected(info));
    }

    /// The next packet's time of the unit, or what becomes of its link meanwhile.
    fn packet(&mut self) {
        let rate_hz = self.errors.rate_hz;
        let first = self.next;
        let first_s = first as f64 / rate_hz;
        self.next += PACKET_COUNT as u64;
        let readings = self.readings(first_s);
        let sent_s = (self.next - 1) as f64 / rate_hz;
        let dropped = self.random.chance(self.plan.lost_ratio);
        let at_s = sent_s + DELAY_S + 0.004 * self.random.normal().abs();
        let loss = self
            .plan
            .losses_s
            .iter()
            .find(|[from_s, lasting_s]| (*from_s..from_s + lasting_s).contains(&sent_s))
            .copied();
        if let Some([from_s, _]) = loss {
            let told = self.lost.unwrap_or(false);
            if !told && at_s - from_s > NOTICED_S {
                self.tell(at_s, Told::Lost(Place::Hand));
            }
            self.lost = Some(told || at_s - from_s > NOTICED_S);
            return;
        }
        if self.lost.take() == Some(true) {
            self.connected(at_s);
            for told in self.stream.reconnected(self.description) {
                self.tell(at_s, told);
            }
            self.tell(at_s, Told::Back(Place::Hand));
        }
        let bytes =
            match Packet::batched_bytes(self.stamp(first), (1e6 / rate_hz) as u16, &readings) {
                Ok(bytes) if !dropped => bytes,
                _ => return,
            };
        for told in self.stream.packet(&bytes, at_s) {
            self.tell(at_s, told);
        }
    }

    fn stamp(&self, number: u64) -> Stamp {
        let true_s = number as f64 / self.errors.rate_hz;
        let unit_us = true_s * (1e6 + self.errors.clock_ppm);
        Stamp {
            sequence: number as u16,
            time_us: (self.awake_us + unit_us.round() as u64) as u32,
        }
    }

    fn readings(&mut self, first_s: f64) -> Vec<RawReading> {
        let lasting_s = (PACKET_COUNT as f64 + 0.5) / self.errors.rate_hz;
        let way = &self.way;
        let ideal = |t_s: f64| -> Reading { way.read(first_s + t_s) };
        let samples = self.errors.sample_way(lasting_s, ideal, &mut self.random);
        samples
            .iter()
            .map(|sample| raw(sample, &self.description))
            .collect()
    }
}

impl Iterator for LivePerson {
    type Item = Signal;

    fn next(&mut self) -> Option<Signal> {
        while self.waiting.is_empty() {
            if self.next as f64 / self.errors.rate_hz > self.way.duration_s + GOES_ON_S {
                return None;
            }
            self.packet();
        }
        self.waiting.pop_front()
    }
}

fn raw(sample: &Sample, description: &Description) -> RawReading {
    let counts = |value: f64, scale: f64| {
        let count = (value / scale).round();
        count.clamp(f64::from(i16::MIN), f64::from(i16::MAX)) as i16
    };
    let accel_scale = description.accel_scale_nano_g as f64 * 1e-9 * GRAVITY_M_S2;
    let gyro_scale = (description.gyro_scale_micro_deg_s as f64 * 1e-6).to_radians();
    RawReading {
        accel: sample.accel_m_s2.map(|v| counts(v, accel_scale)).into(),
        gyro: sample.gyro_rad_s.map(|v| counts(v, gyro_scale)).into(),
    }
}

/// Plays a person from now on, `pace_ratio` times as fast as life; 1 is in real time. The thread
/// ends soon after nobody listens any more.
///
/// # Errors
/// Where the system gives no thread.
pub fn play(plan: LivePlan, origin: Instant, pace_ratio: f64) -> std::io::Result<Receiver<Signal>> {
    let (signals, heard) = channel();
    std::thread::Builder::new()
        .name("simulator".to_owned())
        .spawn(move || {
            for signal in LivePerson::new(plan) {
                let due = Duration::try_from_secs_f64(signal.at_s / pace_ratio);
                let ahead = due.unwrap_or_default().saturating_sub(origin.elapsed());
                if !ahead.is_zero() {
                    std::thread::sleep(ahead);
                }
                if signals.send(signal).is_err() {
                    return;
                }
            }
            let words = "the simulated person has gone home".to_owned();
            let at_s = origin.elapsed().as_secs_f64() * pace_ratio;
            let _nobody_listens = signals.send(Signal {
                at_s,
                told: Told::Ended(words),
            });
        })?;
    Ok(heard)
}
