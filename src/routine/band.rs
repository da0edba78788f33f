//! The tempo band: how far a time may be from the prescribed one and still be in tempo.

use serde::{Deserialize, Serialize};

use super::Pace;

/// A lowering held against the prescribed tempo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Within the band, its ends included.
    InBand,
    /// Shorter than the band.
    Hurried,
    /// Longer than the band.
    Slower,
}

impl Verdict {
    /// The word used in reports and recordings.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::InBand => "in-band",
            Verdict::Hurried => "hurried",
            Verdict::Slower => "slower",
        }
    }
}

/// The band around the prescribed time that counts as kept.
///
/// Ours: the ends are a setting of the routine, wide because the end of a movement is a matter
/// of definition (5 % of peak speed reads 0.88 of a minimum-jerk movement) and because people
/// count seconds roughly.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct TempoBand {
    /// Low end as a part of the prescribed time; small values forgive hurry. Above 0 and at most
    /// 1; default 0.75.
    pub low_ratio: f64,
    /// High end as a part of the prescribed time; large values forgive slowness. At least 1;
    /// default 1.5.
    pub high_ratio: f64,
}

impl Default for TempoBand {
    fn default() -> Self {
        TempoBand {
            low_ratio: 0.75,
            high_ratio: 1.5,
        }
    }
}

/// Mean speed under which a lowering is hardly told from rest at its ends, deg/s.
///
/// Ours. A phase ends where the speed falls under 5 % of its peak or 1.5 deg/s, whichever is more (the
/// phase definition). Of a minimum-jerk stroke through `R` degrees in `T` seconds, whose speed is
/// `16 u^2 (1-u)^2` of a peak of `1.875 R/T`, that leaves `sqrt(1 - sqrt(r))` of the time, where `r` is
/// the share of the peak at which it ends: 0.88 at 5 %, 0.79 at a mean speed of 5 deg/s, and 0.73,
/// which the usual band calls hurried, over 30 degrees in 8 s.
pub const HARDLY_TOLD_DEG_S: f64 = 5.0;

/// What a minimum-jerk stroke reads of its time, by its mean speed, deg/s.
fn smooth_reads_ratio(mean_deg_s: f64) -> f64 {
    let end_ratio = (1.5 / (1.875 * mean_deg_s)).clamp(0.05, 1.0);
    (1.0 - end_ratio.sqrt()).sqrt()
}

impl TempoBand {
    /// Whether a phase through `range_deg` that reads `actual_s`, and so is hurried, surely was: not
    /// where it was to be so slow that a smooth one in the prescribed time might read as short.
    pub fn surely_hurried(&self, actual_s: f64, range_deg: f64, prescribed: Pace) -> bool {
        let Some(prescribed_s) = prescribed.seconds() else {
            return true;
        };
        let mean_deg_s = range_deg / prescribed_s;
        if mean_deg_s >= HARDLY_TOLD_DEG_S {
            return true;
        }
        // As much shorter as a smooth stroke of that speed reads than one of usual speed.
        let shorter_ratio = smooth_reads_ratio(mean_deg_s) / smooth_reads_ratio(f64::INFINITY);
        actual_s < shorter_ratio * self.low_ratio * prescribed_s
    }

    /// The verdict on a phase that took `actual_s` seconds; `None` where no time is prescribed
    /// (as fast as possible) or the time is unknown (not finite).
    pub fn verdict(&self, actual_s: f64, prescribed: Pace) -> Option<Verdict> {
        let prescribed_s = prescribed.seconds()?;
        if !actual_s.is_finite() {
            return None;
        }
        Some(if actual_s < self.low_ratio * prescribed_s {
            Verdict::Hurried
        } else if actual_s > self.high_ratio * prescribed_s {
            Verdict::Slower
        } else {
            Verdict::InBand
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_belong_to_the_band() {
        let band = TempoBand::default();
        let four = Pace::Seconds(4.0);
        assert_eq!(band.verdict(3.0, four), Some(Verdict::InBand));
        assert_eq!(band.verdict(6.0, four), Some(Verdict::InBand));
        assert_eq!(band.verdict(2.999, four), Some(Verdict::Hurried));
        assert_eq!(band.verdict(6.001, four), Some(Verdict::Slower));
    }

    #[test]
    fn a_stroke_hardly_faster_than_rest_is_hurried_only_where_that_is_sure() {
        let band = TempoBand::default();
        let eight = Pace::Seconds(8.0);
        // Minimum jerk through 30 degrees in 8 s, sampled finely: what the phase definition leaves.
        let speed_deg_s = |t_s: f64| {
            let u = t_s / 8.0;
            30.0 / 8.0 * 30.0 * (u * (1.0 - u)).powi(2)
        };
        let peak_deg_s = speed_deg_s(4.0);
        let end_deg_s = f64::max(0.05 * peak_deg_s, 1.5);
        let moving = (0..8000).filter(|ms| speed_deg_s(f64::from(*ms) / 1000.0) >= end_deg_s);
        let read_s = moving.count() as f64 / 1000.0;
        assert!((smooth_reads_ratio(30.0 / 8.0) - read_s / 8.0).abs() < 0.001);
        assert_eq!(band.verdict(read_s, eight), Some(Verdict::Hurried));
        assert!(!band.surely_hurried(read_s, 30.0, eight), "it took 8 s");
        assert!(band.surely_hurried(0.6 * 8.0, 30.0, eight));
        // At usual speeds the verdict stands.
        assert!(band.surely_hurried(read_s, 45.0, eight));
        assert!(band.surely_hurried(2.99, 25.0, Pace::Seconds(4.0)));
    }

    #[test]
    fn nothing_prescribed_gives_no_verdict() {
        let band = TempoBand::default();
        assert_eq!(band.verdict(1.0, Pace::Fast), None);
        assert_eq!(band.verdict(f64::NAN, Pace::Seconds(4.0)), None);
    }
}
