//! Watches the wear of one set: everything that is looked for, sample by sample.
//!
//! Ours. The same watch serves live use and the analysis of a recording; only the orientations that
//! it is given differ.

use super::alive::AliveParams;
use super::axes::{Axes, Piece};
use super::forearm::{ForearmParams, on_forearm};
use super::pose::Poses;
use super::slip::{Slip, SlipParams};
use super::turned::{Asked, Fitted, TurnedParams, agrees, face_down, turned};
use super::ways::{Ways, WaysParams};
use super::{WearFinding, WearKind};
use crate::joint::{lift_axis_in_hand, world_from_forearm};
use crate::movement::{JointAxis, Movement, Posture, Side};
use crate::orientation::Oriented;

/// Everything that is looked for.
#[derive(Debug, Clone, PartialEq)]
pub struct WearParams {
    /// Signs of life.
    pub alive: AliveParams,
    /// Without a sign of life for so long before anything moved, nobody wears it, seconds (6).
    pub lying_s: f64,
    /// The same once something moved, seconds (10): a pause of a very quiet hand.
    pub lying_later_s: f64,
    /// Slips.
    pub slip: SlipParams,
    /// Seats that contradict the calibration.
    pub turned: TurnedParams,
    /// The arm's ways.
    pub ways: WaysParams,
    /// On the forearm.
    pub forearm: ForearmParams,
    /// It is looked so often, seconds (1).
    pub every_s: f64,
}

impl Default for WearParams {
    fn default() -> Self {
        WearParams {
            alive: AliveParams::default(),
            lying_s: 6.0,
            lying_later_s: 10.0,
            slip: SlipParams::default(),
            turned: TurnedParams::default(),
            ways: WaysParams::default(),
            forearm: ForearmParams::default(),
            every_s: 1.0,
        }
    }
}

/// Poses without a sign of life for so long are no hand's, seconds.
const LIFELESS_S: f64 = 1.0;

/// An axis that stands more upright than this is not seen by gravity.
const MOST_UPRIGHT: f64 = 0.7;

/// What is known of a set before it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WearContext {
    /// The movement announced.
    pub movement: Movement,
    /// How the arm is held, as announced.
    pub posture: Option<Posture>,
    /// The calibration in force.
    pub fitted: Option<Fitted>,
    /// Whether the unit's +z is known to leave it on the upper side.
    pub face_known: bool,
    /// The arm's ways since the calibration.
    pub ways: Ways,
}

/// What the unit shows of the movement.
#[derive(Debug, Clone, Default)]
struct Motion {
    axes: Axes,
    pieces: Vec<Piece>,
    poses: Poses,
}

impl Motion {
    /// Takes the next orientation; what lies on a table shows nothing of a hand.
    fn push(&mut self, now: &Oriented, lies: bool) -> Option<Piece> {
        if !lies {
            self.poses.push(now);
        }
        let piece = self.axes.push(now);
        self.pieces.extend(piece);
        piece
    }
}

/// The watch over one set.
#[derive(Debug, Clone)]
pub struct WearWatch {
    params: WearParams,
    context: WearContext,
    start_s: Option<f64>,
    looked_s: f64,
    own: Motion,
    /// The motion against the forearm, from when on it is known,
    against_forearm: Option<Motion>,
    /// and whether that is from the set's start on: what begins within a lift may pass for one the
    /// opposite way.
    against_from_start: bool,
    slip: Slip,
    found: Vec<WearFinding>,
}

impl WearWatch {
    /// A watch over a set; `None` where nothing could be told of it: a movement of the whole arm.
    pub fn new(context: WearContext, params: WearParams) -> Option<WearWatch> {
        context.movement.joint_axis()?;
        Some(WearWatch {
            slip: Slip::new(params.slip.clone()),
            params,
            context,
            start_s: None,
            looked_s: f64::NEG_INFINITY,
            own: Motion::default(),
            against_forearm: None,
            against_from_start: false,
            found: Vec::new(),
        })
    }

    /// Takes the next orientation of the set, the same as the forearm sees it where it has a unit
    /// that is used and it is sure how it sees it, and for how long the unit has shown no sign of life, seconds. Returns what is
    /// found with it.
    pub fn push(
        &mut self,
        now: &Oriented,
        seen: Option<&Oriented>,
        lifeless_s: f64,
    ) -> Vec<WearFinding> {
        let first = self.start_s.is_none();
        self.start_s.get_or_insert(now.t_s);
        let lies = lifeless_s >= LIFELESS_S;
        let piece = self.own.push(now, lies);
        // A forearm that moves along turns poses and axes as a slip does, or a unit that sits
        // otherwise.
        let piece = match seen {
            // What is taken off is changing: axes before and after do not compare.
            None if self.against_forearm.is_some() => {
                self.slip = Slip::new(self.params.slip.clone());
                None
            }
            Some(seen) => {
                if self.against_forearm.is_none() {
                    self.slip = Slip::new(self.params.slip.clone());
                    self.against_from_start = first;
                }
                self.against_forearm
                    .get_or_insert_default()
                    .push(seen, lies)
            }
            None => piece,
        };
        if let Some(piece) = &piece {
            self.slip.push(piece);
        }
        let known = self.found.len();
        self.look_for_life(now.t_s, lifeless_s);
        if first || now.t_s - self.looked_s >= self.params.every_s {
            self.looked_s = now.t_s;
            self.look(self.params.turned.least_count);
        }
        self.found.get(known..).unwrap_or(&[]).to_vec()
    }

    /// The end of the set: all that was found.
    pub fn finish(mut self) -> Vec<WearFinding> {
        self.look(1);
        self.found
    }

    fn add(&mut self, finding: WearFinding) {
        if self.found.iter().all(|known| known.kind != finding.kind) {
            self.found.push(finding);
        }
    }

    fn look_for_life(&mut self, t_s: f64, lifeless_s: f64) {
        let needed_s = if self.own.pieces.is_empty() {
            self.params.lying_s
        } else {
            self.params.lying_later_s
        };
        if lifeless_s >= needed_s {
            self.add(WearFinding {
                kind: WearKind::LeftLying,
                or: None,
                since_s: t_s - lifeless_s,
                evidence_deg: None,
                evidence_s: Some(lifeless_s),
            });
        }
    }

    fn look(&mut self, least_count: usize) {
        let mut found = Vec::new();
        found.extend(self.slip.found());
        let lying = self.found.iter().any(|f| f.kind == WearKind::LeftLying);
        if !lying && let Some(fitted) = &self.context.fitted {
            found.extend(self.seat(fitted, least_count));
        }
        if !lying && self.shows_on_forearm() {
            let start_s = self.start_s.unwrap_or(0.0);
            found.extend(on_forearm(&self.own.poses, start_s, &self.params.forearm));
        }
        for finding in found {
            self.add(finding);
        }
    }

    /// Whether a unit on the forearm would show itself: the forearm does not turn along, and gravity
    /// sees the movement.
    fn shows_on_forearm(&self) -> bool {
        let movement = self.context.movement;
        let rotates = movement.joint_axis() == Some(JointAxis::Rotation);
        let level = |posture: &Posture| {
            let axis_in_hand = lift_axis_in_hand(movement, Side::Right);
            axis_in_hand.is_some_and(|axis_in_hand| {
                let axis = world_from_forearm(posture, Side::Right) * axis_in_hand;
                axis.z.abs() <= MOST_UPRIGHT
            })
        };
        !rotates && self.context.posture.as_ref().is_some_and(level)
    }

    fn seat(&self, fitted: &Fitted, least_count: usize) -> Vec<WearFinding> {
        let params = &self.params.turned;
        let mut found = Vec::new();
        if self.context.face_known {
            found.extend(face_down(fitted, params));
        }
        let asked = Asked {
            movement: self.context.movement,
            posture: self.context.posture.unwrap_or(fitted.posture),
        };
        let against_forearm = self.against_forearm.as_ref();
        let Motion { poses, pieces, .. } = against_forearm
            .filter(|_| self.against_from_start)
            .unwrap_or(&self.own);
        found.extend(turned(fitted, &asked, poses, pieces, least_count, params));
        let flexion = |movement: Movement| movement.joint_axis() == Some(JointAxis::Flexion);
        let ways = &self.context.ways;
        if flexion(fitted.movement)
            && flexion(self.context.movement)
            && ways.of_other_hand(&self.params.ways)
            && agrees(fitted, &asked, poses, pieces, params)
        {
            found.push(WearFinding {
                kind: WearKind::OtherHand,
                or: None,
                since_s: fitted.at_s,
                evidence_deg: None,
                evidence_s: Some(ways.little_s),
            });
        }
        found
    }
}
