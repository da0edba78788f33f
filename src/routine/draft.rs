//! A routine's text while it is edited: values set, items added, moved and struck out. What a person
//! wrote around them, comments too, stays as it is.

mod first;
mod form;
mod place;

use serde::Deserialize;
use serde_json::Value as Json;
use toml_edit::{ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::schema::{ITEMS, Key, ROUTINE, Takes};
use super::tempo::Tempo;

use first::first_dose;
pub use form::{Field, FieldTakes, Form, form};
pub use place::{PlacedProblem, placed_problems};

/// A step on the way to a value: a key, or a place in the list of items, from 0.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Deserialize, serde::Serialize)]
#[serde(untagged)]
pub enum Step {
    /// A place in a list.
    Place(usize),
    /// A key of a table.
    Key(String),
}

/// A change of a routine's text.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Edit {
    /// Sets a value; null takes it out.
    Set {
        /// The way to it.
        at: Vec<Step>,
        /// What it becomes.
        to: Json,
    },
    /// Adds an item at the end, with a first dose.
    Add {
        /// Its kind.
        kind: String,
        /// Which movement, stretch or activity.
        name: String,
    },
    /// Moves an item to another place.
    Move {
        /// Where it is.
        item: usize,
        /// Where it will be.
        to: usize,
    },
    /// Strikes an item out.
    Strike {
        /// Where it is.
        item: usize,
    },
}

/// Why a text could not be edited.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// It is not TOML: what is wrong with it comes first.
    #[error("the file cannot be read as TOML; mend it in the file's own text first")]
    NotToml,
    /// There is nothing at that place, or nothing can be there.
    #[error("the routine has no place {0}")]
    NoPlace(String),
    /// The value has no TOML form.
    #[error("{0} cannot stand in a routine")]
    NoValue(String),
}

/// The text after these changes, one after another.
///
/// # Errors
/// [`EditError`]; the text is then as it was.
pub fn edited(text: &str, edits: &[Edit]) -> Result<String, EditError> {
    let mut document: DocumentMut = text.parse().map_err(|_| EditError::NotToml)?;
    for edit in edits {
        match edit {
            Edit::Set { at, to } => set(&mut document, at, to)?,
            Edit::Add { kind, name } => {
                let mut item = first_dose(kind, name)
                    .ok_or_else(|| EditError::NoPlace(format!("for {kind} {name}")))?;
                let items = items(&mut document)?;
                if let Some(side) = shared_side(items) {
                    item.insert("side", toml_edit::value(side));
                }
                items.push(item);
            }
            Edit::Move { item, to } => {
                let items = items(&mut document)?;
                if (*item).max(*to) >= items.len() {
                    return Err(no_item((*item).max(*to)));
                }
                let moved = items.remove(*item);
                items.insert(*to, moved);
            }
            Edit::Strike { item } => {
                let items = items(&mut document)?;
                if *item >= items.len() {
                    return Err(no_item(*item));
                }
                let _struck_out = items.remove(*item);
            }
        }
    }
    in_order(document.as_table_mut());
    Ok(document.to_string())
}

fn no_item(place: usize) -> EditError {
    EditError::NoPlace(format!("item {}", place + 1))
}

/// The items, as tables of their own whatever way they were written.
fn items(document: &mut DocumentMut) -> Result<&mut ArrayOfTables, EditError> {
    let lost = || EditError::NoPlace("items".to_owned());
    let entry = document.entry("items").or_insert(Item::None);
    if !entry.is_array_of_tables() {
        let written = std::mem::take(entry);
        *entry = match written {
            Item::None => Item::ArrayOfTables(ArrayOfTables::new()),
            other => Item::ArrayOfTables(other.into_array_of_tables().map_err(|_| lost())?),
        };
    }
    entry.as_array_of_tables_mut().ok_or_else(lost)
}

/// The hand that all items are for, where it is one.
fn shared_side(items: &ArrayOfTables) -> Option<&'static str> {
    let of = |item: &Table| item.get("side").and_then(Item::as_str).map(str::to_owned);
    let first = of(items.get(0)?)?;
    let side = ["left", "right"].into_iter().find(|side| *side == first)?;
    let is_shared = items.iter().all(|item| of(item).as_deref() == Some(side));
    is_shared.then_some(side)
}

/// Tables are written in the order in which they stand: one that moved takes its own tables along.
fn in_order(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => in_order(inner),
            Item::ArrayOfTables(inner) => inner.iter_mut().for_each(in_order),
            Item::None | Item::Value(_) => {}
        }
    }
}

fn set(document: &mut DocumentMut, at: &[Step], to: &Json) -> Result<(), EditError> {
    let no_place = || EditError::NoPlace(shown(at));
    let (keys, table): (&[Key], &mut dyn TableLike) = match at {
        [Step::Key(list), Step::Place(place), ..] if list == "items" => {
            let items = items(document)?;
            let item = items.get_mut(*place).ok_or_else(no_place)?;
            let kind = item.get("kind").and_then(Item::as_str).unwrap_or("");
            let known = ITEMS.iter().find(|(name, _)| *name == kind);
            (known.map_or(&[], |(_, keys)| *keys), item)
        }
        _ => (ROUTINE, document.as_table_mut()),
    };
    let rest: Option<Vec<&str>> = at
        .iter()
        .skip(match at.first() {
            Some(Step::Key(list)) if list == "items" => 2,
            _ => 0,
        })
        .map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Place(_) => None,
        })
        .collect();
    match rest.as_deref() {
        Some([key]) => put(table, keys, key, to),
        Some([outer, key]) => put_within(table, keys, outer, key, to),
        _ => Err(no_place()),
    }
}

fn put(table: &mut dyn TableLike, keys: &[Key], key: &str, to: &Json) -> Result<(), EditError> {
    if to.is_null() {
        table.remove(key);
        return Ok(());
    }
    let known = keys.iter().find(|own| own.name == key);
    let value = value(known, to).ok_or_else(|| EditError::NoValue(to.to_string()))?;
    match table.get_mut(key) {
        // What stands around it stays.
        Some(Item::Value(there)) => {
            let around = there.decor().clone();
            *there = value;
            *there.decor_mut() = around;
        }
        Some(other) => *other = Item::Value(value),
        None => {
            table.insert(key, Item::Value(value));
        }
    }
    Ok(())
}

/// Sets a value of an inner table, which comes and goes with its values.
fn put_within(
    table: &mut dyn TableLike,
    keys: &[Key],
    outer: &str,
    key: &str,
    to: &Json,
) -> Result<(), EditError> {
    let inner_keys = match keys.iter().find(|own| own.name == outer) {
        Some(Key {
            takes: Takes::Table(keys),
            ..
        }) => *keys,
        Some(Key {
            takes: Takes::Tempo,
            ..
        }) => super::schema::TEMPO,
        _ => &[],
    };
    let there = table.get_mut(outer);
    if there.as_ref().is_none_or(|there| !there.is_table_like()) {
        if to.is_null() && there.is_none() {
            return Ok(());
        }
        // A tempo's code is written out in its parts.
        let code = there.and_then(|there| there.as_str()).map(str::to_owned);
        let parts = code.as_deref().and_then(parts).unwrap_or_default();
        table.insert(outer, Item::Value(Value::InlineTable(parts)));
    }
    let inner = table
        .get_mut(outer)
        .and_then(Item::as_table_like_mut)
        .ok_or_else(|| EditError::NoPlace(outer.to_owned()))?;
    put(inner, inner_keys, key, to)?;
    if inner.is_empty() {
        table.remove(outer);
    }
    Ok(())
}

/// The parts of a tempo's code.
fn parts(code: &str) -> Option<InlineTable> {
    let tempo: Tempo = code.parse().ok()?;
    let Json::Object(written) = serde_json::to_value(tempo).ok()? else {
        return None;
    };
    let mut table = InlineTable::new();
    for name in super::schema::TEMPO.iter().map(|key| key.name) {
        table.insert(name, value(None, written.get(name)?)?);
    }
    Some(table)
}

/// A JSON value as the key takes it; `None` where TOML has none such.
fn value(key: Option<&Key>, json: &Json) -> Option<Value> {
    match json {
        Json::String(text) if key.is_some_and(|key| matches!(key.takes, Takes::Day)) => {
            let day: Result<toml_edit::Datetime, _> = text.parse();
            // No day is left as it was written: the check says what is wrong with it.
            Some(day.map_or_else(|_| text.as_str().into(), Value::from))
        }
        Json::String(text) => Some(text.as_str().into()),
        Json::Bool(flag) => Some((*flag).into()),
        Json::Number(number) => match number.as_i64() {
            Some(whole) => Some(whole.into()),
            None => {
                let number = number.as_f64()?;
                let is_whole = number.fract() == 0.0 && number.abs() < 1e15;
                #[allow(
                    clippy::cast_possible_truncation,
                    reason = "a whole number that i64 holds"
                )]
                Some(if is_whole {
                    (number as i64).into()
                } else {
                    number.into()
                })
            }
        },
        Json::Null | Json::Array(_) | Json::Object(_) => None,
    }
}

fn shown(at: &[Step]) -> String {
    let steps: Vec<String> = at
        .iter()
        .map(|step| match step {
            Step::Key(key) => key.clone(),
            Step::Place(place) => (place + 1).to_string(),
        })
        .collect();
    steps.join(" ")
}

#[cfg(test)]
mod tests;
