//! The profile's numbers: UUIDs, the unit's description and its settings.
//!
//! Ours, version 1. All numbers are little endian. Scales are read, never derived from the range:
//! a common part has 70 instead of 61.04 mdeg/s per LSB at ±2000 deg/s, so that every angle would come out 12.8 %
//! too small.
//!
//! Source of the 16-bit numbers: Bluetooth SIG, Assigned Numbers, sections 3.4 (services) and 3.8
//! (characteristics); they are expanded with the Bluetooth Base UUID, Bluetooth Core Specification,
//! Vol 3, Part B, section 2.5.1.

pub use super::settings::Settings;
use crate::recording::SensorInfo;
use crate::sample::{GRAVITY_M_S2, Place};

/// A 16-bit number of the Bluetooth SIG as a 128-bit UUID.
pub const fn assigned(number: u16) -> u128 {
    0x0000_0000_0000_1000_8000_0080_5f9b_34fb | ((number as u128) << 96)
}

/// The motion service; it is in the advertisement.
pub const SERVICE: u128 = 0x8d5a0001_3c2f_4f0e_9b7a_6d1e5c0f2a10;
/// Motion packets (notify).
pub const MOTION: u128 = 0x8d5a0002_3c2f_4f0e_9b7a_6d1e5c0f2a10;
/// Settings (read, write).
pub const SETTINGS: u128 = 0x8d5a0003_3c2f_4f0e_9b7a_6d1e5c0f2a10;
/// Description (read).
pub const DESCRIPTION: u128 = 0x8d5a0004_3c2f_4f0e_9b7a_6d1e5c0f2a10;

/// Battery service.
pub const BATTERY_SERVICE: u128 = assigned(0x180f);
/// Battery level: one byte, 0 to 100 % (read, notify).
pub const BATTERY_LEVEL: u128 = assigned(0x2a19);
/// Device information service.
pub const DEVICE_INFORMATION: u128 = assigned(0x180a);
/// Model number, UTF-8 (read).
pub const MODEL_NUMBER: u128 = assigned(0x2a24);
/// Serial number, UTF-8 (read).
pub const SERIAL_NUMBER: u128 = assigned(0x2a25);
/// Firmware revision, UTF-8 (read).
pub const FIRMWARE_REVISION: u128 = assigned(0x2a26);
/// Hardware revision, UTF-8 (read).
pub const HARDWARE_REVISION: u128 = assigned(0x2a27);
/// Manufacturer name, UTF-8 (read).
pub const MANUFACTURER_NAME: u128 = assigned(0x2a29);

/// The profile's version that this program knows.
pub const VERSION: u8 = 1;
/// Length of a description in bytes.
pub const DESCRIPTION_LENGTH: usize = 16;

/// Full scale of a 16-bit reading over the range that the unit names: what is outside is a wrong
/// scale or a wrong range. Known parts lie between 0.999 and 1.147.
const REACH_RATIO: std::ops::RangeInclusive<f64> = 0.9..=1.3;
/// Under this, readings at the end of the 16 bits would not be taken for saturated.
const REACH_KEPT_RATIO: f64 = 0.999;

/// What is wrong with a description or with settings.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProfileError {
    /// Wrong number of bytes.
    #[error(
        "the unit's {what} has {found} bytes, expected {expected}; check its firmware against firmware-notes"
    )]
    Length {
        /// Description or settings.
        what: &'static str,
        /// Bytes found.
        found: usize,
        /// Bytes expected.
        expected: usize,
    },
    /// A profile of another version.
    #[error(
        "the unit's description, byte 0: profile version {found}, expected {VERSION}; update this program or the unit's firmware"
    )]
    Version {
        /// Version found.
        found: u8,
    },
    /// A place that the profile does not have.
    #[error(
        "the unit's description, byte 1: place {found}, expected 0 (hand), 1 (forearm) or 255 (unset); check its firmware against firmware-notes"
    )]
    Place {
        /// Number found.
        found: u8,
    },
    /// A number that must not be zero.
    #[error(
        "the unit's {what}: the {field} is 0, expected more; check its firmware against firmware-notes"
    )]
    Zero {
        /// Description or settings.
        what: &'static str,
        /// Which number.
        field: &'static str,
    },
    /// A scale that does not go with its range.
    #[error(
        "the unit's description: the {sensor}'s scale reaches ±{reach:.1} {unit} in 16 bits, but its range is ±{range} {unit}; expected 0.9 to 1.3 times the range: correct the scale (in {step} per LSB, of the left-aligned 16-bit reading) or the range in the firmware"
    )]
    Scale {
        /// Accelerometer or gyroscope.
        sensor: &'static str,
        /// What 32767 stands for.
        reach: f64,
        /// The range named.
        range: u16,
        /// Unit of both.
        unit: &'static str,
        /// Unit of the scale.
        step: &'static str,
    },
    /// Packets that hold too much time.
    #[error(
        "the unit's settings: {count} samples at {rate_hz} Hz are {packet_ms:.1} ms in one packet, expected at most 50 ms in live use; ask for fewer samples in a packet"
    )]
    Packet {
        /// Samples in a packet.
        count: u8,
        /// Samples a second.
        rate_hz: f64,
        /// Time in a packet, milliseconds.
        packet_ms: f64,
    },
}

/// What the unit says of itself: the values in force.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Description {
    /// Where the unit is meant to be worn; `None` is unset.
    pub place: Option<Place>,
    /// Nominal sampling rate, 0.1 Hz.
    pub rate_tenth_hz: u16,
    /// Accelerometer scale, 1e-9 g per LSB.
    pub accel_scale_nano_g: u32,
    /// Gyroscope scale, 1e-6 deg/s per LSB.
    pub gyro_scale_micro_deg_s: u32,
    /// Accelerometer range, ± g.
    pub accel_range_g: u16,
    /// Gyroscope range, ± deg/s.
    pub gyro_range_deg_s: u16,
}

impl Description {
    /// Reads the 16 bytes of a description.
    ///
    /// # Errors
    /// A version or a place that is not known, a wrong length. Whether the numbers can be true is
    /// asked by [`Description::plausible`].
    pub fn read(bytes: &[u8]) -> Result<Description, ProfileError> {
        if let Some(&found) = bytes.first()
            && found != VERSION
        {
            return Err(ProfileError::Version { found });
        }
        let bytes: &[u8; DESCRIPTION_LENGTH] =
            bytes.try_into().map_err(|_| ProfileError::Length {
                what: "description",
                found: bytes.len(),
                expected: DESCRIPTION_LENGTH,
            })?;
        let [
            _,
            place,
            r0,
            r1,
            a0,
            a1,
            a2,
            a3,
            g0,
            g1,
            g2,
            g3,
            ar0,
            ar1,
            gr0,
            gr1,
        ] = *bytes;
        Ok(Description {
            place: match place {
                0 => Some(Place::Hand),
                1 => Some(Place::Forearm),
                255 => None,
                found => return Err(ProfileError::Place { found }),
            },
            rate_tenth_hz: u16::from_le_bytes([r0, r1]),
            accel_scale_nano_g: u32::from_le_bytes([a0, a1, a2, a3]),
            gyro_scale_micro_deg_s: u32::from_le_bytes([g0, g1, g2, g3]),
            accel_range_g: u16::from_le_bytes([ar0, ar1]),
            gyro_range_deg_s: u16::from_le_bytes([gr0, gr1]),
        })
    }

    /// The 16 bytes of this description.
    pub fn bytes(&self) -> [u8; DESCRIPTION_LENGTH] {
        let place = match self.place {
            Some(Place::Hand) => 0,
            Some(Place::Forearm) => 1,
            None => 255,
        };
        let [r0, r1] = self.rate_tenth_hz.to_le_bytes();
        let [a0, a1, a2, a3] = self.accel_scale_nano_g.to_le_bytes();
        let [g0, g1, g2, g3] = self.gyro_scale_micro_deg_s.to_le_bytes();
        let [ar0, ar1] = self.accel_range_g.to_le_bytes();
        let [gr0, gr1] = self.gyro_range_deg_s.to_le_bytes();
        [
            VERSION, place, r0, r1, a0, a1, a2, a3, g0, g1, g2, g3, ar0, ar1, gr0, gr1,
        ]
    }

    /// Nominal sampling rate, Hz.
    pub fn rate_hz(&self) -> f64 {
        f64::from(self.rate_tenth_hz) / 10.0
    }

    /// Nominal time between two samples, microseconds; 0 where the rate is 0.
    pub fn spacing_us(&self) -> u64 {
        10_000_000_u64
            .checked_div(u64::from(self.rate_tenth_hz))
            .unwrap_or(0)
    }

    /// Specific force of one LSB, m/s².
    pub fn accel_scale_m_s2(&self) -> f64 {
        f64::from(self.accel_scale_nano_g) * 1e-9 * GRAVITY_M_S2
    }

    /// Turn of one LSB, rad/s.
    pub fn gyro_scale_rad_s(&self) -> f64 {
        (f64::from(self.gyro_scale_micro_deg_s) * 1e-6).to_radians()
    }

    /// What an accelerometer reading of 32767 stands for, g.
    pub fn accel_reach_g(&self) -> f64 {
        f64::from(i16::MAX) * f64::from(self.accel_scale_nano_g) * 1e-9
    }

    /// What a gyroscope reading of 32767 stands for, deg/s.
    pub fn gyro_reach_deg_s(&self) -> f64 {
        f64::from(i16::MAX) * f64::from(self.gyro_scale_micro_deg_s) * 1e-6
    }

    /// Whether the numbers can be true.
    ///
    /// # Errors
    /// A rate, scale or range of zero; a scale whose 16 bits reach far less or far more than the
    /// range.
    pub fn plausible(&self) -> Result<(), ProfileError> {
        for (field, is_zero) in [
            ("rate", self.rate_tenth_hz == 0),
            ("accelerometer scale", self.accel_scale_nano_g == 0),
            ("gyroscope scale", self.gyro_scale_micro_deg_s == 0),
            ("accelerometer range", self.accel_range_g == 0),
            ("gyroscope range", self.gyro_range_deg_s == 0),
        ] {
            if is_zero {
                return Err(ProfileError::Zero {
                    what: "description",
                    field,
                });
            }
        }
        let accel = (self.accel_reach_g(), self.accel_range_g);
        if !REACH_RATIO.contains(&(accel.0 / f64::from(accel.1))) {
            return Err(ProfileError::Scale {
                sensor: "accelerometer",
                reach: accel.0,
                range: accel.1,
                unit: "g",
                step: "nano-g",
            });
        }
        let gyro = (self.gyro_reach_deg_s(), self.gyro_range_deg_s);
        if !REACH_RATIO.contains(&(gyro.0 / f64::from(gyro.1))) {
            return Err(ProfileError::Scale {
                sensor: "gyroscope",
                reach: gyro.0,
                range: gyro.1,
                unit: "deg/s",
                step: "micro-degrees per second",
            });
        }
        Ok(())
    }

    /// What a recording keeps of it. A range is the smaller of the range named and what 16 bits
    /// reach, so that a reading at the end of either is known for saturated.
    pub fn sensor_info(
        &self,
        place: Place,
        name: Option<String>,
        firmware: Option<String>,
    ) -> SensorInfo {
        SensorInfo {
            place: Some(place),
            name,
            rate_hz: Some(self.rate_hz()),
            accel_range_g: Some(least_end(self.accel_range_g, self.accel_reach_g())),
            gyro_range_deg_s: Some(least_end(self.gyro_range_deg_s, self.gyro_reach_deg_s())),
            firmware,
        }
    }
}

/// The range, or what 16 bits reach where that is clearly less; same unit.
fn least_end(range: u16, reach: f64) -> f64 {
    let range = f64::from(range);
    if reach < REACH_KEPT_RATIO * range {
        // Three decimals, for people.
        (reach * 1e3).floor() / 1e3
    } else {
        range
    }
}
