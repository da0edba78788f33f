//! What is measured of one repetition.

use serde::{Deserialize, Serialize};

use super::carried::CarriedRepetition;
use super::curve::{Curve, GRID_HZ, STEP_S};
use super::excursion::Excursion;
use super::phases::{Stroke, refined};
use super::smoothness::{Smoothness, ldlj};
use super::turns::WholeTurn;
use crate::routine::Verdict;

/// Why a repetition's numbers deserve less trust.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Doubt {
    /// Samples are missing within it: its times are doubtful.
    Gap,
    /// The unit read its greatest value within it: its angles are doubtful.
    Saturated,
    /// Fewer samples a second than the times need.
    LowRate,
    /// The record begins within it.
    StartCut,
    /// The record ends within it.
    EndCut,
    /// The hand turned about another axis than the movement's.
    AxisUnlikely,
    /// The forearm did a large share of the movement.
    ForearmMoved,
    /// The sensor slipped.
    Slipped,
    /// The forearm's unit was not heard within it: the forearm is taken to have kept still.
    ForearmUnheard,
}

impl Doubt {
    /// The word used in tables and JSON.
    pub fn name(self) -> &'static str {
        match self {
            Doubt::Gap => "gap",
            Doubt::Saturated => "saturated",
            Doubt::LowRate => "low-rate",
            Doubt::StartCut => "start-cut",
            Doubt::EndCut => "end-cut",
            Doubt::AxisUnlikely => "axis-unlikely",
            Doubt::ForearmMoved => "forearm-moved",
            Doubt::Slipped => "slipped",
            Doubt::ForearmUnheard => "forearm-unheard",
        }
    }
}

/// One counted repetition. Times are seconds on the recording's own clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Repetition {
    /// Start of the travel away from the start level.
    pub lift_start_s: f64,
    /// End of that travel.
    pub lift_end_s: f64,
    /// Start of the way back.
    pub lower_start_s: f64,
    /// End of the way back.
    pub lower_end_s: f64,
    /// Highest angle less the lower of the angles at `lift_start_s` and `lower_end_s`, degrees.
    pub range_deg: f64,
    /// Half-width of the range's 95 % interval, degrees; `None` is unknown.
    #[serde(default)]
    pub range_error_deg: Option<f64>,
    /// Half-width of the 95 % interval of the lift's length, seconds.
    #[serde(default)]
    pub lift_error_s: Option<f64>,
    /// The same of the pause at the top, seconds.
    #[serde(default)]
    pub hold_error_s: Option<f64>,
    /// The same of the lowering's length, seconds.
    #[serde(default)]
    pub lower_error_s: Option<f64>,
    /// Highest angle against the zero of the set, degrees.
    pub peak_deg: f64,
    /// Angle at `lift_start_s` against the zero of the set, degrees.
    pub start_deg: f64,
    /// Greatest speed of the lowering, deg/s.
    pub peak_speed_deg_s: f64,
    /// Mean speed of the lowering: its travel over its time, deg/s; `None` for no time.
    pub mean_speed_deg_s: Option<f64>,
    /// Greatest speed of the lift, deg/s.
    pub lift_peak_speed_deg_s: f64,
    /// Greatest rotation away from the measured axis since the lift's start, degrees.
    pub off_axis_deg: f64,
    /// Smoothness of the lift: spectral arc length, dimensionless, nearer 0 is smoother.
    pub lift_sparc_ratio: Option<f64>,
    /// Smoothness of the lowering: spectral arc length.
    pub lower_sparc_ratio: Option<f64>,
    /// Log dimensionless jerk of the lift, beside the spectral arc length, never alone.
    pub lift_ldlj_ratio: Option<f64>,
    /// Log dimensionless jerk of the lowering.
    pub lower_ldlj_ratio: Option<f64>,
    /// The eccentric phase against the prescribed tempo; `None` where nothing is prescribed or no
    /// phase is eccentric.
    pub verdict: Option<Verdict>,
    /// Why its numbers deserve less trust.
    pub doubts: Vec<Doubt>,
}

impl Repetition {
    /// Length of the lift, seconds.
    pub fn lift_s(&self) -> f64 {
        self.lift_end_s - self.lift_start_s
    }

    /// Pause at the top, seconds.
    pub fn hold_s(&self) -> f64 {
        self.lower_start_s - self.lift_end_s
    }

    /// Length of the lowering, seconds.
    pub fn lower_s(&self) -> f64 {
        self.lower_end_s - self.lower_start_s
    }

    /// The range in whole degrees with its stated error, "42 ±2"; the error is rounded up, and left
    /// out where it is unknown.
    pub fn range_words(&self) -> String {
        with_error(self.range_deg, self.range_error_deg, 0)
    }

    /// Whether nothing says that its range is not the wrist's: the forearm turned with the hand, or
    /// may have while its unit was not heard.
    pub fn is_of_the_wrist(&self) -> bool {
        !self.forearm_moved() && !self.doubts.contains(&Doubt::ForearmUnheard)
    }

    /// Whether the forearm was seen to do a large share of it.
    pub fn forearm_moved(&self) -> bool {
        self.doubts.contains(&Doubt::ForearmMoved)
    }

    /// Adds a doubt once. Where the angle is not the wrist's, or not known beyond the unit's range, the
    /// stated error of the range would promise what nobody knows: it is unknown.
    pub fn doubt(&mut self, doubt: Doubt) {
        let unknown = matches!(
            doubt,
            Doubt::Saturated | Doubt::ForearmMoved | Doubt::Slipped
        );
        if unknown {
            self.range_error_deg = None;
        }
        if !self.doubts.contains(&doubt) {
            self.doubts.push(doubt);
            self.doubts.sort();
        }
    }
}

/// Measures an excursion; angles are given against `zero_deg` of the curve. `smoothness` is kept
/// from one to the next for speed alone.
pub fn repetition(
    curve: &Curve,
    excursion: &Excursion,
    zero_deg: f64,
    smoothness: &mut Smoothness,
) -> Repetition {
    let Excursion { lift, lower, .. } = excursion;
    let time_s = |point: f64| curve.time_at_s(point);
    let [lift_start, lift_end] = refined(curve, lift, 1.0);
    let [lower_start, lower_end] = refined(curve, lower, -1.0);
    let start_deg = curve.angle(lift.start);
    let end_deg = curve.angle(lower.end);
    let peak_deg = (lift.start..=lower.end)
        .map(|index| curve.angle(index))
        .fold(f64::NEG_INFINITY, f64::max);
    let lower_s = (lower_end - lower_start) * STEP_S;
    let [lift_speed, lower_speed] = [lift, lower].map(|stroke| speed_profile(curve, stroke));
    let lowered_deg = curve.angle(lower.start) - end_deg;
    let mut result = Repetition {
        lift_start_s: time_s(lift_start),
        lift_end_s: time_s(lift_end),
        lower_start_s: time_s(lower_start),
        lower_end_s: time_s(lower_end),
        range_deg: peak_deg - start_deg.min(end_deg),
        range_error_deg: None,
        lift_error_s: None,
        hold_error_s: None,
        lower_error_s: None,
        peak_deg: peak_deg - zero_deg,
        start_deg: start_deg - zero_deg,
        peak_speed_deg_s: lower.peak_speed_deg_s,
        mean_speed_deg_s: (lower_s > 0.0).then(|| lowered_deg / lower_s),
        lift_peak_speed_deg_s: lift.peak_speed_deg_s,
        off_axis_deg: curve.most_across_deg(lift.start, lower.end),
        lift_sparc_ratio: smoothness.sparc(&thinned(&lift_speed), GRID_HZ / THIN_COUNT as f64),
        lower_sparc_ratio: smoothness.sparc(&thinned(&lower_speed), GRID_HZ / THIN_COUNT as f64),
        lift_ldlj_ratio: ldlj(&lift_speed, GRID_HZ),
        lower_ldlj_ratio: ldlj(&lower_speed, GRID_HZ),
        verdict: None,
        doubts: Vec::new(),
    };
    if curve.has_gap(lift.start, lower.end) {
        result.doubt(Doubt::Gap);
    }
    result
}

/// A whole turn as a repetition: its first half is the lift, its second the lowering. Its range is
/// the spread of the angle about the main axis within it.
pub fn whole_turn(curve: &Curve, turn: &WholeTurn, zero_deg: f64) -> Repetition {
    let times = CarriedRepetition {
        lift_start_s: turn.start_s,
        lift_end_s: turn.half_s,
        lower_start_s: turn.half_s,
        lower_end_s: turn.end_s,
    };
    by_times(curve, &times, zero_deg)
}

/// A repetition whose times come from elsewhere than the angle. Its range is the spread of the
/// angle within it.
pub fn by_times(curve: &Curve, times: &CarriedRepetition, zero_deg: f64) -> Repetition {
    let [start, lift_end, lower_start, end] = [
        times.lift_start_s,
        times.lift_end_s,
        times.lower_start_s,
        times.lower_end_s,
    ]
    .map(|t_s| curve.index_of(t_s));
    let highest = |from: usize, to: usize, value: &dyn Fn(usize) -> f64| {
        (from..=to).map(value).fold(f64::NEG_INFINITY, f64::max)
    };
    let angle = |index: usize| curve.angle(index);
    let speed = |index: usize| curve.speed(index).abs();
    let lowest_deg = -highest(start, end, &|index| -angle(index));
    let peak_deg = highest(start, end, &angle);
    let mut result = Repetition {
        lift_start_s: times.lift_start_s,
        lift_end_s: times.lift_end_s,
        lower_start_s: times.lower_start_s,
        lower_end_s: times.lower_end_s,
        range_deg: peak_deg - lowest_deg,
        range_error_deg: None,
        lift_error_s: None,
        hold_error_s: None,
        lower_error_s: None,
        peak_deg: peak_deg - zero_deg,
        start_deg: angle(start) - zero_deg,
        peak_speed_deg_s: highest(lower_start, end, &speed),
        mean_speed_deg_s: None,
        lift_peak_speed_deg_s: highest(start, lift_end, &speed),
        off_axis_deg: curve.most_across_deg(start, end),
        lift_sparc_ratio: None,
        lower_sparc_ratio: None,
        lift_ldlj_ratio: None,
        lower_ldlj_ratio: None,
        verdict: None,
        doubts: Vec::new(),
    };
    if curve.has_gap(start, end) {
        result.doubt(Doubt::Gap);
    }
    result
}

/// The spectral arc length looks at 0 to 10 Hz of a speed that holds less than that: every fourth
/// point, 25 a second, is enough.
const THIN_COUNT: usize = 4;

fn thinned(speeds: &[f64]) -> Vec<f64> {
    speeds.iter().copied().step_by(THIN_COUNT).collect()
}

/// Speed along a stroke, deg/s, without its sign.
fn speed_profile(curve: &Curve, stroke: &Stroke) -> Vec<f64> {
    curve
        .speed_deg_s
        .get(stroke.start..=stroke.end)
        .map(|speeds| speeds.iter().map(|speed| speed.abs()).collect())
        .unwrap_or_default()
}

/// A value to so many decimals with the half-width of its 95 % interval, "42 ±2", the latter rounded
/// up; the value alone where that is unknown.
pub fn with_error(value: f64, error: Option<f64>, decimals: usize) -> String {
    let parts = 10_f64.powi(i32::try_from(decimals).unwrap_or(0));
    match error {
        Some(error) => {
            let up = (error * parts - 1e-9).ceil() / parts;
            format!("{value:.decimals$} \u{b1}{up:.decimals$}")
        }
        None => format!("{value:.decimals$}"),
    }
}
