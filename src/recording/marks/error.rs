//! What can be wrong with marks made by hand: where, what was expected, and what to do.

use std::path::PathBuf;

use super::super::error::RecordingError;

/// Why a file of marks cannot be read. Lines count from 1, the header being line 1.
#[derive(Debug, thiserror::Error)]
pub enum MarksError {
    /// It could not be read at all.
    #[error(transparent)]
    Reading(RecordingError),
    /// Far more than marks need.
    #[error("{}: the file is larger than {limit_count} bytes; expected a short table of marks, one row a repetition", .path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// The most that is read.
        limit_count: usize,
    },
    /// A needed column is not in the header.
    #[error("{}, line 1: there is no column {column}; columns found: {found}; expected a header line rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s", .path.display())]
    MissingColumn {
        /// The file.
        path: PathBuf,
        /// The column that is missing.
        column: &'static str,
        /// The header.
        found: String,
    },
    /// Two columns of the same name.
    #[error("{}, line 1: the column {column} is there {found_count} times; rename all but one", .path.display())]
    RepeatedColumn {
        /// The file.
        path: PathBuf,
        /// The name.
        column: &'static str,
        /// How often it is there.
        found_count: usize,
    },
    /// A row with more cells than the header names.
    #[error("{}, line {line}: the row has {found_count} cells, expected the {expected_count} of the header; numbers with decimal commas need semicolons or tabs between them", .path.display())]
    LongRow {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Cells of the row.
        found_count: usize,
        /// Cells of the header.
        expected_count: usize,
    },
    /// Text in a cell that holds a number.
    #[error("{}, line {line}, column {column}: \"{found}\" is no time; expected seconds of the recording such as 12.34, or an empty cell where nothing was marked", .path.display())]
    NotANumber {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: &'static str,
        /// The cell.
        found: String,
    },
    /// Decimal points and commas in one file.
    #[error("{}, line {line}, column {column}: \"{found}\" is written otherwise than the numbers before; expected decimal points or decimal commas throughout, and nothing between the thousands", .path.display())]
    MixedDecimals {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// Column.
        column: &'static str,
        /// The cell.
        found: String,
    },
    /// A repetition's number that is none.
    #[error("{}, line {line}, column rep: \"{found}\" is no number of a repetition; expected 1, 2, 3 and so on, or an empty cell", .path.display())]
    NotARep {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// The cell.
        found: String,
    },
    /// A row that does not fit.
    #[error("{}, line {line}{}: {fault}", .path.display(), .fault.column_words())]
    Fault {
        /// The file.
        path: PathBuf,
        /// Line.
        line: u64,
        /// What is wrong with it.
        fault: MarksFault,
    },
}

/// What is wrong with one mark.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum MarksFault {
    /// NaN or infinity.
    #[error("the time is not finite; expected seconds of the recording such as 12.34")]
    NotFinite {
        /// Which time.
        column: &'static str,
    },
    /// Times of one repetition that are out of order.
    #[error(
        "{time_s} s lies before {after}, {before_s} s; expected lift start, lift end, lowering start and lowering end in this order"
    )]
    Order {
        /// Which time.
        column: &'static str,
        /// It, seconds.
        time_s: f64,
        /// The one that it should follow.
        after: &'static str,
        /// That one, seconds.
        before_s: f64,
    },
    /// A number that the row before has.
    #[error("the repetition {rep} is there twice; give each row its own number")]
    Twice {
        /// The number.
        rep: u32,
    },
    /// A repetition that begins before the one before it ended.
    #[error(
        "the repetition {rep} begins at {start_s} s, before the repetition {other_rep} ends at {end_s} s; expected rows in order of time that do not overlap"
    )]
    Overlap {
        /// Its number.
        rep: u32,
        /// When it begins, seconds.
        start_s: f64,
        /// The one before.
        other_rep: u32,
        /// When that ends, seconds.
        end_s: f64,
    },
}

impl MarksFault {
    /// The column, for the place of a message.
    fn column_words(&self) -> String {
        match self {
            MarksFault::NotFinite { column } | MarksFault::Order { column, .. } => {
                format!(", column {column}")
            }
            MarksFault::Twice { .. } => ", column rep".to_owned(),
            MarksFault::Overlap { .. } => String::new(),
        }
    }
}
