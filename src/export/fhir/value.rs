//! Values of observations: known with their unit, or absent with the reason, never both (rule obs-6
//! of HL7 FHIR R4, Observation).

use jiff::Timestamp;
use jiff::tz::Offset;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use super::codes::Code;

/// A unit of UCUM.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unit {
    code: &'static str,
    shown: &'static str,
    /// Digits after the point that the figure is good for.
    digits: i32,
}

pub(super) const DEG: Unit = unit("deg", "deg", 1);
pub(super) const SECONDS: Unit = unit("s", "s", 2);
pub(super) const KG: Unit = unit("kg", "kg", 3);
pub(super) const PLAIN: Unit = unit("1", "1", 2);
pub(super) const SCORE: Unit = unit("{score}", "{score}", 0);

const fn unit(code: &'static str, shown: &'static str, digits: i32) -> Unit {
    Unit {
        code,
        shown,
        digits,
    }
}

/// A quantity, rounded to what it is good for; `None` of what is no number.
pub(super) fn quantity(value: f64, unit: Unit) -> Option<Value> {
    let scale = 10_f64.powi(unit.digits);
    // The sum turns a negative zero into zero.
    let rounded = (value * scale).round() / scale + 0.0;
    rounded.is_finite().then(|| {
        let value = if unit.digits == 0 {
            json!(rounded as i64)
        } else {
            json!(rounded)
        };
        json!({
            "value": value,
            "unit": unit.shown,
            "system": "http://unitsofmeasure.org",
            "code": unit.code,
        })
    })
}

/// What is known, as FHIR names it.
pub(super) enum Known {
    Quantity(Value),
    Whole(usize),
    Text(String),
    Concept(Value),
    Flag(bool),
}

impl Known {
    /// A quantity, if it is known.
    pub(super) fn measured(value: impl Into<Option<f64>>, unit: Unit) -> Option<Known> {
        quantity(value.into()?, unit).map(Known::Quantity)
    }
}

/// A text as FHIR takes it: without control characters; `None` of an empty one.
pub(super) fn plain(text: &str) -> Option<String> {
    let plain: String = text.chars().filter(|one| !one.is_control()).collect();
    let plain = plain.trim();
    (!plain.is_empty()).then(|| plain.to_owned())
}

/// Puts a value into an observation or component, or the reason of its absence.
pub(super) fn put(into: &mut Map<String, Value>, value: Option<Known>) {
    let (key, value) = match value {
        Some(Known::Quantity(value)) => ("valueQuantity", value),
        Some(Known::Whole(value)) => ("valueInteger", json!(value)),
        Some(Known::Text(value)) => ("valueString", json!(value)),
        Some(Known::Concept(value)) => ("valueCodeableConcept", value),
        Some(Known::Flag(value)) => ("valueBoolean", json!(value)),
        None => (
            "dataAbsentReason",
            json!({"coding": [{
                "system": "http://terminology.hl7.org/CodeSystem/data-absent-reason",
                "code": "unknown",
                "display": "Unknown",
            }]}),
        ),
    };
    into.insert(key.to_owned(), value);
}

/// A component of an observation.
pub(super) fn component(code: &Code, value: Option<Known>) -> Value {
    let mut component = Map::new();
    component.insert("code".to_owned(), code.concept());
    put(&mut component, value);
    Value::Object(component)
}

/// A moment as FHIR writes it, to the millisecond, in the person's offset.
pub(super) fn moment(at: Timestamp, offset: Offset) -> String {
    let at_ms = Timestamp::from_millisecond(at.as_millisecond()).unwrap_or(at);
    at_ms.display_with_offset(offset).to_string()
}

/// The address of an entry, the same in every export: made from what it is about.
pub(super) fn address(parts: &[&str]) -> String {
    let mut hash = Sha256::new();
    for part in parts {
        hash.update(part.as_bytes());
        hash.update([0]);
    }
    let mut bytes = [0_u8; 16];
    for (byte, hashed) in bytes.iter_mut().zip(hash.finalize()) {
        *byte = hashed;
    }
    // Version 8 of RFC 9562: made by a rule of one's own.
    let id = uuid::Builder::from_custom_bytes(bytes).into_uuid();
    format!("urn:uuid:{id}")
}

/// A reference to an entry.
pub(super) fn reference(address: &str) -> Value {
    json!({"reference": address})
}
