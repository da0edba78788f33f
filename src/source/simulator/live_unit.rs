//! A simulated unit and its link, live: ideal readings in, packets of our own profile out, decoded
//! as those of a radio are.

use std::collections::VecDeque;

use super::body::Reading;
use super::random::Random;
use super::unit::UnitErrors;
use crate::recording::Battery;
use crate::sample::{GRAVITY_M_S2, Place, Sample};
use crate::source::signal::{Signal, Told};
use crate::source::unit::packet::{Packet, RawReading, Stamp};
use crate::source::unit::profile::Description;
use crate::source::unit::stream::UnitStream;

/// Samples a second, 0.1 Hz: what is asked of a real unit.
const RATE_TENTH_HZ: u16 = 2000;
/// Samples in a packet: 25 ms.
const PACKET_COUNT: usize = 5;
/// A lost link is noticed after this long, seconds.
const NOTICED_S: f64 = 0.7;
/// Shortest time from a packet's last sample to its arrival, seconds.
const DELAY_S: f64 = 0.004;

/// A unit that is worn by somebody.
#[derive(Debug)]
pub struct LiveUnit {
    place: Place,
    /// Its samples are taken so long after whole multiples of its interval, seconds: two units do
    /// not sample at the same instants.
    phase_s: f64,
    errors: UnitErrors,
    description: Description,
    random: Random,
    stream: UnitStream,
    lost_ratio: f64,
    losses_s: Vec<[f64; 2]>,
    /// Number of the next sample.
    next: u64,
    /// The unit's clock when the recording began, microseconds.
    awake_us: u64,
    /// Since when the link is lost, and whether that was told.
    lost: Option<bool>,
    waiting: VecDeque<Signal>,
}

impl LiveUnit {
    /// A unit that is connected at that time by the recording's start, seconds. `lost_ratio` is the
    /// share of packets that never arrive; `losses_s` are lost links, from when and for how long.
    pub fn new(
        connects_s: f64,
        lost_ratio: f64,
        losses_s: Vec<[f64; 2]>,
        random: Random,
    ) -> LiveUnit {
        LiveUnit::worn(Place::Hand, 0.0, connects_s, lost_ratio, losses_s, random)
    }

    /// The same on the forearm.
    pub fn on_forearm(
        connects_s: f64,
        lost_ratio: f64,
        losses_s: Vec<[f64; 2]>,
        mut random: Random,
    ) -> LiveUnit {
        let phase_s = random.between(0.0, 10.0 / f64::from(RATE_TENTH_HZ));
        let place = Place::Forearm;
        LiveUnit::worn(place, phase_s, connects_s, lost_ratio, losses_s, random)
    }

    fn worn(
        place: Place,
        phase_s: f64,
        connects_s: f64,
        lost_ratio: f64,
        losses_s: Vec<[f64; 2]>,
        mut random: Random,
    ) -> LiveUnit {
        let rate_hz = f64::from(RATE_TENTH_HZ) / 10.0;
        let description = Description {
            place: Some(place),
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
        let mut unit = LiveUnit {
            place,
            phase_s,
            errors,
            description,
            stream: UnitStream::new(place, description),
            lost_ratio,
            losses_s,
            next: (connects_s * rate_hz) as u64,
            awake_us,
            lost: None,
            waiting: VecDeque::new(),
            random,
        };
        unit.connected(connects_s);
        let percent = unit.random.whole(55, 95) as u8;
        unit.tell(
            connects_s,
            Told::Battery(Battery {
                place: Some(place),
                percent: Some(percent),
            }),
        );
        unit
    }

    /// Time of the next sample, seconds.
    pub fn next_s(&self) -> f64 {
        self.next as f64 / self.errors.rate_hz + self.phase_s
    }

    /// Time of the sample after the next packet, seconds.
    pub fn packet_end_s(&self) -> f64 {
        (self.next + PACKET_COUNT as u64) as f64 / self.errors.rate_hz + self.phase_s
    }

    /// Nothing that the next packets bring is told before this time, seconds.
    pub fn nothing_before_s(&self) -> f64 {
        let last = (self.next + PACKET_COUNT as u64 - 1) as f64;
        last / self.errors.rate_hz + self.phase_s + DELAY_S
    }

    /// When the first of what waits was told, seconds.
    pub fn told_s(&self) -> Option<f64> {
        self.waiting.front().map(|signal| signal.at_s)
    }

    /// Loses the link from that time by the recording's start, seconds, for so long.
    pub fn lose(&mut self, from_s: f64, lasting_s: f64) {
        self.losses_s.push([from_s, lasting_s]);
    }

    /// What was told and not taken yet.
    pub fn take(&mut self) -> Option<Signal> {
        self.waiting.pop_front()
    }

    fn tell(&mut self, at_s: f64, told: Told) {
        self.waiting.push_back(Signal { at_s, told });
    }

    fn connected(&mut self, at_s: f64) {
        let name = Some(match self.place {
            Place::Hand => "Simulated unit".to_owned(),
            Place::Forearm => "Simulated forearm unit".to_owned(),
        });
        let firmware = Some("simulated 1".to_owned());
        let info = self.description.sensor_info(self.place, name, firmware);
        self.tell(at_s, Told::Connected(info));
    }

    /// The next packet's time of the unit, or what becomes of its link meanwhile. `ideal` is what an
    /// ideal sensor reads at a time by the recording's start, seconds.
    pub fn packet(&mut self, ideal: impl Fn(f64) -> Reading) {
        let rate_hz = self.errors.rate_hz;
        let first = self.next;
        let first_s = first as f64 / rate_hz;
        self.next += PACKET_COUNT as u64;
        let readings = self.readings(first_s + self.phase_s, ideal);
        let sent_s = (self.next - 1) as f64 / rate_hz + self.phase_s;
        let dropped = self.random.chance(self.lost_ratio);
        let at_s = sent_s + DELAY_S + 0.004 * self.random.normal().abs();
        let loss = self
            .losses_s
            .iter()
            .find(|[from_s, lasting_s]| (*from_s..from_s + lasting_s).contains(&sent_s))
            .copied();
        if let Some([from_s, _]) = loss {
            let told = self.lost.unwrap_or(false);
            if !told && at_s - from_s > NOTICED_S {
                self.tell(at_s, Told::Lost(self.place));
            }
            self.lost = Some(told || at_s - from_s > NOTICED_S);
            return;
        }
        if self.lost.take() == Some(true) {
            self.connected(at_s);
            for told in self.stream.reconnected(self.description) {
                self.tell(at_s, told);
            }
            self.tell(at_s, Told::Back(self.place));
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
        let true_s = number as f64 / self.errors.rate_hz + self.phase_s;
        let unit_us = true_s * (1e6 + self.errors.clock_ppm);
        Stamp {
            sequence: number as u16,
            time_us: (self.awake_us + unit_us.round() as u64) as u32,
        }
    }

    fn readings(&mut self, first_s: f64, ideal: impl Fn(f64) -> Reading) -> Vec<RawReading> {
        let lasting_s = (PACKET_COUNT as f64 + 0.5) / self.errors.rate_hz;
        let ideal = |t_s: f64| -> Reading { ideal(first_s + t_s) };
        let samples = self.errors.sample_way(lasting_s, ideal, &mut self.random);
        samples
            .iter()
            .map(|sample| raw(sample, &self.description))
            .collect()
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
