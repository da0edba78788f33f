//! The relative heading as the samples come.
//!
//! Ours: now and then the fit of [`super::heading`] is made anew over what is remembered: the looks of
//! the calibration, the last minute and a half of the set, and what was before that thinned. It begins from the fit before, or from
//! all around while the heading is hardly known and the forearm has moved since. The clock offset is
//! not sought: what comes live is on one clock already, to some hundredths of a second.

use super::heading::{Bout, Heading, HeadingParams, Prior, refit, solve};
use super::track::{ForearmPose, ForearmTrack};
use crate::orientation::Oriented;

/// Time between two fits, seconds,
const EVERY_S: f64 = 1.0;
/// and where the heading is known well.
const EVERY_SURE_S: f64 = 5.0;
/// All looks of a bout are kept so long, seconds,
const KEPT_S: f64 = 90.0;
/// and of the older ones one in so many seconds (a hair less than whole seconds of looks).
const THINNED_S: f64 = 0.95;
/// Time between two looks, seconds.
const LOOK_S: f64 = 0.1;
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

/// Follows the relative heading.
#[derive(Debug, Clone)]
pub struct LiveHeading {
    params: HeadingParams,
    /// Looks of the calibration, then of the set: hand and forearm, at the same moments.
    bouts: [Vec<(Oriented, Oriented)>; 2],
    /// The set is under way.
    open: Option<usize>,
    fitted_s: f64,
    turned_rad: f64,
    found: Option<Heading>,
    prior: Option<Prior>,
}

impl Default for LiveHeading {
    fn default() -> Self {
        LiveHeading {
            params: HeadingParams {
                most_offset_s: 0.0,
                ..HeadingParams::default()
            },
            bouts: [Vec::new(), Vec::new()],
            open: None,
            fitted_s: f64::NEG_INFINITY,
            turned_rad: f64::INFINITY,
            found: None,
            prior: None,
        }
    }
}

impl LiveHeading {
    /// The looks of a calibration, which stands for the hand's and the forearm's neutral pose.
    pub fn calibrated(&mut self, looks: &[(Oriented, ForearmPose)]) {
        self.keep_as_prior();
        let mut latest_s = f64::NEG_INFINITY;
        let mut kept = Vec::new();
        for (hand, forearm) in looks {
            if hand.t_s - latest_s >= LOOK_S {
                latest_s = hand.t_s;
                kept.push((*hand, beside(hand, forearm)));
            }
        }
        let [calibration, set] = &mut self.bouts;
        *calibration = kept;
        set.clear();
        self.open = None;
        self.turned_rad = f64::INFINITY;
        self.fit(latest_s);
    }

    /// A set begins.
    pub fn begin(&mut self) {
        self.keep_as_prior();
        let [_, set] = &mut self.bouts;
        set.clear();
        self.open = Some(1);
        self.fitted_s = f64::NEG_INFINITY;
    }

    /// The set is over.
    pub fn end(&mut self) {
        self.open = None;
    }

    /// The heading found last; `None` where none is known.
    pub fn known(&self) -> Option<&Heading> {
        self.found
            .as_ref()
            .filter(|heading| best_sd_deg(heading) <= KNOWN_DEG)
    }

    /// Takes both units at one moment; tells whether the heading was found anew.
    pub fn push(&mut self, hand: &Oriented, forearm: &ForearmPose) -> bool {
        if self.open.is_none() {
            return false;
        }
        let [_, set] = &mut self.bouts;
        if let Some((last, _)) = set.last()
            && hand.t_s - last.t_s < LOOK_S
        {
            return false;
        }
        let own = beside(hand, forearm);
        if let Some((_, last)) = set.last() {
            self.turned_rad += last.world_from_sensor.angle_to(&own.world_from_sensor);
        }
        set.push((*hand, own));
        let known = self
            .found
            .as_ref()
            .is_some_and(|found| best_sd_deg(found) <= SURE_DEG);
        let every_s = if known { EVERY_SURE_S } else { EVERY_S };
        if hand.t_s - self.fitted_s < every_s || set.len() < LEAST_LOOKS {
            return false;
        }
        // Without the older ones nothing would hold the heading of the neutral pose to today's.
        let mut latest_s = f64::NEG_INFINITY;
        set.retain(|(look, _)| {
            let kept = look.t_s >= hand.t_s - KEPT_S || look.t_s - latest_s >= THINNED_S;
            if kept {
                latest_s = look.t_s;
            }
            kept
        });
        self.fit(hand.t_s)
    }

    fn fit(&mut self, t_s: f64) -> bool {
        self.fitted_s = t_s;
        let hand: Vec<Vec<Oriented>> = self
            .bouts
            .iter()
            .map(|looks| looks.iter().map(|(hand, _)| *hand).collect())
            .collect();
        let forearm: Vec<Oriented> = self
            .bouts
            .iter()
            .flatten()
            .map(|(_, forearm)| *forearm)
            .collect();
        let bouts: Vec<Bout> = hand.iter().map(|hand| Bout { hand }).collect();
        let track = ForearmTrack::new(&forearm);
        let sure = self
            .found
            .as_ref()
            .is_some_and(|found| best_sd_deg(found) <= SURE_DEG);
        let found = match &self.found {
            Some(found) if sure || self.turned_rad < ANEW_RAD => {
                refit(&track, &bouts, &self.params, found, self.prior)
            }
            _ => {
                self.turned_rad = 0.0;
                solve(&track, &bouts, &self.params, self.prior)
            }
        };
        let anew = found.is_some();
        if anew {
            self.found = found;
        }
        anew
    }

    /// What is known of the heading when its looks are let go.
    fn keep_as_prior(&mut self) {
        let latest_s = self
            .bouts
            .iter()
            .flatten()
            .map(|(hand, _)| hand.t_s)
            .fold(f64::NEG_INFINITY, f64::max);
        if let Some(found) = &self.found
            && latest_s.is_finite()
        {
            self.prior = Some(Prior {
                t_s: latest_s,
                heading_rad: found.at_rad(latest_s),
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

/// How well a heading is known where it is known best, degrees.
fn best_sd_deg(heading: &Heading) -> f64 {
    let bouts = heading.bouts.iter().map(|told| told.sd_deg);
    bouts.fold(f64::INFINITY, f64::min)
}

/// The forearm's pose as an orientation at the hand's own moment.
fn beside(hand: &Oriented, forearm: &ForearmPose) -> Oriented {
    Oriented {
        t_s: hand.t_s,
        world_from_sensor: forearm.world_from_sensor,
        gyro_in_sensor_rad_s: forearm.gyro_in_sensor_rad_s,
        accel_in_sensor_m_s2: hand.accel_in_sensor_m_s2,
    }
}
