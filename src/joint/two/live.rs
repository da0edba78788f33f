//! The relative heading as the samples come.
//!
//! Ours: now and then the fit of [`super::heading`] is made anew over what is remembered: the looks of
//! the calibration, the last minute and a half of the set, and what was before that thinned. It begins from the fit before, or from
//! all around while the heading is hardly known and the forearm has moved since. An offset of the
//! clocks that the motion shows is told, and what is remembered of the forearm is set on by it, so
//! that each later fit looks only for what is left of it.

use super::heading::{Bout, BoutTold, Heading, HeadingParams, Prior, refit, solve};
use super::track::ForearmTrack;
use crate::orientation::Oriented;

/// Time between two fits, seconds,
const EVERY_S: f64 = 1.0;
/// and where the heading is known well.
const EVERY_SURE_S: f64 = 5.0;
/// All looks of a bout are kept so long, seconds,
const KEPT_S: f64 = 90.0;
/// and of the older ones one in so many seconds (a hair less than whole seconds of looks).
const THINNED_S: f64 = 0.95;
/// Time between two looks at the hand, seconds,
const LOOK_S: f64 = 0.1;
/// and at the forearm, whose way has to be known between two,
const FOREARM_LOOK_S: f64 = 0.04;
/// and at the older ones of it.
const FOREARM_THINNED_S: f64 = 0.19;
/// Fewer looks are not judged.
const LEAST_LOOKS: usize = 25;
/// A heading known to this is followed from the fit before, degrees.
const SURE_DEG: f64 = 5.0;
/// One that is not is sought anew where the forearm turned by so much meanwhile, radians.
const ANEW_RAD: f64 = 0.15;
/// A heading that is known no better than this is not used, degrees.
pub const KNOWN_DEG: f64 = 25.0;
/// Drift of a heading from one bout to the next, deg/s, for how well it is still known.
const BETWEEN_DEG_S: f64 = 0.03;

/// A forearm that would be heard so much later than the hand is not, whatever its clock, seconds.
const MOST_BEHIND_S: f64 = 0.1;

/// The heading was found anew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Anew {
    /// To be added to the forearm's times from now on, seconds; mostly nothing.
    pub clock_s: f64,
}

/// What is remembered of a bout.
#[derive(Debug, Clone, Default)]
struct Looks {
    hand: Vec<Oriented>,
    forearm: Vec<Oriented>,
}

/// Follows the relative heading.
#[derive(Debug, Clone)]
pub struct LiveHeading {
    calibration: Looks,
    set: Looks,
    /// The set is under way.
    open: bool,
    fitted_s: f64,
    turned_rad: f64,
    found: Option<Heading>,
    prior: Option<Prior>,
}

impl Default for LiveHeading {
    fn default() -> Self {
        LiveHeading {
            calibration: Looks::default(),
            set: Looks::default(),
            open: false,
            fitted_s: f64::NEG_INFINITY,
            turned_rad: f64::INFINITY,
            found: None,
            prior: None,
        }
    }
}

impl LiveHeading {
    /// The hand within a calibration, which stands for the hand's and the forearm's neutral pose,
    /// and the forearm at that time. For `ahead_s` see [`LiveHeading::push`].
    pub fn calibrated(
        &mut self,
        hand: &[Oriented],
        forearm: &[Oriented],
        ahead_s: f64,
    ) -> Option<Anew> {
        self.keep_as_prior();
        self.calibration = Looks::default();
        for own in hand {
            take(&mut self.calibration.hand, own, LOOK_S);
        }
        for own in forearm {
            take(&mut self.calibration.forearm, own, FOREARM_LOOK_S);
        }
        self.set = Looks::default();
        self.open = false;
        self.turned_rad = f64::INFINITY;
        let latest_s = hand.last()?.t_s;
        self.fit(latest_s, ahead_s)
    }

    /// A set begins.
    pub fn begin(&mut self) {
        self.keep_as_prior();
        self.set = Looks::default();
        self.open = true;
        self.fitted_s = f64::NEG_INFINITY;
    }

    /// The set is over.
    pub fn end(&mut self) {
        self.open = false;
    }

    /// The heading found last; `None` where none is known, or the units move as no joint does.
    pub fn known(&self) -> Option<&Heading> {
        let found = self.found.as_ref();
        found.filter(|heading| {
            best_sd_deg(heading) <= KNOWN_DEG && heading.bouts.iter().all(BoutTold::of_one_joint)
        })
    }

    /// Takes the forearm, by its clock as far as it is set on.
    pub fn hear(&mut self, forearm: &Oriented) {
        if !self.open {
            return;
        }
        let last = self.set.forearm.last().copied();
        if take(&mut self.set.forearm, forearm, FOREARM_LOOK_S)
            && let Some(last) = last
        {
            self.turned_rad += last.world_from_sensor.angle_to(&forearm.world_from_sensor);
        }
    }

    /// Takes the hand; tells where the heading was found anew. `ahead_s` is by how much the forearm
    /// was heard beyond that moment: its clock is not put further back than that.
    pub fn push(&mut self, hand: &Oriented, ahead_s: f64) -> Option<Anew> {
        if !self.open || !take(&mut self.set.hand, hand, LOOK_S) {
            return None;
        }
        let known = self
            .found
            .as_ref()
            .is_some_and(|found| best_sd_deg(found) <= SURE_DEG);
        let every_s = if known { EVERY_SURE_S } else { EVERY_S };
        let looks = self.set.hand.len().min(self.set.forearm.len());
        if hand.t_s - self.fitted_s < every_s || looks < LEAST_LOOKS {
            return None;
        }
        // Without the older ones nothing would hold the heading of the neutral pose to today's.
        thin(&mut self.set.hand, hand.t_s - KEPT_S, THINNED_S);
        thin(&mut self.set.forearm, hand.t_s - KEPT_S, FOREARM_THINNED_S);
        self.fit(hand.t_s, ahead_s)
    }

    fn fit(&mut self, t_s: f64, ahead_s: f64) -> Option<Anew> {
        self.fitted_s = t_s;
        let looks = [&self.calibration, &self.set];
        let bouts = looks.map(|looks| Bout { hand: &looks.hand });
        let forearm: Vec<Oriented> = looks
            .iter()
            .flat_map(|looks| looks.forearm.iter().copied())
            .collect();
        let track = ForearmTrack::new(&forearm);
        let sure = self
            .found
            .as_ref()
            .is_some_and(|found| best_sd_deg(found) <= SURE_DEG);
        let params = HeadingParams::default();
        let mut found = match &self.found {
            Some(found) if sure || self.turned_rad < ANEW_RAD => {
                refit(&track, &bouts, &params, found, self.prior)
            }
            _ => {
                self.turned_rad = 0.0;
                solve(&track, &bouts, &params, self.prior)
            }
        }?;
        let offset_s = found.offset.take().map(|offset| offset.offset_s);
        let clock_s = offset_s
            .filter(|offset_s| ahead_s + offset_s >= -MOST_BEHIND_S)
            .unwrap_or(0.0);
        for looks in [&mut self.calibration, &mut self.set] {
            for own in &mut looks.forearm {
                own.t_s += clock_s;
            }
        }
        self.found = Some(found);
        Some(Anew { clock_s })
    }

    /// What is known of the heading when its looks are let go.
    fn keep_as_prior(&mut self) {
        let last = self.set.hand.last().or(self.calibration.hand.last());
        if let (Some(found), Some(last)) = (&self.found, last) {
            self.prior = Some(Prior {
                t_s: last.t_s,
                heading_rad: found.at_rad(last.t_s),
                sd_rad: best_sd_deg(found).to_radians().max(0.02),
            });
        }
    }
}

impl Prior {
    /// How well it is still known later, radians.
    pub fn sd_at_rad(&self, t_s: f64) -> f64 {
        let since_s = (t_s - self.t_s).abs();
        self.sd_rad.hypot((BETWEEN_DEG_S * since_s).to_radians())
    }
}

/// Takes an orientation that is not too near to the one before.
fn take(looks: &mut Vec<Oriented>, own: &Oriented, every_s: f64) -> bool {
    let due = looks
        .last()
        .is_none_or(|last| own.t_s - last.t_s >= every_s);
    if due {
        looks.push(*own);
    }
    due
}

/// Keeps of what is older than a time one in so many seconds.
fn thin(looks: &mut Vec<Oriented>, before_s: f64, every_s: f64) {
    let mut latest_s = f64::NEG_INFINITY;
    looks.retain(|own| {
        let kept = own.t_s >= before_s || own.t_s - latest_s >= every_s;
        if kept {
            latest_s = own.t_s;
        }
        kept
    });
}

/// How well a heading is known where it is known best, degrees.
fn best_sd_deg(heading: &Heading) -> f64 {
    let bouts = heading.bouts.iter().map(|told| told.sd_deg);
    bouts.fold(f64::INFINITY, f64::min)
}
