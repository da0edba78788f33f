//! What can explain the specific force of a set: the lever about the wrist, the forearm that turns
//! about the elbow, and the errors of a cheap unit.
//!
//! Source: T. Seel, T. Schauer, J. Raisch, "Joint axis and position estimation from inertial
//! measurement data by exploiting kinematic constraints", IEEE CCA 2012, 45-49,
//! doi:10.1109/CCA.2012.6402423: the acceleration of a point on a body that turns about a joint is
//! linear in the lever from the joint. Ours: they have a unit on either side of the joint; here the
//! one unit is held against gravity instead, which makes the errors of its tilt and scale part of
//! the model, and a second joint moves in step with the first.

use nalgebra::{UnitQuaternion, Vector3};

use super::band::{Band, Derivative};
use super::bayes::Column;
use super::{ElbowParams, Lift};
use crate::orientation::Oriented;

/// Turns are taken over so long for the axis, seconds.
const AXIS_SPAN_S: f64 = 0.3;

/// A set's motion, sample by sample, in a frame that only the gyroscope carries.
#[derive(Debug)]
pub(super) struct Kinematics {
    pub band: Band,
    times_s: Vec<f64>,
    world_from_sensor: Vec<UnitQuaternion<f64>>,
    /// Angular velocity in the sensor frame, rad/s.
    rate: Vec<Vector3<f64>>,
    accel: Vec<Vector3<f64>>,
    /// Specific force in the world frame, m/s².
    force: Vec<Vector3<f64>>,
    /// The movement's axis in the sensor frame.
    pub axis: Vector3<f64>,
    /// Turn about the axis since the usual start, radians.
    turn: Vec<f64>,
    /// Usual turn of a lift, radians; its sign is that of the lift about the axis.
    pub travel: f64,
    lift_s: f64,
}

impl Kinematics {
    /// The motion of these samples, with these repetitions in them.
    pub(super) fn of(oriented: &[Oriented], lifts: &[Lift]) -> Option<Kinematics> {
        let times_s: Vec<f64> = oriented.iter().map(|o| o.t_s).collect();
        let rate: Vec<_> = oriented.iter().map(|o| o.gyro_in_sensor_rad_s).collect();
        let accel: Vec<_> = oriented.iter().map(|o| o.accel_in_sensor_m_s2).collect();
        let mut pose = oriented.first()?.world_from_sensor;
        let mut world_from_sensor = Vec::with_capacity(oriented.len());
        world_from_sensor.push(pose);
        for (pair, rates) in times_s.windows(2).zip(rate.windows(2)) {
            if let ([a_s, b_s], [a, b]) = (pair, rates) {
                pose *= UnitQuaternion::from_scaled_axis((a + b) * (0.5 * (b_s - a_s)));
                world_from_sensor.push(pose);
            }
        }
        let force = world_from_sensor
            .iter()
            .zip(&accel)
            .map(|(pose, accel)| pose * accel)
            .collect();
        let axis = axis_of(&times_s, &rate, lifts)?;
        let mut kinematics = Kinematics {
            band: Band::over(&times_s),
            turn: summed(&times_s, rate.iter().map(|rate| rate.dot(&axis))),
            times_s,
            world_from_sensor,
            rate,
            accel,
            force,
            axis,
            travel: 0.0,
            lift_s: median(lifts.iter().map(|l| l.lift_end_s - l.lift_start_s))?,
        };
        let start = median(lifts.iter().map(|l| kinematics.turn_at(l.lift_start_s)))?;
        kinematics.turn.iter_mut().for_each(|turn| *turn -= start);
        kinematics.travel = median(lifts.iter().map(|l| kinematics.turn_at(l.lift_end_s)))?;
        Some(kinematics)
    }

    /// Root of the mean square of a lift's angular acceleration, rad/s²: that of a minimum-jerk
    /// stroke, sqrt(120 / 7) times its travel over the square of its time.
    pub(super) fn speeding_up(&self) -> f64 {
        (120.0_f64 / 7.0).sqrt() * self.travel.abs() / (self.lift_s * self.lift_s)
    }

    fn turn_at(&self, t_s: f64) -> f64 {
        between(&self.times_s, &self.turn, t_s)
    }

    /// The reading that is to be explained.
    pub(super) fn reading(&self) -> Vec<Vector3<f64>> {
        self.band.through(&self.force, Derivative::None)
    }

    /// Acceleration of a point at rest in the sensor's frame, for one metre along a direction.
    pub(super) fn lever(&self, direction: &Vector3<f64>, mean_m: f64, deviation_m: f64) -> Column {
        let speed =
            |(pose, rate): (&UnitQuaternion<f64>, &Vector3<f64>)| pose * rate.cross(direction);
        let speeds: Vec<_> = self
            .world_from_sensor
            .iter()
            .zip(&self.rate)
            .map(speed)
            .collect();
        Column {
            values: self.band.through(&speeds, Derivative::First),
            mean: mean_m,
            deviation: deviation_m,
        }
    }

    /// What the errors of the unit do to the reading.
    pub(super) fn unit_errors(&self, params: &ElbowParams) -> Vec<Column> {
        let mut columns = Vec::new();
        let mut add = |values: Vec<Vector3<f64>>, deviation| {
            columns.push(Column {
                values: self.band.through(&values, Derivative::None),
                mean: 0.0,
                deviation,
            });
        };
        let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
        for axis in &axes {
            let along: Vec<Vector3<f64>> = self
                .world_from_sensor
                .iter()
                .map(|pose| pose * axis)
                .collect();
            add(along.clone(), params.accel_bias_m_s2);
            add(self.tilted(along.iter().copied()), params.gyro_bias_rad_s);
            for other in &axes {
                let rates = self.rate.iter().map(|rate| rate.dot(other));
                let turns = along.iter().zip(rates).map(|(along, rate)| along * rate);
                add(self.tilted(turns), params.gyro_scale_ratio);
                let scaled = along.iter().zip(&self.accel);
                add(
                    scaled
                        .map(|(along, accel)| along * accel.dot(other))
                        .collect(),
                    params.accel_scale_ratio,
                );
            }
        }
        let turning = self
            .world_from_sensor
            .iter()
            .zip(&self.rate)
            .zip(&self.force);
        add(
            turning
                .map(|((pose, rate), force)| (pose * rate).cross(force))
                .collect(),
            params.late_s,
        );
        columns
    }

    /// What a rate that is wrong by so much does to the reading: gravity leans by its integral.
    fn tilted(&self, wrong: impl Iterator<Item = Vector3<f64>>) -> Vec<Vector3<f64>> {
        let tilt = summed(&self.times_s, wrong);
        tilt.iter()
            .zip(&self.force)
            .map(|(tilt, force)| tilt.cross(force))
            .collect()
    }

    /// Ways in which the forearm may turn, radians for each sample: in proportion to the hand; from
    /// the start on, as where the wrist is bent there; earlier and later than the hand, and early or
    /// late in the travel, which change nothing at either end.
    pub(super) fn ways(&self) -> Vec<Vec<f64>> {
        let mut ways = vec![self.turn.clone(), vec![1.0; self.turn.len()]];
        for share in [0.1, -0.1, 0.2, -0.2] {
            let by_s = share * self.lift_s;
            let shifted = self.times_s.iter().zip(&self.turn);
            ways.push(
                shifted
                    .map(|(t_s, turn)| self.turn_at(t_s - by_s) - turn)
                    .collect(),
            );
        }
        for power in [2, 3] {
            let bent = self.turn.iter().map(|turn| {
                let done = (turn / self.travel).clamp(-0.1, 1.2);
                self.travel * (done.powi(power) - done)
            });
            ways.push(bent.collect());
        }
        ways
    }

    /// The hand's turn within one repetition, radians for each sample; it goes on from there.
    pub(super) fn turn_within(&self, from_s: f64, to_s: f64) -> Vec<f64> {
        let within = self.times_s.iter().zip(&self.rate).map(|(t_s, rate)| {
            if (from_s..to_s).contains(t_s) {
                rate.dot(&self.axis)
            } else {
                0.0
            }
        });
        summed(&self.times_s, within)
    }

    /// The forearm, which lies along this direction where the wrist is straight, and is thought to
    /// have turned so far, radians for each sample. A turn about an oblique axis does not move what
    /// of it lies along that axis.
    pub(super) fn forearm(&self, distal: &Vector3<f64>, turned: &[f64], length_m: f64) -> Forearm {
        let across = self.axis.cross(distal);
        let axial = self.axis * self.axis.dot(distal);
        let reach = distal - axial;
        let mut along = Vec::with_capacity(turned.len());
        let mut tangent = Vec::with_capacity(turned.len());
        let poses = self
            .world_from_sensor
            .iter()
            .zip(self.turn.iter().zip(turned));
        for (pose, (turn, turned)) in poses {
            let (sine, cosine) = (turned - turn).sin_cos();
            along.push(pose * (axial + reach * cosine + across * sine) * length_m);
            tangent.push(pose * (across * cosine - reach * sine) * length_m);
        }
        Forearm { along, tangent }
    }

    /// Acceleration of the wrist for one radian of a way of turning.
    pub(super) fn turning(&self, forearm: &Forearm, way: &[f64]) -> Vec<Vector3<f64>> {
        let moved = forearm
            .tangent
            .iter()
            .zip(way)
            .map(|(tangent, way)| tangent * *way);
        self.band
            .through(&moved.collect::<Vec<_>>(), Derivative::Second)
    }

    /// Acceleration of the wrist where the forearm is as long as it is thought to be and turns as
    /// it is thought to.
    pub(super) fn carried(&self, forearm: &Forearm) -> Vec<Vector3<f64>> {
        self.band.through(&forearm.along, Derivative::Second)
    }

    /// Acceleration of the wrist where turns about other axes are the forearm's, too, over that
    /// where they are the wrist's.
    pub(super) fn swaying(&self, forearm: &Forearm) -> Vec<Vector3<f64>> {
        let moved = self
            .world_from_sensor
            .iter()
            .zip(&self.rate)
            .zip(&forearm.along);
        let speeds = moved.map(|((pose, rate), along)| {
            let across = rate - self.axis * rate.dot(&self.axis);
            (pose * across).cross(along)
        });
        self.band
            .through(&speeds.collect::<Vec<_>>(), Derivative::First)
    }
}

/// The forearm in the world, sample by sample.
#[derive(Debug)]
pub(super) struct Forearm {
    /// Elbow to wrist, metres.
    along: Vec<Vector3<f64>>,
    /// Way of the wrist for one radian, metres.
    tangent: Vec<Vector3<f64>>,
}

/// The direction about which most of the repetitions' turning goes, over spans in which a tremor
/// turns back again.
fn axis_of(times_s: &[f64], rate: &[Vector3<f64>], lifts: &[Lift]) -> Option<Vector3<f64>> {
    let turned = summed(times_s, rate.iter().copied());
    let at = |t_s: f64| turned.get(times_s.partition_point(|other| *other < t_s));
    let mut scatter = nalgebra::Matrix3::zeros();
    for lift in lifts {
        let spans = ((lift.lower_end_s - lift.lift_start_s) / AXIS_SPAN_S).floor();
        let mut span = 0.0;
        while span < spans {
            let from_s = lift.lift_start_s + span * AXIS_SPAN_S;
            if let (Some(from), Some(to)) = (at(from_s), at(from_s + AXIS_SPAN_S)) {
                let turn = to - from;
                scatter += turn * turn.transpose();
            }
            span += 1.0;
        }
    }
    let eigen = nalgebra::SymmetricEigen::new(scatter);
    let axis = eigen
        .eigenvectors
        .column(eigen.eigenvalues.imax())
        .into_owned();
    axis.try_normalize(1e-9)
}

/// A running integral over time by trapezoids.
fn summed<T>(times_s: &[f64], values: impl Iterator<Item = T>) -> Vec<T>
where
    T: Copy + Default + std::ops::Add<Output = T> + std::ops::Mul<f64, Output = T>,
{
    let mut sum = T::default();
    let mut before: Option<(f64, T)> = None;
    let mut sums = Vec::with_capacity(times_s.len());
    for (t_s, value) in times_s.iter().zip(values) {
        if let Some((before_s, before)) = before {
            sum = sum + (before + value) * (0.5 * (t_s - before_s));
        }
        before = Some((*t_s, value));
        sums.push(sum);
    }
    sums
}

/// A value between samples, held on at both ends.
fn between(times_s: &[f64], values: &[f64], t_s: f64) -> f64 {
    let after = times_s.partition_point(|other| *other <= t_s);
    let at = |index: usize| Some((times_s.get(index)?, values.get(index)?));
    match (after.checked_sub(1).and_then(at), at(after)) {
        (Some((a_s, a)), Some((b_s, b))) => a + (b - a) * (t_s - a_s) / (b_s - a_s).max(1e-9),
        (Some((_, only)), None) | (None, Some((_, only))) => *only,
        (None, None) => 0.0,
    }
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    crate::reps::excursion::median(&values.collect::<Vec<_>>())
}
