//! The normal equations of a step of the fit: looks at the joint, drift, what was known before.

use nalgebra::{DMatrix, DVector, Matrix2, UnitQuaternion, Vector2, Vector3};

use super::fit::{Problem, State, across};
use super::looks::Look;

/// Squared deviations beyond so many squared plays weigh less and less.
const ROBUST_SQUARE: f64 = 4.0;
/// Weight of staying where it is, for what nothing shows: a radian is worth a whole turn.
const UNSEEN_WEIGHT: f64 = 0.1;

/// The equations of one step.
pub(super) struct Equations {
    pub(super) normal: DMatrix<f64>,
    pub(super) right: DVector<f64>,
    pub(super) cost: f64,
    /// For each bout, second moments of how far its axis is off, and the sum of their weights.
    pub(super) offs: Vec<(Matrix2<f64>, f64)>,
}

impl Equations {
    fn add(&mut self, parts: &[(usize, f64)], residual: f64, weight: f64) {
        for (row, a) in parts {
            if let Some(entry) = self.right.get_mut(*row) {
                *entry -= weight * a * residual;
            }
            for (column, b) in parts {
                if let Some(entry) = self.normal.get_mut((*row, *column)) {
                    *entry += weight * a * b;
                }
            }
        }
    }
}

impl Problem<'_> {
    /// The equations at a state.
    pub(super) fn equations(&self, state: &State) -> Equations {
        let size = self.size();
        let mut equations = Equations {
            normal: DMatrix::zeros(size, size),
            right: DVector::zeros(size),
            cost: 0.0,
            offs: vec![(Matrix2::zeros(), 0.0); self.bouts_count],
        };
        for look in self.looks {
            self.add_look(&mut equations, state, look);
        }
        self.add_drift(&mut equations, state);
        equations
    }

    fn add_look(&self, equations: &mut Equations, state: &State, look: &Look) {
        let Some(pose) = self.track.at(look.t_s - state.offset_s) else {
            return;
        };
        let Some(hinge) = state.hinges.get(look.bout) else {
            return;
        };
        let knots = self.knots_at(look.t_s);
        let heading_rad: f64 = knots
            .iter()
            .map(|(knot, part)| part * state.knots_rad.get(*knot).copied().unwrap_or(0.0))
            .sum();
        let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), -heading_rad);
        let hand_from_world = look.world_from_hand.inverse();
        let in_world = pose.world_from_sensor * hinge.axis_in_forearm_sensor;
        let in_hand = hand_from_world * (turn * in_world);
        let across_hand = across(&hinge.axis_in_hand_sensor);
        // How the axis leaves its place, as two components across it, with the derivatives.
        let on_sides =
            |vector: &Vector3<f64>| Vector2::from(across_hand.map(|side| side.dot(vector)));
        let off = on_sides(&in_hand);
        let by_heading = on_sides(&(hand_from_world * (turn * -Vector3::z().cross(&in_world))));
        let by_offset = on_sides(
            &(hand_from_world
                * (turn
                    * (pose.world_from_sensor
                        * hinge
                            .axis_in_forearm_sensor
                            .cross(&pose.gyro_in_sensor_rad_s)))),
        );
        let by_forearm = across(&hinge.axis_in_forearm_sensor)
            .map(|side| on_sides(&(hand_from_world * (turn * (pose.world_from_sensor * side)))));
        let along = in_hand.dot(&hinge.axis_in_hand_sensor);
        let by_hand = [Vector2::new(-along, 0.0), Vector2::new(0.0, -along)];

        let spread = state
            .spreads
            .get(look.bout)
            .copied()
            .unwrap_or_else(Matrix2::identity);
        let whitened = |vector: &Vector2<f64>| spread * vector;
        let square = whitened(&off).norm_squared();
        // Cauchy's weight: what is far off says little.
        let robust = 1.0 / (1.0 + square / ROBUST_SQUARE);
        let share = (self.params.step_s / self.params.alike_s).min(1.0);
        let weight = robust * share;
        equations.cost += share
            * (0.5 * ROBUST_SQUARE * (square / ROBUST_SQUARE).ln_1p()
                - spread.determinant().abs().max(1e-12).ln());
        if let Some((sum, weights)) = equations.offs.get_mut(look.bout) {
            *sum += robust * off * off.transpose();
            *weights += robust;
        }
        let (off, by_heading, by_offset) =
            (whitened(&off), whitened(&by_heading), whitened(&by_offset));
        let by_hand = by_hand.map(|side| whitened(&side));
        let by_forearm = by_forearm.map(|side| whitened(&side));
        let hinge_at = self.knots_s.len() + 4 * look.bout;
        let [(before, before_part), (after, after_part)] = knots;
        let [hand_a, hand_b] = by_hand;
        let [forearm_a, forearm_b] = by_forearm;
        let offset_part = if state.offset_free { 1.0 } else { 0.0 };
        let sides: [fn(&Vector2<f64>) -> f64; 2] = [|vector| vector.x, |vector| vector.y];
        for of in sides {
            let parts = [
                (before, before_part * of(&by_heading)),
                (after, after_part * of(&by_heading)),
                (hinge_at, of(&hand_a)),
                (hinge_at + 1, of(&hand_b)),
                (hinge_at + 2, of(&forearm_a)),
                (hinge_at + 3, of(&forearm_b)),
                (self.size() - 1, offset_part * of(&by_offset)),
            ];
            equations.add(&parts, of(&off), weight);
        }
    }

    /// What gyroscopes do: they drift slowly, and evenly.
    fn add_drift(&self, equations: &mut Equations, state: &State) {
        let span_s = match self.knots_s.as_slice() {
            [a, b, ..] => b - a,
            _ => self.params.knot_s,
        };
        let stiff = if state.stiff { 0.1 } else { 1.0 };
        let drift = (self.params.drift_deg_s * span_s).to_radians();
        let bend = (stiff * self.params.bend_deg_s * span_s).to_radians();
        for (index, pair) in state.knots_rad.windows(2).enumerate() {
            if let [a, b] = pair {
                let weight = 1.0 / (drift * drift);
                equations.add(&[(index, -1.0), (index + 1, 1.0)], b - a, weight);
                equations.cost += 0.5 * weight * (b - a) * (b - a);
            }
        }
        for (index, three) in state.knots_rad.windows(3).enumerate() {
            if let [a, b, c] = three {
                let weight = 1.0 / (bend * bend);
                let bent = a - 2.0 * b + c;
                let parts = [(index, 1.0), (index + 1, -2.0), (index + 2, 1.0)];
                equations.add(&parts, bent, weight);
                equations.cost += 0.5 * weight * bent * bent;
            }
        }
        if let (Some(prior), Some(first)) = (self.prior, self.looks.first()) {
            let knots = self.knots_at(first.t_s);
            let heading_rad: f64 = knots
                .iter()
                .map(|(knot, part)| part * state.knots_rad.get(*knot).copied().unwrap_or(0.0))
                .sum();
            let off_rad = within_half_turn(heading_rad - prior.heading_rad);
            let weight = prior.sd_at_rad(first.t_s).powi(-2);
            equations.add(&knots, off_rad, weight);
            equations.cost += 0.5 * weight * off_rad * off_rad;
        }
        // What nothing shows stays where it is.
        for index in 0..self.size() {
            if let Some(entry) = equations.normal.get_mut((index, index)) {
                *entry += UNSEEN_WEIGHT;
            }
        }
        if !state.offset_free
            && let Some(entry) = equations.normal.get_mut((self.size() - 1, self.size() - 1))
        {
            *entry = 1.0;
        }
    }
}

/// An angle by whole turns nearest to zero, radians.
fn within_half_turn(angle_rad: f64) -> f64 {
    angle_rad - std::f64::consts::TAU * (angle_rad / std::f64::consts::TAU).round()
}
