//! Reading a routine and saying what is wrong with it, where, and what to write instead.

use serde::Deserialize;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest::nearest;
use super::schema::{self, Key, Takes};
use super::{Routine, RoutineError, Tempo};

/// A byte range's start as line and column.
pub(super) struct Places<'a>(pub(super) &'a str);

impl Places<'_> {
    pub(super) fn at(&self, byte: usize) -> (usize, usize) {
        let before = self.0.get(..byte).unwrap_or(self.0);
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        let line = before.matches('\n').count() + 1;
        let column = before.get(line_start..).unwrap_or("").chars().count() + 1;
        (line, column)
    }
}

/// Reads and checks; the error holds at least one problem.
pub(super) fn read(text: &str) -> Result<Routine, Vec<RoutineError>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let places = Places(text);
    let syntax = |error: toml::de::Error| {
        let (line, column) = places.at(error.span().map_or(0, |span| span.start));
        RoutineError::Syntax {
            line,
            column,
            message: error.message().to_owned(),
        }
    };
    let document = DeTable::parse(text).map_err(|error| vec![syntax(error)])?;
    let mut walk = Walk {
        places: &places,
        problems: Vec::new(),
    };
    walk.table("the routine", 0, document.get_ref(), schema::ROUTINE);
    if !walk.problems.is_empty() {
        walk.problems.sort_by_key(RoutineError::place);
        return Err(walk.problems);
    }
    let routine = Routine::deserialize(toml::de::Deserializer::from(document.clone()))
        .map_err(|error| vec![syntax(error)])?;
    walk.agreement(document.get_ref(), &routine);
    if walk.problems.is_empty() {
        Ok(routine)
    } else {
        Err(walk.problems)
    }
}

pub(super) struct Walk<'a> {
    pub(super) places: &'a Places<'a>,
    pub(super) problems: Vec<RoutineError>,
}

impl Walk<'_> {
    fn table(&mut self, name: &str, byte: usize, table: &DeTable<'_>, keys: &'static [Key]) {
        for (written, value) in table.iter() {
            let found: &str = written.get_ref();
            match keys.iter().find(|key| key.name == found) {
                Some(key) => {
                    if let Takes::Nothing(reason) = key.takes {
                        let (line, column) = self.places.at(written.span().start);
                        self.problems.push(RoutineError::Refused {
                            line,
                            column,
                            key: key.name,
                            reason,
                        });
                    } else {
                        self.value(key, value);
                    }
                }
                None => {
                    let (line, column) = self.places.at(written.span().start);
                    let known = keys.iter().filter(|key| key.may_stand());
                    let known = known.map(|key| key.name);
                    self.problems.push(RoutineError::UnknownKey {
                        line,
                        column,
                        key: shown(found),
                        table: name.to_owned(),
                        suggestion: suggestion(found, known),
                    });
                }
            }
        }
        for key in keys.iter().filter(|key| key.required) {
            if !table.contains_key(key.name) {
                let (line, column) = self.places.at(byte);
                self.problems.push(RoutineError::MissingKey {
                    line,
                    column,
                    key: key.name,
                    table: name.to_owned(),
                    example: example(key),
                });
            }
        }
    }

    fn value(&mut self, key: &Key, value: &Spanned<DeValue<'_>>) {
        let byte = value.span().start;
        match (&key.takes, value.get_ref()) {
            (Takes::Text, DeValue::String(_)) | (Takes::Day, DeValue::Datetime(_)) => {
                if let (Takes::Day, DeValue::Datetime(day)) = (&key.takes, value.get_ref())
                    && day.to_string().parse::<jiff::civil::Date>().is_err()
                {
                    self.wrong_kind(key, value);
                }
            }
            (Takes::Flag, DeValue::Boolean(_)) => {}
            (Takes::Day, DeValue::String(day)) if day.parse::<jiff::civil::Date>().is_ok() => {}
            (Takes::Word(words), DeValue::String(found)) => {
                if !words.contains(&found.as_ref()) {
                    let (line, column) = self.places.at(byte);
                    self.problems.push(RoutineError::UnknownWord {
                        line,
                        column,
                        key: key.name.to_owned(),
                        found: shown(found),
                        suggestion: suggestion(found, words.iter().copied()),
                    });
                }
            }
            (Takes::Whole(low, high), DeValue::Integer(_)) => {
                let number = number(value.get_ref());
                if !number.is_some_and(|n| n >= *low as f64 && n <= *high as f64) {
                    self.out_of_range(key, value);
                }
            }
            (Takes::Number(low, high, _), DeValue::Integer(_) | DeValue::Float(_)) => {
                if !number(value.get_ref()).is_some_and(|n| n >= *low && n <= *high) {
                    self.out_of_range(key, value);
                }
            }
            (Takes::Pace, DeValue::Integer(_) | DeValue::Float(_)) => {
                if !number(value.get_ref()).is_some_and(|n| n > 0.0 && n <= super::LONGEST_PART_S) {
                    self.out_of_range(key, value);
                }
            }
            (Takes::Pace, DeValue::String(fast)) if fast.eq_ignore_ascii_case("x") => {}
            (Takes::Tempo, DeValue::String(code)) => {
                if let Err(reason) = code.parse::<Tempo>() {
                    let (line, column) = self.places.at(byte);
                    self.problems.push(RoutineError::Tempo {
                        line,
                        column,
                        reason,
                    });
                }
            }
            (Takes::Tempo, DeValue::Table(parts)) => {
                self.table("the tempo", byte, parts, schema::TEMPO);
            }
            (Takes::Table(keys), DeValue::Table(table)) => {
                self.table(&format!("the table {}", key.name), byte, table, keys);
            }
            (Takes::Items(kinds), DeValue::Array(items)) => {
                for (position, item) in items.iter().enumerate() {
                    self.item(position + 1, item, kinds);
                }
            }
            _ => self.wrong_kind(key, value),
        }
    }

    fn item(
        &mut self,
        position: usize,
        item: &Spanned<DeValue<'_>>,
        kinds: &'static [(&'static str, &'static [Key])],
    ) {
        let byte = item.span().start;
        let (line, column) = self.places.at(byte);
        let DeValue::Table(table) = item.get_ref() else {
            self.problems.push(RoutineError::WrongKind {
                line,
                column,
                key: format!("item {position}"),
                found: kind_words(item.get_ref()).to_owned(),
                expected: "a table: a line [[items]] and its keys below it".to_owned(),
            });
            return;
        };
        let words = kinds.iter().map(|(kind, _)| *kind);
        let Some(kind) = table.get("kind") else {
            self.problems.push(RoutineError::MissingKey {
                line,
                column,
                key: "kind",
                table: format!("item {position}"),
                example: format!("kind = {}", quoted(words)),
            });
            return;
        };
        let found = kind.get_ref().as_str().unwrap_or("");
        match kinds.iter().find(|(known, _)| *known == found) {
            Some((_, keys)) => {
                let name = format!("item {position}");
                self.table(&name, byte, table, keys);
                if found == "timed" {
                    self.dose(&name, byte, table);
                }
            }
            None => {
                let (line, column) = self.places.at(kind.span().start);
                self.problems.push(RoutineError::UnknownWord {
                    line,
                    column,
                    key: "kind".to_owned(),
                    found: shown(found),
                    suggestion: suggestion(found, words),
                });
            }
        }
    }

    fn wrong_kind(&mut self, key: &Key, value: &Spanned<DeValue<'_>>) {
        let (line, column) = self.places.at(value.span().start);
        self.problems.push(RoutineError::WrongKind {
            line,
            column,
            key: key.name.to_owned(),
            found: kind_words(value.get_ref()).to_owned(),
            expected: expected(&key.takes),
        });
    }

    fn out_of_range(&mut self, key: &Key, value: &Spanned<DeValue<'_>>) {
        let (line, column) = self.places.at(value.span().start);
        let found = match value.get_ref() {
            DeValue::Integer(whole) => whole.to_string(),
            DeValue::Float(number) => number.to_string(),
            _ => String::new(),
        };
        self.problems.push(RoutineError::OutOfRange {
            line,
            column,
            key: key.name.to_owned(),
            found: shown(&found),
            expected: expected(&key.takes),
        });
    }
}

fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix())
            .ok()
            .map(|whole| whole as f64),
        DeValue::Float(number) => number.as_str().parse().ok(),
        _ => None,
    }
}

fn kind_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a decimal number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "an array",
        DeValue::Table(_) => "a table",
    }
}

pub(super) fn expected(takes: &Takes) -> String {
    match takes {
        Takes::Text => "text in quotes".to_owned(),
        Takes::Flag => "true or false".to_owned(),
        Takes::Word(words) => format!("one of {}", quoted(words.iter().copied())),
        Takes::Whole(low, high) => format!("a whole number from {low} to {high}"),
        Takes::Number(low, high, unit) => format!("a number from {low} to {high} {unit}"),
        Takes::Day => "a day such as 2026-03-09".to_owned(),
        Takes::Tempo => {
            "\"4-0-2-1\", or { lower_s = 4, rest_s = 0, lift_s = 2, hold_s = 1 }".to_owned()
        }
        Takes::Pace => format!(
            "seconds above 0 and up to {}, or \"X\" for as fast as possible",
            super::LONGEST_PART_S
        ),
        Takes::Table(keys) => format!(
            "a table with the keys {}",
            keys.iter()
                .map(|key| key.name)
                .collect::<Vec<_>>()
                .join(", ")
        ),
        Takes::Items(_) => "a line [[items]] before each item".to_owned(),
        Takes::Nothing(_) => "nothing".to_owned(),
    }
}

fn example(key: &Key) -> String {
    match &key.takes {
        Takes::Items(_) => "a line [[items]] and the item's keys below it".to_owned(),
        takes => format!("{} = ... ({})", key.name, expected(takes)),
    }
}

fn suggestion<'a>(found: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    match nearest(found, known.clone()) {
        Some(word) => format!("did you mean \"{word}\"?"),
        None => format!("write one of {}", quoted(known)),
    }
}

fn quoted<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words
        .map(|word| format!("\"{word}\""))
        .collect::<Vec<_>>()
        .join(", ")
}

/// At most 40 characters of what was written, none of them control characters.
fn shown(text: &str) -> String {
    text.chars()
        .take(40)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}
