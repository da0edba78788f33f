//! Motion packets: bytes to readings and back.
//!
//! Ours, version 1. Two layouts, told apart by their length alone: the single one has exactly 18
//! bytes, the batched one 10 + 12 n, which is 22, 34, 46, ... and never 18.
//!
//! ```text
//! single   u16 sequence, u32 time_us, i16 ax ay az gx gy gz
//! batched  u8 version = 1, u8 n, u16 sequence of the first sample, u32 its time_us,
//!          u16 spacing_us, n times i16 ax ay az gx gy gz
//! ```

use super::part;

/// Length of a packet of the single layout, bytes.
pub const SINGLE_LENGTH: usize = 18;
/// Length of the head of the batched layout, bytes.
pub const HEAD_LENGTH: usize = 10;
/// Length of one reading, bytes.
pub const READING_LENGTH: usize = 12;
/// The batched layout's version that this program knows.
pub const VERSION: u8 = 1;

/// Why bytes are no packet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PacketError {
    /// A length that no layout has.
    #[error(
        "a motion packet of {found} bytes, expected 18, or 10 + 12 n for n samples; check the firmware, and that the MTU holds a whole packet"
    )]
    Length {
        /// Bytes found.
        found: usize,
    },
    /// A layout of another version.
    #[error(
        "a motion packet, byte 0: version {found}, expected {VERSION}; update this program or the unit's firmware"
    )]
    Version {
        /// Version found.
        found: u8,
    },
    /// A count of samples that is zero or does not go with the length.
    #[error(
        "a motion packet, byte 1: {count} samples in {found} bytes, expected 10 + 12 n bytes for n samples, n from 1 to 255; check the firmware"
    )]
    Count {
        /// Samples that the packet names.
        count: usize,
        /// Its bytes.
        found: usize,
    },
}

/// One reading as the part gives it, in LSB.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct RawReading {
    /// Specific force along x, y, z.
    pub accel: [i16; 3],
    /// Turn about x, y, z.
    pub gyro: [i16; 3],
}

impl RawReading {
    /// Whether an axis is at the end of its 16 bits.
    pub fn is_at_limit(&self) -> bool {
        self.accel
            .iter()
            .chain(&self.gyro)
            .any(|&value| value == i16::MAX || value <= -i16::MAX)
    }

    fn read(bytes: [u8; READING_LENGTH]) -> RawReading {
        let [x0, x1, y0, y1, z0, z1, p0, p1, q0, q1, r0, r1] = bytes;
        RawReading {
            accel: [[x0, x1], [y0, y1], [z0, z1]].map(i16::from_le_bytes),
            gyro: [[p0, p1], [q0, q1], [r0, r1]].map(i16::from_le_bytes),
        }
    }

    fn bytes(&self) -> impl Iterator<Item = u8> + '_ {
        self.accel
            .iter()
            .chain(&self.gyro)
            .flat_map(|value| value.to_le_bytes())
    }
}

/// The number and the time of a sample, as the unit counts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Stamp {
    /// Number of the sample, modulo 65,536; samples that the unit dropped are counted.
    pub sequence: u16,
    /// Time on the unit's clock, microseconds modulo 2^32 (71.6 minutes).
    pub time_us: u32,
}

/// A motion packet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packet {
    /// Number and time of the first reading.
    pub stamp: Stamp,
    /// Time from one reading to the next, microseconds; `None` is the single layout.
    pub spacing_us: Option<u16>,
    /// The readings, oldest first; at least one.
    pub readings: Vec<RawReading>,
}

impl Packet {
    /// Reads a packet of either layout.
    ///
    /// # Errors
    /// A length, a version or a count of samples that the profile does not have.
    pub fn read(bytes: &[u8]) -> Result<Packet, PacketError> {
        let found = bytes.len();
        let wrong = PacketError::Length { found };
        if found == SINGLE_LENGTH {
            return Ok(Packet {
                stamp: stamp(bytes, 0).ok_or(wrong)?,
                spacing_us: None,
                readings: vec![RawReading::read(part(bytes, 6).ok_or(wrong)?)],
            });
        }
        if found < HEAD_LENGTH || !(found - HEAD_LENGTH).is_multiple_of(READING_LENGTH) {
            return Err(wrong);
        }
        let [version, count] = part(bytes, 0).ok_or(wrong)?;
        if version != VERSION {
            return Err(PacketError::Version { found: version });
        }
        let count = usize::from(count);
        if count == 0 || HEAD_LENGTH + READING_LENGTH * count != found {
            return Err(PacketError::Count { count, found });
        }
        let (readings, _) = bytes.get(HEAD_LENGTH..).ok_or(wrong)?.as_chunks();
        Ok(Packet {
            stamp: stamp(bytes, 2).ok_or(wrong)?,
            spacing_us: Some(u16::from_le_bytes(part(bytes, 8).ok_or(wrong)?)),
            readings: readings.iter().map(|own| RawReading::read(*own)).collect(),
        })
    }

    /// The bytes of a packet with one sample, single layout.
    pub fn single_bytes(stamp: Stamp, reading: &RawReading) -> [u8; SINGLE_LENGTH] {
        let mut bytes = [0; SINGLE_LENGTH];
        let all = stamp_bytes(stamp).chain(reading.bytes());
        bytes.iter_mut().zip(all).for_each(|(to, from)| *to = from);
        bytes
    }

    /// The bytes of a packet with several samples, batched layout; the stamp is the first's.
    ///
    /// # Errors
    /// No readings, or more than 255.
    pub fn batched_bytes(
        stamp: Stamp,
        spacing_us: u16,
        readings: &[RawReading],
    ) -> Result<Vec<u8>, PacketError> {
        let count = readings.len();
        let found = HEAD_LENGTH + READING_LENGTH * count;
        let byte = u8::try_from(count).map_err(|_| PacketError::Count { count, found })?;
        if byte == 0 {
            return Err(PacketError::Count { count, found });
        }
        let mut bytes = Vec::with_capacity(found);
        bytes.extend([VERSION, byte]);
        bytes.extend(stamp_bytes(stamp));
        bytes.extend(spacing_us.to_le_bytes());
        bytes.extend(readings.iter().flat_map(RawReading::bytes));
        Ok(bytes)
    }
}

fn stamp(bytes: &[u8], at: usize) -> Option<Stamp> {
    Some(Stamp {
        sequence: u16::from_le_bytes(part(bytes, at)?),
        time_us: u32::from_le_bytes(part(bytes, at + 2)?),
    })
}

fn stamp_bytes(stamp: Stamp) -> impl Iterator<Item = u8> {
    let time = stamp.time_us.to_le_bytes();
    stamp.sequence.to_le_bytes().into_iter().chain(time)
}
