//! Where a bundle says that its figures come from.

use serde_json::Value;

use crate::bundle::{bundles, resources};
use crate::cohort::exported;
use crate::readers::{python, run};
use crate::rules::walk;

/// By Python's hashlib and base64.
const HASHES: &str = r#"
import base64, hashlib, json, sys
def names(path):
    digest = hashlib.sha256(open(path, "rb").read()).digest()
    text = base64.urlsafe_b64encode(digest).decode().rstrip("=")
    return [f"ni:///sha-256;{text}", digest.hex()]
print(json.dumps([names(path) for path in sys.argv[1:]]))
"#;

#[test]
fn provenance_names_the_recording_by_its_hash() {
    let folder = tempfile::tempdir().unwrap();
    let (store, [bundle, _]) = bundles(folder.path());
    let all = resources(&bundle, "Provenance");
    assert_eq!(all.len(), 3);
    let session = store.root().join("p1").join("2026-03-28T233000Z");
    let python = python();
    for (nth, file) in ["samples.csv", "events.csv"].iter().enumerate() {
        let entity = &all[0]["entity"][nth];
        assert_eq!(entity["role"], "source");
        let display = entity["what"]["display"].as_str().unwrap();
        assert!(display.starts_with(&format!("{file} of session 2026-03-28T233000Z")));
        let Some(python) = &python else { continue };
        let names = run(python, HASHES, &[&session.join(file)]);
        assert_eq!(entity["what"]["identifier"]["value"], names[0][0]);
        assert!(
            display.ends_with(names[0][1].as_str().unwrap()),
            "{display}"
        );
    }
    // Every observation has its origin.
    let mut targets = std::collections::BTreeSet::new();
    for one in &all {
        for target in one["target"].as_array().unwrap() {
            targets.insert(target["reference"].as_str().unwrap());
        }
    }
    for entry in bundle["entry"].as_array().unwrap() {
        if entry["resource"]["resourceType"] == "Observation" {
            assert!(targets.contains(entry["fullUrl"].as_str().unwrap()));
        }
    }
}

#[test]
fn the_sensor_is_named_and_invented_data_say_so() {
    let folder = tempfile::tempdir().unwrap();
    let (_, [bundle, _]) = bundles(folder.path());
    let names: Vec<&Value> = resources(&bundle, "Device")
        .iter()
        .filter_map(|device| device["deviceName"].get(0))
        .collect();
    assert!(names.iter().any(|name| name["name"] == "invented hand 01"));
    assert!(names.iter().any(|name| name["name"] == "carpotempo"));
    let mut tagged = 0;
    walk(&bundle, &mut |part| {
        tagged += usize::from(part["meta"]["tag"][0]["code"] == "simulated");
    });
    // The set and the range of the session that a simulator played.
    assert_eq!(tagged, 2);
}

#[test]
fn the_same_observations_have_the_same_addresses_in_every_export() {
    let folder = tempfile::tempdir().unwrap();
    let (store, [first, _]) = bundles(folder.path());
    let file = folder.path().join("again.json");
    exported("p1", "fhir", &store, &file);
    let again: Value = serde_json::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap();
    let entries = |bundle: &Value| -> Vec<(Value, Value)> {
        let all = bundle["entry"].as_array().unwrap().iter();
        let all = all.filter(|entry| entry["resource"]["resourceType"] != "Provenance");
        all.map(|entry| (entry["fullUrl"].clone(), entry["resource"].clone()))
            .collect()
    };
    assert_eq!(entries(&first), entries(&again));
}
