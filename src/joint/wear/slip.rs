//! Whether the unit slipped on the hand within a set.
//!
//! Ours. The latest pieces of the movement are held against those before: after a slip their axis
//! lies elsewhere in the sensor and where it was in the world. Pieces that turn about more than one
//! line, as the one with the slip in it, are left out. The heading of a 6-axis unit drifts, most of
//! a trembling hand that is never still: how fast is read from the axes before and after, each
//! among themselves, and taken out.

use nalgebra::{Rotation3, Vector3};

use super::axes::{Piece, between_lines_deg, mean_line};
use super::pose::quantile;
use super::{WearFinding, WearKind};

/// When a change of axis is a slip.
#[derive(Debug, Clone, PartialEq)]
pub struct SlipParams {
    /// Least turn of the axis in the sensor, degrees (9): people change their manner by less. A
    /// small value takes wandering axes for slips, a large one misses small slips; 8 to 15.
    pub least_deg: f64,
    /// Greatest turn, degrees (60): a strap lets no unit turn farther, an arm goes elsewhere.
    pub most_deg: f64,
    /// Greatest turn in the world, as a share of that in the sensor (0.45).
    pub world_ratio: f64,
    /// Greatest spread of the axes before, and of those after, as a share of the turn (0.4),
    pub spread_ratio: f64,
    /// and of as few after as are needed (0.25).
    pub few_spread_ratio: f64,
    /// Pieces before and after that are compared (2). More tell later.
    pub least_count: usize,
    /// Most pieces between that may hold a part of the slip (2).
    pub between_count: usize,
    /// Pieces before that are remembered (6).
    pub most_count: usize,
}

impl Default for SlipParams {
    fn default() -> Self {
        SlipParams {
            least_deg: 9.0,
            most_deg: 60.0,
            world_ratio: 0.45,
            spread_ratio: 0.4,
            few_spread_ratio: 0.25,
            least_count: 2,
            between_count: 2,
            most_count: 6,
        }
    }
}

/// Follows the axis from piece to piece.
#[derive(Debug, Clone)]
pub struct Slip {
    params: SlipParams,
    clean: Vec<Piece>,
    found: Option<WearFinding>,
}

impl Slip {
    /// With nothing seen.
    pub fn new(params: SlipParams) -> Slip {
        Slip {
            params,
            clean: Vec::new(),
            found: None,
        }
    }

    /// Takes the next piece.
    pub fn push(&mut self, piece: &Piece) {
        if !piece.clean || self.found.is_some() {
            return;
        }
        self.clean.push(*piece);
        let most = self.params.most_count + self.params.between_count + 2 * self.params.least_count;
        let forget = self.clean.len().saturating_sub(most);
        self.clean.drain(..forget);
        // Pieces with a part of the slip in them may pass for clean: they may lie between.
        let least = self.params.least_count;
        for after_count in least..=2 * least {
            let (rest, after) = self.last(after_count);
            for between_count in 0..=self.params.between_count {
                let to = rest.len().saturating_sub(between_count);
                let before = rest.get(..to).unwrap_or(&[]);
                if before.len() >= least
                    && let Some(slip) = self.slip(before, after)
                {
                    self.found = Some(slip);
                    return;
                }
            }
        }
    }

    /// All but the last so many pieces, and those.
    fn last(&self, count: usize) -> (&[Piece], &[Piece]) {
        self.clean
            .split_at_checked(self.clean.len().saturating_sub(count))
            .unwrap_or((&[], &[]))
    }

    fn slip(&self, before: &[Piece], after: &[Piece]) -> Option<WearFinding> {
        let drift_rad_s = drift_rad_s(&[before, after]);
        let since_s = before.last()?.end_s;
        let [from, to] = [before, after].map(|pieces| {
            let in_sensor = pieces.iter().map(|piece| piece.axis_in_sensor);
            let in_world = pieces.iter().map(|piece| {
                let drifted_rad = drift_rad_s * (middle_s(piece) - since_s);
                Rotation3::from_axis_angle(&Vector3::z_axis(), -drifted_rad) * piece.axis_in_world
            });
            Some([mean_line(in_sensor)?, mean_line(in_world)?])
        });
        let ([from_sensor, from_world], [to_sensor, to_world]) = (from?, to?);
        let turned_deg = between_lines_deg(&from_sensor, &to_sensor);
        let world_deg = between_lines_deg(&from_world, &to_world);
        let spread = |pieces: &[Piece], line: &Vector3<f64>| {
            pieces
                .iter()
                .map(|piece| between_lines_deg(&piece.axis_in_sensor, line))
                .fold(0.0, f64::max)
        };
        let params = &self.params;
        let after_ratio = if after.len() > params.least_count {
            params.spread_ratio
        } else {
            params.few_spread_ratio
        };
        let slipped = (params.least_deg..=params.most_deg).contains(&turned_deg)
            && world_deg <= params.world_ratio * turned_deg
            && spread(before, &from_sensor) <= params.spread_ratio * turned_deg
            && spread(after, &to_sensor) <= after_ratio * turned_deg;
        slipped.then_some(WearFinding {
            kind: WearKind::Slipped,
            or: None,
            since_s,
            evidence_deg: Some(turned_deg),
            evidence_s: None,
        })
    }

    /// The slip, once it is seen.
    pub fn found(&self) -> Option<WearFinding> {
        self.found
    }
}

fn middle_s(piece: &Piece) -> f64 {
    0.5 * (piece.start_s + piece.end_s)
}

/// How fast the heading drifts, rad/s: the middle one of the rates from piece to piece, which says
/// nothing where the axis stands upright.
fn drift_rad_s(groups: &[&[Piece]]) -> f64 {
    let mut rates_rad_s = Vec::new();
    for pieces in groups {
        for (from, to) in pieces.iter().zip(pieces.iter().skip(1)) {
            let [a, b] = [from, to].map(|piece| piece.axis_in_world.xy());
            if a.norm().min(b.norm()) < LEAST_LEVEL {
                continue;
            }
            // Lines have no sense.
            let b = b * a.dot(&b).signum();
            let turned_rad = a.perp(&b).atan2(a.dot(&b));
            let lasting_s = middle_s(to) - middle_s(from);
            if lasting_s > 0.0 {
                rates_rad_s.push(turned_rad / lasting_s);
            }
        }
    }
    if rates_rad_s.len() < LEAST_RATES {
        return 0.0;
    }
    let rate_rad_s = quantile(&rates_rad_s, 0.5).unwrap_or(0.0);
    rate_rad_s.clamp(-MOST_DRIFT_RAD_S, MOST_DRIFT_RAD_S)
}

/// Level share of an axis under which its heading says nothing.
const LEAST_LEVEL: f64 = 0.5;
/// Fewer rates say nothing of a drift.
const LEAST_RATES: usize = 2;
/// No unit drifts faster once it has been still, rad/s: about 1.5 deg/s.
const MOST_DRIFT_RAD_S: f64 = 0.026;
