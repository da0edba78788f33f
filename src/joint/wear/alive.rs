//! Whether somebody wears the unit: signs of life in its samples.
//!
//! Ours. Tremor, pulse and breath move a hand all the time; a table does none of it. Rate and
//! specific force are passed through a band around the tremor's frequencies and their sizes taken
//! over half seconds; and the mean direction of gravity is held against where it was when the
//! quiet began. Only what is quiet in all three is lifeless. Sizes: a hand's tremor is 0.0015 g or
//! more at its peak (see the room's own page), which at 7 cm from the wrist and 8 Hz is 0.15 deg/s
//! on the average of squares; a common unit's noise in the band is a third of that.

use nalgebra::Vector3;

use crate::orientation::GAP_S;
use crate::sample::Sample;

/// How signs of life are looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct AliveParams {
    /// Lower edge of the band, Hz (2). Lower lets the drift of a warming unit in, 1 to 4.
    pub from_hz: f64,
    /// Upper edge of the band, Hz (14). Higher lets noise in, 12 to 20.
    pub to_hz: f64,
    /// Time over which sizes are taken, seconds (0.5). Short times jump, long ones tell late.
    pub span_s: f64,
    /// Rate up to which a unit is quiet, root of the mean square, deg/s (0.09). A larger value
    /// takes the quietest hands for tables.
    pub rate_deg_s: f64,
    /// Specific force up to which it is quiet, root of the mean square, m/s² (0.013).
    pub force_m_s2: f64,
    /// Turn of gravity up to which it lies still, degrees (0.08): the noise of a mean is a tenth of
    /// that, a resting arm sways by more within seconds.
    pub tilt_deg: f64,
}

impl Default for AliveParams {
    fn default() -> Self {
        AliveParams {
            from_hz: 2.0,
            to_hz: 14.0,
            span_s: 0.5,
            rate_deg_s: 0.09,
            force_m_s2: 0.013,
            tilt_deg: 0.08,
        }
    }
}

/// A band pass of two first-order sections for three axes.
#[derive(Debug, Clone, Copy)]
struct Band {
    slow: Vector3<f64>,
    fast: Vector3<f64>,
}

impl Band {
    fn at(value: Vector3<f64>) -> Band {
        Band {
            slow: value,
            fast: value,
        }
    }

    /// What of the value lies within the band.
    fn push(&mut self, value: Vector3<f64>, [from, to]: [f64; 2]) -> Vector3<f64> {
        self.slow += from * (value - self.slow);
        self.fast += to * (value - self.fast);
        self.fast - self.slow
    }
}

/// The sums of a half second.
#[derive(Debug, Clone, Copy)]
struct Span {
    start_s: f64,
    count: f64,
    rate_rad2_s2: f64,
    force_m2_s4: f64,
    force_m_s2: Vector3<f64>,
}

/// Follows the signs of life, sample by sample.
#[derive(Debug, Clone)]
pub struct Alive {
    params: AliveParams,
    latest_s: f64,
    bands: Option<[Band; 2]>,
    span: Option<Span>,
    /// Since when it has been lifeless, seconds, and where gravity pointed then.
    lifeless: Option<(f64, Vector3<f64>)>,
}

impl Alive {
    /// With nothing seen.
    pub fn new(params: AliveParams) -> Alive {
        Alive {
            params,
            latest_s: f64::NEG_INFINITY,
            bands: None,
            span: None,
            lifeless: None,
        }
    }

    /// Takes the next sample; returns for how long there has been no sign of life, seconds.
    pub fn push(&mut self, sample: &Sample) -> f64 {
        let dt_s = sample.t_s - self.latest_s;
        self.latest_s = sample.t_s;
        let values = [sample.gyro_rad_s, sample.accel_m_s2];
        let Some(bands) = self
            .bands
            .as_mut()
            .filter(|_| (0.0..=GAP_S).contains(&dt_s))
        else {
            self.bands = Some(values.map(Band::at));
            self.span = None;
            self.lifeless = None;
            return 0.0;
        };
        // Share of the way that a first-order section goes in that time.
        let edges = [self.params.from_hz, self.params.to_hz]
            .map(|edge_hz| 1.0 - (-std::f64::consts::TAU * edge_hz * dt_s).exp());
        let [rate, force] = bands;
        let rate = rate.push(sample.gyro_rad_s, edges).norm_squared();
        let force = force.push(sample.accel_m_s2, edges).norm_squared();
        let span = self.span.get_or_insert(Span {
            start_s: sample.t_s,
            count: 0.0,
            rate_rad2_s2: 0.0,
            force_m2_s4: 0.0,
            force_m_s2: Vector3::zeros(),
        });
        span.count += 1.0;
        span.rate_rad2_s2 += rate;
        span.force_m2_s4 += force;
        span.force_m_s2 += sample.accel_m_s2;
        if sample.t_s - span.start_s >= self.params.span_s
            && let Some(whole) = self.span.take()
        {
            self.judge(&whole);
        }
        self.lifeless_s()
    }

    fn judge(&mut self, span: &Span) {
        let rate_deg_s = (span.rate_rad2_s2 / span.count).sqrt().to_degrees();
        let force_m_s2 = (span.force_m2_s4 / span.count).sqrt();
        if rate_deg_s > self.params.rate_deg_s || force_m_s2 > self.params.force_m_s2 {
            self.lifeless = None;
            return;
        }
        let (_, at) = *self.lifeless.get_or_insert((span.start_s, span.force_m_s2));
        if at.angle(&span.force_m_s2).to_degrees() > self.params.tilt_deg {
            self.lifeless = Some((span.start_s, span.force_m_s2));
        }
    }

    /// For how long there has been no sign of life, seconds.
    pub fn lifeless_s(&self) -> f64 {
        self.lifeless
            .map_or(0.0, |(since_s, _)| self.latest_s - since_s)
    }
}
