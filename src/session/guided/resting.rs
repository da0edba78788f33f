//! Whether a hand in a set has come to rest, and for how long.
//!
//! Ours. A slow lowering ends so gently that for a second or two it hardly moves, and a trembling or
//! swaying hand at rest never quite stands. So the angle and the vertical are averaged over a quarter
//! of a second, which takes tremor (7 to 12 Hz) away; rest is where they go on more slowly than any
//! lowering but its last tenth, and also, for longer, where they stay within a band.

use std::collections::VecDeque;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use crate::orientation::{GAP_S, Oriented};

/// Settings of the test for rest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct RestingParams {
    /// Length of the averages, seconds (0.25). Short ones let tremor through, long ones tell late.
    pub mean_s: f64,
    /// Speed up to which a hand is at rest, deg/s (1). Small values never find a living hand at
    /// rest, large ones take the end of a slow lowering for it.
    pub slow_deg_s: f64,
    /// What is remembered, seconds (30).
    pub memory_s: f64,
}

impl Default for RestingParams {
    fn default() -> Self {
        RestingParams {
            mean_s: 0.25,
            slow_deg_s: 1.0,
            memory_s: 30.0,
        }
    }
}

/// Means over a short while.
#[derive(Debug, Clone, Copy)]
struct Mean {
    start_s: f64,
    count: f64,
    angle_deg: f64,
    up_in_sensor: Vector3<f64>,
}

impl Mean {
    fn angle_deg(&self) -> f64 {
        self.angle_deg / self.count
    }

    /// How far the hand turned from one to the other, degrees.
    fn turned_deg(&self, other: &Mean) -> f64 {
        let tilted_deg = self.up_in_sensor.angle(&other.up_in_sensor).to_degrees();
        (self.angle_deg() - other.angle_deg()).abs().max(tilted_deg)
    }
}

/// The rest of a hand, followed sample by sample.
#[derive(Debug, Clone)]
pub struct Resting {
    params: RestingParams,
    open: Option<Mean>,
    means: VecDeque<Mean>,
    since_s: Option<f64>,
    latest_s: f64,
}

impl Resting {
    /// With nothing seen.
    pub fn new(params: RestingParams) -> Resting {
        Resting {
            params,
            open: None,
            means: VecDeque::new(),
            since_s: None,
            latest_s: f64::NEG_INFINITY,
        }
    }

    /// Takes the measured angle, degrees, and the orientation. True where a new mean is there to be
    /// judged by.
    pub fn push(&mut self, angle_deg: f64, oriented: &Oriented) -> bool {
        let t_s = oriented.t_s;
        if t_s - self.latest_s > GAP_S {
            *self = Resting::new(self.params);
        }
        self.latest_s = t_s;
        let open = self.open.get_or_insert(Mean {
            start_s: t_s,
            count: 0.0,
            angle_deg: 0.0,
            up_in_sensor: Vector3::zeros(),
        });
        open.count += 1.0;
        open.angle_deg += angle_deg;
        open.up_in_sensor += oriented.world_from_sensor.inverse() * Vector3::z();
        if t_s - open.start_s < self.params.mean_s {
            return false;
        }
        if let Some(closed) = self.open.take() {
            self.close(closed);
        }
        true
    }

    fn close(&mut self, mean: Mean) {
        // Against the mean before the last: neighbours are too near for a slow speed.
        if let Some(before) = self.means.iter().nth_back(1) {
            let slow =
                mean.turned_deg(before) <= self.params.slow_deg_s * (mean.start_s - before.start_s);
            self.since_s = slow.then(|| self.since_s.unwrap_or(before.start_s));
        }
        self.means.push_back(mean);
        let oldest_s = mean.start_s - self.params.memory_s;
        while self.means.front().is_some_and(|m| m.start_s < oldest_s) {
            self.means.pop_front();
        }
    }

    /// The angle over the latest seconds on the average, degrees.
    pub fn angle_deg(&self, over_s: f64) -> Option<f64> {
        let from_s = self.latest_s - over_s;
        let latest = self.means.iter().rev();
        let (count, sum_deg) = latest
            .take_while(|mean| mean.start_s >= from_s)
            .fold((0.0, 0.0), |(count, sum), mean| {
                (count + 1.0, sum + mean.angle_deg())
            });
        (count > 0.0).then(|| sum_deg / count)
    }

    /// For how long the hand has been at rest, seconds.
    pub fn rests_for_s(&self) -> f64 {
        self.since_s.map_or(0.0, |since_s| self.latest_s - since_s)
    }

    /// For how long it has stayed within a band of so many degrees, seconds.
    pub fn within_for_s(&self, band_deg: f64) -> f64 {
        let Some(last) = self.means.back() else {
            return 0.0;
        };
        let (mut low_deg, mut high_deg) = (last.angle_deg(), last.angle_deg());
        let mut since_s = self.latest_s;
        for mean in self.means.iter().rev() {
            low_deg = low_deg.min(mean.angle_deg());
            high_deg = high_deg.max(mean.angle_deg());
            if high_deg - low_deg > band_deg || mean.turned_deg(last) > band_deg {
                break;
            }
            since_s = mean.start_s;
        }
        self.latest_s - since_s
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::UnitQuaternion;

    use super::*;

    /// A hand that turns about a level axis by these degrees, at 100 Hz, for so long.
    fn followed(lasting_s: f64, angle_deg: impl Fn(f64) -> f64) -> Resting {
        let mut resting = Resting::new(RestingParams::default());
        for index in 0..(lasting_s * 100.0) as u32 {
            let t_s = f64::from(index) / 100.0;
            let angle_deg = angle_deg(t_s);
            let turn = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), angle_deg.to_radians());
            let oriented = Oriented {
                t_s,
                world_from_sensor: turn,
                gyro_in_sensor_rad_s: Vector3::zeros(),
                accel_in_sensor_m_s2: Vector3::zeros(),
            };
            resting.push(angle_deg, &oriented);
        }
        resting
    }

    #[test]
    fn a_slow_lowering_is_no_rest_and_what_follows_it_is() {
        let lowering = |t_s: f64| 20.0 - 2.0 * t_s.min(8.0);
        assert!(followed(7.0, lowering).rests_for_s() < 1e-9);
        let rested_s = followed(11.0, lowering).rests_for_s();
        assert!((rested_s - 3.0).abs() <= 0.6, "{rested_s}");
    }

    #[test]
    fn tremor_does_not_hide_rest() {
        for frequency_hz in [7.0, 9.0, 12.0] {
            let trembling = |t_s: f64| 0.6 * (std::f64::consts::TAU * frequency_hz * t_s).sin();
            let rested_s = followed(5.0, trembling).rests_for_s();
            assert!(rested_s > 4.4, "{frequency_hz} Hz: {rested_s}");
        }
    }

    #[test]
    fn a_swaying_hand_is_not_at_rest_and_stays_within_its_band() {
        let swaying = |t_s: f64| 2.0 * (std::f64::consts::TAU * 0.3 * t_s).sin();
        let resting = followed(8.0, swaying);
        assert!(resting.rests_for_s() < 1.0);
        assert!(resting.within_for_s(5.0) > 7.4);
        assert!(resting.within_for_s(2.0) < 2.0);
    }

    #[test]
    fn the_angle_on_the_average_is_of_the_latest_seconds() {
        let stepped = followed(6.0, |t_s| if t_s < 3.0 { 10.0 } else { 40.0 });
        assert_eq!(stepped.angle_deg(2.0), Some(40.0));
    }
}
