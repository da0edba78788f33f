//! Samples and events as they come: orientation, angle, repetitions, sets.
//!
//! Ours. Time is the samples' own: an event takes effect before the first sample that is not
//! earlier than it, so that a recording played back gives what was given live, to the bit. An event
//! may come as early as it likes; one that comes after such a sample takes effect late, and only
//! then: whoever feeds the stream holds samples back until the events up to their time are in.

use std::collections::VecDeque;

use super::live_set::LiveSet;
use super::refined::calibration_windows;
use super::set::{Analysis, SetResult, set_result};
use super::sets::{Expectation, SetSpec};
use super::trouble::Ranges;
use super::wear::{LiveWear, wear_warnings};
use crate::joint::wear::WearFinding;
use crate::joint::{Alignment, CalibrationParams, CalibrationWindows, align};
use crate::movement::Side;
use crate::orientation::{
    FilterKind, Oriented, RateMeaning, RealTime, RealTimeParams, StillParams, Stillness,
};
use crate::recording::{Calibration, Event, EventKind, SetEnd};
use crate::reps::Repetition;
use crate::routine::TempoBand;
use crate::sample::Sample;

/// Orientations are kept so long for a calibration, seconds.
const CALIBRATION_MEMORY_S: f64 = 90.0;

/// The forearm's orientation is carried on by its own rate for at most so long, seconds; then it is
/// unknown until its unit is heard again.
pub const FORWARD_S: f64 = 0.25;

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

/// The pipeline in live use.
pub struct Live {
    params: LiveParams,
    filter: RealTime,
    stillness: Stillness,
    memory: VecDeque<Oriented>,
    waiting: VecDeque<Event>,
    /// Samples of the forearm sensor whose time has not come.
    forearm_waiting: VecDeque<Sample>,
    calibrations: Vec<(Calibration, Result<Alignment, String>)>,
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
        let set = params.whole.clone().map(|spec| LiveSet::new(spec, None));
        let mut wear = LiveWear::default();
        if let Some(spec) = &params.whole {
            wear.begin(spec, None);
        }
        Live {
            params,
            filter,
            stillness: Stillness::new(StillParams::default()),
            memory: VecDeque::new(),
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
    /// that one is more than [`FORWARD_S`] old, the forearm is not known at that moment. A forearm
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
        while self
            .forearm_waiting
            .front()
            .is_some_and(|forearm| forearm.t_s <= sample.t_s)
        {
            self.forearm_waiting.pop_front();
        }
        let oriented = self.filter.push(sample);
        let still = self.stillness.push(sample).still;
        self.latest_s = sample.t_s;
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
        if let Some(set) = &mut self.set {
            set.push(sample, &oriented, still, &self.ranges, &mut step);
        }
        self.wear.sample(sample, &oriented, &mut step);
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
            EventKind::Calibration(calibration) => self.calibrate(calibration, news),
            EventKind::SetStart(start) => {
                self.end_set(event.t_s, &SetEnd::default(), news);
                let mut spec = SetSpec::announced(event.t_s, start, self.params.band);
                // What contradicts the event was refused where the arguments were read.
                let _ = spec.expect(&self.params.expected);
                let alignment = self.alignment_for(&spec);
                self.wear.begin(&spec, alignment.as_ref());
                self.set = Some(LiveSet::new(spec, alignment));
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
            return;
        };
        let aligned = self.align(&windows);
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
        self.calibrations.push((calibration.clone(), aligned));
    }

    fn align(&mut self, windows: &CalibrationWindows) -> Result<Alignment, String> {
        align(
            self.memory.make_contiguous(),
            windows,
            &CalibrationParams::default(),
        )
        .map_err(|fault| fault.to_string())
    }

    fn alignment_for(&self, spec: &SetSpec) -> Option<(Alignment, CalibrationWindows)> {
        let with_windows = |(calibration, aligned): &(Calibration, Result<Alignment, String>)| {
            Some((aligned.clone(), calibration_windows(calibration, spec)?))
        };
        let (aligned, windows) = self.calibrations.iter().rev().find_map(with_windows)?;
        Some((aligned.ok()?, windows))
    }

    fn end_set(&mut self, end_s: f64, end: &SetEnd, news: &mut Vec<News>) {
        let wear = self.wear.end();
        let Some(set) = self.set.take().filter(|_| !end.taken_back) else {
            return;
        };
        let (mut spec, mut found) = set.finish(&self.ranges);
        found.wear = wear;
        let warnings = wear_warnings(spec.start_s, &found.wear);
        self.analysis.warnings.extend(warnings);
        spec.end_s = end_s;
        spec.end_reason = end.reason;
        let result = set_result(&spec, found);
        news.push(News::SetEnded(Box::new(result.clone())));
        self.analysis.sets.push(result);
    }
}
