//! The heading between two units and the offset of their clocks, from the joint between them.
//!
//! Source of the constraint: D. Laidig, D. Lehmann, M.-A. Bégin, T. Seel, "Magnetometer-free
//! realtime inertial motion tracking by exploitation of kinematic constraints in 2-DoF joints",
//! EMBC 2019, pp. 1233-1238, doi:10.1109/EMBC.2019.8857535: the axes of a joint are fixed in its
//! two segments, and only the true relative heading keeps them so; of the axes: F. Olsson, M. Kok,
//! T. Seel, K. Halvorsen, Sensors 20:3534, 2020, doi:10.3390/s20123534.
//!
//! Ours: one movement turns the wrist mainly about one axis, so that axis, taken from hand to
//! forearm, has to stay where it is. Axes, heading and clock offset are sought together, by
//! Gauss-Newton over all of the record (or what live use remembers) instead of over a short window:
//! the heading is a line of knots that drift as gyroscopes do, and every bout of movement has its
//! own axis in hand and forearm. The wrist's second angle and its play are taken for noise of a few
//! degrees that lasts about a second, and what is far off weighs little. The normal equations tell
//! how well the heading is known: a forearm that keeps still shows none, and needs none.

use nalgebra::{UnitQuaternion, Vector3};

use super::fit::{Problem, State};
use super::looks::{Look, home, looks, starts};
use super::track::ForearmTrack;
use crate::orientation::Oriented;

/// An offset has to make the whole likelier by so much (half of three standard deviations squared).
const SHOWN_GAIN: f64 = 4.5;

/// How the heading is sought.
#[derive(Debug, Clone, PartialEq)]
pub struct HeadingParams {
    /// Time between two looks at the joint, seconds (0.1).
    pub step_s: f64,
    /// Time between two knots of the heading, seconds (10). Longer cannot follow a drift that
    /// changes, shorter lets the movement into it.
    pub knot_s: f64,
    /// How far the movement's axis leaves its place as a wrist is no hinge, degrees (2).
    pub play_deg: f64,
    /// What it is taken for at least, degrees (0.5), and at most (10): the rest is the bout's own.
    pub least_play_deg: f64,
    /// See `least_play_deg`.
    pub most_play_deg: f64,
    /// How long such a deviation lasts, seconds (1): looks nearer to each other say little new.
    pub alike_s: f64,
    /// Drift between the units, deg/s (1): a unit whose bias nothing told may do so much. Smaller
    /// values hold a heading where it is little seen, and make false ramps where it does drift.
    pub drift_deg_s: f64,
    /// Change of that drift from knot to knot, deg/s (0.05).
    pub bend_deg_s: f64,
    /// Farthest clock offset looked for, seconds (1); 0 looks for none. What is found there lies
    /// farther.
    pub most_offset_s: f64,
    /// A clock offset is taken where it is known to so many seconds, as a standard deviation
    /// (0.04).
    pub least_offset_sd_s: f64,
}

impl Default for HeadingParams {
    fn default() -> Self {
        HeadingParams {
            step_s: 0.1,
            knot_s: 10.0,
            play_deg: 2.0,
            least_play_deg: 0.5,
            most_play_deg: 10.0,
            alike_s: 1.0,
            drift_deg_s: 1.0,
            bend_deg_s: 0.05,
            most_offset_s: 1.0,
            least_offset_sd_s: 0.04,
        }
    }
}

/// A bout in which the wrist makes one movement.
#[derive(Debug, Clone, Copy)]
pub struct Bout<'a> {
    /// Orientations of the hand's unit.
    pub hand: &'a [Oriented],
}

/// The axis of a bout, fixed in hand and forearm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hinge {
    /// Seen from the hand's unit.
    pub axis_in_hand_sensor: Vector3<f64>,
    /// Seen from the forearm's unit.
    pub axis_in_forearm_sensor: Vector3<f64>,
}

/// A clock offset and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// To be added to the stamps of the forearm's unit, seconds.
    pub offset_s: f64,
    /// Its standard deviation, seconds.
    pub sd_s: f64,
}

/// What was found between two units.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Times of the knots, seconds, in order.
    knots_s: Vec<f64>,
    /// Heading at the knots, radians: the turn about the vertical from the hand's world to the
    /// forearm's.
    knots_rad: Vec<f64>,
    /// The clock offset, where the motion shows it.
    pub offset: Option<Offset>,
    /// Standard deviation of the heading as a whole, degrees.
    pub sd_deg: f64,
    /// The axis of each bout.
    pub hinges: Vec<Hinge>,
    /// How well the heading is known in each bout.
    pub bouts: Vec<BoutTold>,
    /// Whether the clocks are apart by more than was looked for.
    pub beyond_offset: bool,
}

/// How well the heading is known in a bout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoutTold {
    /// Standard deviation of the heading in its middle, degrees; 180 is not at all.
    pub sd_deg: f64,
    /// Standard deviation of its drift from the bout's start to its end, degrees.
    pub drift_sd_deg: f64,
    /// How far the movement's axis leaves its place in hand and forearm, degrees (root mean square).
    pub off_deg: f64,
}

/// Looser than this, degrees, hand and forearm are no two sides of one wrist: simulated wrists that are
/// bent, oblique, wandering and loose come to 4, units whose clocks are apart by more than was looked
/// for, or that were swapped for others, to 4.5 and more.
const MOST_OFF_DEG: f64 = 4.5;

impl BoutTold {
    /// Whether hand and forearm move as the two sides of one wrist.
    pub fn of_one_joint(&self) -> bool {
        self.off_deg <= MOST_OFF_DEG
    }
}

/// What was known of the heading before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// When, seconds.
    pub t_s: f64,
    /// The heading then, radians.
    pub heading_rad: f64,
    /// Its standard deviation then, radians.
    pub sd_rad: f64,
}

impl Heading {
    /// A heading that stays the same.
    pub fn constant(heading_rad: f64) -> Heading {
        Heading {
            knots_s: vec![0.0],
            knots_rad: vec![heading_rad],
            offset: None,
            sd_deg: 0.0,
            hinges: Vec::new(),
            bouts: Vec::new(),
            beyond_offset: false,
        }
    }

    /// Heading at a time, radians: straight between knots, level beyond the ends.
    pub fn at_rad(&self, t_s: f64) -> f64 {
        let ([first, ..], [.., last]) = (self.knots_rad.as_slice(), self.knots_rad.as_slice())
        else {
            return 0.0;
        };
        let after = self.knots_s.partition_point(|knot_s| *knot_s <= t_s);
        let Some(before) = after.checked_sub(1) else {
            return *first;
        };
        let ends = (
            self.knots_s.get(before).zip(self.knots_rad.get(before)),
            self.knots_s.get(after).zip(self.knots_rad.get(after)),
        );
        match ends {
            (Some((a_s, a)), Some((b_s, b))) => a + (b - a) * (t_s - a_s) / (b_s - a_s),
            _ => *last,
        }
    }

    /// The turn from the hand's world to the forearm's.
    pub fn forearm_world_from_hand_world(&self, t_s: f64) -> UnitQuaternion<f64> {
        UnitQuaternion::from_axis_angle(&Vector3::z_axis(), self.at_rad(t_s))
    }

    /// The clock offset that is used, seconds: 0 where none is shown.
    pub fn offset_s(&self) -> f64 {
        self.offset.map_or(0.0, |offset| offset.offset_s)
    }
}

/// Seeks the heading; `None` where both units say nothing together.
pub fn solve(
    track: &ForearmTrack,
    bouts: &[Bout],
    params: &HeadingParams,
    prior: Option<Prior>,
) -> Option<Heading> {
    let looks = looks(bouts, params);
    // Sought twice, from all around: what an offset explains while little is seen may lead astray.
    let one_clock = HeadingParams {
        most_offset_s: 0.0,
        ..params.clone()
    };
    let of_one_clock = sought(track, &looks, bouts.len(), &one_clock, prior)?;
    if params.most_offset_s <= 0.0 {
        return Some(heading(&of_one_clock.0, of_one_clock.1, None));
    }
    let of_two = sought(track, &looks, bouts.len(), params, prior)?;
    Some(shown(
        (&of_one_clock.0, of_one_clock.1),
        (&of_two.0, of_two.1),
    ))
}

/// The likeliest fit from all around.
fn sought<'a>(
    track: &'a ForearmTrack,
    looks: &'a [Look],
    bouts_count: usize,
    params: &'a HeadingParams,
    prior: Option<Prior>,
) -> Option<(Problem<'a>, State)> {
    let home = home(track, looks, params);
    let (starts, offset_s) = starts(track, looks.get(home.clone())?, params)?;
    let mut problem = Problem::new(track, looks, home.clone(), bouts_count, params, prior)?;
    let mut best: Option<State> = None;
    let known = prior.map(|prior| prior.heading_rad);
    for heading_rad in starts.into_iter().chain(known) {
        let state = problem.fit_from_afar(problem.start(heading_rad, offset_s));
        if best.as_ref().is_none_or(|best| state.cost < best.cost) {
            best = Some(state);
        }
    }
    let at_home = best?;
    // From there outwards, each time with what was found so far: a drift carries on.
    let mut range = home.clone();
    let mut best = at_home.clone();
    while range.len() < looks.len() {
        let more = (range.len() / 2).max(1);
        range = range.start.saturating_sub(more)..(range.end + more).min(looks.len());
        let wider = Problem::new(track, looks, range.clone(), bouts_count, params, prior)?;
        best = wider.fit_with(wider.carried_on(&problem, &best));
        problem = wider;
    }
    let best = problem.fit(best);
    // A drift that is carried on may run away: as likely as that it has to be than none at all.
    let home = Problem::new(track, looks, home, bouts_count, params, prior)?;
    let level = problem.fit(problem.held_on(&home, &at_home));
    let best = if level.cost < best.cost { level } else { best };
    Some((problem, best))
}

/// Seeks the heading from one that was found before, with more or other looks, whose clock offset is
/// taken off already; `None` where both units say nothing together.
pub fn refit(
    track: &ForearmTrack,
    bouts: &[Bout],
    params: &HeadingParams,
    before: &Heading,
    prior: Option<Prior>,
) -> Option<Heading> {
    let looks = looks(bouts, params);
    let problem = Problem::new(track, &looks, 0..looks.len(), bouts.len(), params, prior)?;
    let of_one_clock = problem.fit(problem.start_from(before));
    let of_two = problem.fit(of_one_clock.with_offset());
    Some(shown((&problem, of_one_clock), (&problem, of_two)))
}

/// The fit with a clock offset where the motion shows it; else the one without.
fn shown(of_one_clock: (&Problem, State), of_two: (&Problem, State)) -> Heading {
    let (problem, state) = of_two;
    let gained = of_one_clock.1.cost - state.cost;
    let told = problem.told(&state);
    let sd_s = told.offset_sd_s.filter(|_| gained > SHOWN_GAIN);
    match sd_s.filter(|sd_s| *sd_s <= problem.params.least_offset_sd_s) {
        Some(sd_s) => {
            let offset_s = state.offset_s;
            heading(problem, state, Some(Offset { offset_s, sd_s }))
        }
        None => heading(of_one_clock.0, of_one_clock.1, None),
    }
}

fn heading(problem: &Problem, state: State, offset: Option<Offset>) -> Heading {
    let told = problem.told(&state);
    let most_s = problem.params.most_offset_s;
    Heading {
        beyond_offset: offset.is_some_and(|offset| offset.offset_s.abs() >= most_s),
        knots_s: problem.knots_s.clone(),
        knots_rad: state.knots_rad,
        offset,
        sd_deg: told.sd_deg,
        hinges: state.hinges,
        bouts: told.bouts,
    }
}
