//! The fields of a routine as a form is made of them: from the same tables that check it.

use serde::Serialize;

use crate::movement::{Activity, Movement, Plane, Stretch};
use crate::routine::schema::{ITEMS, Key, ROUTINE, TEMPO, Takes};

/// The fields of the routine and of each kind of item.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Form {
    /// Of the routine itself.
    pub routine: Vec<Field>,
    /// Of each kind of item.
    pub items: Vec<ItemForm>,
}

/// The fields of a kind of item.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ItemForm {
    /// Its kind.
    pub kind: &'static str,
    /// What that is.
    pub means: &'static str,
    /// What there is of it: word and title.
    pub names: Vec<(&'static str, &'static str)>,
    /// Its fields.
    pub fields: Vec<Field>,
}

/// A field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    /// Its key.
    pub name: &'static str,
    /// Whether it must be there.
    pub required: bool,
    /// What it means.
    pub means: &'static str,
    /// What holds where it is left out; empty where nothing does.
    pub usual: &'static str,
    /// What it takes.
    pub takes: FieldTakes,
}

/// What a field takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum FieldTakes {
    /// Words of a person.
    Text,
    /// Yes or no.
    Flag,
    /// A day.
    Day,
    /// One of these words.
    Word {
        /// The words.
        words: Vec<&'static str>,
    },
    /// A number.
    Number {
        /// The least.
        low: f64,
        /// The most.
        high: f64,
        /// Whether it must be whole.
        whole: bool,
        /// Its unit; empty is a plain number.
        unit: &'static str,
    },
    /// A part of a tempo: seconds, or X.
    Pace {
        /// The longest, seconds.
        most_s: f64,
    },
    /// Fields of its own.
    Table {
        /// Those.
        fields: Vec<Field>,
    },
}

/// The form of a routine.
pub fn form() -> Form {
    Form {
        routine: fields(ROUTINE),
        items: ITEMS
            .iter()
            .map(|(kind, keys)| ItemForm {
                kind,
                means: keys
                    .iter()
                    .find(|key| key.name == "kind")
                    .map_or("", |key| key.means),
                names: names(kind),
                fields: fields(keys),
            })
            .collect(),
    }
}

fn names(kind: &str) -> Vec<(&'static str, &'static str)> {
    match kind {
        "counted" => Movement::ALL.map(|own| (own.name(), own.title())).into(),
        "range-test" => Plane::ALL.map(|own| (own.name(), own.title())).into(),
        "stretch" => Stretch::ALL.map(|own| (own.name(), own.title())).into(),
        "timed" => Activity::ALL.map(|own| (own.name(), own.title())).into(),
        _ => Vec::new(),
    }
}

fn fields(keys: &'static [Key]) -> Vec<Field> {
    keys.iter()
        .filter(|key| key.name != "kind" && !matches!(key.takes, Takes::Items(_)))
        .filter(|key| key.may_stand())
        .map(|key| Field {
            name: key.name,
            required: key.required,
            means: key
                .means
                .split_once("; ")
                .map_or(key.means, |(means, _)| means),
            usual: key.means.split_once("; ").map_or("", |(_, usual)| usual),
            takes: match key.takes {
                Takes::Text => FieldTakes::Text,
                Takes::Flag => FieldTakes::Flag,
                Takes::Day => FieldTakes::Day,
                Takes::Word(words) => FieldTakes::Word {
                    words: words.to_vec(),
                },
                Takes::Whole(low, high) => FieldTakes::Number {
                    low: low as f64,
                    high: high as f64,
                    whole: true,
                    unit: "",
                },
                Takes::Number(low, high, unit) => FieldTakes::Number {
                    low,
                    high,
                    whole: false,
                    unit,
                },
                Takes::Pace => FieldTakes::Pace {
                    most_s: crate::routine::LONGEST_PART_S,
                },
                Takes::Tempo => FieldTakes::Table {
                    fields: fields(TEMPO),
                },
                Takes::Table(keys) => FieldTakes::Table {
                    fields: fields(keys),
                },
                Takes::Items(_) | Takes::Nothing(_) => FieldTakes::Table { fields: Vec::new() },
            },
        })
        .collect()
}
