//! Where in a routine a problem stands: which field of which item, beside its line and column.

use std::collections::HashMap;

use serde::Serialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Step;
use crate::routine::check::Places;
use crate::routine::{Routine, RoutineError};

/// A problem of a routine's text, and the field it is about.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlacedProblem {
    /// The way to the field; empty where it is the text as a whole.
    pub at: Vec<Step>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong and what to write instead, without line and column.
    pub words: String,
}

/// Everything that is wrong with the text, in its order; empty when it reads.
pub fn placed_problems(text: &str) -> Vec<PlacedProblem> {
    let problems = Routine::problems(text);
    if problems.is_empty() {
        return Vec::new();
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut known = Known {
        places: Places(text),
        ways: HashMap::new(),
    };
    if let Ok(document) = DeTable::parse(text) {
        known.table(0, document.get_ref(), &[]);
    }
    problems
        .iter()
        .map(|problem| known.placed(problem))
        .collect()
}

/// The ways to all keys and values, by line and column.
struct Known<'a> {
    places: Places<'a>,
    ways: HashMap<(usize, usize), Vec<Step>>,
}

impl Known<'_> {
    fn note(&mut self, byte: usize, way: &[Step]) {
        // The outermost that begins there.
        let place = self.places.at(byte);
        self.ways.entry(place).or_insert_with(|| way.to_vec());
    }

    fn table(&mut self, byte: usize, table: &DeTable<'_>, way: &[Step]) {
        self.note(byte, way);
        for (key, value) in table.iter() {
            let name = Step::Key(key.get_ref().to_string());
            let way: Vec<Step> = way.iter().cloned().chain([name]).collect();
            self.value(value, &way);
            self.note(key.span().start, &way);
        }
    }

    fn value(&mut self, value: &Spanned<DeValue<'_>>, way: &[Step]) {
        let byte = value.span().start;
        match value.get_ref() {
            DeValue::Table(table) => self.table(byte, table, way),
            DeValue::Array(items) => {
                for (place, item) in items.iter().enumerate() {
                    let way: Vec<Step> = way.iter().cloned().chain([Step::Place(place)]).collect();
                    self.value(item, &way);
                }
            }
            _ => self.note(byte, way),
        }
    }

    fn placed(&self, problem: &RoutineError) -> PlacedProblem {
        let (line, column) = problem.place();
        let mut at = self.ways.get(&(line, column)).cloned().unwrap_or_default();
        if let RoutineError::MissingKey { key, .. } = problem {
            at.push(Step::Key((*key).to_owned()));
        }
        let said = problem.to_string();
        let before = format!("line {line}, column {column}: ");
        PlacedProblem {
            at,
            line,
            column,
            words: said.strip_prefix(&before).unwrap_or(&said).to_owned(),
        }
    }
}
