//! The fit of heading, axes and clock offset to all looks: Gauss-Newton with the wrist's play as its
//! noise. Sources: see [`super::heading`].

use std::ops::Range;

use nalgebra::{DVector, Matrix2, SymmetricEigen, UnitQuaternion, Vector3};

use super::heading::{Heading, HeadingParams, Hinge, Prior};
use super::looks::{Look, moments};
use super::track::ForearmTrack;

/// Gauss-Newton steps.
const STEPS_COUNT: usize = 12;
/// Times that the wrist's play is taken from what was found.
const SPREADS_COUNT: usize = 3;
/// Play of the wrist in the first fit, degrees.
const AFAR_PLAY_DEG: f64 = 12.0;
/// Most knots: a longer record has them farther apart.
const MOST_KNOTS: usize = 200;

/// What is sought, as it stands.
#[derive(Debug, Clone)]
pub(super) struct State {
    pub(super) knots_rad: Vec<f64>,
    pub(super) hinges: Vec<Hinge>,
    /// For each bout, what makes its deviations of unit size and independent.
    pub(super) spreads: Vec<Matrix2<f64>>,
    pub(super) offset_s: f64,
    pub(super) offset_free: bool,
    /// The heading drifts evenly.
    pub(super) stiff: bool,
    pub(super) cost: f64,
}

impl State {
    /// The same with an offset of the clocks to be sought.
    pub(super) fn with_offset(&self) -> State {
        State {
            offset_free: true,
            ..self.clone()
        }
    }
}

/// What is fitted.
pub(super) struct Problem<'a> {
    pub(super) track: &'a ForearmTrack<'a>,
    pub(super) looks: &'a [Look],
    pub(super) params: &'a HeadingParams,
    pub(super) bouts_count: usize,
    pub(super) knots_s: Vec<f64>,
    pub(super) prior: Option<Prior>,
}

impl<'a> Problem<'a> {
    pub(super) fn new(
        track: &'a ForearmTrack<'a>,
        looks: &'a [Look],
        range: Range<usize>,
        bouts_count: usize,
        params: &'a HeadingParams,
        prior: Option<Prior>,
    ) -> Option<Problem<'a>> {
        let looks = looks.get(range)?;
        let (first_s, last_s) = (looks.first()?.t_s, looks.last()?.t_s);
        let lasting_s = (last_s - first_s).max(params.knot_s);
        let spans = (lasting_s / params.knot_s)
            .ceil()
            .clamp(1.0, MOST_KNOTS as f64);
        let knots_s = (0..=spans as usize)
            .map(|index| first_s + lasting_s * index as f64 / spans)
            .collect();
        Some(Problem {
            track,
            looks,
            params,
            bouts_count,
            knots_s,
            prior,
        })
    }

    pub(super) fn start(&self, heading_rad: f64, offset_s: f64) -> State {
        let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
        let hinges: Vec<Hinge> = (0..self.bouts_count)
            .map(|bout| self.first_hinge(bout, &turn, heading_rad, offset_s))
            .collect();
        State {
            knots_rad: vec![heading_rad; self.knots_s.len()],
            spreads: vec![Matrix2::identity() / self.params.play_deg.to_radians(); hinges.len()],
            hinges,
            offset_s,
            offset_free: self.params.most_offset_s > 0.0,
            stiff: false,
            cost: f64::INFINITY,
        }
    }

    /// Begins from what was found before; its clock offset is taken off already.
    pub(super) fn start_from(&self, before: &Heading) -> State {
        let knots_rad: Vec<f64> = self.knots_s.iter().map(|t_s| before.at_rad(*t_s)).collect();
        let hinges: Vec<Hinge> = (0..self.bouts_count)
            .map(|bout| match before.hinges.get(bout) {
                Some(hinge) => *hinge,
                None => {
                    let first = self.looks.iter().find(|look| look.bout == bout);
                    let heading_rad = first.map_or(0.0, |look| before.at_rad(look.t_s));
                    let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
                    self.first_hinge(bout, &turn, heading_rad, 0.0)
                }
            })
            .collect();
        State {
            knots_rad,
            spreads: vec![Matrix2::identity() / self.params.play_deg.to_radians(); hinges.len()],
            hinges,
            offset_s: 0.0,
            offset_free: false,
            stiff: false,
            cost: f64::INFINITY,
        }
    }

    /// What a narrower look at the record found, carried on evenly beyond its ends.
    pub(super) fn carried_on(&self, narrower: &Problem, state: &State) -> State {
        self.taken_over(|t_s| narrower.knots_on_line(t_s), narrower, state)
    }

    /// What a narrower look at the record found, the same ever after and before.
    pub(super) fn held_on(&self, narrower: &Problem, state: &State) -> State {
        self.taken_over(|t_s| narrower.knots_at(t_s), narrower, state)
    }

    fn taken_over(
        &self,
        knots_of: impl Fn(f64) -> [(usize, f64); 2],
        narrower: &Problem,
        state: &State,
    ) -> State {
        let line = |t_s: f64| {
            let knots = knots_of(t_s);
            let at = |(knot, part): &(usize, f64)| {
                part * state.knots_rad.get(*knot).copied().unwrap_or(0.0)
            };
            knots.iter().map(at).sum::<f64>()
        };
        let knots_rad: Vec<f64> = self.knots_s.iter().map(|t_s| line(*t_s)).collect();
        let seen = |bout: usize| narrower.looks.iter().any(|look| look.bout == bout);
        let hinges = (0..self.bouts_count)
            .map(|bout| match state.hinges.get(bout).filter(|_| seen(bout)) {
                Some(hinge) => *hinge,
                None => {
                    let first = self.looks.iter().find(|look| look.bout == bout);
                    let heading_rad = first.map_or(0.0, |look| line(look.t_s));
                    let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), heading_rad);
                    self.first_hinge(bout, &turn, heading_rad, state.offset_s)
                }
            })
            .collect();
        State {
            knots_rad,
            hinges,
            ..state.clone()
        }
    }

    /// The axis of a bout by its rates, and where it lies in the hand on the average.
    fn first_hinge(
        &self,
        bout: usize,
        turn: &UnitQuaternion<f64>,
        heading_rad: f64,
        offset_s: f64,
    ) -> Hinge {
        let from = self.looks.partition_point(|look| look.bout < bout);
        let to = self.looks.partition_point(|look| look.bout <= bout);
        let own = self.looks.get(from..to).unwrap_or(&[]);
        let axis_in_forearm_sensor = moments(self.track, own, offset_s, self.params)
            .and_then(|moments| Some(moments.first()?.off_axis(heading_rad).1))
            .unwrap_or_else(Vector3::z);
        let mut sum = Vector3::zeros();
        for look in own {
            if let Some(pose) = self.track.at(look.t_s - offset_s) {
                let in_hand_world =
                    turn.inverse() * (pose.world_from_sensor * axis_in_forearm_sensor);
                sum += look.world_from_hand.inverse() * in_hand_world;
            }
        }
        Hinge {
            axis_in_hand_sensor: sum.try_normalize(1e-9).unwrap_or_else(Vector3::z),
            axis_in_forearm_sensor,
        }
    }

    pub(super) fn size(&self) -> usize {
        self.knots_s.len() + 4 * self.bouts_count + 1
    }

    /// The knots on both sides of a time, with their shares.
    pub(super) fn knots_at(&self, t_s: f64) -> [(usize, f64); 2] {
        self.knots_on_line(t_s)
            .map(|(knot, part)| (knot, part.clamp(0.0, 1.0)))
    }

    /// The same, on the lines through the outer knots beyond the ends.
    fn knots_on_line(&self, t_s: f64) -> [(usize, f64); 2] {
        let after = self
            .knots_s
            .partition_point(|knot_s| *knot_s <= t_s)
            .clamp(1, self.knots_s.len().max(2) - 1);
        let before = after - 1;
        let (Some(a_s), Some(b_s)) = (self.knots_s.get(before), self.knots_s.get(after)) else {
            return [(0, 1.0), (0, 0.0)];
        };
        let part = (t_s - a_s) / (b_s - a_s);
        [(before, 1.0 - part), (after, part)]
    }

    /// From far away: with a heading that drifts evenly and a wrist that plays a lot, so that
    /// neither drift nor doubt can explain a wrong heading.
    pub(super) fn fit_from_afar(&self, start: State) -> State {
        let play =
            |play_deg: f64| vec![Matrix2::identity() / play_deg.to_radians(); self.bouts_count];
        let afar = self.fit_with(State {
            spreads: play(AFAR_PLAY_DEG),
            stiff: true,
            ..start
        });
        self.fit(State {
            spreads: play(self.params.play_deg),
            stiff: false,
            ..afar
        })
    }

    /// Fits, takes the wrist's own spread for its play, and fits again.
    pub(super) fn fit(&self, start: State) -> State {
        let mut state = self.fit_with(start);
        for _ in 0..SPREADS_COUNT {
            let equations = self.equations(&state);
            state.spreads = equations
                .offs
                .iter()
                .map(|(sum, weights)| whitening(&(sum / weights.max(1e-9)), self.params))
                .collect();
            state = self.fit_with(state);
        }
        state
    }

    pub(super) fn fit_with(&self, start: State) -> State {
        let mut state = start;
        let mut equations = self.equations(&state);
        state.cost = equations.cost;
        for _ in 0..STEPS_COUNT {
            let Some(cholesky) = equations.normal.clone().cholesky() else {
                break;
            };
            let step = cholesky.solve(&equations.right);
            let mut part = 1.0;
            let mut taken = None;
            for _ in 0..4 {
                let next = self.moved(&state, &(&step * part));
                let own = self.equations(&next);
                if own.cost < state.cost {
                    taken = Some((next, own));
                    break;
                }
                part *= 0.4;
            }
            let Some((next, own)) = taken else { break };
            let gained = state.cost - own.cost;
            state = State {
                cost: own.cost,
                ..next
            };
            equations = own;
            if gained < 1e-4 * state.cost.max(1e-3) {
                break;
            }
        }
        state
    }

    fn moved(&self, state: &State, step: &DVector<f64>) -> State {
        let by = |index: usize| step.get(index).copied().unwrap_or(0.0);
        let mut next = state.clone();
        for (index, knot) in next.knots_rad.iter_mut().enumerate() {
            *knot += by(index);
        }
        for (index, hinge) in next.hinges.iter_mut().enumerate() {
            let at = self.knots_s.len() + 4 * index;
            let turned = |axis: &Vector3<f64>, at: usize| {
                let [a, b] = across(axis);
                (axis + a * by(at) + b * by(at + 1)).normalize()
            };
            hinge.axis_in_hand_sensor = turned(&hinge.axis_in_hand_sensor, at);
            hinge.axis_in_forearm_sensor = turned(&hinge.axis_in_forearm_sensor, at + 2);
        }
        if state.offset_free {
            next.offset_s = (next.offset_s + by(self.size() - 1).clamp(-0.05, 0.05))
                .clamp(-self.params.most_offset_s, self.params.most_offset_s);
        }
        next
    }
}

/// What makes deviations with this second moment of unit size, none taken for smaller than the least.
fn whitening(moment: &Matrix2<f64>, params: &HeadingParams) -> Matrix2<f64> {
    let eigen = SymmetricEigen::new(*moment);
    let least = params.least_play_deg.to_radians().powi(2);
    let most = params.most_play_deg.to_radians().powi(2);
    let scales = eigen
        .eigenvalues
        .map(|value| value.clamp(least, most).sqrt().recip());
    Matrix2::from_diagonal(&scales) * eigen.eigenvectors.transpose()
}

/// Two directions across an axis.
pub(super) fn across(axis: &Vector3<f64>) -> [Vector3<f64>; 2] {
    let other = if axis.x.abs() < 0.6 {
        Vector3::x()
    } else {
        Vector3::y()
    };
    let first = axis.cross(&other).normalize();
    [first, axis.cross(&first)]
}
