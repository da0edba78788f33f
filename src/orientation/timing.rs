//! Uneven time stamps made into even ticks.
//!
//! Ours: the filters' low passes want one reading each nominal spacing, the turn wants the true
//! time. So every step between two samples is cut into as many equal parts as whole spacings have
//! come due, with the readings between them interpolated; the parts add up to the true time. A
//! step longer than [`GAP_S`] is a gap: nothing is invented there, the inclination starts afresh.

use nalgebra::Vector3;

use super::RateMeaning;
use crate::sample::Sample;

/// Longest step that is bridged by interpolation, s.
///
/// Ours: after 0.2 s of straight line a swing of 70 deg at half a cycle a second is 0.5 deg off (the
/// tests print it); after a longer one the accelerometer knows better.
pub const GAP_S: f64 = 0.2;

/// Correlation time of a hand's rate, s, for the turn through a gap (ours: a wrist that turns at
/// some rate has lost that rate after about a quarter of a second).
const RATE_MEMORY_S: f64 = 0.25;

/// A clock that goes back further than this, s, has been set anew.
const CLOCK_SET_BACK_S: f64 = 1.0;

/// A rate that the filters can be built for.
pub(crate) fn sane_rate_hz(rate_hz: f64) -> f64 {
    if rate_hz.is_nan() {
        100.0
    } else {
        rate_hz.clamp(1.0, 10_000.0)
    }
}

/// How a sample follows the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Step {
    /// `dt_s` later, in so many equal ticks; none when less than half a spacing is due, as with a
    /// repeated stamp.
    Ticks {
        /// True time since the sample before, s, never negative.
        dt_s: f64,
        /// Nominal spacings that have come due.
        count: u8,
    },
    /// After a gap of so many seconds (0 where the clock was set back).
    Gap {
        /// Length of the gap, s.
        gap_s: f64,
    },
}

/// Counts the nominal spacings that come due.
#[derive(Debug, Clone)]
pub(crate) struct Ticker {
    spacing_s: f64,
    gap_s: f64,
    due: f64,
}

impl Ticker {
    pub(crate) fn new(rate_hz: f64, gap_s: f64) -> Self {
        let spacing_s = 1.0 / sane_rate_hz(rate_hz);
        // A gap is at least some lost packets long, at any rate, and its ticks fit a byte.
        let gap_s = if gap_s.is_nan() { GAP_S } else { gap_s };
        Self {
            spacing_s,
            gap_s: gap_s.clamp(2.5 * spacing_s, 250.0 * spacing_s),
            due: 0.0,
        }
    }

    pub(crate) fn step(&mut self, dt_s: f64) -> Step {
        if dt_s > self.gap_s || dt_s < -CLOCK_SET_BACK_S || dt_s.is_nan() {
            self.due = 0.0;
            return Step::Gap {
                gap_s: dt_s.max(0.0),
            };
        }
        let dt_s = dt_s.max(0.0);
        self.due += dt_s / self.spacing_s;
        let count = (self.due + 0.5).floor().clamp(0.0, 255.0);
        self.due -= count;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a whole number between 0 and 255"
        )]
        Step::Ticks {
            dt_s,
            count: count as u8,
        }
    }

    pub(crate) fn reset(&mut self) {
        self.due = 0.0;
    }
}

/// One part of a step: the mean rate over it and the specific force at its end.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part {
    pub(crate) rate_rad_s: Vector3<f64>,
    pub(crate) accel_m_s2: Vector3<f64>,
}

/// Part `index` of `count` (counted from 1) of the step from one sample to the next.
pub(crate) fn part(from: &Sample, to: &Sample, index: u8, count: u8, meaning: RateMeaning) -> Part {
    let share = |k: f64| {
        if count == 0 {
            1.0
        } else {
            k / f64::from(count)
        }
    };
    let end_ratio = share(f64::from(index));
    let rate_ratio = match meaning {
        RateMeaning::SincePrevious => end_ratio,
        RateMeaning::AtInstant => {
            if count == 0 {
                0.5
            } else {
                share(f64::from(index) - 0.5)
            }
        }
    };
    Part {
        rate_rad_s: mix(&from.gyro_rad_s, &to.gyro_rad_s, rate_ratio),
        accel_m_s2: mix(&from.accel_m_s2, &to.accel_m_s2, end_ratio),
    }
}

/// A straight line from one vector to another; exactly the second at 1.
pub(crate) fn mix(from: &Vector3<f64>, to: &Vector3<f64>, ratio: f64) -> Vector3<f64> {
    if ratio >= 1.0 {
        *to
    } else {
        from + (to - from) * ratio
    }
}

/// The expected turn through a gap, as a rotation vector in rad, from the rates at its two ends.
///
/// The mean of an Ornstein-Uhlenbeck process tied at both ends: (r0 + r1) · m · tanh(gap / 2m) with
/// the memory m. For a short gap this is the interpolated rate over the gap; for a long one it does
/// not let two rates half a movement apart run on for seconds.
pub(crate) fn turn_through_gap_rad(
    before_rad_s: &Vector3<f64>,
    after_rad_s: &Vector3<f64>,
    gap_s: f64,
) -> Vector3<f64> {
    (before_rad_s + after_rad_s) * (RATE_MEMORY_S * (0.5 * gap_s / RATE_MEMORY_S).tanh())
}

/// The rate that samples are spaced at, Hz, losses, gaps and repeated stamps left aside; `None` where
/// time never goes on.
///
/// The mean of the steps within half of their median: a median alone would take the rounding of
/// the stamps for the rate.
pub fn nominal_rate_hz(samples: &[Sample]) -> Option<f64> {
    let steps_s = || {
        samples
            .windows(2)
            .filter_map(|pair| match pair {
                [a, b] => Some(b.t_s - a.t_s),
                _ => None,
            })
            .filter(|dt_s| *dt_s > 0.0 && dt_s.is_finite())
    };
    const ENOUGH: usize = 4096;
    let stride = (samples.len() / ENOUGH).max(1);
    let mut some: Vec<f64> = steps_s().step_by(stride).collect();
    let middle = some.len() / 2;
    if some.is_empty() {
        return None;
    }
    let (_, median_s, _) = some.select_nth_unstable_by(middle, f64::total_cmp);
    let median_s = *median_s;
    let (mut sum_s, mut count) = (0.0, 0.0);
    for dt_s in steps_s().filter(|dt_s| (dt_s / median_s - 1.0).abs() < 0.5) {
        sum_s += dt_s;
        count += 1.0;
    }
    Some(count / sum_s)
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::unwrap_used,
        clippy::panic,
        reason = "a test says what is wrong by failing"
    )]

    use super::*;

    fn at(t_s: f64) -> Sample {
        Sample {
            t_s,
            accel_m_s2: Vector3::z(),
            gyro_rad_s: Vector3::x() * t_s,
        }
    }

    #[test]
    fn ticks_keep_up_with_time_through_jitter_and_losses() {
        let mut ticker = Ticker::new(100.0, GAP_S);
        let (mut last_s, mut ticks) = (0.0, 0);
        for i in 1..10_000_u32 {
            if i % 13 == 5 {
                continue;
            }
            let t_s = f64::from(i) / 100.0 + 0.001 * f64::from(i * 7 % 3) - 0.001;
            match ticker.step(t_s - last_s) {
                Step::Ticks { count, dt_s } => {
                    ticks += u32::from(count);
                    assert_eq!(u32::from(count), if i % 13 == 6 { 2 } else { 1 });
                    assert!((dt_s - (t_s - last_s)).abs() < 1e-15);
                }
                Step::Gap { .. } => panic!("a gap at {t_s}"),
            }
            last_s = t_s;
        }
        assert_eq!(ticks, 9999);
        assert_eq!(
            ticker.step(0.0),
            Step::Ticks {
                dt_s: 0.0,
                count: 0
            }
        );
        assert_eq!(ticker.step(2.5), Step::Gap { gap_s: 2.5 });
        assert_eq!(ticker.step(-30.0), Step::Gap { gap_s: 0.0 });
    }

    #[test]
    fn the_parts_of_a_step_turn_as_far_as_a_straight_rate_does() {
        // ∫ of a straight line is the mean of its ends times the time.
        let (from, to) = (at(1.0), at(1.04));
        let turn_rad: f64 = (1..=4_u8)
            .map(|i| part(&from, &to, i, 4, RateMeaning::AtInstant).rate_rad_s.x * 0.01)
            .sum();
        assert!((turn_rad - 1.02 * 0.04).abs() < 1e-15);
        assert_eq!(
            part(&from, &to, 4, 4, RateMeaning::SincePrevious).rate_rad_s,
            to.gyro_rad_s
        );
    }

    #[test]
    fn the_turn_through_a_gap_begins_as_the_trapezoid_and_stays_finite() {
        let (a, b) = (Vector3::x(), Vector3::x() * 3.0);
        assert!((turn_through_gap_rad(&a, &b, 0.01).x - 0.02).abs() < 1e-5);
        assert!((turn_through_gap_rad(&a, &b, 1e3).x - 4.0 * RATE_MEMORY_S).abs() < 1e-12);
    }

    #[test]
    fn the_rate_is_read_past_rounding_losses_and_repeats() {
        let stamps = (0..5000_u32)
            .filter(|i| i % 17 != 3)
            .map(|i| (f64::from(i) / 104.0 * 1000.0).round() / 1000.0);
        let mut samples: Vec<Sample> = stamps.map(at).collect();
        samples.insert(100, samples.get(100).copied().unwrap());
        for sample in samples.iter_mut().skip(3000) {
            sample.t_s += 60.0;
        }
        let rate_hz = nominal_rate_hz(&samples).unwrap();
        assert!((rate_hz - 104.0).abs() < 0.05, "{rate_hz}");
        assert_eq!(nominal_rate_hz(&[]), None);
    }
}
