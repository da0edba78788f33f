//! The sets of a recording as the forearm sees them.
//!
//! Ours: the heading between both units is sought once, over the calibrations and all sets that lie
//! between the two; each set then has its own sight.

use nalgebra::Vector3;

use super::forearm::{
    AngleBy, ForearmPart, OneSensorWhy, STILL_DEG, angle_sd_deg, blind_to, unnamed,
};
use super::set::total_s;
use super::sets::SetSpec;
use crate::joint::CalibrationWindows;
use crate::joint::two::{
    Bout, ForearmTrack, Heading, HeadingParams, Seen, pose_at, seen_from_forearm, solve,
};
use crate::orientation::{
    Oriented, RateMeaning, SmootherParams, StillParams, StillSpan, smooth, still_spans,
};
use crate::recording::Recording;

/// A heading that is known no better than this takes nothing off, degrees: a turn that is taken off
/// about an axis so far away is as wrong as the turn itself.
const MOST_SD_DEG: f64 = 57.0;
/// Drift between two units whose bias stillness told, deg/s, and without it: what is not seen of it
/// is no more.
const DRIFT_DEG_S: [f64; 2] = [0.05, 1.0];

/// Both units of a recording.
pub struct Forearm {
    oriented: Vec<Oriented>,
    heading: Option<Heading>,
    /// Drift between the units where it is not seen, deg/s.
    drift_deg_s: f64,
    /// Start of each bout, seconds, in the order of the heading's.
    bouts_s: Vec<f64>,
}

/// A set as the forearm sees it.
pub struct Sight {
    /// What is said of it.
    pub part: ForearmPart,
    /// The hand seen from the forearm; `None` where one sensor has to do.
    pub seen: Option<Seen>,
    /// The same where the two units are taken for no one joint, which a slip may be the reason of:
    /// for the look at how they are worn.
    pub loosely_seen: Option<Seen>,
    /// The calibration's samples, seen likewise, where it shares the reference pose.
    pub calibration: Option<Vec<Oriented>>,
}

impl Forearm {
    /// Looks for the heading between both units; `None` where the recording has but one.
    pub fn of(
        recording: &Recording,
        specs: &[SetSpec],
        calibrations: &[CalibrationWindows],
        hand: &[Oriented],
        hand_still: &[StillSpan],
    ) -> Option<Forearm> {
        if recording.forearm.is_empty() {
            return None;
        }
        let still = still_spans(&recording.forearm, &StillParams::default());
        let oriented = smooth(
            &recording.forearm,
            &still,
            &SmootherParams {
                rate_meaning: RateMeaning::AtInstant,
                ..SmootherParams::default()
            },
        );
        let mut spans: Vec<[f64; 2]> = calibrations
            .iter()
            .filter(|windows| blind_to(Some(windows.movement)).is_none())
            .map(|windows| [windows.still_start_s, windows.move_end_s])
            .chain(
                specs
                    .iter()
                    .filter(|spec| blind_to(spec.movement).is_none())
                    .map(|spec| [spec.start_s, spec.end_s]),
            )
            .collect();
        spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let bouts: Vec<Bout> = spans
            .iter()
            .map(|[from_s, to_s]| Bout {
                hand: between(hand, *from_s, *to_s),
            })
            .collect();
        let params = HeadingParams::default();
        let heading = solve(&ForearmTrack::new(&oriented), &bouts, &params, None);
        let [known, unknown] = DRIFT_DEG_S;
        let told = !still.is_empty() && !hand_still.is_empty();
        Some(Forearm {
            oriented,
            heading,
            drift_deg_s: if told { known } else { unknown },
            bouts_s: spans.iter().map(|[from_s, _]| *from_s).collect(),
        })
    }

    /// A set as the forearm sees it. `hand` are the orientations of the whole recording, `own` those
    /// of the set.
    pub fn sight(
        &self,
        spec: &SetSpec,
        windows: Option<&CalibrationWindows>,
        hand: &[Oriented],
        own: &[Oriented],
    ) -> Sight {
        let one_sensor = |part: ForearmPart| Sight {
            part,
            seen: None,
            loosely_seen: None,
            calibration: None,
        };
        let track = ForearmTrack::new(&self.oriented);
        let heading = match (&self.heading, blind_to(spec.movement)) {
            (_, Some(why)) => {
                let seen = self.seen_alone(own);
                return one_sensor(ForearmPart {
                    travel_deg: seen.travel_deg,
                    unheard_s: lasting_s(&seen),
                    ..ForearmPart::one_sensor(why)
                });
            }
            (None, None) => return one_sensor(ForearmPart::one_sensor(OneSensorWhy::NotHeard)),
            (Some(heading), None) => heading,
        };
        let first = own.iter().find_map(|o| pose_at(&track, heading, o.t_s));
        let Some(first) = first else {
            return one_sensor(ForearmPart::one_sensor(OneSensorWhy::NotHeard));
        };
        // A turn of the forearm cannot be seen from its unit, which turns along.
        let shown = windows.filter(|windows| blind_to(Some(windows.movement)).is_none());
        let neutral = shown.and_then(|windows| {
            let middle_s = 0.5 * (windows.still_start_s + windows.still_end_s);
            Some((windows, pose_at(&track, heading, middle_s)?))
        });
        let reference = neutral.map_or(first, |(_, pose)| pose);
        let seen = seen_from_forearm(own, &track, heading, &reference);
        let bout = self.bouts_s.iter().position(|s| *s == spec.start_s);
        let told = bout.and_then(|bout| heading.bouts.get(bout).zip(heading.hinges.get(bout)));
        let sd_deg = told.map_or(180.0, |(told, _)| told.sd_deg);
        let upright_ratio = told.map_or(1.0, |(_, hinge)| {
            (first * hinge.axis_in_forearm_sensor)
                .dot(&Vector3::z())
                .abs()
        });
        let set_s = match (own.first(), own.last()) {
            (Some(first), Some(last)) => last.t_s - first.t_s,
            _ => 0.0,
        };
        let drift_sd_deg = told
            .map_or(180.0, |(told, _)| told.drift_sd_deg)
            .min(self.drift_deg_s * set_s);
        let travel_deg = seen.travel_deg.unwrap_or(0.0);
        let part = ForearmPart {
            angle_by: AngleBy::TwoSensors,
            why: None,
            used_from_s: own.first().map(|first| first.t_s),
            travel_deg: seen.travel_deg,
            heading_sd_deg: Some(sd_deg),
            angle_sd_deg: Some(angle_sd_deg(
                travel_deg,
                sd_deg,
                upright_ratio,
                drift_sd_deg,
            )),
            clock_offset_s: heading.offset.map(|offset| offset.offset_s),
            unheard_s: lasting_s(&seen),
        };
        let why = if sd_deg > MOST_SD_DEG {
            Some(if travel_deg < STILL_DEG {
                OneSensorWhy::ForearmStill
            } else {
                OneSensorWhy::HeadingUnknown
            })
        } else {
            let unnamed = || unnamed(own, &seen.oriented);
            let why = spec.movement.is_none().then(unnamed).flatten();
            let joint = !heading.beyond_offset && told.is_some_and(|(told, _)| told.of_one_joint());
            why.or((!joint).then_some(OneSensorWhy::NotOneJoint))
        };
        if let Some(why) = why {
            let loosely = why == OneSensorWhy::NotOneJoint && !heading.beyond_offset;
            return Sight {
                loosely_seen: loosely.then_some(seen),
                ..one_sensor(ForearmPart {
                    angle_by: AngleBy::OneSensor,
                    why: Some(why),
                    used_from_s: None,
                    angle_sd_deg: None,
                    ..part
                })
            };
        }
        let calibration = neutral.map(|(windows, reference)| {
            let own = between(hand, windows.still_start_s, windows.move_end_s);
            seen_from_forearm(own, &track, heading, &reference).oriented
        });
        Sight {
            part,
            seen: Some(seen),
            loosely_seen: None,
            calibration,
        }
    }

    /// How far the forearm travels by its own heading alone.
    fn seen_alone(&self, own: &[Oriented]) -> Seen {
        let track = ForearmTrack::new(&self.oriented);
        let alone = Heading::constant(0.0);
        let first = own.iter().find_map(|o| pose_at(&track, &alone, o.t_s));
        seen_from_forearm(own, &track, &alone, &first.unwrap_or_default())
    }
}

fn between(oriented: &[Oriented], from_s: f64, to_s: f64) -> &[Oriented] {
    let from = oriented.partition_point(|o| o.t_s < from_s);
    let to = oriented.partition_point(|o| o.t_s < to_s).max(from);
    oriented.get(from..to).unwrap_or(&[])
}

fn lasting_s(seen: &Seen) -> f64 {
    total_s(seen.unheard_s.iter().map(|[from, to]| to - from))
}
