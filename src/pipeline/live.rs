//! Samples and events as they come: orientation, angle, repetitions, sets.
//!
//! Ours. Time is the samples' own: an event takes effect before the first sample that is not
//! earlier than it, so that a recording played back gives what was given live, to the bit. An event
//! may come as early as it likes; one that comes after such a sample takes effect late, and only
//! then: whoever feeds the stream holds samples back until the events up to their time are in.

use std::collections::VecDeque;

use super::forearm::{blind_to, warnings_of};
use super::live_set::LiveSet;
use super::live_sight::Beside;
use super::refined::{calibration_windows, leaves_out};
use super::set::{Analysis, SetResult, set_result};
use super::sets::{Expectation, SetSpec};
use super::trouble::Ranges;
use super::wear::{LiveWear, wear_warnings};
use crate::joint::two::{Anew, ForearmPose, ForearmTrack, LiveHeading, in_hand_world, seen_by};
use crate::joint::wear::WearFinding;
use crate::joint::{Alignment, CalibrationParams, CalibrationWindows, align};
use crate::movement::Side;
use crate::orientation::{
    FilterKind, Oriented, RateMeaning, RealTime, RealTimeParams, StillParams, Stillness,
};
use crate::recording::{Calibration, Event, EventKind, SetEnd};
use crate::reps::Repetition;
use crate::routine::TempoBand;
use crate::sample::{Place, Sample};

/// Orientations are kept so long for a calibration, seconds.
const CALIBRATION_MEMORY_S: f64 = 90.0;
/// The forearm's are dropped so long after that, all at once, seconds.
const DROPPED_EVERY_S: f64 = 30.0;
/// A calibration's looks at the forearm reach so far beyond it, whose clock may be apart, seconds.
const BESIDE_S: f64 = 1.0;

pub use crate::joint::two::FORWARD_S;

/// Settings of live use.
#[derive(Debug, Clone)]
pub struct LiveParams {
    /// Nominal rate of the samples, Hz.
    pub rate_hz: f64,
    /// Which filter.
    pub kind: FilterKind,
    /// What counts as in tempo.
    pub band: TempoBand,
    /// What a person says beside the events; an event that says otherwise stands.
    pub expected: Expectation,
    /// The one set that the whole stream is, where no event tells of sets.
    pub whole: Option<SetSpec>,
}

/// What the hand is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Near the start level.
    Rest,
    /// On the way away from it.
    Lift,
    /// Still, away from it.
    Hold,
    /// On the way back.
    Lower,
    /// No set, or nothing known yet.
    None,
}

impl Phase {
    /// The word used in traces.
    pub fn name(self) -> &'static str {
        match self {
            Phase::Rest => "rest",
            Phase::Lift => "lift",
            Phase::Hold => "hold",
            Phase::Lower => "lower",
            Phase::None => "none",
        }
    }
}

/// What a sample brought about.
#[derive(Debug, Clone, PartialEq)]
pub enum News {
    /// A calibration was taken.
    Aligned(Alignment),
    /// A calibration was refused, in words.
    Refused(String),
    /// A set began.
    SetBegan,
    /// A repetition ended; its number within the set, from 1.
    Counted(usize, Box<Repetition>),
    /// The sensor is worn strangely in the set that goes on.
    Worn(WearFinding),
    /// A set ended.
    SetEnded(Box<SetResult>),
}

/// The state after a sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The sample's time, seconds.
    pub t_s: f64,
    /// Its orientation.
    pub oriented: Oriented,
    /// Measured angle, degrees, once the axis is known.
    pub measured_deg: Option<f64>,
    /// What the hand is doing.
    pub phase: Phase,
    /// Repetitions of the set so far.
    pub reps_count: usize,
    /// Whether the hand was still for the last second.
    pub still: bool,
    /// For how long the unit has shown no sign of a living hand, seconds.
    pub lifeless_s: f64,
    /// What happened with this sample.
    pub news: Vec<News>,
}

/// A calibration as it was taken.
struct Calibrated {
    told: Calibration,
    aligned: Result<Alignment, String>,
    /// The forearm in the neutral pose.
    neutral: Option<(f64, ForearmPose)>,
}

/// The unit on the forearm.
struct LiveForearm {
    filter: RealTime,
    /// Its orientations as far back as those of the hand, by its own clock.
    memory: Vec<Oriented>,
    /// To be added to its times, as far as the motion showed, seconds.
    clock_s: f64,
    heading: LiveHeading,
}

/// The pipeline in live use.
pub struct Live {
    params: LiveParams,
    filter: RealTime,
    stillness: Stillness,
    memory: VecDeque<Oriented>,
    forearm: Option<LiveForearm>,
    forearm_rate_hz: Option<f64>,
    waiting: VecDeque<Event>,
    /// Samples of the forearm sensor whose time has not come.
    forearm_waiting: VecDeque<Sample>,
    calibrations: Vec<Calibrated>,
    ranges: Ranges,
    set: Option<LiveSet>,
    wear: LiveWear,
    latest_s: f64,
    analysis: Analysis,
}

impl Live {
    /// Starts with nothing seen.
    pub fn new(params: LiveParams) -> Live {
        let filter = RealTime::new(RealTimeParams {
            kind: params.kind,
            rate_hz: params.rate_hz,
            rate_meaning: RateMeaning::AtInstant,
            ..RealTimeParams::default()
        });
        let mut wear = LiveWear::default();
        if let Some(spec) = &params.whole {
            wear.begin(spec, None);
        }
        let set = params
            .whole
            .clone()
            .map(|spec| LiveSet::new(spec, None, None));
        Live {
            params,
            filter,
            stillness: Stillness::new(StillParams::default()),
            memory: VecDeque::new(),
            forearm: None,
            forearm_rate_hz: None,
            waiting: VecDeque::new(),
            forearm_waiting: VecDeque::new(),
            calibrations: Vec::new(),
            ranges: Ranges::default(),
            set,
            wear,
            latest_s: f64::NEG_INFINITY,
            analysis: Analysis::default(),
        }
    }

    /// Takes an event; it takes effect before the first sample that is not earlier than it.
    pub fn event(&mut self, event: Event) {
        self.waiting.push_back(event);
    }

    /// Takes the next sample of the forearm sensor.
    ///
    /// What an angle uses is a rule of the order of the pushes and of the samples' times alone: the
    /// orientation of a hand sample at `t_s` is set against the forearm samples pushed before it
    /// whose time is not after `t_s`, the last of them carried on by its own rate up to `t_s`; where
    /// that one is more than [`FORWARD_S`] old, the forearm is not known at that moment. Its time is
    /// its stamp and what the motion has shown the two clocks to be apart until then. A forearm
    /// sample that is pushed early waits for its time; one that comes late serves from the next
    /// hand sample on. So whoever feeds the stream pushes every sample of either place as it comes,
    /// in the order in which it writes them to the recording, and holds nothing back:
    /// [`Recording::in_order`](crate::recording::Recording::in_order) gives a replay that order.
    pub fn forearm_sample(&mut self, sample: &Sample) {
        self.forearm_waiting.push_back(*sample);
    }

    /// Takes the next sample of the hand sensor.
    pub fn sample(&mut self, sample: &Sample) -> Step {
        let mut news = Vec::new();
        let due = |waiting: &VecDeque<Event>| {
            let first = waiting.front();
            first.is_some_and(|event| event.t_s <= sample.t_s)
        };
        while due(&self.waiting) {
            if let Some(event) = self.waiting.pop_front() {
                self.take(&event, &mut news);
            }
        }
        let oriented = self.filter.push(sample);
        let still = self.stillness.push(sample).still;
        self.latest_s = sample.t_s;
        self.hear_forearm(sample.t_s);
        self.remember(oriented);
        let mut step = Step {
            t_s: sample.t_s,
            oriented,
            measured_deg: None,
            phase: Phase::None,
            reps_count: 0,
            still,
            lifeless_s: 0.0,
            news,
        };
        let mut seen = None;
        let anew = self.seek_heading(&oriented);
        if let Some(set) = &mut self.set {
            let forearm = self.forearm.as_ref();
            let beside = forearm.map(|forearm| forearm.beside(sample.t_s, anew));
            seen = set.push(sample, &oriented, still, &self.ranges, &mut step, beside);
        }
        self.wear.sample(sample, seen.as_ref(), &mut step);
        step
    }

    /// The end of the stream: sets that are still open end, and all there is to say is said.
    pub fn finish(mut self) -> Analysis {
        let mut news = Vec::new();
        while let Some(event) = self.waiting.pop_front() {
            self.take(&event, &mut news);
        }
        self.end_set(self.latest_s, &SetEnd::default(), &mut news);
        self.analysis
    }

    /// Seeks the heading between both units in a set that goes on, where it is due, and hears what is
    /// due of the forearm by the clock that this showed.
    fn seek_heading(&mut self, hand: &Oriented) -> Option<Anew> {
        let forearm = self.forearm.as_mut()?;
        self.set.as_ref().filter(|set| set.sees_wrist())?;
        let ahead_s = forearm.ahead_s(self.forearm_waiting.back(), hand.t_s);
        let anew = forearm.heading.push(hand, ahead_s)?;
        forearm.clock_s += anew.clock_s;
        self.hear_forearm(hand.t_s);
        Some(anew)
    }

    /// Takes what was pushed of the forearm up to a time: see [`Live::forearm_sample`] for the rule.
    fn hear_forearm(&mut self, t_s: f64) {
        let clock_s = self.forearm.as_ref().map_or(0.0, |own| own.clock_s);
        while let Some(sample) = self
            .forearm_waiting
            .front()
            .filter(|sample| sample.t_s + clock_s <= t_s)
            .copied()
        {
            self.forearm_waiting.pop_front();
            let (params, rate_hz) = (&self.params, self.forearm_rate_hz);
            let open = self.set.is_some();
            let forearm = self
                .forearm
                .get_or_insert_with(|| LiveForearm::new(params, rate_hz, open));
            forearm.push(&sample);
        }
    }

    fn remember(&mut self, oriented: Oriented) {
        self.memory.push_back(oriented);
        while self
            .memory
            .front()
            .is_some_and(|oldest| oldest.t_s < oriented.t_s - CALIBRATION_MEMORY_S)
        {
            self.memory.pop_front();
        }
    }

    fn take(&mut self, event: &Event, news: &mut Vec<News>) {
        self.ranges.take(&event.kind);
        self.wear.event(&event.kind);
        match &event.kind {
            EventKind::Sensor(sensor) if sensor.place == Some(Place::Forearm) => {
                self.forearm_rate_hz = self.forearm_rate_hz.or(sensor.rate_hz);
            }
            EventKind::Calibration(calibration) => self.calibrate(calibration, news),
            EventKind::SetStart(start) => {
                self.end_set(event.t_s, &SetEnd::default(), news);
                let mut spec = SetSpec::announced(event.t_s, start, self.params.band);
                // What contradicts the event was refused where the arguments were read.
                let _ = spec.expect(&self.params.expected);
                let (alignment, neutral) = self.alignment_for(&spec);
                self.wear.begin(&spec, alignment.as_ref());
                if let Some(forearm) = &mut self.forearm {
                    forearm.heading.begin();
                }
                self.set = Some(LiveSet::new(spec, alignment, neutral));
                news.push(News::SetBegan);
            }
            EventKind::SetEnd(end) => self.end_set(event.t_s, end, news),
            _ => {}
        }
    }

    fn calibrate(&mut self, calibration: &Calibration, news: &mut Vec<News>) {
        let unknown_side = SetSpec {
            side: Some(calibration.side.unwrap_or(Side::Right)),
            ..SetSpec::default()
        };
        let Some(windows) = calibration_windows(calibration, &unknown_side) else {
            if calibration.is_left_out() {
                self.calibrations.push(Calibrated {
                    told: calibration.clone(),
                    aligned: Err("left out".to_owned()),
                    neutral: None,
                });
            }
            return;
        };
        let neutral = self.look_at_neutral(&windows);
        let aligned = self.align(&windows, neutral.as_ref());
        match &aligned {
            Ok(alignment) => {
                self.wear.fitted(*alignment, &windows);
                news.push(News::Aligned(*alignment));
            }
            Err(fault) => {
                self.analysis.warnings.push(format!(
                    "calibration at {:.1} s: {fault}; the axis is taken from the movement itself",
                    windows.still_start_s
                ));
                news.push(News::Refused(fault.clone()));
            }
        }
        self.calibrations.push(Calibrated {
            told: calibration.clone(),
            aligned,
            neutral,
        });
    }

    /// Where the forearm is in the middle of the still pose; the heading is looked for in the
    /// calibration, too.
    fn look_at_neutral(&mut self, windows: &CalibrationWindows) -> Option<(f64, ForearmPose)> {
        // A turn of the forearm cannot be seen from its unit, which turns along.
        if blind_to(Some(windows.movement)).is_some() {
            return None;
        }
        let forearm = self.forearm.as_mut()?;
        let hand = between(
            self.memory.make_contiguous(),
            [windows.still_start_s, windows.move_end_s],
        );
        let own = forearm.within([
            windows.still_start_s - BESIDE_S,
            windows.move_end_s + BESIDE_S,
        ]);
        let ahead_s = forearm.ahead_s(self.forearm_waiting.back(), self.latest_s);
        let anew = forearm.heading.calibrated(hand, &own, ahead_s);
        forearm.clock_s += anew.map_or(0.0, |anew| anew.clock_s);
        self.hear_forearm(self.latest_s);
        let middle_s = 0.5 * (windows.still_start_s + windows.still_end_s);
        Some((middle_s, self.forearm.as_ref()?.at(middle_s)?))
    }

    fn align(
        &mut self,
        windows: &CalibrationWindows,
        neutral: Option<&(f64, ForearmPose)>,
    ) -> Result<Alignment, String> {
        let forearm = self.forearm.as_ref();
        let known = forearm.and_then(|own| Some((own, own.heading.known()?)));
        let seen: Option<Vec<Oriented>> =
            known.zip(neutral).map(|((forearm, heading), neutral)| {
                let (neutral_s, pose) = neutral;
                let reference = in_hand_world(pose, heading.at_rad(*neutral_s));
                let seen = self.memory.iter().filter_map(|hand| {
                    let heading_rad = heading.at_rad(hand.t_s);
                    Some(seen_by(
                        hand,
                        &forearm.at(hand.t_s)?,
                        heading_rad,
                        &reference,
                    ))
                });
                seen.collect()
            });
        let oriented = match &seen {
            Some(seen) => seen.as_slice(),
            None => self.memory.make_contiguous(),
        };
        align(oriented, windows, &CalibrationParams::default()).map_err(|fault| fault.to_string())
    }

    /// The calibration in force, and the forearm's neutral pose where the heading is known and the
    /// forearm is heard.
    fn alignment_for(&self, spec: &SetSpec) -> ForSet {
        let heard = self
            .forearm
            .as_ref()
            .filter(|own| own.at(self.latest_s).is_some());
        let heading = heard.and_then(|own| own.heading.known());
        let found = self.calibrations.iter().rev().find_map(|calibrated| {
            if leaves_out(&calibrated.told, spec) {
                return Some(None);
            }
            let windows = calibration_windows(&calibrated.told, spec)?;
            Some(Some((calibrated, windows)))
        });
        let Some((calibrated, windows)) = found.flatten() else {
            return (None, None);
        };
        let Ok(alignment) = &calibrated.aligned else {
            return (None, None);
        };
        let seen = blind_to(spec.movement).is_none();
        let neutral = calibrated.neutral.filter(|_| heading.is_some() && seen);
        (Some((*alignment, windows)), neutral)
    }

    fn end_set(&mut self, end_s: f64, end: &SetEnd, news: &mut Vec<News>) {
        let wear = self.wear.end();
        let Some(set) = self.set.take().filter(|_| !end.taken_back) else {
            return;
        };
        if let Some(forearm) = &mut self.forearm {
            forearm.heading.end();
        }
        let unheard_s = set.unheard_s();
        let (mut spec, mut found) = set.finish(&self.ranges);
        found.wear = wear;
        let warnings = wear_warnings(spec.start_s, &found.wear);
        self.analysis.warnings.extend(warnings);
        if let Some(part) = &found.forearm {
            let warnings = warnings_of(&spec, part, &unheard_s);
            self.analysis.warnings.extend(warnings);
        }
        spec.end_s = end_s;
        spec.end_reason = end.reason;
        let result = set_result(&spec, found);
        news.push(News::SetEnded(Box::new(result.clone())));
        self.analysis.sets.push(result);
    }
}

/// A calibration as it is for a set: with the forearm's neutral pose where that is to be used.
type ForSet = (
    Option<(Alignment, CalibrationWindows)>,
    Option<(f64, ForearmPose)>,
);

impl LiveForearm {
    fn new(params: &LiveParams, rate_hz: Option<f64>, set_is_open: bool) -> LiveForearm {
        let mut heading = LiveHeading::default();
        if set_is_open {
            heading.begin();
        }
        LiveForearm {
            filter: RealTime::new(RealTimeParams {
                kind: params.kind,
                rate_hz: rate_hz.unwrap_or(params.rate_hz),
                rate_meaning: RateMeaning::AtInstant,
                ..RealTimeParams::default()
            }),
            memory: Vec::new(),
            clock_s: 0.0,
            heading,
        }
    }

    fn push(&mut self, sample: &Sample) {
        let oldest_s = self.memory.first().map_or(sample.t_s, |own| own.t_s);
        if sample.t_s - oldest_s > CALIBRATION_MEMORY_S + DROPPED_EVERY_S {
            let from_s = sample.t_s - CALIBRATION_MEMORY_S;
            let old = self.memory.partition_point(|own| own.t_s < from_s);
            self.memory.drain(..old);
        }
        let oriented = self.filter.push(sample);
        self.memory.push(oriented);
        self.heading.hear(&Oriented {
            t_s: oriented.t_s + self.clock_s,
            ..oriented
        });
    }

    /// The pose at a time of the hand; `None` where it is not known.
    fn at(&self, t_s: f64) -> Option<ForearmPose> {
        ForearmTrack::new(&self.memory).at(t_s - self.clock_s)
    }

    fn beside(&self, t_s: f64, anew: Option<Anew>) -> Beside<'_> {
        Beside {
            pose: self.at(t_s),
            heading: self.heading.known(),
            anew,
            clock_s: self.clock_s,
            track: ForearmTrack::new(&self.memory),
        }
    }

    /// What is kept of it between two times of the hand, at those times.
    fn within(&self, [from_s, to_s]: [f64; 2]) -> Vec<Oriented> {
        let clock_s = self.clock_s;
        let own = between(&self.memory, [from_s - clock_s, to_s - clock_s]);
        own.iter()
            .map(|own| Oriented {
                t_s: own.t_s + clock_s,
                ..*own
            })
            .collect()
    }

    /// By how much it was heard beyond a moment of the hand, with what still waits, seconds.
    fn ahead_s(&self, waiting: Option<&Sample>, t_s: f64) -> f64 {
        let heard_s = self.memory.last().map(|own| own.t_s);
        let heard_s = waiting.map(|sample| sample.t_s).or(heard_s);
        heard_s.map_or(f64::NEG_INFINITY, |heard_s| heard_s + self.clock_s - t_s)
    }
}

fn between(oriented: &[Oriented], [from_s, to_s]: [f64; 2]) -> &[Oriented] {
    let from = oriented.partition_point(|own| own.t_s < from_s);
    let to = oriented.partition_point(|own| own.t_s < to_s).max(from);
    oriented.get(from..to).unwrap_or(&[])
}
