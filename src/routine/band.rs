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

impl TempoBand {
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
    fn nothing_prescribed_gives_no_verdict() {
        let band = TempoBand::default();
        assert_eq!(band.verdict(1.0, Pace::Fast), None);
        assert_eq!(band.verdict(f64::NAN, Pace::Seconds(4.0)), None);
    }
}
