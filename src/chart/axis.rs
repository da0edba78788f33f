//! Axes: from a value to its place, round ticks, and times as people write them.

/// A straight map from values to pixels.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scale {
    from: (f64, f64),
    to_px: (f64, f64),
}

impl Scale {
    /// A scale whose value range is opened where it is empty.
    pub(crate) fn new((low, high): (f64, f64), to_px: (f64, f64)) -> Scale {
        let high = if high - low > 1e-9 { high } else { low + 1.0 };
        Scale {
            from: (low, high),
            to_px,
        }
    }

    pub(crate) fn at(&self, value: f64) -> f64 {
        let share = (value - self.from.0) / (self.from.1 - self.from.0);
        self.to_px.0 + share * (self.to_px.1 - self.to_px.0)
    }

    /// The place of a value, held within the axis.
    pub(crate) fn held(&self, value: f64) -> f64 {
        self.at(value.clamp(self.from.0, self.from.1))
    }

    pub(crate) fn range(&self) -> (f64, f64) {
        self.from
    }
}

/// Steps that look round for degrees, kilograms and counts.
const ROUND: [f64; 18] = [
    0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 180.0, 360.0, 720.0,
    1800.0, 3600.0,
];
/// Steps that look round for seconds.
const SECONDS: [f64; 13] = [
    0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0,
];

/// The smallest of the steps that cuts `span` into at most `most` parts.
fn step(steps: &[f64], span: f64, most: f64) -> f64 {
    steps
        .iter()
        .copied()
        .find(|step| span / step <= most)
        .unwrap_or_else(|| {
            let least = (span / most).max(1e-9);
            let power = 10f64.powf(least.log10().floor());
            let round = [1.0, 2.0, 5.0].map(|n| n * power);
            let fitting = round.into_iter().find(|step| *step >= least);
            fitting.unwrap_or(10.0 * power)
        })
}

fn multiples(step: f64, (low, high): (f64, f64)) -> Vec<f64> {
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|n| n as f64 * step).collect()
}

/// Round values within a range, at most about `most` of them.
pub(crate) fn ticks(range: (f64, f64), most: f64) -> Vec<f64> {
    multiples(step(&ROUND, range.1 - range.0, most), range)
}

/// Whole numbers within a range that starts at 0, at most about `most` of them.
pub(crate) fn count_ticks(high: f64, most: f64) -> Vec<f64> {
    let whole: Vec<f64> = ROUND.into_iter().filter(|s| *s >= 1.0).collect();
    multiples(step(&whole, high, most), (0.0, high))
}

/// Round times within a range, at most about `most` of them.
pub(crate) fn second_ticks(range: (f64, f64), most: f64) -> Vec<f64> {
    multiples(step(&SECONDS, range.1 - range.0, most), range)
}

/// A number with no more decimals than it needs, at most `decimals`; never a minus sign.
pub(crate) fn plain(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A time on an axis: seconds up to two minutes, then minutes and seconds.
pub(crate) fn clock(t_s: f64, long: bool) -> String {
    if !long {
        return plain(t_s, 1);
    }
    let whole = t_s.round() as i64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// The middle value; the mean of the two middle ones in an even number.
pub(crate) fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    let upper = sorted.get(half).copied()?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    let lower = sorted.get(half.checked_sub(1)?).copied()?;
    Some((lower + upper) / 2.0)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed check may stop the test")]
    use super::*;

    #[test]
    fn ticks_are_multiples_of_one_round_step_and_few() {
        for span in [0.3, 1.0, 7.0, 38.0, 61.0, 170.0, 2000.0, 90_000.0] {
            let found = ticks((-span / 3.0, span), 6.0);
            assert!((2..=8).contains(&found.len()), "{span}: {found:?}");
            assert!(
                found.iter().any(|t| t.abs() < 1e-9),
                "{span}: zero is a tick"
            );
        }
        assert_eq!(
            ticks((0.0, 60.0), 6.0),
            [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0]
        );
    }

    #[test]
    fn numbers_are_short_and_have_no_sign() {
        assert_eq!(plain(3.0, 1), "3");
        assert_eq!(plain(-42.04, 0), "42");
        assert_eq!(plain(100.0, 0), "100");
        assert_eq!(plain(1.25, 2), "1.25");
        assert_eq!(clock(75.0, true), "1:15");
    }

    #[test]
    fn the_median_of_an_even_number_is_the_mean_of_the_middle_two() {
        assert_eq!(median(&[4.0, 1.0, 3.0, 2.0]).unwrap(), 2.5);
        assert_eq!(median(&[5.0, 1.0, 3.0]).unwrap(), 3.0);
        assert_eq!(median(&[]), None);
    }
}
