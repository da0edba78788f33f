//! What a table of the exports is: columns that each know their unit and read one row.

use std::borrow::Cow;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

/// One value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell<'a> {
    /// Not known: an empty cell, a null.
    Unknown,
    /// A word of this program or a code.
    Word(Cow<'a, str>),
    /// Words that a person wrote.
    Said(String),
    /// A whole number.
    Whole(i64),
    /// A number in the column's unit.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// A moment, with the offset of the person's clock from universal time.
    Moment {
        /// Microseconds since 1970, universal time.
        unix_us: i64,
        /// The offset then in force.
        offset: Offset,
    },
    /// A day of the person's calendar.
    Day(Date),
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Number,
    /// Yes or no.
    Flag,
    /// Moments.
    Moment,
    /// Days.
    Day,
}

/// A column of a table with rows of `R`.
pub struct Column<'a, R> {
    /// Its name; that of a number ends in its unit.
    pub name: Cow<'static, str>,
    /// What it holds.
    pub kind: Kind,
    /// What it says, in a sentence.
    pub about: &'static str,
    cell: Reader<'a, R>,
}

type Reader<'a, R> = Box<dyn Fn(&R) -> Cell<'a> + Send + Sync + 'a>;

impl<'a, R> Column<'a, R> {
    /// A column.
    pub(super) fn new(
        name: impl Into<Cow<'static, str>>,
        kind: Kind,
        about: &'static str,
        cell: impl Fn(&R) -> Cell<'a> + Send + Sync + 'a,
    ) -> Column<'a, R> {
        Column {
            name: name.into(),
            kind,
            about,
            cell: Box::new(cell),
        }
    }

    /// The value of a row.
    pub fn cell(&self, row: &R) -> Cell<'a> {
        (self.cell)(row)
    }

    /// The unit that the name ends in; `None` of words, days, moments and numbers that only name
    /// their row.
    pub fn unit(&self) -> Option<&'static str> {
        match self.kind {
            Kind::Whole | Kind::Number => unit_of(&self.name),
            Kind::Text | Kind::Flag | Kind::Moment | Kind::Day => None,
        }
    }
}

/// Ends of names and their units, the longer ones first.
const UNITS: [(&str, &str); 10] = [
    ("_deg_per_rep", "degrees per repetition"),
    ("_s_per_rep", "seconds per repetition"),
    ("_deg_s", "degrees per second"),
    ("_deg", "degrees"),
    ("_kg", "kilograms"),
    ("_s", "seconds"),
    ("_ratio", "dimensionless"),
    ("_count", "count"),
    ("_percent", "percent"),
    ("_0_to_10", "0 (none) to 10"),
];

fn unit_of(name: &str) -> Option<&'static str> {
    UNITS
        .iter()
        .find(|(end, _)| name.ends_with(end))
        .map(|(_, unit)| *unit)
}

impl<'a> Cell<'a> {
    /// A number, or unknown; a number that is none (infinite, undefined) is unknown too.
    pub(super) fn number(value: impl Into<Option<f64>>) -> Cell<'a> {
        match value.into() {
            Some(value) if value.is_finite() => Cell::Number(value),
            _ => Cell::Unknown,
        }
    }

    /// A whole number.
    pub(super) fn whole(value: impl TryInto<i64>) -> Cell<'a> {
        value.try_into().map_or(Cell::Unknown, Cell::Whole)
    }

    /// A whole number, or unknown.
    pub(super) fn maybe(value: Option<impl TryInto<i64>>) -> Cell<'a> {
        value.map_or(Cell::Unknown, Cell::whole)
    }

    /// A word, or unknown.
    pub(super) fn word(value: impl Into<Option<&'a str>>) -> Cell<'a> {
        value
            .into()
            .map_or(Cell::Unknown, |word| Cell::Word(Cow::Borrowed(word)))
    }

    /// A word made for the occasion, or unknown.
    pub(super) fn made(value: impl Into<Option<String>>) -> Cell<'a> {
        value
            .into()
            .map_or(Cell::Unknown, |word| Cell::Word(Cow::Owned(word)))
    }

    /// What people said, one after the other; none is unknown, an answer without words stays empty
    /// between its bars.
    pub(super) fn said<'s>(all: impl Iterator<Item = &'s str>) -> Cell<'a> {
        let all: Vec<&str> = all.collect();
        if all.iter().all(|said| said.trim().is_empty()) {
            return Cell::Unknown;
        }
        Cell::Said(all.join(" | "))
    }

    /// The text of a moment with its offset, RFC 3339; `None` of another cell.
    pub(super) fn rfc_3339(&self) -> Option<String> {
        let Cell::Moment { unix_us, offset } = self else {
            return None;
        };
        let moment = Timestamp::from_microsecond(*unix_us).ok()?;
        Some(moment.display_with_offset(*offset).to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_tells_its_unit() {
        assert_eq!(unit_of("peak_speed_deg_s"), Some("degrees per second"));
        assert_eq!(unit_of("range_deg"), Some("degrees"));
        assert_eq!(unit_of("lower_s_per_rep"), Some("seconds per repetition"));
        assert_eq!(unit_of("set"), None);
    }

    #[test]
    fn what_is_no_number_is_unknown() {
        assert_eq!(Cell::number(f64::NAN), Cell::Unknown);
        assert_eq!(Cell::number(None), Cell::Unknown);
        assert_eq!(Cell::number(0.0), Cell::Number(0.0));
    }
}
