//! The axis of a movement as it goes on, seen from the sensor and from the world.
//!
//! Ours. Turns from one quarter of a second's mean pose to the next (tremor goes with the mean) are
//! gathered until they come to 30 degrees; the main
//! direction of the gathered turns (largest eigenvector, each turn weighted by its square) is the
//! axis of that piece of the movement. The same turns seen from the world give its axis there.
//! It needs no repetitions: what a segmenter leaves out after a slip is seen all the same.

use nalgebra::{Matrix3, SymmetricEigen, UnitQuaternion, Vector3};

use crate::orientation::{GAP_S, Oriented};

/// Time over which a pose is averaged, seconds.
const SPAN_S: f64 = 0.25;
/// Turns slower than this say nothing, deg/s: sway is slower.
const LEAST_DEG_S: f64 = 3.0;
/// Turning that makes a piece, degrees.
const PIECE_DEG: f64 = 30.0;
/// Least share of the turning about the main axis: less is more than one movement.
const LEAST_SHARE_RATIO: f64 = 0.93;

/// A piece of the movement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Its first turn, seconds.
    pub start_s: f64,
    /// Its last turn, seconds.
    pub end_s: f64,
    /// The axis, seen from the sensor; either sense.
    pub axis_in_sensor: Vector3<f64>,
    /// The axis, seen from the world; either sense.
    pub axis_in_world: Vector3<f64>,
    /// Whether nearly all of it turned about that axis.
    pub clean: bool,
}

/// A pose that is being averaged, or was.
#[derive(Debug, Clone, Copy)]
struct Mean {
    start_s: f64,
    first: UnitQuaternion<f64>,
    count: f64,
    turns: Vector3<f64>,
}

impl Mean {
    fn pose(&self) -> UnitQuaternion<f64> {
        self.first * UnitQuaternion::from_scaled_axis(self.turns / self.count)
    }
}

/// Gathers turns into pieces.
#[derive(Debug, Clone, Default)]
pub struct Axes {
    latest_s: Option<f64>,
    open: Option<Mean>,
    from: Option<Mean>,
    start_s: Option<f64>,
    turned_rad: f64,
    in_sensor: Matrix3<f64>,
    in_world: Matrix3<f64>,
}

impl Axes {
    /// Takes the next orientation; returns a piece where one is complete.
    pub fn push(&mut self, now: &Oriented) -> Option<Piece> {
        let before_s = self.latest_s.replace(now.t_s);
        if before_s.is_some_and(|before_s| now.t_s - before_s > GAP_S) {
            // A mean across a hole is no pose, and a turn across one has no one axis.
            self.open = None;
            self.from = None;
        }
        let open = self.open.get_or_insert(Mean {
            start_s: now.t_s,
            first: now.world_from_sensor,
            count: 0.0,
            turns: Vector3::zeros(),
        });
        open.count += 1.0;
        open.turns += (open.first.inverse() * now.world_from_sensor).scaled_axis();
        if now.t_s - open.start_s < SPAN_S {
            return None;
        }
        let to = self.open.take()?;
        let from = self.from.replace(to)?;
        let span_s = to.start_s - from.start_s;
        let (from_pose, to_pose) = (from.pose(), to.pose());
        let turn = (from_pose.inverse() * to_pose).scaled_axis();
        if turn.norm().to_degrees() < LEAST_DEG_S * span_s {
            return None;
        }
        let turn_in_world = from_pose * turn;
        let start_s = *self.start_s.get_or_insert(from.start_s);
        self.turned_rad += turn.norm();
        self.in_sensor += turn * turn.transpose();
        self.in_world += turn_in_world * turn_in_world.transpose();
        if self.turned_rad.to_degrees() < PIECE_DEG {
            return None;
        }
        let whole = std::mem::replace(
            self,
            Axes {
                latest_s: self.latest_s,
                from: self.from,
                ..Axes::default()
            },
        );
        let (axis_in_sensor, share_ratio) = main(whole.in_sensor)?;
        let (axis_in_world, world_ratio) = main(whole.in_world)?;
        Some(Piece {
            start_s,
            end_s: now.t_s,
            axis_in_sensor,
            axis_in_world,
            clean: share_ratio >= LEAST_SHARE_RATIO && world_ratio >= LEAST_SHARE_RATIO,
        })
    }
}

/// The main direction of a scatter and its share of it.
fn main(scatter: Matrix3<f64>) -> Option<(Vector3<f64>, f64)> {
    let eigen = SymmetricEigen::new(scatter);
    let largest = eigen.eigenvalues.imax();
    let share_ratio = eigen.eigenvalues.max() / eigen.eigenvalues.sum();
    let axis = eigen
        .eigenvectors
        .column(largest)
        .into_owned()
        .try_normalize(1e-12)?;
    Some((axis, share_ratio))
}

/// Angle between two lines, degrees, 0 to 90.
pub fn between_lines_deg(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.dot(b).abs().clamp(0.0, 1.0).acos().to_degrees()
}

/// The line nearest to all of these; `None` of none.
pub fn mean_line(lines: impl Iterator<Item = Vector3<f64>>) -> Option<Vector3<f64>> {
    let scatter: Matrix3<f64> = lines.map(|line| line * line.transpose()).sum();
    main(scatter)
        .filter(|(_, share_ratio)| share_ratio.is_finite())
        .map(|(line, _)| line)
}
