//! The model of one block of repetitions, laid around a forearm that has turned so far, and laid
//! anew until it stays.
//!
//! Ours: Gauss and Newton's steps, of bounded length, from several starts.

use nalgebra::{DVector, Vector3};

use super::bayes::{Column, Noise, Posterior, explain};
use super::blocks::around;
use super::columns::Kinematics;
use super::{ElbowParams, Estimate, HandInSensor, Lift};
use crate::orientation::Oriented;

/// Least travel, radians: smaller turns have no axis.
const LEAST_TRAVEL_RAD: f64 = 0.15;
/// Shares from which the fit is begun.
const STARTS: [f64; 3] = [0.05, 0.4, 0.8];
/// The model is laid anew so often at most,
const ROUNDS_COUNT: usize = 10;
/// or until the share moves by less than this.
const SETTLED_RATIO: f64 = 0.005;
/// Longest step of the share from one to the next.
const LONGEST_STEP_RATIO: f64 = 0.2;
/// Spread of a forearm that comes earlier or later, and early or late in the travel, as shares.
const LAG_RATIO: f64 = 0.2;
const BEND_RATIO: f64 = 0.3;
/// Share before anything is seen, its spread, and that of one repetition's about it.
const SHARE_RATIO: f64 = 0.25;
const SHARE_SPREAD_RATIO: f64 = 0.4;
const EACH_RATIO: f64 = 0.2;
/// Spread of the wrist's bend where a lift usually starts, radians: with a calibration, and without
/// one, where the hand's direction is only that of the lever.
const BENT_RAD: f64 = 0.2;
const BENT_UNKNOWN_RAD: f64 = 0.4;
/// Spread of turns about other axes that are the wrist's rather than the arm's.
const SWAY_RATIO: f64 = 0.5;
/// Noise that the first fit is made with.
const FIRST_NOISE: Noise = Noise {
    memory_ratio: 0.7,
    fresh_variance: 4e-4,
};

/// What is found of one block.
pub(super) struct Fit {
    pub set: Estimate,
    pub each: Vec<Estimate>,
}

/// Fits a block; `None` where nothing turned or it cannot be fitted.
pub(super) fn block_of(
    oriented: &[Oriented],
    lifts: &[Lift],
    hand: Option<&HandInSensor>,
    params: &ElbowParams,
) -> Option<Fit> {
    let kinematics = Kinematics::of(around(oriented, lifts)?, lifts)?;
    if kinematics.travel.abs() < LEAST_TRAVEL_RAD || kinematics.band.len() < 20 {
        return None;
    }
    let model = Model::new(&kinematics, hand, params)?;
    let fitted = STARTS
        .iter()
        .filter_map(|start| model.settle(*start))
        .min_by(|a, b| a.posterior.misfit.total_cmp(&b.posterior.misfit))?;
    model.shares(&fitted, lifts)
}

/// All that does not change while the forearm's turn is sought.
struct Model<'a> {
    kinematics: &'a Kinematics,
    params: &'a ElbowParams,
    /// Along the forearm in the sensor's frame where the wrist is straight; not across the axis
    /// where that is oblique.
    along: Vector3<f64>,
    reading: Vec<Vector3<f64>>,
    ways: Vec<Vec<f64>>,
    /// Levers and errors of the unit.
    fixed: Vec<Column>,
    bent_rad: f64,
}

/// Where the search has come to.
struct Settled {
    turned: Vec<f64>,
    posterior: Posterior,
    /// Noise that the posterior was found with.
    noise: Noise,
}

impl<'a> Model<'a> {
    fn new(
        kinematics: &'a Kinematics,
        hand: Option<&HandInSensor>,
        params: &'a ElbowParams,
    ) -> Option<Model<'a>> {
        let reading = kinematics.reading();
        let mut fixed = kinematics.unit_errors(params);
        let axis = kinematics.axis;
        let spread_m = params.lever_spread_m;
        let (along, distal, lever, sideways_m) = match hand {
            Some(hand) => {
                let across = hand.distal - axis * axis.dot(&hand.distal);
                let back = hand.volar.map_or(Vector3::zeros(), |volar| -volar);
                let lever = hand.distal * params.lever_m + back * params.height_m;
                (
                    hand.distal,
                    across.try_normalize(0.3)?,
                    lever,
                    1.5 * spread_m,
                )
            }
            None => {
                let distal = direction(kinematics, &reading, &fixed, params)?;
                let away_m = params.lever_m.hypot(params.height_m);
                (distal, distal, distal * away_m, 2.5 * spread_m)
            }
        };
        let across = axis.cross(&distal);
        for (direction, deviation_m) in [
            (distal, spread_m),
            (across, sideways_m),
            (axis, 2.0 * spread_m),
        ] {
            fixed.push(kinematics.lever(&direction, lever.dot(&direction), deviation_m));
        }
        Some(Model {
            kinematics,
            params,
            along,
            reading,
            ways: kinematics.ways(),
            fixed,
            bent_rad: if hand.is_some() {
                BENT_RAD
            } else {
                BENT_UNKNOWN_RAD
            },
        })
    }

    /// Lays the model around a forearm that has turned so, and explains the reading by it and by
    /// further ways of turning.
    fn around(&self, turned: &[f64], noise: Noise, further: &[Vec<f64>]) -> Option<Posterior> {
        let kinematics = self.kinematics;
        let forearm = kinematics.forearm(&self.along, turned, self.params.forearm_m);
        let carried = kinematics.carried(&forearm);
        let so_far = kinematics.turning(&forearm, turned);
        let rest: Vec<_> = self
            .reading
            .iter()
            .zip(carried.iter().zip(&so_far))
            .map(|(reading, (carried, so_far))| reading - carried + so_far)
            .collect();
        let way = |way: &Vec<f64>, mean, deviation| Column {
            values: kinematics.turning(&forearm, way),
            mean,
            deviation,
        };
        let sizes = [(SHARE_RATIO, SHARE_SPREAD_RATIO), (0.0, self.bent_rad)]
            .into_iter()
            .chain([(0.0, LAG_RATIO); 2])
            .chain([(0.0, 0.5 * LAG_RATIO); 2])
            .chain([(0.0, BEND_RATIO); 2]);
        let mut columns: Vec<Column> = self
            .ways
            .iter()
            .zip(sizes)
            .map(|(w, (mean, spread))| way(w, mean, spread))
            .collect();
        columns.extend(further.iter().map(|w| way(w, 0.0, EACH_RATIO)));
        columns.push(Column {
            values: kinematics.swaying(&forearm),
            mean: 0.0,
            deviation: SWAY_RATIO,
        });
        columns.push(Column {
            values: carried,
            mean: 0.0,
            deviation: self.params.forearm_spread_ratio,
        });
        columns.extend(self.fixed.iter().cloned());
        explain(&rest, &columns, noise, self.params.floor_m_s2)
    }

    /// Seeks the forearm's turn from a share on.
    fn settle(&self, start_ratio: f64) -> Option<Settled> {
        let mut noise = FIRST_NOISE;
        let mut share_ratio = start_ratio;
        let mut turned: Vec<f64> = self
            .ways
            .first()?
            .iter()
            .map(|turn| start_ratio * turn)
            .collect();
        for round in 1.. {
            let posterior = self.around(&turned, noise, &[])?;
            let found_ratio = *posterior.mean.get(0)?;
            let step_ratio = found_ratio - share_ratio;
            let settled = step_ratio.abs() < SETTLED_RATIO && round > 2;
            if settled || round >= ROUNDS_COUNT {
                return Some(Settled {
                    turned,
                    noise,
                    posterior,
                });
            }
            // The model holds near where it was laid: a longer step is not gone to its end.
            let gone_ratio = (LONGEST_STEP_RATIO / step_ratio.abs()).min(1.0);
            share_ratio += gone_ratio * step_ratio;
            turned
                .iter_mut()
                .for_each(|turned| *turned *= 1.0 - gone_ratio);
            for (way, size) in self.ways.iter().zip(posterior.mean.iter()) {
                for (turned, way) in turned.iter_mut().zip(way) {
                    *turned += gone_ratio * size * way;
                }
            }
            noise = posterior.noise;
        }
        None
    }

    /// The share of the set and of each repetition.
    fn shares(&self, settled: &Settled, lifts: &[Lift]) -> Option<Fit> {
        let ends = lifts.iter().zip(lifts.iter().skip(1));
        let mut bounds_s = vec![f64::NEG_INFINITY];
        bounds_s.extend(ends.map(|(a, b)| 0.5 * (a.lower_end_s + b.lift_start_s)));
        bounds_s.push(f64::INFINITY);
        let further: Vec<Vec<f64>> = bounds_s
            .windows(2)
            .filter_map(|bound| match bound {
                [from_s, to_s] => Some(self.kinematics.turn_within(*from_s, *to_s)),
                _ => None,
            })
            .collect();
        let posterior = self.around(&settled.turned, settled.noise, &further)?;
        let unseen_m_s2 = self.params.unseen_m_s2 + self.params.unseen_ratio * posterior.rest;
        let unseen_ratio =
            unseen_m_s2 / (self.params.forearm_m * self.kinematics.speeding_up()).max(1e-6);
        let first = self.ways.len();
        let count = further.len();
        let estimate = |own: &dyn Fn(usize) -> f64| {
            let mut weights = DVector::zeros(posterior.mean.len());
            for (index, weight) in weights.iter_mut().enumerate() {
                if index == 0 {
                    *weight = 1.0;
                } else if (first..first + count).contains(&index) {
                    *weight = own(index - first);
                }
            }
            let (share_ratio, variance) = posterior.of(&weights);
            Estimate {
                share_ratio,
                error_ratio: variance.sqrt().hypot(unseen_ratio),
            }
        };
        Some(Fit {
            set: estimate(&|_| 1.0 / count as f64),
            each: (0..count)
                .map(|one| estimate(&|other| f64::from(u8::from(other == one))))
                .collect(),
        })
    }
}

/// The direction of the unit from whatever it turns about, where no calibration tells it.
fn direction(
    kinematics: &Kinematics,
    reading: &[Vector3<f64>],
    errors: &[Column],
    params: &ElbowParams,
) -> Option<Vector3<f64>> {
    let axis = kinematics.axis;
    let least = if axis.x.abs() < 0.6 {
        Vector3::x()
    } else {
        Vector3::y()
    };
    let first = axis.cross(&least).try_normalize(1e-9)?;
    let second = axis.cross(&first);
    let far_m = params.forearm_m;
    let mut columns = vec![
        kinematics.lever(&first, 0.0, far_m),
        kinematics.lever(&second, 0.0, far_m),
        kinematics.lever(&axis, 0.0, 2.0 * params.lever_spread_m),
    ];
    columns.extend(errors.iter().cloned());
    let mut noise = FIRST_NOISE;
    let mut found = Vector3::zeros();
    for _ in 0..2 {
        let posterior = explain(reading, &columns, noise, params.floor_m_s2)?;
        found = first * *posterior.mean.get(0)? + second * *posterior.mean.get(1)?;
        noise = posterior.noise;
    }
    found.try_normalize(1e-3)
}
