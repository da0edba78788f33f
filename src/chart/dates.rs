//! A time line of civil dates.

use super::ChartError;
use super::axis::Scale;
use jiff::civil::Date;
use jiff::{Span, ToSpan};

/// Days from one date to another.
pub(crate) fn days_between(from: Date, to: Date) -> Result<f64, ChartError> {
    let span = from.until(to).map_err(unreachable_date)?;
    Ok(f64::from(span.get_days()))
}

fn unreachable_date(error: jiff::Error) -> ChartError {
    ChartError::Date {
        message: error.to_string(),
    }
}

/// Dates of sessions in order, and where each stands on the time line. Sessions of one day share
/// the day.
pub(crate) struct TimeLine {
    first: Date,
    last: Date,
    scale: Scale,
}

/// A named place on the time line.
pub(crate) struct DateTick {
    pub(crate) x_px: f64,
    pub(crate) label: String,
}

impl TimeLine {
    /// A time line from the first to the last date, with half a day or more of room at both ends.
    pub(crate) fn new(
        dates: impl Iterator<Item = Date>,
        to_px: (f64, f64),
    ) -> Result<Option<TimeLine>, ChartError> {
        let mut ends: Option<(Date, Date)> = None;
        for date in dates {
            let (first, last) = ends.unwrap_or((date, date));
            ends = Some((first.min(date), last.max(date)));
        }
        let Some((first, last)) = ends else {
            return Ok(None);
        };
        let span = days_between(first, last)?;
        let room = (span * 0.015).max(if span < 1.0 { 2.0 } else { 0.4 });
        Ok(Some(TimeLine {
            first,
            last,
            scale: Scale::new((-room, span + 1.0 + room), to_px),
        }))
    }

    /// The place of a date; `share` of the day, 0 to 1, is gone.
    pub(crate) fn at(&self, date: Date, share: f64) -> Result<f64, ChartError> {
        Ok(self.scale.at(days_between(self.first, date)? + share))
    }

    /// Width of a day.
    pub(crate) fn day_px(&self) -> f64 {
        self.scale.at(1.0) - self.scale.at(0.0)
    }

    /// The place in the day of each of a list of dates in order: one session at noon, two at a
    /// third and two thirds.
    pub(crate) fn shares(dates: &[Date]) -> Vec<f64> {
        let mut shares = Vec::with_capacity(dates.len());
        for group in dates.chunk_by(|a, b| a == b) {
            let parts = group.len() as f64 + 1.0;
            shares.extend((1..=group.len()).map(|n| n as f64 / parts));
        }
        shares
    }

    /// Ticks at days, Mondays, firsts of months or of years, whichever has room; the year stands
    /// at the first tick and where it changes.
    pub(crate) fn ticks(&self) -> Result<Vec<DateTick>, ChartError> {
        let days = days_between(self.first, self.last)? + 1.0;
        let room = self.scale.range().1 - self.scale.range().0;
        let width = self.day_px() * room;
        let fits = |every_days: f64, each_px: f64| days / every_days * each_px <= width;
        let monday = |date: Date| {
            let back = i64::from(date.weekday().to_monday_zero_offset());
            date.checked_sub(back.days()).map_err(unreachable_date)
        };
        let month = |date: Date| Ok::<Date, ChartError>(date.first_of_month());
        let year = |date: Date| Ok::<Date, ChartError>(date.first_of_year());
        let (start, step, form): (Date, Span, &str) = if fits(1.0, 52.0) || days < 3.0 {
            (self.first, 1.day(), "%-d %b")
        } else if fits(2.0, 52.0) && days < 12.0 {
            (self.first, 2.days(), "%-d %b")
        } else if fits(7.0, 52.0) {
            (monday(self.first)?, 1.week(), "%-d %b")
        } else if fits(14.0, 56.0) {
            (monday(self.first)?, 2.weeks(), "%-d %b")
        } else if fits(30.4, 44.0) {
            (month(self.first)?, 1.month(), "%b")
        } else if fits(61.0, 48.0) {
            (year(self.first)?, 2.months(), "%b")
        } else if fits(92.0, 48.0) {
            (year(self.first)?, 3.months(), "%b")
        } else if fits(365.0, 48.0) {
            (year(self.first)?, 1.year(), "")
        } else {
            (year(self.first)?, 10.years(), "")
        };
        let mut ticks = Vec::new();
        let mut date = start;
        let mut year_shown: Option<i16> = None;
        while date <= self.last {
            if date >= self.first {
                let form = if year_shown == Some(date.year()) {
                    form.to_owned()
                } else {
                    format!("{form} %Y")
                };
                year_shown = Some(date.year());
                // A tick of days stands at noon, where the day's session is.
                let share = if form.starts_with("%-d") { 0.5 } else { 0.0 };
                ticks.push(DateTick {
                    x_px: self.at(date, share)?,
                    label: date.strftime(form.trim()).to_string(),
                });
            }
            match date.checked_add(step) {
                Ok(next) => date = next,
                Err(_) => break,
            }
        }
        Ok(ticks)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed check may stop the test")]
    use super::*;
    use jiff::civil::date;

    fn labels(first: Date, last: Date) -> Vec<String> {
        let line = TimeLine::new([first, last].into_iter(), (0.0, 640.0));
        let ticks = line.unwrap().unwrap().ticks().unwrap();
        ticks.into_iter().map(|tick| tick.label).collect()
    }

    #[test]
    fn month_ends_count_as_the_calendar_does() {
        assert_eq!(
            days_between(date(2024, 2, 28), date(2024, 3, 1)).unwrap(),
            2.0
        );
        assert_eq!(
            days_between(date(2025, 2, 28), date(2025, 3, 1)).unwrap(),
            1.0
        );
    }

    #[test]
    fn the_year_stands_at_the_first_tick_and_where_it_changes() {
        let found = labels(date(2025, 11, 10), date(2026, 11, 9));
        assert_eq!(found.first().unwrap(), "Dec 2025");
        assert_eq!(found.get(1).unwrap(), "Jan 2026");
        assert_eq!(found.iter().filter(|l| l.contains("20")).count(), 2);
    }

    #[test]
    fn one_day_is_named_whole() {
        assert_eq!(
            labels(date(2026, 3, 31), date(2026, 3, 31)),
            ["31 Mar 2026"]
        );
    }

    #[test]
    fn four_weeks_are_ticked_on_mondays() {
        let found = labels(date(2026, 3, 3), date(2026, 3, 30));
        assert_eq!(found, ["9 Mar 2026", "16 Mar", "23 Mar", "30 Mar"]);
    }

    #[test]
    fn two_sessions_share_their_day() {
        let day = date(2026, 3, 3);
        let shares = TimeLine::shares(&[day, day, date(2026, 3, 4)]);
        assert_eq!(shares, [1.0 / 3.0, 2.0 / 3.0, 0.5]);
    }
}
