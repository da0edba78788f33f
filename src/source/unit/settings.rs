//! The settings: what the host asks of the unit, and the unit's answer.
//!
//! Ours, version 1; 6 bytes: u16 rate in 0.1 Hz, u8 accelerometer range in g, u16 gyroscope range in
//! deg/s, u8 samples per packet.

use super::packet::{HEAD_LENGTH, READING_LENGTH};
use super::profile::ProfileError;

/// Length of the settings in bytes.
const SETTINGS_LENGTH: usize = 6;
/// In live use a packet holds no more than this time, microseconds.
const LONGEST_PACKET_US: u64 = 50_000;

/// What the host asks of the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Sampling rate, 0.1 Hz.
    pub rate_tenth_hz: u16,
    /// Accelerometer range, ± g.
    pub accel_range_g: u8,
    /// Gyroscope range, ± deg/s.
    pub gyro_range_deg_s: u16,
    /// Samples in a packet; 0 and 1 are the single layout.
    pub samples_per_packet: u8,
}

impl Settings {
    /// Reads the 6 bytes of the settings.
    ///
    /// # Errors
    /// A wrong length.
    pub fn read(bytes: &[u8]) -> Result<Settings, ProfileError> {
        let whole: Option<[u8; SETTINGS_LENGTH]> = bytes.try_into().ok();
        let Some([r0, r1, accel_range_g, g0, g1, samples_per_packet]) = whole else {
            return Err(ProfileError::Length {
                what: "settings",
                found: bytes.len(),
                expected: SETTINGS_LENGTH,
            });
        };
        Ok(Settings {
            rate_tenth_hz: u16::from_le_bytes([r0, r1]),
            accel_range_g,
            gyro_range_deg_s: u16::from_le_bytes([g0, g1]),
            samples_per_packet,
        })
    }

    /// The 6 bytes of these settings.
    pub fn bytes(&self) -> [u8; SETTINGS_LENGTH] {
        let [r0, r1] = self.rate_tenth_hz.to_le_bytes();
        let [g0, g1] = self.gyro_range_deg_s.to_le_bytes();
        [r0, r1, self.accel_range_g, g0, g1, self.samples_per_packet]
    }

    /// Sampling rate, Hz.
    pub fn rate_hz(&self) -> f64 {
        f64::from(self.rate_tenth_hz) / 10.0
    }

    /// The most samples that a packet may hold in live use at that rate: what fits into 50 ms,
    /// into the bytes of one notification, and into the count's byte; at least 1.
    pub fn most_samples_per_packet(rate_tenth_hz: u16, notification_bytes: usize) -> u8 {
        // n / rate <= 50 ms, with the rate in 0.1 Hz.
        let in_time = u64::from(rate_tenth_hz) * LONGEST_PACKET_US / 10_000_000;
        let in_bytes = notification_bytes.saturating_sub(HEAD_LENGTH) / READING_LENGTH;
        let in_bytes = u64::try_from(in_bytes).unwrap_or(u64::MAX);
        u8::try_from(in_time.min(in_bytes).max(1)).unwrap_or(u8::MAX)
    }

    /// Whether these settings serve live work.
    ///
    /// # Errors
    /// A rate of zero, or samples per packet times spacing of more than 50 ms.
    pub fn live(&self) -> Result<(), ProfileError> {
        if self.rate_tenth_hz == 0 {
            return Err(ProfileError::Zero {
                what: "settings",
                field: "rate",
            });
        }
        let count = self.samples_per_packet.max(1);
        let rate = u64::from(self.rate_tenth_hz);
        if count > 1 && u64::from(count) * 10_000_000 > LONGEST_PACKET_US * rate {
            return Err(ProfileError::Packet {
                count,
                rate_hz: self.rate_hz(),
                packet_ms: f64::from(count) * 1e3 / self.rate_hz(),
            });
        }
        Ok(())
    }
}
