//! The still start of a set and the turns away from it.

use nalgebra::Vector3;

use crate::movement::Side;
use crate::orientation::{GAP_S, Oriented};

/// The hand is still while it stays within this turn, degrees,
const STILL_DEG: f64 = 2.5;
/// for so long, seconds.
const STILL_S: f64 = 0.8;
/// What turned farther before it was still is no still start, degrees.
const MOST_BEFORE_DEG: f64 = 15.0;
/// Turns are averaged over this time, seconds: tremor goes.
const MEAN_S: f64 = 0.25;
/// So many means are remembered: ten minutes.
const MOST_COUNT: usize = 2400;

/// +1 on the right arm, where Z points to the thumb, −1 on the left.
pub fn mirror(side: Side) -> f64 {
    match side {
        Side::Right => 1.0,
        Side::Left => -1.0,
    }
}

/// Follows the turn of the unit away from the still start.
#[derive(Debug, Clone, Default)]
pub struct Poses {
    latest_s: Option<f64>,
    first: Option<Oriented>,
    still: Option<Oriented>,
    start: Option<Oriented>,
    moved_first: bool,
    open: Option<Open>,
    turns_deg: Vec<Vector3<f64>>,
    tilts_deg: Vec<Vector3<f64>>,
}

/// Sums of a quarter of a second.
#[derive(Debug, Clone, Copy)]
struct Open {
    start_s: f64,
    count: f64,
    turn_deg: Vector3<f64>,
    tilt_deg: Vector3<f64>,
}

impl Poses {
    /// Takes the next orientation.
    pub fn push(&mut self, now: &Oriented) {
        let before_s = self.latest_s.replace(now.t_s);
        if before_s.is_some_and(|before_s| now.t_s - before_s > GAP_S) {
            // What a hole hides is neither stillness nor part of a mean.
            self.still = None;
            self.open = None;
        }
        let Some(start) = self.start else {
            self.look_for_start(now);
            return;
        };
        let turn = start.world_from_sensor.inverse() * now.world_from_sensor;
        let open = self.open.get_or_insert(Open {
            start_s: now.t_s,
            count: 0.0,
            turn_deg: Vector3::zeros(),
            tilt_deg: Vector3::zeros(),
        });
        open.count += 1.0;
        open.turn_deg += turn.scaled_axis() * 1_f64.to_degrees();
        let start_up = start.world_from_sensor.inverse() * Vector3::z();
        // A hand that hardly moves is measured best by the force itself.
        if let Some(up) = now.accel_in_sensor_m_s2.try_normalize(1e-6) {
            open.tilt_deg += start_up.cross(&up) * 1_f64.to_degrees();
        }
        if now.t_s - open.start_s >= MEAN_S && self.turns_deg.len() < MOST_COUNT {
            self.turns_deg.push(open.turn_deg / open.count);
            self.tilts_deg.push(open.tilt_deg / open.count);
            self.open = None;
        }
    }

    fn look_for_start(&mut self, now: &Oriented) {
        let turned_deg = |from: &Oriented| {
            let angle_rad = from.world_from_sensor.angle_to(&now.world_from_sensor);
            angle_rad.to_degrees()
        };
        let first = *self.first.get_or_insert(*now);
        self.moved_first |= turned_deg(&first) > MOST_BEFORE_DEG;
        let still = *self.still.get_or_insert(*now);
        if turned_deg(&still) > STILL_DEG {
            self.still = Some(*now);
        } else if now.t_s - still.t_s >= STILL_S && !self.moved_first {
            self.start = Some(*now);
        }
    }

    /// Up, seen from the sensor, at the still start; `None` where the set does not begin with one.
    pub fn start_up_in_sensor(&self) -> Option<Vector3<f64>> {
        Some(self.start?.world_from_sensor.inverse() * Vector3::z())
    }

    /// The turns away from the still start, degrees, as rotation vectors in the sensor's frame at
    /// that start, a quarter of a second apart.
    pub fn turns_deg(&self) -> &[Vector3<f64>] {
        &self.turns_deg
    }

    /// The tilts away from it, degrees (sines, for small ones), likewise: gravity knows no drift.
    pub fn tilts_deg(&self) -> &[Vector3<f64>] {
        &self.tilts_deg
    }
}

/// How often values rise from under `low` to over `high`.
pub fn rises(values: impl Iterator<Item = f64>, low: f64, high: f64) -> usize {
    let mut is_low = true;
    let mut count = 0;
    for value in values {
        if is_low && value > high {
            count += 1;
            is_low = false;
        } else if value < low {
            is_low = true;
        }
    }
    count
}

/// The value under which this share of all lies; `None` of none.
pub fn quantile(values: &[f64], share_ratio: f64) -> Option<f64> {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    values
        .get((share_ratio * last as f64).round() as usize)
        .copied()
}
