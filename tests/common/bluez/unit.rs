//! A unit, played: settings, description, its own clock, and its packets byte by byte. It shares
//! no code with the program: what it sends is written here from the profile's text.

use std::time::{Duration, Instant};

/// A reading in LSB: ax ay az gx gy gz.
pub type Reading = [i16; 6];

/// What the unit measures: time since the unit's start in seconds, accelerometer scale in m/s² per
/// LSB, gyroscope scale in rad/s per LSB.
pub type Source = Box<dyn FnMut(f64, f64, f64) -> Reading + Send>;

const GRAVITY_M_S2: f64 = 9.80665;
const RATES_TENTH_HZ: [u16; 4] = [500, 1000, 2000, 4000];
const ACCEL_RANGES_G: [u16; 4] = [2, 4, 8, 16];
/// With the scale of a common part, in micro-degrees per second per LSB.
const GYRO_RANGES: [(u16, u32); 4] = [(250, 8_750), (500, 17_500), (1000, 35_000), (2000, 70_000)];

/// Settings of a unit that is switched on.
const AS_MADE: (u16, u16, u16, u8) = (1000, 4, 500, 1);

/// A unit as it is made; the fields are for tests to change.
pub struct Unit {
    pub name: &'static str,
    pub address: String,
    pub rssi_dbm: i16,
    /// Whether it has the motion service; without, it is somebody else's device.
    pub is_ours: bool,
    /// Whether it is there: advertising or connected.
    pub present: bool,
    /// Whether the service knew it before, from an earlier day.
    pub known: bool,
    /// What 16 bytes it gives in place of its true description.
    pub description: Option<Vec<u8>>,
    pub battery: Option<u8>,
    /// Whether it advertises its charge.
    pub advertises_battery: bool,
    pub firmware: Option<&'static str>,
    /// 0 hand, 1 forearm, 255 unset.
    pub place: u8,
    pub mtu: u16,
    /// How much faster its clock runs than the computer's, parts per million.
    pub clock_ppm: f64,
    /// What its clock shows when it is made, microseconds; it wraps at 2^32.
    pub clock_us: u64,
    /// So many of the next connections show no services.
    pub bare_connections: u32,
    /// An unreachable unit: whether `Connect` waits for it, up to 20 s, or fails at once. Both are
    /// seen.
    pub connect_waits: bool,
    /// Between `Connect` and `ServicesResolved`.
    pub resolves_after: Duration,
    pub source: Source,

    /// 0.1 Hz, g, deg/s, samples in a packet.
    pub settings: (u16, u16, u16, u8),

    /// Not for tests.
    pub state: State,
}

/// Where the unit stands.
pub struct State {
    made: Instant,
    stream_began: Instant,
    /// The unit's clock when its stream began, microseconds.
    stream_clock_us: f64,
    /// Samples taken since it was made, and since its stream began.
    total: u64,
    taken: u64,
    sequence: u16,
    pub(super) last_packet: Option<Vec<u8>>,
}

/// A packet that is due.
pub(super) struct Packet {
    pub first: u64,
    pub count: u64,
    pub bytes: Vec<u8>,
}

impl Unit {
    /// A unit at 100 Hz, one sample in a packet, lying still.
    pub fn new(name: &'static str) -> Unit {
        let now = Instant::now();
        let number = name
            .bytes()
            .fold(7_u8, |sum, byte| sum.wrapping_mul(31).wrapping_add(byte));
        Unit {
            name,
            address: format!("C0:FF:EE:00:10:{number:02X}"),
            rssi_dbm: -58,
            is_ours: true,
            present: true,
            known: false,
            description: None,
            battery: Some(82),
            advertises_battery: false,
            firmware: Some("1.2.0"),
            place: 0,
            mtu: 247,
            clock_ppm: 0.0,
            clock_us: 5_000_000,
            bare_connections: 0,
            connect_waits: true,
            resolves_after: Duration::from_millis(150),
            source: still(),
            settings: AS_MADE,
            state: State {
                made: now,
                stream_began: now,
                stream_clock_us: 0.0,
                total: 0,
                taken: 0,
                sequence: 0,
                last_packet: None,
            },
        }
    }

    fn gyro_scale_micro(&self) -> u32 {
        let fits = GYRO_RANGES
            .iter()
            .find(|(range, _)| *range == self.settings.2);
        fits.unwrap().1
    }

    fn accel_scale_nano_g(&self) -> u32 {
        u32::from(self.settings.1) * 30_518
    }

    /// The 16 bytes of the description, by the profile's text.
    pub(super) fn description_bytes(&self) -> Vec<u8> {
        if let Some(bytes) = &self.description {
            return bytes.clone();
        }
        let (rate_tenth_hz, accel_g, gyro_deg_s, _) = self.settings;
        let mut bytes = vec![1, self.place];
        bytes.extend(rate_tenth_hz.to_le_bytes());
        bytes.extend(self.accel_scale_nano_g().to_le_bytes());
        bytes.extend(self.gyro_scale_micro().to_le_bytes());
        bytes.extend(accel_g.to_le_bytes());
        bytes.extend(gyro_deg_s.to_le_bytes());
        bytes
    }

    /// The 6 bytes of the settings in force.
    pub(super) fn settings_bytes(&self) -> Vec<u8> {
        let (rate_tenth_hz, accel_g, gyro_deg_s, count) = self.settings;
        let mut bytes = rate_tenth_hz.to_le_bytes().to_vec();
        bytes.push(u8::try_from(accel_g).unwrap());
        bytes.extend(gyro_deg_s.to_le_bytes());
        bytes.push(count);
        bytes
    }

    /// The nearest values that the unit has; the stream begins again.
    pub(super) fn set(&mut self, bytes: &[u8]) {
        let number = |at: usize| u16::from_le_bytes([bytes[at], bytes[at + 1]]);
        let nearest = |wanted: u16, all: &[u16]| {
            let all = all.iter().copied();
            all.min_by_key(|one| one.abs_diff(wanted)).unwrap()
        };
        let gyro: Vec<u16> = GYRO_RANGES.iter().map(|(range, _)| *range).collect();
        self.settings = (
            nearest(number(0), &RATES_TENTH_HZ),
            nearest(u16::from(bytes[2]), &ACCEL_RANGES_G),
            nearest(number(3), &gyro),
            bytes[5],
        );
        self.begin_stream();
    }

    /// Switched on anew: clock and sequence from zero, settings as it is made.
    pub(super) fn restart(&mut self) {
        self.settings = AS_MADE;
        self.state.made = Instant::now();
        self.clock_us = 0;
        self.begin_stream();
    }

    /// Begins the stream; the clock goes on.
    pub(super) fn begin_stream(&mut self) {
        self.state.stream_began = Instant::now();
        let since_made_s = (self.state.stream_began - self.state.made).as_secs_f64();
        self.state.stream_clock_us = self.clock_us as f64 + since_made_s * 1e6 * self.pace();
        self.state.taken = 0;
        self.state.sequence = 0;
    }

    /// Seconds of the unit's clock in a second.
    fn pace(&self) -> f64 {
        1.0 + self.clock_ppm * 1e-6
    }

    fn rate_hz(&self) -> f64 {
        f64::from(self.settings.0) / 10.0
    }

    /// When the next packet is whole.
    pub(super) fn due(&self) -> Instant {
        let count = u64::from(self.settings.3.max(1));
        let samples = (self.state.taken + count) as f64;
        self.state.stream_began + Duration::from_secs_f64(samples / self.rate_hz() / self.pace())
    }

    /// The next packet; its samples are taken whether it is sent or not.
    pub(super) fn packet(&mut self) -> Packet {
        let count = self.settings.3.max(1);
        let (number, first, sequence) = (self.state.total, self.state.taken, self.state.sequence);
        let spacing_us = 1e6 / self.rate_hz();
        let time_us = |n: u64| self.state.stream_clock_us + (n + 1) as f64 * spacing_us;
        let accel = f64::from(self.accel_scale_nano_g()) * 1e-9 * GRAVITY_M_S2;
        let gyro = (f64::from(self.gyro_scale_micro()) * 1e-6).to_radians();
        let times: Vec<f64> = (0..u64::from(count)).map(|n| time_us(first + n)).collect();
        // The clock has 32 bits and wraps.
        let clock = (times[0].round() as u64) as u32;
        let mut bytes = Vec::new();
        if count == 1 {
            bytes.extend(sequence.to_le_bytes());
            bytes.extend(clock.to_le_bytes());
        } else {
            bytes.extend([1, count]);
            bytes.extend(sequence.to_le_bytes());
            bytes.extend(clock.to_le_bytes());
            bytes.extend((spacing_us.round() as u16).to_le_bytes());
        }
        for time_us in times {
            for value in (self.source)(time_us * 1e-6, accel, gyro) {
                bytes.extend(value.to_le_bytes());
            }
        }
        self.state.total += u64::from(count);
        self.state.taken += u64::from(count);
        self.state.sequence = self.state.sequence.wrapping_add(u16::from(count));
        Packet {
            first: number,
            count: u64::from(count),
            bytes,
        }
    }
}

/// A unit that lies still, tilted by 30 degrees, with the noise of a common part (about 8 mm/s²
/// and 0.06 deg/s a sample) and a bias of 0.4 deg/s about x. The noise repeats itself exactly.
pub fn still() -> Source {
    let mut state = 1_u32;
    Box::new(move |_, accel_m_s2, gyro_rad_s| {
        // Sum of uniform numbers of variance 1 from a linear congruential generator.
        let mut noise = || {
            let mut sum = 0.0;
            for _ in 0..12 {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                sum += f64::from(state >> 8) / f64::from(1_u32 << 24);
            }
            sum - 6.0
        };
        let tilt = 30_f64.to_radians();
        let force = [GRAVITY_M_S2 * tilt.sin(), 0.0, GRAVITY_M_S2 * tilt.cos()];
        let turn = [0.4_f64.to_radians(), 0.0, 0.0];
        let mut reading = [0_i16; 6];
        for axis in 0..3 {
            reading[axis] = ((force[axis] + 0.008 * noise()) / accel_m_s2).round() as i16;
            let turn = turn[axis] + 0.06_f64.to_radians() * noise();
            reading[axis + 3] = (turn / gyro_rad_s).round() as i16;
        }
        reading
    })
}

/// Readings that carry their own number, so that none can be taken for another: the low 14 bits
/// along x, the next 14 along y; one g along z.
pub fn numbered() -> Source {
    let mut number = 0_u32;
    Box::new(move |_, accel_m_s2, _| {
        let part = |shift: u32| i16::try_from(number >> shift & 0x3fff).unwrap();
        let up = (GRAVITY_M_S2 / accel_m_s2).round() as i16;
        let reading = [part(0), part(14), up, 0, 0, 0];
        number += 1;
        reading
    })
}
