//! What the normal equations tell of a fit: how well heading and clock offset are known.

use nalgebra::DVector;

use super::fit::{Problem, State};
use super::heading::BoutTold;

/// What is not known at all is off by half a turn at most, degrees.
const HALF_TURN_DEG: f64 = 180.0;

/// What is told.
pub(super) struct Told {
    pub(super) sd_deg: f64,
    pub(super) bouts: Vec<BoutTold>,
    pub(super) offset_sd_s: Option<f64>,
}

impl Problem<'_> {
    pub(super) fn told(&self, state: &State) -> Told {
        let equations = self.equations(state);
        let whole = equations.normal.cholesky();
        let sd_rad = |direction: &DVector<f64>| {
            whole.as_ref().map_or(f64::INFINITY, |cholesky| {
                direction.dot(&cholesky.solve(direction)).max(0.0).sqrt()
            })
        };
        let at = |t_s: f64| {
            let mut direction = DVector::zeros(self.size());
            for (knot, part) in self.knots_at(t_s) {
                if let Some(entry) = direction.get_mut(knot) {
                    *entry += part;
                }
            }
            direction
        };
        let bouts = equations
            .offs
            .iter()
            .enumerate()
            .map(|(bout, (sum, weights))| {
                let mut own = self.looks.iter().filter(|look| look.bout == bout);
                let from_s = own.next().map(|look| look.t_s);
                let to_s = own.next_back().map(|look| look.t_s).or(from_s);
                let ends = from_s.zip(to_s);
                let sd = |direction: Option<DVector<f64>>| {
                    direction.map_or(HALF_TURN_DEG, |direction| {
                        sd_rad(&direction).to_degrees().min(HALF_TURN_DEG)
                    })
                };
                BoutTold {
                    sd_deg: sd(ends.map(|(from_s, to_s)| at(0.5 * (from_s + to_s)))),
                    drift_sd_deg: sd(ends.map(|(from_s, to_s)| at(to_s) - at(from_s))),
                    off_deg: (sum.trace() / weights.max(1e-9)).sqrt().to_degrees(),
                }
            })
            .collect();
        let knots = self.knots_s.len();
        let level = DVector::from_fn(self.size(), |index, _| {
            if index < knots {
                1.0 / knots as f64
            } else {
                0.0
            }
        });
        let offset = DVector::from_fn(self.size(), |index, _| {
            if index + 1 == self.size() { 1.0 } else { 0.0 }
        });
        Told {
            sd_deg: sd_rad(&level).to_degrees().min(HALF_TURN_DEG),
            bouts,
            offset_sd_s: state.offset_free.then(|| sd_rad(&offset)),
        }
    }
}
