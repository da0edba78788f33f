//! One set in live use.
//!
//! Ours. With a calibration the angle is known from the first sample. Without one the axis has to
//! show itself first: the orientations are kept until the first repetition is seen about the main
//! axis of what moved, and then played through again.

use nalgebra::{Unit, UnitQuaternion, Vector3};

use super::elbow;
use super::forearm::{blind_to, doubt_unheard, moves_along, widen_by_forearm};
use super::live::{News, Phase, Step};
use super::live_sight::{Beside, Both, LiveSight};
use super::motion::{
    AxisFrom, MotionInput, Zero, curve_along, joint_measure, measured_axis, read_motion,
};
use super::refined::{AXIS_UNLIKELY_DEG, circled, for_set};
use super::set::Found;
use super::sets::SetSpec;
use super::trouble::{Ranges, doubt_samples};
use crate::joint::two::ForearmPose;
use crate::joint::{Alignment, AngleTracker, AxisParams, CalibrationWindows, Measure, main_axis};
use crate::movement::Movement;
use crate::orientation::Oriented;
use crate::reps::curve::LOOK_AHEAD_COUNT;
use crate::reps::elbow::ElbowFollow;
use crate::reps::excursion::find;
use crate::reps::online::{Online, OnlineParams};
use crate::reps::refined::lifts_downward;
use crate::reps::turns::circles;
use crate::reps::{CountParams, Doubt, Repetition};
use crate::sample::Sample;

/// Time between two looks for the axis, seconds.
const SEEK_EVERY_S: f64 = 0.25;
/// A circle that ended so long ago is whole: one that goes on is read as ending now, seconds.
const CIRCLE_SURE_S: f64 = 0.3;
/// Turning needed before the axis is sought, degrees.
const SEEK_FROM_DEG: f64 = 12.0;
/// What is kept while the axis is sought, seconds.
const SEEK_MEMORY_S: f64 = 60.0;
/// What is kept while nothing is counted, seconds: as long as the segmenter remembers.
const FOLLOW_MEMORY_S: f64 = 120.0;
/// So long a still start is waited for before a record is taken to begin in motion, seconds.
const WAIT_FOR_STILL_S: f64 = 10.0;
/// What is kept of a still start, seconds.
const STILL_KEPT_S: f64 = 1.0;
/// The axis is refined with each of the first repetitions, so many.
const REFINE_COUNT: usize = 5;
/// Speed above which the hand is said to move, deg/s.
const MOVING_DEG_S: f64 = 5.0;
/// Time over which that speed is taken, seconds.
const MOVING_OVER_S: f64 = 0.1;

/// A set under way.
#[derive(Debug, Clone)]
pub struct LiveSet {
    spec: SetSpec,
    /// The calibration in force, until the first sample.
    alignment: Option<(Alignment, CalibrationWindows)>,
    /// The same as it holds for this set, from the first sample on.
    aligned: Option<Alignment>,
    /// The alignment is against the forearm's own neutral pose.
    against_forearm: bool,
    reference: Option<(UnitQuaternion<f64>, Zero)>,
    /// Samples and orientations since the last repetition.
    samples: Vec<Sample>,
    oriented: Vec<Oriented>,
    /// The forearm's sight, where it has a unit, and both units as they were for each of the
    /// orientations.
    sight: Option<LiveSight>,
    both: Vec<Both>,
    /// Both units in the still start.
    still: Option<Both>,
    /// Repetitions that showed themselves when all was followed again.
    ended: Vec<Repetition>,
    sought_s: f64,
    follow: Option<Follow>,
    reps: Vec<Repetition>,
    /// Circles seen so far; what they were is said at the end.
    circles_count: usize,
    /// The elbow's share, where a movement can be helped by it.
    elbow: Option<ElbowFollow>,
    /// Whether a repetition was said to be the forearm's.
    forearm_told: bool,
}

/// The angle is known and followed.
#[derive(Debug, Clone)]
struct Follow {
    tracker: AngleTracker,
    axis_in_sensor: Unit<Vector3<f64>>,
    axis_from: AxisFrom,
    zero: Zero,
    online: Online,
    /// Latest angles, for the phase that is shown.
    latest: Vec<(f64, f64)>,
    low_deg: f64,
    high_deg: f64,
    /// Orientations of the repetitions so far, while the axis is still refined.
    own: Vec<Oriented>,
}

impl LiveSet {
    /// Begins a set, with the calibration in force, and the forearm's neutral pose where the angle
    /// is to be against it.
    pub fn new(
        spec: SetSpec,
        alignment: Option<(Alignment, CalibrationWindows)>,
        neutral: Option<(f64, ForearmPose)>,
    ) -> LiveSet {
        LiveSet {
            elbow: elbow::follow(spec.movement, alignment.as_ref().map(|(own, _)| own)),
            sight: neutral.map(|neutral| LiveSight::new(&spec, Some(neutral))),
            against_forearm: neutral.is_some(),
            aligned: None,
            both: Vec::new(),
            still: None,
            ended: Vec::new(),
            spec,
            alignment,
            reference: None,
            samples: Vec::new(),
            oriented: Vec::new(),
            sought_s: f64::NEG_INFINITY,
            follow: None,
            reps: Vec::new(),
            circles_count: 0,
            forearm_told: false,
        }
    }

    /// With a calibration the angle is known from the first sample on.
    fn follow_calibration(&mut self, first: &Oriented) {
        let Some((alignment, windows)) = self.alignment.take() else {
            return;
        };
        let alignment = if self.against_forearm {
            alignment
        } else {
            for_set(alignment, &windows, &self.spec, first)
        };
        self.aligned = Some(alignment);
        self.follow = self.followed_by_calibration();
    }

    /// The angle of the calibration, followed from nothing on.
    fn followed_by_calibration(&self) -> Option<Follow> {
        let (alignment, movement) = (self.aligned?, self.spec.movement?);
        Some(Follow::new(
            joint_measure(alignment, movement)?,
            measured_axis(alignment, movement)?,
            AxisFrom::Calibration,
            Zero::Calibration,
            0.0,
        ))
    }

    /// Takes the next sample and completes the step; returns the hand as the forearm sees it, where
    /// its turn is surely taken off.
    pub fn push(
        &mut self,
        sample: &Sample,
        oriented: &Oriented,
        still: bool,
        ranges: &Ranges,
        step: &mut Step,
        beside: Option<Beside>,
    ) -> Option<Oriented> {
        if let Some(elbow) = &mut self.elbow {
            elbow.push(oriented);
        }
        let oriented = &self.seen(oriented, beside);
        self.follow_calibration(oriented);
        self.samples.push(*sample);
        self.oriented.push(*oriented);
        if self.reference.is_none() && self.follow.is_none() && still {
            self.reference = Some((oriented.world_from_sensor, Zero::StillStart));
            self.still = self.both.last().copied();
            self.forget_before(oriented.t_s - STILL_KEPT_S);
        }
        let mut ended = std::mem::take(&mut self.ended);
        if self.follow.is_some() {
            self.forget_some(oriented.t_s);
        }
        match &mut self.follow {
            Some(follow) => {
                if let Some(repetition) = follow.push(oriented) {
                    ended.push(repetition);
                }
            }
            None => ended.extend(self.seek(oriented.t_s, false)),
        }
        for repetition in ended {
            self.counted(repetition, ranges, &mut step.news);
        }
        if let Some(follow) = &self.follow {
            step.measured_deg = follow.measured_deg();
            step.phase = follow.phase();
        }
        self.look_for_circles(oriented.t_s);
        step.reps_count = self.reps.len().max(self.circles_count);
        let sight = self.sight.as_ref();
        sight.filter(|sight| sight.settled()).map(|_| *oriented)
    }

    /// The hand as the forearm sees it, where it has a unit.
    fn seen(&mut self, hand: &Oriented, beside: Option<Beside>) -> Oriented {
        let Some(beside) = beside else {
            return *hand;
        };
        if self.both.len() < self.oriented.len() {
            // The forearm is heard of for the first time.
            self.both = self.oriented.iter().map(|own| (*own, None)).collect();
        }
        // Until something was counted, all that is kept can be seen anew.
        let again = self.follow.is_none() || (self.reps.is_empty() && self.aligned.is_some());
        let again = again && beside.anew.is_some();
        if beside.anew.is_some_and(|anew| anew.clock_s != 0.0) {
            for (hand, pose) in &mut self.both {
                *pose = beside.track.at(hand.t_s - beside.clock_s).or(*pose);
            }
        }
        let followed = self.follow.is_some() && !again;
        let spec = &self.spec;
        let sight = self.sight.get_or_insert_with(|| LiveSight::new(spec, None));
        let seen = sight.see(hand, &beside, followed);
        if again {
            self.oriented = sight.see_again(&self.both, beside.heading);
            if let (Some(still), Some((_, zero))) = (self.still, self.reference) {
                let again = sight.see_again(&[still], beside.heading);
                self.reference = again.first().map(|again| (again.world_from_sensor, zero));
            }
            self.follow_again();
        }
        self.both.push((*hand, beside.pose));
        seen
    }

    /// With a calibration and nothing counted yet, follows all that is kept again.
    fn follow_again(&mut self) {
        let Some(mut follow) = self.followed_by_calibration() else {
            return;
        };
        for oriented in &self.oriented {
            self.ended.extend(follow.push(oriented));
        }
        self.follow = Some(follow);
    }

    /// In a movement without a name the wrist may hardly move: then the hand alone is looked at.
    fn look_at_hand_alone(&mut self) {
        let Some(sight) = &mut self.sight else { return };
        if self.spec.movement.is_some() || sight.blind.is_some() {
            return;
        }
        let hand: Vec<Oriented> = self.both.iter().map(|(hand, _)| *hand).collect();
        if let Some(why) = moves_along(&hand, &self.oriented) {
            sight.blind = Some(why);
            self.oriented = hand;
            if let (Some((still, _)), Some((_, zero))) = (self.still, self.reference) {
                self.reference = Some((still.world_from_sensor, zero));
            }
        }
    }

    /// Counts circles while they are drawn, so that a person can be told; the turn that is not
    /// surely whole waits. The set's own result is read from all of it at its end.
    fn look_for_circles(&mut self, t_s: f64) {
        if self.spec.movement != Some(Movement::ArmCircles) || t_s - self.sought_s < SEEK_EVERY_S {
            return;
        }
        self.sought_s = t_s;
        let whole = circles(&self.oriented)
            .turns
            .iter()
            .filter(|turn| turn.end_s <= t_s - CIRCLE_SURE_S)
            .count();
        self.circles_count = self.circles_count.max(whole);
    }

    /// Looks for the axis; where a repetition is seen about it, plays everything through again.
    fn seek(&mut self, t_s: f64, at_end: bool) -> Vec<Repetition> {
        if self.spec.movement == Some(Movement::ArmCircles) || t_s - self.sought_s < SEEK_EVERY_S {
            return Vec::new();
        }
        self.sought_s = t_s;
        self.forget_before(t_s - SEEK_MEMORY_S);
        let waited_s = self.oriented.first().map_or(0.0, |first| t_s - first.t_s);
        if self.reference.is_none() && waited_s < WAIT_FOR_STILL_S && !at_end {
            return Vec::new();
        }
        self.look_at_hand_alone();
        let params = CountParams::default();
        let Some(main) = main_axis(&[&self.oriented], &AxisParams::default())
            .filter(|main| main.turned_deg >= SEEK_FROM_DEG)
        else {
            return Vec::new();
        };
        let Some((world_from_reference, zero)) = self.reference() else {
            return Vec::new();
        };
        let turn = |axis_in_sensor| Measure::Turn {
            world_from_reference,
            axis_in_sensor,
        };
        let curve = curve_along(&self.oriented, turn(main.axis_in_sensor));
        let settled = curve.len().saturating_sub(LOOK_AHEAD_COUNT);
        let curve = curve.upto(settled);
        // After a still start the first travel away from it is the lift.
        let start_deg = (zero == Zero::StillStart).then_some(0.0);
        let (downward, _) = lifts_downward(&curve, &params, start_deg);
        let (axis, curve) = if downward {
            (-main.axis_in_sensor, curve.negated())
        } else {
            (main.axis_in_sensor, curve)
        };
        let Some(first) = find(&curve, &params, None, 0).repetitions.first().copied() else {
            return Vec::new();
        };
        let zero_deg = match zero {
            Zero::UsualStart => curve.angle(first.lift.start),
            Zero::StillStart | Zero::Calibration => 0.0,
        };
        let mut follow = Follow::new(turn(axis), axis, AxisFrom::Movement, zero, zero_deg);
        let ended = self
            .oriented
            .iter()
            .filter_map(|oriented| follow.push(oriented))
            .collect();
        self.follow = Some(follow);
        ended
    }

    /// Where nothing is counted for long, forgets what no repetition can need any more; now and
    /// then, since forgetting moves all that is kept.
    fn forget_some(&mut self, t_s: f64) {
        let oldest_s = self.oriented.first().map_or(t_s, |first| first.t_s);
        if t_s - oldest_s > 2.0 * FOLLOW_MEMORY_S {
            self.forget_before(t_s - FOLLOW_MEMORY_S);
        }
    }

    fn forget_before(&mut self, t_s: f64) {
        let forget = self.oriented.partition_point(|o| o.t_s < t_s);
        self.oriented.drain(..forget);
        self.samples.drain(..forget);
        self.both.drain(..forget.min(self.both.len()));
    }

    fn reference(&self) -> Option<(UnitQuaternion<f64>, Zero)> {
        self.reference.or_else(|| {
            let first = self.oriented.first()?;
            Some((first.world_from_sensor, Zero::UsualStart))
        })
    }

    fn counted(&mut self, mut repetition: Repetition, ranges: &Ranges, news: &mut Vec<News>) {
        doubt_samples(&self.samples, ranges, std::slice::from_mut(&mut repetition));
        if let Some(sight) = self.sight.as_ref().filter(|sight| sight.blind.is_none()) {
            let own = std::slice::from_mut(&mut repetition);
            doubt_unheard(&sight.unheard_s, own);
            widen_by_forearm(&sight.part(), own);
        }
        let from = self
            .oriented
            .partition_point(|o| o.t_s < repetition.lift_start_s);
        let to = self
            .oriented
            .partition_point(|o| o.t_s <= repetition.lower_end_s);
        let own = self.oriented.get(from..to).unwrap_or(&[]);
        let main = main_axis(&[own], &AxisParams::default());
        if let (Some(follow), Some(main)) = (&mut self.follow, main) {
            let cosine = main.axis_in_sensor.dot(&follow.axis_in_sensor).abs();
            let off_deg = cosine.clamp(0.0, 1.0).acos().to_degrees();
            if follow.axis_from == AxisFrom::Calibration && off_deg > AXIS_UNLIKELY_DEG {
                repetition.doubt(Doubt::AxisUnlikely);
            }
            if follow.axis_from == AxisFrom::Movement && self.reps.len() < REFINE_COUNT {
                follow.refine(own);
            }
        }
        self.oriented.drain(..to.min(self.oriented.len()));
        self.samples.drain(..to.min(self.samples.len()));
        self.both.drain(..to.min(self.both.len()));
        repetition.verdict = self.spec.verdict(&repetition);
        if let Some(elbow) = &mut self.elbow {
            elbow.counted(elbow::lift_of(&repetition));
            // A person can be told only of a forearm that is to lie still; the rest is told at the end,
            // and once.
            let by_two = self.sight.as_ref().is_some_and(LiveSight::used);
            let asked = self.spec.forearm_rests() && !self.forearm_told && !by_two;
            if asked && elbow.so_far().moved.last() == Some(&true) {
                self.forearm_told = true;
                repetition.doubt(Doubt::ForearmMoved);
            }
        }
        self.reps.push(repetition.clone());
        news.push(News::Counted(self.reps.len(), Box::new(repetition)));
    }

    /// Whether the movement lies between the two units.
    pub fn sees_wrist(&self) -> bool {
        blind_to(self.spec.movement).is_none()
    }

    /// First and last time of each stretch in which the forearm was not heard.
    pub fn unheard_s(&self) -> Vec<[f64; 2]> {
        self.sight
            .as_ref()
            .map_or(Vec::new(), |sight| sight.unheard_s.clone())
    }

    /// The end of the set.
    pub fn finish(mut self, ranges: &Ranges) -> (SetSpec, Found) {
        if self.spec.movement == Some(Movement::ArmCircles) {
            return self.finish_circles(ranges);
        }
        self.sought_s = f64::NEG_INFINITY;
        if self.follow.is_none()
            && let Some(last) = self.oriented.last()
        {
            for repetition in self.seek(last.t_s, true) {
                self.counted(repetition, ranges, &mut Vec::new());
            }
        }
        let mut incomplete_count = 0;
        if let Some(mut follow) = self.follow.take() {
            let (ended, unfinished) = follow.online.finish();
            incomplete_count = unfinished;
            self.follow = Some(follow);
            for repetition in ended {
                self.counted(repetition, ranges, &mut Vec::new());
            }
        }
        let elbow = self.elbow.take().filter(|_| !self.reps.is_empty());
        let elbow = elbow.map(ElbowFollow::finish);
        let found = Found {
            elbow,
            reps: self.reps,
            incomplete_count,
            zero: self.follow.as_ref().map(|follow| follow.zero),
            axis_from: self.follow.as_ref().map(|follow| follow.axis_from),
            forearm: self.sight.as_ref().map(LiveSight::part),
            ..Found::default()
        };
        (self.spec, found)
    }

    fn finish_circles(self, ranges: &Ranges) -> (SetSpec, Found) {
        let input = MotionInput {
            oriented: &self.oriented,
            still: &[],
            alignment: None,
            movement: self.spec.movement,
            of_wrist: false,
        };
        let mut found = Found {
            axis_from: Some(AxisFrom::Movement),
            forearm: self.sight.as_ref().map(LiveSight::part),
            ..Found::default()
        };
        if let Some(motion) = read_motion(&input, &CountParams::default())
            && let Some(circles) = &motion.circles
        {
            (found.reps, found.incomplete_count) = circled(&motion.curve, circles, motion.zero_deg);
            doubt_samples(&self.samples, ranges, &mut found.reps);
        }
        (self.spec, found)
    }
}

impl Follow {
    fn new(
        measure: Measure,
        axis_in_sensor: Unit<Vector3<f64>>,
        axis_from: AxisFrom,
        zero: Zero,
        zero_deg: f64,
    ) -> Follow {
        Follow {
            tracker: AngleTracker::new(measure),
            axis_in_sensor,
            axis_from,
            zero,
            online: Online::new(OnlineParams::default(), zero_deg),
            latest: Vec::new(),
            low_deg: f64::INFINITY,
            high_deg: f64::NEG_INFINITY,
            own: Vec::new(),
        }
    }

    fn push(&mut self, oriented: &Oriented) -> Option<Repetition> {
        let point = self.tracker.push(oriented);
        self.latest
            .retain(|(t_s, _)| *t_s >= point.t_s - MOVING_OVER_S);
        self.latest.push((point.t_s, point.measured_deg));
        self.low_deg = self.low_deg.min(point.measured_deg);
        self.high_deg = self.high_deg.max(point.measured_deg);
        self.online.push(point)
    }

    /// Takes the axis from all repetitions so far.
    fn refine(&mut self, own: &[Oriented]) {
        self.own.extend_from_slice(own);
        let Some(main) = main_axis(&[&self.own], &AxisParams::default()) else {
            return;
        };
        let axis = if main.axis_in_sensor.dot(&self.axis_in_sensor) < 0.0 {
            -main.axis_in_sensor
        } else {
            main.axis_in_sensor
        };
        self.tracker.turn_about(axis);
        self.axis_in_sensor = axis;
    }

    fn measured_deg(&self) -> Option<f64> {
        self.latest.last().map(|(_, measured_deg)| *measured_deg)
    }

    fn phase(&self) -> Phase {
        let (Some((from_s, from_deg)), Some((to_s, to_deg))) =
            (self.latest.first(), self.latest.last())
        else {
            return Phase::None;
        };
        let speed_deg_s = if to_s > from_s {
            (to_deg - from_deg) / (to_s - from_s)
        } else {
            0.0
        };
        if speed_deg_s > MOVING_DEG_S {
            Phase::Lift
        } else if speed_deg_s < -MOVING_DEG_S {
            Phase::Lower
        } else if *to_deg > 0.5 * (self.low_deg + self.high_deg)
            && self.high_deg - self.low_deg > 6.0
        {
            Phase::Hold
        } else {
            Phase::Rest
        }
    }
}
