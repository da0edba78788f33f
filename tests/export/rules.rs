//! Rules of HL7 FHIR R4 that neither the published JSON schema nor the reader checks, and the ones
//! of this program.

use std::collections::BTreeSet;

use carpotempo::export::fhir::{CODES, SYSTEM};
use serde_json::Value;

/// What breaks a rule, in words.
pub fn broken(bundle: &Value) -> Vec<String> {
    let mut found = Vec::new();
    let entries = bundle["entry"].as_array().cloned().unwrap_or_default();
    let addresses: Vec<&str> = entries
        .iter()
        .filter_map(|entry| entry["fullUrl"].as_str())
        .collect();
    let unique: BTreeSet<&str> = addresses.iter().copied().collect();
    if unique.len() != entries.len() {
        found.push("addresses are missing or twice".to_owned());
    }
    for entry in &entries {
        let resource = &entry["resource"];
        let place = format!("{} {}", resource["resourceType"], entry["fullUrl"]);
        walk(resource, &mut |part| {
            if let Some(address) = part["reference"].as_str()
                && !unique.contains(address)
            {
                found.push(format!("{place}: nothing has the address {address}"));
            }
        });
        if resource["resourceType"] == "Observation" {
            value(resource, true, &place, &mut found);
            for component in resource["component"].as_array().into_iter().flatten() {
                value(component, false, &place, &mut found);
            }
        }
    }
    found
}

/// One value or the reason of its absence: rule obs-6 of Observation, and that of value\[x\], which
/// is one of its kinds. An observation with components may have neither.
fn value(part: &Value, whole: bool, place: &str, found: &mut Vec<String>) {
    let Value::Object(parts) = part else {
        found.push(format!("{place}: no object"));
        return;
    };
    let is_value = |key: &&String| {
        let rest = key.strip_prefix("value").unwrap_or("");
        rest.starts_with(|first: char| first.is_ascii_uppercase())
    };
    let values = parts.keys().filter(is_value).count();
    let absent = parts.contains_key("dataAbsentReason");
    if values > 1 {
        found.push(format!("{place}: {values} values"));
    }
    if values > 0 && absent {
        found.push(format!("{place}: a value and the reason of its absence"));
    }
    if values == 0 && !absent && !(whole && parts.contains_key("component")) {
        found.push(format!("{place}: neither value nor reason"));
    }
}

/// Codes that nobody published: ours are in the code system with their names, and of SNOMED CT and
/// LOINC only the known ones stand there.
pub fn unknown_codes(bundle: &Value) -> Vec<String> {
    let mut found = Vec::new();
    walk(bundle, &mut |part| {
        let (Some(system), Some(code)) = (part["system"].as_str(), part["code"].as_str()) else {
            return;
        };
        let known = match system {
            SYSTEM => CODES
                .iter()
                .any(|own| own.code == code && part["display"] == own.display),
            // Source: SNOMED CT International and LOINC, as the project's facts name them.
            "http://snomed.info/sct" => ["364564000", "9736006", "5951000"].contains(&code),
            "http://loinc.org" => code == "72514-3",
            // Source: UCUM.
            "http://unitsofmeasure.org" => ["deg", "s", "kg", "1", "{score}"].contains(&code),
            // Source: HL7 Terminology.
            "http://terminology.hl7.org/CodeSystem/observation-category" => {
                ["exam", "activity", "survey"].contains(&code)
            }
            "http://terminology.hl7.org/CodeSystem/data-absent-reason" => code == "unknown",
            "http://terminology.hl7.org/CodeSystem/provenance-participant-type" => {
                code == "assembler"
            }
            _ => false,
        };
        if !known {
            found.push(format!("{system} {code}"));
        }
    });
    found
}

/// Shows every object within a value.
pub fn walk(value: &Value, see: &mut dyn FnMut(&Value)) {
    match value {
        Value::Object(parts) => {
            see(value);
            parts.values().for_each(|part| walk(part, see));
        }
        Value::Array(parts) => parts.iter().for_each(|part| walk(part, see)),
        _ => {}
    }
}
