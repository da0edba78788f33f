//! Where the search for the relative heading begins: from rates of turn alone, for any mounting.
//!
//! Source of the idea: the joint turns about an axis that is fixed in the forearm, so the relative
//! rate of turn, seen from the forearm, lies along one line (the kinematic constraint of D. Laidig,
//! D. Lehmann, M.-A. Bégin, T. Seel, "Magnetometer-free realtime inertial motion tracking by
//! exploitation of kinematic constraints in 2-DoF joints", EMBC 2019, pp. 1233-1238,
//! doi:10.1109/EMBC.2019.8857535; and of F. Olsson, M. Kok, T. Seel, K. Halvorsen, "Robust
//! plug-and-play joint axis estimation using inertial sensors", Sensors 20:3534, 2020,
//! doi:10.3390/s20123534). Ours: the search is exhaustive. The second moment of the relative rate is
//! a quadratic in the heading's sine and cosine, so one pass over the record serves every heading,
//! and what lies off its main axis is the cost of a heading and a clock offset.

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

/// Relative turns at two moments of the record: all that a heading is judged by.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    /// Turn of the hand in its own world, radians.
    pub hand_in_world_rad: Vector3<f64>,
    /// Turn of the forearm in its own world, radians.
    pub forearm_in_world_rad: Vector3<f64>,
    /// The forearm's world seen from its unit.
    pub sensor_from_world: Matrix3<f64>,
}

/// Second moments of what the relative turn is made of, seen from the forearm's unit: the hand's
/// turn as it is (x), turned by a quarter about the vertical (y), and the rest (z and the forearm).
#[derive(Debug, Clone, Default)]
pub struct Moments {
    sums: [[Matrix3<f64>; 3]; 3],
}

impl Moments {
    /// Adds one.
    pub fn add(&mut self, moment: &Moment) {
        let hand = moment.hand_in_world_rad;
        let level = Vector3::new(hand.x, hand.y, 0.0);
        let quarter = Vector3::new(-hand.y, hand.x, 0.0);
        let rest = Vector3::new(0.0, 0.0, hand.z) - moment.forearm_in_world_rad;
        let parts = [level, quarter, rest].map(|part| moment.sensor_from_world * part);
        for (row, a) in self.sums.iter_mut().zip(&parts) {
            for (sum, b) in row.iter_mut().zip(&parts) {
                *sum += a * b.transpose();
            }
        }
    }

    /// The second moment of the relative turn with this heading (forearm's world from hand's).
    fn of(&self, heading_rad: f64) -> Matrix3<f64> {
        let (sin, cos) = heading_rad.sin_cos();
        let weights = [cos, sin, 1.0];
        let mut whole = Matrix3::zeros();
        for (row, a) in self.sums.iter().zip(weights) {
            for (sum, b) in row.iter().zip(weights) {
                whole += sum * (a * b);
            }
        }
        0.5 * (whole + whole.transpose())
    }

    /// What turns off the main axis with this heading, radians squared in all, and that axis seen
    /// from the forearm's unit.
    pub fn off_axis(&self, heading_rad: f64) -> (f64, Vector3<f64>) {
        let eigen = SymmetricEigen::new(self.of(heading_rad));
        let main = eigen.eigenvalues.imax();
        let off = eigen.eigenvalues.sum() - eigen.eigenvalues.max();
        (off.max(0.0), eigen.eigenvectors.column(main).into_owned())
    }

    /// Both turns together without any heading: what the cost is to be held against.
    pub fn whole(&self) -> f64 {
        let [[level, ..], .., [.., rest]] = &self.sums;
        level.trace() + rest.trace()
    }
}
