//! The FHIR bundle: what it holds, against the summaries and the recording's bytes.

use std::path::Path;

use carpotempo::export::fhir::code_system;
use carpotempo::pipeline::summary::fresh_summaries;
use carpotempo::recording::Store;
use carpotempo::review::quantile;
use serde_json::{Value, json};

use crate::cohort::{exported, odd_history, recorded};
use crate::invented::{patient, store_summaries};
use crate::rules::{broken, unknown_codes};

/// Bundles of the recorded patient and of the odd history, with their store.
pub fn bundles(folder: &Path) -> (Store, [Value; 2]) {
    let store = Store::at(folder.join("store"));
    recorded(&store);
    store_summaries(&store, "h1", &odd_history(1, 22));
    let bundles = ["p1", "h1"].map(|code| {
        let file = folder.join(format!("{code}.json"));
        exported(code, "fhir", &store, &file);
        serde_json::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap()
    });
    (store, bundles)
}

pub fn resources<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().unwrap();
    let all = entries.iter().map(|entry| &entry["resource"]);
    all.filter(|one| one["resourceType"] == kind).collect()
}

fn category<'a>(bundle: &'a Value, category: &str) -> Vec<&'a Value> {
    let of = |one: &&Value| one["category"][0]["coding"][0]["code"] == category;
    resources(bundle, "Observation")
        .into_iter()
        .filter(of)
        .collect()
}

/// The component of a code.
fn component<'a>(observation: &'a Value, code: &str) -> &'a Value {
    let all = observation["component"].as_array().unwrap();
    let mut found = all
        .iter()
        .filter(|one| one["code"]["coding"][0]["code"] == code);
    found.next().unwrap_or_else(|| panic!("no {code}"))
}

#[test]
fn the_rules_that_nobody_else_checks_hold_and_no_code_is_invented() {
    let folder = tempfile::tempdir().unwrap();
    let (_, bundles) = bundles(folder.path());
    for bundle in &bundles {
        assert_eq!(broken(bundle), Vec::<String>::new());
        assert_eq!(unknown_codes(bundle), Vec::<String>::new());
    }
}

#[test]
fn the_published_code_system_is_the_one_in_the_bundle() {
    let published = include_str!("../../src/export/fhir/code-system.json");
    let published: Value = serde_json::from_str(published).unwrap();
    assert_eq!(published, code_system());
    let folder = tempfile::tempdir().unwrap();
    let (_, [bundle, _]) = bundles(folder.path());
    assert_eq!(resources(&bundle, "CodeSystem"), [&published]);
    let codes: std::collections::BTreeSet<&str> = published["concept"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["code"].as_str().unwrap())
        .collect();
    assert_eq!(codes.len(), published["count"].as_u64().unwrap() as usize);
}

#[test]
fn the_patient_is_a_code_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let (_, [bundle, _]) = bundles(folder.path());
    let patients = resources(&bundle, "Patient");
    assert_eq!(patients.len(), 1);
    let Value::Object(parts) = patients[0] else {
        panic!("no object");
    };
    let keys: Vec<&String> = parts.keys().collect();
    assert_eq!(keys, ["identifier", "resourceType"]);
    assert_eq!(patients[0]["identifier"][0]["value"], "p1");
    // What a person wrote in their own words stays in the store.
    assert!(!bundle.to_string().contains("with a line"));
}

/// Figures are rounded to what they are good for: 0.1 deg, 0.01 s.
fn near(found: &Value, value: Option<f64>, step: f64) {
    let shown = found["valueQuantity"]["value"].as_f64();
    assert_eq!(shown.is_some(), value.is_some(), "{found}");
    assert_eq!(found.get("dataAbsentReason").is_some(), value.is_none());
    if let Some((shown, value)) = shown.zip(value) {
        assert!(
            (shown - value).abs() <= 0.5 * step + 1e-9,
            "{shown} for {value}"
        );
        let steps = shown / step;
        assert!(
            (steps - steps.round()).abs() < 1e-6,
            "{shown} is not rounded"
        );
    }
}

#[test]
fn a_set_is_one_activity_and_its_range_one_exam_with_the_figures_of_the_summary() {
    let folder = tempfile::tempdir().unwrap();
    let (store, bundles) = bundles(folder.path());
    for (code, bundle) in ["p1", "h1"].iter().zip(&bundles) {
        let all = fresh_summaries(&store, &patient(code), &|_| ()).unwrap();
        let sets: Vec<_> = all
            .sessions
            .iter()
            .flat_map(|one| &one.summary.analysis.sets)
            .collect();
        let activities = category(bundle, "activity");
        assert_eq!(activities.len(), sets.len());
        let mut exams = category(bundle, "exam").into_iter();
        for (activity, set) in activities.iter().zip(sets) {
            let counted = component(activity, "reps-counted");
            assert_eq!(counted["valueInteger"], set.reps.len());
            near(component(activity, "load"), set.load_kg, 0.001);
            let lowers: Vec<f64> = set.reps.iter().map(|rep| rep.lower_s()).collect();
            near(
                component(activity, "lower-median"),
                quantile(&lowers, 0.5),
                0.01,
            );
            let band = set.tempo_band.map(|band| band.prescribed_s);
            near(component(activity, "timed-prescribed"), band, 0.01);
            let hurried = component(activity, "reps-hurried");
            let judged = set.reps.iter().any(|rep| rep.verdict.is_some());
            assert_eq!(hurried.get("valueInteger").is_some(), judged);
            let own = activity["code"]["coding"][0]["code"].as_str().unwrap();
            assert_eq!(
                own,
                if set.range_test {
                    "range-test"
                } else {
                    "exercise-set"
                }
            );
            let circles = set.movement == Some(carpotempo::movement::Movement::ArmCircles);
            if set.reps.is_empty() || circles {
                continue;
            }
            let exam = exams.next().unwrap();
            assert_eq!(exam["code"]["coding"][0]["code"], "364564000");
            let marked = exam["code"]["coding"][1]["code"] == "range-test";
            assert_eq!(marked, set.range_test);
            let ranges: Vec<f64> = set.reps.iter().map(|rep| rep.range_deg).collect();
            for (code, share) in [
                ("range-median", 0.5),
                ("range-lower-quartile", 0.25),
                ("range-upper-quartile", 0.75),
                ("range-greatest", 1.0),
            ] {
                near(component(exam, code), quantile(&ranges, share), 0.1);
            }
            // It points back at its set.
            let of = &exam["derivedFrom"][0]["reference"];
            let entries = bundle["entry"].as_array().unwrap();
            let entry = entries
                .iter()
                .find(|entry| entry["fullUrl"] == *of)
                .unwrap();
            assert_eq!(&&entry["resource"], activity);
            assert_eq!(exam["effectivePeriod"], activity["effectivePeriod"]);
        }
        assert!(exams.next().is_none());
    }
    let odd = category(&bundles[1], "exam");
    let signed = component(odd[0], "isb-peak-median");
    assert_eq!(signed["valueQuantity"]["value"], json!(-40.0));
    near(component(odd[1], "isb-peak-median"), None, 0.1);
    // Turning is of the forearm: no wrist is named. Nor where the hand is not known.
    assert_eq!(odd[1]["bodySite"], json!({"text": "left forearm"}));
    let unknown = category(&bundles[1], "activity")[3];
    assert_eq!(unknown.get("bodySite"), None);
}

#[test]
fn answers_are_surveys_at_their_moment_and_what_was_not_answered_is_absent() {
    let folder = tempfile::tempdir().unwrap();
    let (_, [bundle, _]) = bundles(folder.path());
    let surveys = category(&bundle, "survey");
    let of = |code: &str| -> Vec<&Value> {
        let all = surveys.iter().copied();
        all.filter(|one| one["code"]["coding"][0]["code"] == code)
            .collect()
    };
    let pain = of("72514-3");
    assert_eq!(pain.len(), 2);
    assert_eq!(pain[0]["valueQuantity"]["value"], 1);
    assert_eq!(pain[0]["valueQuantity"]["code"], "{score}");
    assert_eq!(pain[0]["bodySite"]["coding"][0]["code"], "5951000");
    assert_eq!(pain[0]["effectiveDateTime"], "2026-03-29T00:30:00+01:00");
    let when =
        |one| component(one, "answer-time")["valueCodeableConcept"]["coding"][0]["code"].clone();
    assert_eq!(
        (when(pain[0]), when(pain[1])),
        (json!("before"), json!("next-morning"))
    );
    assert_eq!(
        component(pain[1], "answer-about")["valueString"],
        "2026-03-28T233000Z"
    );
    assert_eq!(pain[1]["effectiveDateTime"], "2026-03-30T08:30:00+02:00");
    let tingling = of("tingling");
    assert_eq!(tingling.len(), 1);
    assert_eq!(tingling[0].get("valueQuantity"), None);
    assert_eq!(
        tingling[0]["dataAbsentReason"]["coding"][0]["code"],
        "unknown"
    );
    let numb = of("numbness")[0];
    assert_eq!(numb["valueQuantity"]["value"], 0);
    assert!(
        component(numb, "answer-time")
            .get("dataAbsentReason")
            .is_some()
    );
    let night = of("night")[0];
    assert_eq!(component(night, "night-woke")["valueBoolean"], true);
    assert_eq!(component(night, "dropped-things")["valueBoolean"], false);
    assert!(
        component(night, "night-splint")
            .get("dataAbsentReason")
            .is_some()
    );
}
