//! A made-up unit: it numbers its samples in the readings themselves, so that every delivered
//! sample says which one it is.

use carpotempo::recording::{ClockInfo, Gap};
use carpotempo::sample::{Place, Sample};
use carpotempo::source::signal::Told;
use carpotempo::source::unit::packet::{Packet, RawReading, Stamp};
use carpotempo::source::unit::profile::Description;
use carpotempo::source::unit::stream::UnitStream;

pub const DESCRIPTION: Description = Description {
    place: Some(Place::Hand),
    rate_tenth_hz: 1000,
    accel_scale_nano_g: 244_000,
    gyro_scale_micro_deg_s: 70_000,
    accel_range_g: 8,
    gyro_range_deg_s: 2000,
};

pub fn stream() -> UnitStream {
    UnitStream::new(Place::Hand, DESCRIPTION)
}

/// The unit's count and clock: sample `index` has the number `sequence_0 + index` and the time
/// `time_0_us + index * spacing_us`, both as they wrap.
#[derive(Debug, Clone, Copy)]
pub struct Counting {
    pub sequence_0: u16,
    pub time_0_us: u64,
    pub spacing_us: u64,
}

impl Counting {
    pub fn unit_us(&self, index: u64) -> u64 {
        self.time_0_us + index * self.spacing_us
    }

    pub fn stamp(&self, index: u64) -> Stamp {
        Stamp {
            sequence: (u64::from(self.sequence_0) + index) as u16,
            time_us: self.unit_us(index) as u32,
        }
    }

    /// The packet of `count` samples from `index` on: single where `count` is 0.
    pub fn packet(&self, index: u64, count: u64) -> Vec<u8> {
        if count == 0 {
            return Packet::single_bytes(self.stamp(index), &marked(index)).to_vec();
        }
        let readings: Vec<RawReading> = (index..index + count).map(marked).collect();
        let spacing_us = u16::try_from(self.spacing_us).unwrap();
        Packet::batched_bytes(self.stamp(index), spacing_us, &readings).unwrap()
    }
}

/// The reading that says its number.
pub fn marked(index: u64) -> RawReading {
    RawReading {
        accel: [(index % 8000) as i16, (index / 8000) as i16, 0],
        gyro: [0; 3],
    }
}

/// The number that a sample says.
pub fn mark_of(sample: &Sample) -> u64 {
    let whole = |value: f64| (value / DESCRIPTION.accel_scale_m_s2()).round() as u64;
    whole(sample.accel_m_s2.x) + 8000 * whole(sample.accel_m_s2.y)
}

pub fn samples(told: &[Told]) -> Vec<Sample> {
    told.iter()
        .filter_map(|told| match told {
            Told::Sample(Place::Hand, sample) => Some(*sample),
            _ => None,
        })
        .collect()
}

pub fn marks(told: &[Told]) -> Vec<u64> {
    samples(told).iter().map(mark_of).collect()
}

pub fn gaps(told: &[Told]) -> Vec<Gap> {
    told.iter()
        .filter_map(|told| match told {
            Told::Gap(gap) => Some(gap.clone()),
            _ => None,
        })
        .collect()
}

pub fn clocks(told: &[Told]) -> Vec<ClockInfo> {
    told.iter()
        .filter_map(|told| match told {
            Told::Clock(clock) => Some(clock.clone()),
            _ => None,
        })
        .collect()
}
