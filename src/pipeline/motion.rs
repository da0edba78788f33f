//! The motion of one set: from orientations to the angle curve and the repetitions on it.
//!
//! Ours. With a calibration the hand's frame is known and the angle is a wrist angle. Without one
//! the angle is the turn about the movement's own axis: the axis is sought twice, first in all
//! that moved, then in the repetitions alone.

use nalgebra::{Unit, UnitQuaternion, Vector3};
use serde::{Deserialize, Serialize};

use crate::joint::{
    Alignment, AnglePoint, AngleTracker, AxisParams, Measure, main_axis, mean_pose,
};
use crate::movement::Movement;
use crate::orientation::{Oriented, StillSpan};
use crate::reps::carried::{Carried, carried};
use crate::reps::curve::{Curve, Grid};
use crate::reps::excursion::{CountParams, Excursion, median};
use crate::reps::refined::{Reading, goes_on_from, lifts_downward, read};
use crate::reps::turns::{Circles, circles};

/// What angle zero is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Zero {
    /// The neutral pose of the calibration.
    Calibration,
    /// The pose of the still start.
    StillStart,
    /// The level from which the repetitions usually start.
    UsualStart,
}

/// Where the measured axis comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AxisFrom {
    /// The calibration's known movement.
    Calibration,
    /// The movement of the set itself.
    Movement,
}

/// What is known of a set before its motion is looked at.
#[derive(Debug, Clone, Copy)]
pub struct MotionInput<'a> {
    /// Orientations of the hand sensor within the set.
    pub oriented: &'a [Oriented],
    /// Still spans of the recording.
    pub still: &'a [StillSpan],
    /// The calibration in force, if any.
    pub alignment: Option<Alignment>,
    /// The movement, if it is named.
    pub movement: Option<Movement>,
    /// The orientations are those of the hand seen from the forearm: what turns is the wrist, and
    /// neither is the arm going round nor does it carry the hand.
    pub of_wrist: bool,
}

/// The motion of a set.
#[derive(Debug, Clone)]
pub struct Motion {
    /// How the angle is measured.
    pub measure: Measure,
    /// The measured angle, smoothed on the even grid, degrees.
    pub curve: Curve,
    /// The repetitions on the curve.
    pub reading: Reading,
    /// The circles, where the movement goes round.
    pub circles: Option<Circles>,
    /// The repetitions by height, where the hand is carried farther than it turns.
    pub carried: Option<Carried>,
    /// The curve's angle that is reported as zero, degrees.
    pub zero_deg: f64,
    /// What that zero is.
    pub zero: Zero,
    /// Where the axis comes from.
    pub axis_from: AxisFrom,
    /// The measured axis in the sensor's frame, right-handed in the direction of the lift.
    pub axis_in_sensor: Unit<Vector3<f64>>,
    /// Angle between the measured axis and the one that the movement turned about, degrees.
    pub axis_off_deg: f64,
}

/// Reads the motion of a set; `None` where nothing moved.
pub fn read_motion(input: &MotionInput, params: &CountParams) -> Option<Motion> {
    let measured_by_joint = input
        .alignment
        .zip(input.movement)
        .and_then(|(alignment, movement)| joint_measure(alignment, movement));
    match measured_by_joint {
        Some(measure) => aligned(input, measure, params),
        None => unaligned(input, params),
    }
}

/// How a movement is measured with a known hand frame.
pub fn joint_measure(alignment: Alignment, movement: Movement) -> Option<Measure> {
    Some(Measure::Joint {
        alignment,
        axis: movement.joint_axis()?,
        sign: movement.isb_sign(),
    })
}

/// The angle of every sample.
pub fn track(oriented: &[Oriented], measure: Measure) -> Vec<AnglePoint> {
    let mut tracker = AngleTracker::new(measure);
    oriented.iter().map(|o| tracker.push(o)).collect()
}

/// The curve of orientations measured so.
pub fn curve_along(oriented: &[Oriented], measure: Measure) -> Curve {
    let mut tracker = AngleTracker::new(measure);
    let mut grid = match (oriented.first(), oriented.last()) {
        (Some(first), Some(last)) => Grid::lasting(last.t_s - first.t_s),
        _ => Grid::new(),
    };
    for one in oriented {
        grid.push(tracker.push(one));
    }
    grid.into_curve()
}

fn aligned(input: &MotionInput, measure: Measure, params: &CountParams) -> Option<Motion> {
    let mut curve = curve_along(input.oriented, measure);
    let reading = read(&mut curve, params, 0);
    let axis_in_sensor = measured_axis(input.alignment?, input.movement?)?;
    let own = within(input.oriented, &curve, &reading.repetitions);
    let axis_off_deg = main_axis(&own, &AxisParams::default()).map_or(0.0, |main| {
        between_axes_deg(&main.axis_in_sensor, &axis_in_sensor)
    });
    Some(Motion {
        measure,
        curve,
        reading,
        circles: None,
        carried: None,
        zero_deg: 0.0,
        zero: Zero::Calibration,
        axis_from: AxisFrom::Calibration,
        axis_in_sensor,
        axis_off_deg,
    })
}

/// The axis that a movement is measured about, in the sensor's frame.
pub fn measured_axis(alignment: Alignment, movement: Movement) -> Option<Unit<Vector3<f64>>> {
    let axis_in_hand = crate::joint::lift_axis_in_hand(movement, alignment.side)?;
    Some(Unit::new_normalize(
        alignment.sensor_from_hand * axis_in_hand,
    ))
}

fn between_axes_deg(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.dot(b).abs().clamp(0.0, 1.0).acos().to_degrees()
}

/// What the movement itself tells of the set.
struct OwnAxis {
    axis_in_sensor: Unit<Vector3<f64>>,
    measure: Measure,
    curve: Curve,
    reading: Reading,
}

fn unaligned(input: &MotionInput, params: &CountParams) -> Option<Motion> {
    let still_start = still_start(input);
    let world_from_reference = reference(input, still_start);
    // What lies before a still start is no part of the set, unless it is more of the same.
    let begins_s = input.oriented.first()?.t_s;
    let later_still = still_start.filter(|span| span.start_s > begins_s + STILL_AT_ONCE_S);
    let after_still = later_still.and_then(|span| {
        let own = own_axis(input.oriented, world_from_reference, params, span.start_s)?;
        let from = own.curve.index_of(span.start_s);
        let whole =
            own.reading.repetitions.is_empty() || goes_on_from(&own.curve, &own.reading, from);
        (!whole).then_some(own)
    });
    let own = match after_still {
        Some(own) => own,
        None => own_axis(
            input.oriented,
            world_from_reference,
            params,
            f64::NEG_INFINITY,
        )?,
    };
    let OwnAxis {
        axis_in_sensor,
        measure,
        curve,
        reading,
    } = own;
    let starts: Vec<f64> = reading
        .repetitions
        .iter()
        .map(|repetition| curve.angle(repetition.lift.start))
        .collect();
    // A hand that is still only when it is up, as it may hold before anything else, does not stand
    // at its start.
    let up = still_start.is_some_and(|span| {
        let middle = curve.index_of(0.5 * (span.start_s + span.end_s));
        let mut own = reading.repetitions.iter();
        own.any(|repetition| (repetition.lift.end..=repetition.lower.start).contains(&middle))
    });
    let (zero_deg, zero) = match still_start.filter(|_| !up) {
        Some(_) => (0.0, Zero::StillStart),
        None => (median(&starts).unwrap_or(0.0), Zero::UsualStart),
    };
    let circles = circles_of(input);
    // A movement of the wrist that is named is no carrying.
    let carried = match (&circles, input.movement) {
        (None, None) if !input.of_wrist => carried(input.oriented, &curve, params),
        _ => None,
    };
    Some(Motion {
        measure,
        curve,
        reading,
        circles,
        carried,
        zero_deg,
        zero,
        axis_from: AxisFrom::Movement,
        axis_in_sensor,
        axis_off_deg: 0.0,
    })
}

/// Axis, sense and repetitions of a set that begins at a time.
fn own_axis(
    oriented: &[Oriented],
    world_from_reference: UnitQuaternion<f64>,
    params: &CountParams,
    from_s: f64,
) -> Option<OwnAxis> {
    let axis_params = AxisParams::default();
    let measure = |axis_in_sensor| Measure::Turn {
        world_from_reference,
        axis_in_sensor,
    };
    let set = oriented.get(oriented.partition_point(|o| o.t_s < from_s)..)?;
    let first_axis = main_axis(&[set], &axis_params)?.axis_in_sensor;
    let curve = curve_along(set, measure(first_axis));
    // A set that begins with a still start lifts away from it.
    let start_deg = from_s
        .is_finite()
        .then(|| curve.angle(curve.index_of(from_s + STILL_AT_ONCE_S)));
    let (downward, repetitions) = lifts_downward(&curve, params, start_deg);
    let axis = if downward { -first_axis } else { first_axis };
    let own = within(set, &curve, &repetitions);
    let axis_in_sensor = match main_axis(&own, &axis_params) {
        Some(own_axis) if own_axis.axis_in_sensor.dot(&axis) < 0.0 => -own_axis.axis_in_sensor,
        Some(own_axis) => own_axis.axis_in_sensor,
        None => axis,
    };
    // The second curve takes the room of the first.
    drop(curve);
    let measure = measure(axis_in_sensor);
    let mut curve = curve_along(oriented, measure);
    let from = curve.index_of(from_s);
    let reading = read(&mut curve, params, from);
    Some(OwnAxis {
        axis_in_sensor,
        measure,
        curve,
        reading,
    })
}

/// The circles of a movement that is named so, or that has no name and goes round.
fn circles_of(input: &MotionInput) -> Option<Circles> {
    match input.movement {
        _ if input.of_wrist => None,
        Some(Movement::ArmCircles) => Some(circles(input.oriented)),
        Some(_) => None,
        None => Some(circles(input.oriented)).filter(|circles| circles.goes_round),
    }
}

/// The first stillness of the set, if the set begins with it: within this time, seconds.
const STILL_START_WITHIN_S: f64 = 20.0;

/// A still start that begins so soon begins with the record, seconds.
const STILL_AT_ONCE_S: f64 = 0.3;

fn still_start<'a>(input: &MotionInput<'a>) -> Option<&'a StillSpan> {
    let start_s = input.oriented.first()?.t_s;
    let end_s = input.oriented.last()?.t_s;
    input
        .still
        .iter()
        .find(|span| span.end_s > start_s + 0.5 && span.start_s < end_s)
        .filter(|span| span.start_s - start_s < STILL_START_WITHIN_S)
}

fn reference(input: &MotionInput, still_start: Option<&StillSpan>) -> UnitQuaternion<f64> {
    let still = still_start.and_then(|span| {
        let from = input.oriented.partition_point(|o| o.t_s < span.start_s);
        let to = input.oriented.partition_point(|o| o.t_s <= span.end_s);
        mean_pose(input.oriented.get(from..to)?)
    });
    let first = input.oriented.first().map(|o| o.world_from_sensor);
    still.or(first).unwrap_or_else(UnitQuaternion::identity)
}

/// The orientations within each of the repetitions.
fn within<'a>(
    oriented: &'a [Oriented],
    curve: &Curve,
    repetitions: &[Excursion],
) -> Vec<&'a [Oriented]> {
    let inside = |repetition: &Excursion| {
        let from_s = curve.time_s(repetition.lift.start);
        let to_s = curve.time_s(repetition.lower.end);
        let from = oriented.partition_point(|o| o.t_s < from_s);
        let to = oriented.partition_point(|o| o.t_s <= to_s);
        oriented.get(from..to).unwrap_or(&[])
    };
    repetitions.iter().map(inside).collect()
}
