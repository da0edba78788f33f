//! A draft as its writer is told of it: what is wrong, how it reads to the patient, what to look at
//! once more.

use jiff::civil::Date;
use serde::Serialize;

use crate::routine::Routine;
use crate::routine::draft::{PlacedProblem, placed_problems};
use crate::session::readback::{ReadBack, read_back};

/// A draft and what there is to say of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// Its text.
    pub text: String,
    /// Its values as they are written; `None` where the text is no TOML.
    pub values: Option<serde_json::Value>,
    /// What is wrong, in the order of the text; empty where it is a prescription.
    pub problems: Vec<PlacedProblem>,
    /// What it asks for; `None` where something is wrong.
    pub reading: Option<Reading>,
}

/// What a prescription asks for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reading {
    /// In the patient's words.
    pub words: ReadBack,
    /// The clinician's own words for the whole.
    pub own_words: Option<String>,
    /// Whom to ask.
    pub contact: Option<String>,
    /// What to look at once more.
    pub remarks: Vec<RemarkTold>,
    /// How long a session takes, minutes.
    pub session_min: f64,
    /// Of it with the hands at work, minutes.
    pub work_min: f64,
    /// How often another weight is taken up in a session.
    pub weight_change_count: usize,
    /// How often the strap goes to the other hand.
    pub strap_change_count: usize,
}

/// A remark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RemarkTold {
    /// Number of the item, from 1; `None` is the whole routine.
    pub item: Option<u32>,
    /// What there is to look at.
    pub words: String,
}

/// Tells of a draft, as it holds on a day; `previous` is what it will take the place of.
pub fn told(text: String, previous: Option<&Routine>, day: Date) -> Told {
    let reading = Routine::from_toml(&text)
        .ok()
        .map(|routine| reading(&routine, previous, day));
    Told {
        values: values(&text),
        problems: placed_problems(&text),
        reading,
        text,
    }
}

fn reading(routine: &Routine, previous: Option<&Routine>, day: Date) -> Reading {
    let duration = routine.duration();
    Reading {
        words: read_back(routine, day),
        own_words: routine.words.clone(),
        contact: routine.contact.clone(),
        remarks: (routine.remarks(previous, day).into_iter())
            .map(|remark| RemarkTold {
                item: remark.item,
                words: remark.words,
            })
            .collect(),
        session_min: duration.session_s / 60.0,
        work_min: duration.work_s / 60.0,
        weight_change_count: duration.weight_changes,
        strap_change_count: duration.strap_changes,
    }
}

/// The values of a TOML text; days as text.
fn values(text: &str) -> Option<serde_json::Value> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    Some(json(toml::Value::Table(text.parse().ok()?)))
}

fn json(value: toml::Value) -> serde_json::Value {
    use serde_json::Value as Json;
    match value {
        toml::Value::String(text) => Json::String(text),
        toml::Value::Integer(whole) => whole.into(),
        // TOML has infinities, JSON has not.
        toml::Value::Float(number) => {
            serde_json::Number::from_f64(number).map_or(Json::Null, Json::Number)
        }
        toml::Value::Boolean(flag) => Json::Bool(flag),
        toml::Value::Datetime(day) => Json::String(day.to_string()),
        toml::Value::Array(items) => Json::Array(items.into_iter().map(json).collect()),
        toml::Value::Table(table) => Json::Object(
            table
                .into_iter()
                .map(|(key, own)| (key, json(own)))
                .collect(),
        ),
    }
}
