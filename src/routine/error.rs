//! Why the text of a routine was refused.

use super::TempoError;

/// Why the text of a routine was refused. Lines and columns count from 1, columns in characters.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RoutineError {
    /// Not TOML.
    #[error("line {line}, column {column}: {message}")]
    Syntax {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// What the TOML reader expected.
        message: String,
    },
    /// A key that this table does not have.
    #[error("line {line}, column {column}: \"{key}\" is not a key of {table}; {suggestion}")]
    UnknownKey {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key as written.
        key: String,
        /// The table it stands in.
        table: String,
        /// What to write instead.
        suggestion: String,
    },
    /// A key that must not be left out.
    #[error("line {line}, column {column}: {table} has no \"{key}\"; add {example}")]
    MissingKey {
        /// Line of the table.
        line: usize,
        /// Column of the table.
        column: usize,
        /// The key.
        key: &'static str,
        /// The table it is missing from.
        table: String,
        /// What to add.
        example: String,
    },
    /// A value of the wrong kind: text for a number, and the like.
    #[error("line {line}, column {column}: {key} is {found}; write {expected}")]
    WrongKind {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key.
        key: String,
        /// The kind of value found.
        found: String,
        /// What it takes.
        expected: String,
    },
    /// A word that the key does not know.
    #[error("line {line}, column {column}: {key} = \"{found}\" is not known; {suggestion}")]
    UnknownWord {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key.
        key: String,
        /// The word as written.
        found: String,
        /// What to write instead.
        suggestion: String,
    },
    /// A number outside what makes sense.
    #[error("line {line}, column {column}: {key} = {found} is out of range; write {expected}")]
    OutOfRange {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key.
        key: String,
        /// The number as written.
        found: String,
        /// What it takes.
        expected: String,
    },
    /// A tempo that cannot be read.
    #[error("line {line}, column {column}: {reason}")]
    Tempo {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// Why.
        reason: TempoError,
    },
    /// `load_kg` and `load_lb` say different things.
    #[error(
        "line {line}, column {column}: load_kg = {load_kg} and load_lb = {load_lb} are not the same load; write one of them"
    )]
    TwoLoads {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// Kilograms as written.
        load_kg: f64,
        /// Pounds as written.
        load_lb: f64,
    },
    /// The target lies beyond the ceiling.
    #[error(
        "line {line}, column {column}: target_deg = {target_deg} lies beyond no_further_deg = {no_further_deg}; lower the target or raise the ceiling"
    )]
    TargetBeyondCeiling {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// Degrees to reach.
        target_deg: f64,
        /// Degrees not to pass.
        no_further_deg: f64,
    },
    /// Ulnar deviation where gravity does the work.
    #[error(
        "line {line}, column {column}: ulnar deviation with the thumb up is only the lowering of the muscles that lift the thumb side, so it does not train the movement named; let the arm hang with the heavy end behind, turn the little finger up, or prescribe radial-deviation"
    )]
    UlnarThumbUp {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
    },
    /// A push and a way back where they cannot stand, or half of them.
    #[error("line {line}, column {column}: {key} {trouble}; {expected}")]
    Push {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key.
        key: &'static str,
        /// What is wrong.
        trouble: &'static str,
        /// What to write instead.
        expected: &'static str,
    },
    /// A side that the item cannot be for.
    #[error("line {line}, column {column}: side = \"{found}\" does not fit {name}; {expected}")]
    Side {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The stretch or activity.
        name: &'static str,
        /// The side as written.
        found: &'static str,
        /// What to write instead.
        expected: &'static str,
    },
    /// A timed item whose length is not said, or said twice.
    #[error("line {line}, column {column}: {table} {trouble}; {expected}")]
    Dose {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The item.
        table: String,
        /// What is wrong.
        trouble: &'static str,
        /// What to write instead.
        expected: &'static str,
    },
    /// A key that the item cannot have.
    #[error("line {line}, column {column}: {key} cannot stand here: {reason}; leave {key} out")]
    Refused {
        /// Line.
        line: usize,
        /// Column.
        column: usize,
        /// The key.
        key: &'static str,
        /// Why.
        reason: &'static str,
    },
    /// A value with no TOML form.
    #[error("the routine cannot be written as TOML: {message}; check its numbers and texts")]
    Unwritable {
        /// What the TOML writer said.
        message: String,
    },
}

impl RoutineError {
    /// Line and column, from 1; 0 where the error has none.
    pub fn place(&self) -> (usize, usize) {
        match self {
            RoutineError::Syntax { line, column, .. }
            | RoutineError::UnknownKey { line, column, .. }
            | RoutineError::MissingKey { line, column, .. }
            | RoutineError::WrongKind { line, column, .. }
            | RoutineError::UnknownWord { line, column, .. }
            | RoutineError::OutOfRange { line, column, .. }
            | RoutineError::Tempo { line, column, .. }
            | RoutineError::TwoLoads { line, column, .. }
            | RoutineError::TargetBeyondCeiling { line, column, .. }
            | RoutineError::Push { line, column, .. }
            | RoutineError::Side { line, column, .. }
            | RoutineError::Dose { line, column, .. }
            | RoutineError::Refused { line, column, .. }
            | RoutineError::UlnarThumbUp { line, column } => (*line, *column),
            RoutineError::Unwritable { .. } => (0, 0),
        }
    }
}
