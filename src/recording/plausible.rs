//! Whether the numbers can be what they are declared to be: rate, units, anything at all.
//!
//! Ours. The accelerometer must read gravity in its quietest half second. The gyroscope must turn
//! as gravity turns: while the sensor turns with ω, gravity seen from it changes by a × ω (a the
//! specific force), so the change of the means of a over 0.45 s, held against the
//! integral of a × ω over the same time, has slope 1 in the right unit, 1/57.3 where degrees were
//! taken for radians, 57.3 the other way round. Their correlation does not depend on the unit, so
//! it says whether the slope may be believed; in movements that are all jerk, where it may not, the
//! mere sizes are held against each other with a wider margin. Gravity's change over the
//! gyroscope's lies within 0.22 to 7.0 on the 140 wrist-worn series of Burns et al., Physiol Meas
//! 39:075007, 2018, in their right units; the margins were set with those series in view, so they
//! are no independent test of them. Movements that turn about the
//! vertical show nothing and are not judged.

use std::path::Path;

use nalgebra::Vector3;

use super::error::RecordingError;
use super::rows::{HIGHEST_RATE_HZ, LOWEST_RATE_HZ, Track};
use super::units::{AccelUnit, GyroUnit, TimeUnit};

/// Gravity on Earth with 15 % for a cheap sensor's scale and offset, m/s².
const GRAVITY_M_S2: std::ops::Range<f64> = 8.3..11.3;

/// Half a second is quiet when the accelerometer spreads by less than this part of its mean.
const QUIET_RATIO: f64 = 0.03;

/// Half a second is quiet when, besides, the gyroscope reads no more than this, in rad/s, whichever
/// unit it is in: an arm that swings like a pendulum can keep the accelerometer constant in the
/// middle of its fastest turn.
const QUIET_TURN_RAD_S: f64 = 0.35;

/// Or no more than this part of its own root mean square over the record.
const QUIET_TURN_RATIO: f64 = 0.2;

/// Where no half second is quiet, the median norm of moving hands still lies within a factor of
/// about 3 of gravity; g and m/s² differ by 9.8. In m/s².
const MOVING_M_S2: std::ops::Range<f64> = 3.0..30.0;

/// Length of a block of samples, in seconds: short enough that tremor does not fold into the
/// movement.
const BLOCK_S: f64 = 0.05;

/// A longer step than this between two samples is a gap, in seconds.
const GAP_S: f64 = 0.1;

/// Blocks of half a second.
const HALF_SECOND_BLOCKS: usize = 10;

/// The smallest correlation of gravity's turn with the gyroscope's that is believed.
const LEAST_CORRELATION: f64 = 0.6;

/// The slope of a wrong unit is 57.3 or its inverse; this factor around it is taken for it.
const SLOPE_MARGIN: f64 = 3.0;

/// Gravity must turn at least by this in half a second (root mean square) for the slope to be
/// judged, as a part of its length: about half a degree, several times a sensor's noise.
const LEAST_TURN_RATIO: f64 = 0.008;

/// Without correlation the gyroscope is too large from this factor on, where gravity turns by
/// about 2 degrees in half a second or the gyroscope tells of more than gravity could ever do.
const TOO_LARGE: f64 = 15.0;
const TOO_LARGE_TURN_RATIO: f64 = 0.035;
const MOST_TURN_RATIO: f64 = 2.0;

/// Without correlation the gyroscope is too small from this factor on, where gravity seems to turn
/// by about 6 degrees in half a second: hands do not push like that without turning. Shaking
/// leaves a trace in the means, so that most of the force must change slowly.
const TOO_SMALL: f64 = 19.0;
const TOO_SMALL_TURN_RATIO: f64 = 0.1;
const MOST_SHAKING_RATIO: f64 = 2.0;

/// The fastest turn that a gyroscope of this kind can read: ±4000 deg/s on three axes, rad/s.
const FASTEST_TURN_RAD_S: f64 = 121.0;

/// What the columns were declared to be.
pub(super) struct Declared<'a> {
    pub(super) path: &'a Path,
    pub(super) ours: bool,
    pub(super) accel: AccelUnit,
    pub(super) gyro: GyroUnit,
    pub(super) time: TimeUnit,
    pub(super) time_column: &'a str,
    pub(super) rate_given: bool,
}

struct Block {
    first: usize,
    count: f64,
    sum: Vector3<f64>,
    square: f64,
    gyro_square: f64,
    turn: Vector3<f64>,
    /// No gap within the block nor before it.
    joined: bool,
}

/// Refuses what cannot be; returns what is only strange.
pub(super) fn check(track: &Track, declared: &Declared<'_>) -> Result<Vec<String>, RecordingError> {
    if !declared.rate_given {
        check_rate(track, declared)?;
    }
    let accel_is_zero = track
        .samples
        .iter()
        .all(|sample| sample.accel_m_s2 == Vector3::zeros());
    let gyro_is_zero = track
        .samples
        .iter()
        .all(|sample| sample.gyro_rad_s == Vector3::zeros());
    if accel_is_zero {
        return Err(RecordingError::AllZeros {
            path: declared.path.to_owned(),
            line: track.line(0),
            columns: if gyro_is_zero {
                "ax_m_s2 to gz_rad_s"
            } else {
                "ax_m_s2 to az_m_s2"
            },
            detail: "",
        });
    }
    let blocks = blocks(track);
    check_accel(track, &blocks, declared)?;
    if gyro_is_zero {
        return zero_gyro(track, &blocks, declared);
    }
    check_gyro(track, &blocks, declared)?;
    Ok(Vec::new())
}

impl Track {
    fn line(&self, index: usize) -> u64 {
        self.lines.get(index).copied().map_or(0, u64::from)
    }
}

fn check_rate(track: &Track, declared: &Declared<'_>) -> Result<(), RecordingError> {
    const JUDGED_STEPS: usize = 20_000;
    let stride = track.samples.len() / JUDGED_STEPS + 1;
    let mut steps_s: Vec<f64> = track
        .samples
        .windows(2)
        .step_by(stride)
        .filter_map(|pair| match pair {
            [before, after] => Some(after.t_s - before.t_s),
            _ => None,
        })
        .collect();
    let middle = steps_s.len() / 2;
    if steps_s.is_empty() {
        return Ok(());
    }
    let (_, median_s, _) = steps_s.select_nth_unstable_by(middle, f64::total_cmp);
    let mut step_s = *median_s;
    if step_s == 0.0
        && let (Some(first), Some(last)) = (track.samples.first(), track.samples.last())
    {
        // A unit that stamps whole packets: the mean rate is the one that counts.
        step_s = (last.t_s - first.t_s) / (track.samples.len() - 1) as f64;
    }
    let found_hz = 1.0 / step_s;
    if (LOWEST_RATE_HZ * 0.999..=HIGHEST_RATE_HZ).contains(&found_hz) {
        return Ok(());
    }
    Err(RecordingError::Rate {
        path: declared.path.to_owned(),
        line: track.line(1),
        column: declared.time_column.to_owned(),
        found_hz,
        low_hz: LOWEST_RATE_HZ,
        high_hz: HIGHEST_RATE_HZ,
        todo: rate_hint(found_hz, declared),
    })
}

fn rate_hint(found_hz: f64, declared: &Declared<'_>) -> String {
    if declared.ours {
        return "record again with the sensor set to at least 20 Hz".to_owned();
    }
    let usual = |hz: f64| (LOWEST_RATE_HZ..2000.0).contains(&hz);
    let units = [
        TimeUnit::Seconds,
        TimeUnit::Milliseconds,
        TimeUnit::Microseconds,
    ];
    let other = units.into_iter().find(|unit| {
        *unit != declared.time && usual(found_hz * unit.in_a_second() / declared.time.in_a_second())
    });
    match other {
        Some(TimeUnit::Seconds) => format!(
            "if the time column is in seconds, leave out --time-unit {}",
            declared.time.name()
        ),
        Some(unit) => format!(
            "if the time column is in {}, add --time-unit {}",
            unit.name(),
            unit.name()
        ),
        None if found_hz < LOWEST_RATE_HZ => "record again at 20 Hz or more".to_owned(),
        None => "check the time column, or give the sampling rate with --rate HZ".to_owned(),
    }
}

fn blocks(track: &Track) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut turn = Vector3::zeros();
    let mut before: Option<(f64, Vector3<f64>)> = None;
    let start_s = track.samples.first().map_or(0.0, |sample| sample.t_s);
    let mut block_number = f64::NEG_INFINITY;
    for (index, sample) in track.samples.iter().enumerate() {
        let rate = sample.accel_m_s2.cross(&sample.gyro_rad_s);
        let step_s = before.map_or(0.0, |(t_s, _)| sample.t_s - t_s);
        let joined = step_s <= GAP_S;
        if let Some((_, rate_before)) = before
            && joined
        {
            turn += (rate_before + rate) * (0.5 * step_s);
        }
        before = Some((sample.t_s, rate));
        let number = ((sample.t_s - start_s) / BLOCK_S).floor();
        if number > block_number {
            block_number = number;
            blocks.push(Block {
                first: index,
                count: 0.0,
                sum: Vector3::zeros(),
                square: 0.0,
                gyro_square: 0.0,
                turn: Vector3::zeros(),
                joined,
            });
        }
        if let Some(block) = blocks.last_mut() {
            block.count += 1.0;
            block.sum += sample.accel_m_s2;
            block.square += sample.accel_m_s2.norm_squared();
            block.gyro_square += sample.gyro_rad_s.norm_squared();
            block.turn += turn;
        }
    }
    blocks
}

fn check_accel(
    track: &Track,
    blocks: &[Block],
    declared: &Declared<'_>,
) -> Result<(), RecordingError> {
    let all: f64 = blocks.iter().map(|block| block.count).sum();
    let turning = blocks.iter().map(|block| block.gyro_square).sum::<f64>() / all;
    // Declared in degrees but in radians, it would turn 57 times as fast as it seems.
    let surely_slow = match declared.gyro {
        GyroUnit::RadiansPerSecond => QUIET_TURN_RAD_S,
        GyroUnit::DegreesPerSecond => QUIET_TURN_RAD_S * declared.gyro.factor(),
    };
    let slow_square = (surely_slow.powi(2)).max(turning * QUIET_TURN_RATIO.powi(2));
    let mut quietest: Option<(f64, f64, usize)> = None;
    for window in blocks.windows(HALF_SECOND_BLOCKS) {
        let [first, later @ ..] = window else {
            continue;
        };
        if later.iter().any(|block| !block.joined) {
            continue;
        }
        let count: f64 = window.iter().map(|block| block.count).sum();
        let gyro_square = window.iter().map(|block| block.gyro_square).sum::<f64>() / count;
        if gyro_square > slow_square {
            continue;
        }
        let mean = window.iter().map(|block| block.sum).sum::<Vector3<f64>>() / count;
        let square = window.iter().map(|block| block.square).sum::<f64>() / count;
        let spread = (square - mean.norm_squared()).max(0.0).sqrt();
        let ratio = spread / mean.norm();
        if ratio.is_finite() && quietest.is_none_or(|(least, ..)| ratio < least) {
            quietest = Some((ratio, mean.norm(), first.first));
        }
    }
    let (found_m_s2, index, moment) = match quietest {
        Some((ratio, norm, index)) if ratio < QUIET_RATIO => {
            if GRAVITY_M_S2.contains(&norm) {
                return Ok(());
            }
            (norm, index, "in its quietest half second")
        }
        _ => {
            let mut norms: Vec<f64> = blocks
                .iter()
                .map(|block| (block.square / block.count).sqrt())
                .collect();
            let middle = norms.len() / 2;
            if norms.is_empty() {
                return Ok(());
            }
            let (_, median, _) = norms.select_nth_unstable_by(middle, f64::total_cmp);
            if MOVING_M_S2.contains(median) {
                return Ok(());
            }
            (*median, 0, "never still, half of the time")
        }
    };
    Err(RecordingError::AccelUnit {
        path: declared.path.to_owned(),
        line: track.line(index),
        moment,
        found_m_s2,
        todo: accel_hint(found_m_s2, declared),
    })
}

fn accel_hint(found_m_s2: f64, declared: &Declared<'_>) -> String {
    if declared.ours {
        return "a samples.csv holds m/s^2, with gravity: check what wrote it".to_owned();
    }
    let gravity = AccelUnit::Gravity.factor();
    let near = |expected: f64| (expected / 1.5..expected * 1.5).contains(&found_m_s2);
    match declared.accel {
        AccelUnit::MetresPerSecondSquared if near(1.0) => {
            "if the columns are in g, add --accel-unit g".to_owned()
        }
        AccelUnit::Gravity if near(gravity * gravity) => {
            "if the columns are in m/s^2, leave out --accel-unit g".to_owned()
        }
        _ if found_m_s2 < 3.0 => {
            "if the columns are in g, add --accel-unit g; acceleration without gravity cannot be used".to_owned()
        }
        AccelUnit::MetresPerSecondSquared => {
            "convert the columns to m/s^2, or to g and add --accel-unit g".to_owned()
        }
        AccelUnit::Gravity => {
            "convert the columns to g, or to m/s^2 and leave out --accel-unit g".to_owned()
        }
    }
}

/// How gravity turned against how the gyroscope says it did.
#[derive(Debug, Clone, Copy)]
struct Turns {
    slope: f64,
    correlation: f64,
    /// Root mean square of gravity's turn in half a second, as a part of its length.
    turn_ratio: f64,
    /// The same, as the gyroscope tells it.
    told_ratio: f64,
    /// Energy of the force's change within the means against that between them.
    shaking_ratio: f64,
}

impl Turns {
    /// How many times too large (above 1) or too small (below 1) the gyroscope certainly is.
    fn misfit(&self) -> Option<f64> {
        let wrong = 180.0 / std::f64::consts::PI;
        let near = |slope: f64| (wrong / SLOPE_MARGIN..wrong * SLOPE_MARGIN).contains(&slope);
        if self.correlation > LEAST_CORRELATION
            && self.turn_ratio > LEAST_TURN_RATIO
            && (near(self.slope) || near(1.0 / self.slope))
        {
            return Some(1.0 / self.slope);
        }
        let factor = self.told_ratio / self.turn_ratio;
        let too_large = factor > TOO_LARGE
            && (self.turn_ratio > TOO_LARGE_TURN_RATIO || self.told_ratio > MOST_TURN_RATIO);
        let too_small = factor < 1.0 / TOO_SMALL
            && self.turn_ratio > TOO_SMALL_TURN_RATIO
            && self.shaking_ratio < MOST_SHAKING_RATIO;
        (too_large || too_small).then_some(factor)
    }
}

fn turns(blocks: &[Block]) -> Option<Turns> {
    // A triangle of 0.45 s passes at most 0.06 of a tremor of 7 to 11 Hz (computed at 50 to
    // 200 Hz); the means compared lie 0.45 s apart.
    const WEIGHTS: [f64; 9] = [1.0, 2.0, 3.0, 4.0, 5.0, 4.0, 3.0, 2.0, 1.0];
    let smooth = |window: &[Block]| {
        let joined = window.iter().skip(1).all(|block| block.joined);
        let (mut seen, mut told, mut square) = (Vector3::zeros(), Vector3::zeros(), 0.0);
        // By sample, not by block: at low rates blocks hold one sample or two in turn, and blocks
        // of equal weight would fold tremor into the movement.
        let mut all = 0.0;
        for (block, weight) in window.iter().zip(WEIGHTS) {
            seen += block.sum * weight;
            told += block.turn * weight;
            square += block.square * weight;
            all += block.count * weight;
        }
        let shaking = square / all - (seen / all).norm_squared();
        joined.then_some((seen / all, told / all, shaking))
    };
    let smoothed: Vec<_> = blocks.windows(WEIGHTS.len()).map(smooth).collect();
    let (mut xx, mut xy, mut yy, mut gg, mut shaking) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for window in smoothed.windows(HALF_SECOND_BLOCKS) {
        let (Some(Some(before)), Some(Some(after))) = (window.first(), window.last()) else {
            continue;
        };
        if window.iter().any(Option::is_none) {
            continue;
        }
        let (seen, told) = (after.0 - before.0, after.1 - before.1);
        xx += told.norm_squared();
        xy += told.dot(&seen);
        yy += seen.norm_squared();
        gg += before.0.norm_squared();
        shaking += before.2;
    }
    let turns = Turns {
        slope: xy / xx,
        correlation: xy / (xx * yy).sqrt(),
        turn_ratio: (yy / gg).sqrt(),
        told_ratio: (xx / gg).sqrt(),
        shaking_ratio: shaking / yy,
    };
    (turns.slope.is_finite() && turns.correlation.is_finite()).then_some(turns)
}

fn check_gyro(
    track: &Track,
    blocks: &[Block],
    declared: &Declared<'_>,
) -> Result<(), RecordingError> {
    let refuse = |index: usize, reason: String, too_large: bool| {
        Err(RecordingError::GyroUnit {
            path: declared.path.to_owned(),
            line: track.line(index),
            reason,
            todo: gyro_hint(too_large, declared),
        })
    };
    match turns(blocks).and_then(|turns| turns.misfit()) {
        Some(factor) if factor > 1.0 => {
            let reason = format!("the gyroscope turns {factor:.0} times as far as gravity does");
            return refuse(0, reason, true);
        }
        Some(factor) => {
            let times = 1.0 / factor;
            let reason = format!("gravity turns {times:.0} times as far as the gyroscope does");
            return refuse(0, reason, false);
        }
        None => {}
    }
    let mut fast = track
        .samples
        .iter()
        .enumerate()
        .filter(|(_, sample)| sample.gyro_rad_s.norm() > FASTEST_TURN_RAD_S);
    // A single spike is a fault of the sensor, not of the unit.
    if let Some((index, sample)) = fast.next()
        && fast.count() >= track.samples.len() / 100
    {
        let reason = format!(
            "the gyroscope reads {:.0} rad/s, more than such a sensor can",
            sample.gyro_rad_s.norm()
        );
        return refuse(index, reason, true);
    }
    Ok(())
}

fn gyro_hint(too_large: bool, declared: &Declared<'_>) -> String {
    match (declared.ours, too_large, declared.gyro) {
        (true, ..) => "a samples.csv holds rad/s: check what wrote it",
        (false, true, GyroUnit::RadiansPerSecond) => {
            "expected rad/s; if the columns are in degrees per second, add --gyro-unit deg_s"
        }
        (false, false, GyroUnit::DegreesPerSecond) => {
            "expected deg/s; if the columns are in radians per second, leave out --gyro-unit deg_s"
        }
        (false, ..) => "convert the columns to rad/s, or to deg/s and add --gyro-unit deg_s",
    }
    .to_owned()
}

/// A gyroscope that reads zero throughout: possible while nothing turns, a missing sensor else.
fn zero_gyro(
    track: &Track,
    blocks: &[Block],
    declared: &Declared<'_>,
) -> Result<Vec<String>, RecordingError> {
    let direction = |block: &Block| block.sum.try_normalize(0.0);
    let first = blocks.iter().find_map(direction);
    let turned = first.is_some_and(|first| {
        let away = blocks
            .iter()
            .filter_map(direction)
            .filter(|later| first.dot(later) < 0.97);
        away.count() > HALF_SECOND_BLOCKS
    });
    if turned {
        return Err(RecordingError::AllZeros {
            path: declared.path.to_owned(),
            line: track.line(0),
            columns: "gx_rad_s to gz_rad_s",
            detail: " while the accelerometer turns",
        });
    }
    Ok(vec![format!(
        "{}: the gyroscope reads exactly zero throughout",
        declared.path.display()
    )])
}
