//! The figures of one session: medians and quartiles.

use serde::Serialize;

/// Ranges of a session's repetitions, degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RangeFigures {
    /// Median.
    pub median_deg: f64,
    /// Lower quartile.
    pub lower_quartile_deg: f64,
    /// Upper quartile.
    pub upper_quartile_deg: f64,
    /// The greatest.
    pub best_deg: f64,
}

/// Times of a session's repetitions, seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TimeFigures {
    /// Median.
    pub median_s: f64,
    /// Lower quartile.
    pub lower_quartile_s: f64,
    /// Upper quartile.
    pub upper_quartile_s: f64,
}

/// The value below which the share `share_ratio` of the values lies, between neighbours in
/// proportion; `None` of no values.
///
/// Source: definition 7 of Hyndman & Fan, The American Statistician 50:361-365, 1996,
/// doi:10.1080/00031305.1996.10473566.
pub fn quantile(values: &[f64], share_ratio: f64) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1)?;
    let place = share_ratio.clamp(0.0, 1.0) * last as f64;
    let below = sorted.get(place.floor() as usize)?;
    let above = sorted.get(place.ceil() as usize)?;
    Some(below + (above - below) * place.fract())
}

impl RangeFigures {
    /// The figures of these ranges; `None` of none.
    pub(super) fn of(ranges_deg: &[f64]) -> Option<RangeFigures> {
        Some(RangeFigures {
            median_deg: quantile(ranges_deg, 0.5)?,
            lower_quartile_deg: quantile(ranges_deg, 0.25)?,
            upper_quartile_deg: quantile(ranges_deg, 0.75)?,
            best_deg: quantile(ranges_deg, 1.0)?,
        })
    }
}

impl TimeFigures {
    /// The figures of these times; `None` of none.
    pub(super) fn of(times_s: &[f64]) -> Option<TimeFigures> {
        Some(TimeFigures {
            median_s: quantile(times_s, 0.5)?,
            lower_quartile_s: quantile(times_s, 0.25)?,
            upper_quartile_s: quantile(times_s, 0.75)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against numpy.quantile of numpy 2.4.6, whose default is the same definition.
    #[test]
    fn quartiles_are_those_of_definition_seven() {
        let values = [7.0, 1.0, 4.0, 2.0];
        assert_eq!(quantile(&values, 0.25), Some(1.75));
        assert_eq!(quantile(&values, 0.5), Some(3.0));
        assert_eq!(quantile(&values, 0.75), Some(4.75));
        assert_eq!(quantile(&[5.0], 0.25), Some(5.0));
        assert_eq!(quantile(&[], 0.5), None);
    }
}
