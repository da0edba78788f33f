//! Columns as arrays: null is unknown, moments are microseconds of universal time.

use std::collections::HashMap;
use std::sync::Arc;

use arrow_array::builder::StringDictionaryBuilder;
use arrow_array::types::Int32Type;
use arrow_array::{
    ArrayRef, BooleanArray, Date32Array, Float64Array, Int32Array, TimestampMicrosecondArray,
};
use arrow_schema::{DataType, Field, TimeUnit};
use jiff::civil::{Date, date};

use crate::export::table::{Cell, Column, Kind};

/// The zone of every moment.
const UTC: &str = "UTC";

fn data_type(kind: Kind) -> DataType {
    match kind {
        Kind::Text => DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8)),
        Kind::Whole => DataType::Int32,
        Kind::Number => DataType::Float64,
        Kind::Flag => DataType::Boolean,
        Kind::Moment => DataType::Timestamp(TimeUnit::Microsecond, Some(UTC.into())),
        Kind::Day => DataType::Date32,
    }
}

/// A column's field: its unit and what it says are its metadata.
pub(super) fn field<R>(column: &Column<'_, R>) -> Field {
    let mut metadata = HashMap::from([("about".to_owned(), column.about.to_owned())]);
    if let Some(unit) = column.unit() {
        metadata.insert("unit".to_owned(), unit.to_owned());
    }
    Field::new(column.name.as_ref(), data_type(column.kind), true).with_metadata(metadata)
}

/// A column's values. A value of another kind than its column's is none.
pub(super) fn array<R>(column: &Column<'_, R>, rows: &[R]) -> ArrayRef {
    let cells = rows.iter().map(|row| column.cell(row));
    match column.kind {
        Kind::Text => {
            let mut builder = StringDictionaryBuilder::<Int32Type>::new();
            for cell in cells {
                match cell {
                    Cell::Word(word) => builder.append_value(word),
                    Cell::Said(words) => builder.append_value(words),
                    _ => builder.append_null(),
                }
            }
            Arc::new(builder.finish())
        }
        Kind::Whole => Arc::new(Int32Array::from_iter(cells.map(|cell| match cell {
            Cell::Whole(value) => i32::try_from(value).ok(),
            _ => None,
        }))),
        Kind::Number => Arc::new(Float64Array::from_iter(cells.map(|cell| match cell {
            Cell::Number(value) => Some(value),
            _ => None,
        }))),
        Kind::Flag => Arc::new(BooleanArray::from_iter(cells.map(|cell| match cell {
            Cell::Flag(value) => Some(value),
            _ => None,
        }))),
        Kind::Moment => {
            let values = cells.map(|cell| match cell {
                Cell::Moment { unix_us, .. } => Some(unix_us),
                _ => None,
            });
            Arc::new(TimestampMicrosecondArray::from_iter(values).with_timezone(UTC))
        }
        Kind::Day => Arc::new(Date32Array::from_iter(cells.map(|cell| match cell {
            Cell::Day(day) => Some(days_since_1970(day)),
            _ => None,
        }))),
    }
}

fn days_since_1970(day: Date) -> i32 {
    let since = day.duration_since(date(1970, 1, 1));
    i32::try_from(since.as_hours() / 24).unwrap_or(i32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: 365 days a year, one more in leap years.
    #[test]
    fn days_are_counted_from_1970() {
        assert_eq!(days_since_1970(date(1970, 1, 1)), 0);
        assert_eq!(days_since_1970(date(1969, 12, 31)), -1);
        assert_eq!(days_since_1970(date(2000, 1, 1)), 30 * 365 + 7);
    }
}
