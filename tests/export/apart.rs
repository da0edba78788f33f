//! What is no range of the person's wrist, in the exports: the forearm moved, or the sensor was worn
//! strangely.

use carpotempo::joint::wear::{WearFinding, WearKind};
use carpotempo::movement::{Movement, Side};
use carpotempo::recording::Store;
use carpotempo::reps::Doubt;
use carpotempo::reps::elbow::ElbowShare;
use jiff::civil::date;
use serde_json::Value;

use crate::bundle::resources;
use crate::cohort::exported;
use crate::invented::*;

/// One session of three sets: one in whose last two of five repetitions the forearm moved, one with a
/// turned sensor, and an ordinary one.
fn store(folder: &std::path::Path) -> Store {
    let extension = |ranges_deg: [f64; 5]| {
        let reps = ranges_deg.map(|deg| (deg, 4.0));
        set(Movement::WristExtension, Side::Right, Some(0.5), &reps)
    };
    let mut helped = extension([40.0, 41.0, 42.0, 80.0, 82.0]);
    for rep in &mut helped.reps[3..] {
        rep.doubt(Doubt::ForearmMoved);
    }
    helped.elbow = Some(ElbowShare {
        share_ratio: Some(0.31),
        low_ratio: Some(0.24),
        high_ratio: Some(0.38),
        forearm_moved: true,
        cannot_tell: None,
    });
    let mut turned = extension([20.0; 5]);
    turned.wear = vec![WearFinding {
        kind: WearKind::Turned,
        or: None,
        since_s: 0.0,
        evidence_deg: Some(150.0),
        evidence_s: None,
    }];
    let store = Store::at(folder.join("store"));
    let sets = vec![helped, turned, extension([50.0; 5])];
    store_summaries(&store, "p7", &[session(at(date(2026, 4, 1), 8, 2), sets)]);
    store
}

fn column(path: &std::path::Path, name: &str) -> Vec<String> {
    let mut reader = ::csv::Reader::from_path(path).unwrap();
    let headers = reader.headers().unwrap().clone();
    let place = headers.iter().position(|own| own == name).unwrap();
    let rows = reader.records().map(Result::unwrap);
    rows.map(|row| row[place].to_owned()).collect()
}

#[test]
fn ranges_of_a_helping_forearm_and_of_strange_wear_are_apart() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    exported("p7", "csv", &store(folder.path()), &out);
    let medians = column(&out.join("sets.csv"), "range_median_deg");
    assert_eq!(medians, ["41", "", "50"]);
    let wrist = column(&out.join("repetitions.csv"), "wrist_range_deg");
    let expected = [&["40", "41", "42", "", ""][..], &[""; 5], &["50"; 5]].concat();
    assert_eq!(wrist, expected);
    let measured = column(&out.join("repetitions.csv"), "range_deg");
    assert_eq!(measured[3], "80", "what was measured stands");
}

#[test]
fn the_bundle_says_why_a_range_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("p7.json");
    exported("p7", "fhir", &store(folder.path()), &out);
    let bundle: Value = serde_json::from_slice(&std::fs::read(&out).unwrap()).unwrap();
    let exams: Vec<&Value> = resources(&bundle, "Observation")
        .into_iter()
        .filter(|one| one["category"][0]["coding"][0]["code"] == "exam")
        .collect();
    assert_eq!(exams.len(), 3);
    let median = |exam: &Value| exam["component"][0]["valueQuantity"]["value"].as_f64();
    let medians: Vec<Option<f64>> = exams.iter().map(|exam| median(exam)).collect();
    assert_eq!(medians, [Some(41.0), None, Some(50.0)]);
    assert!(exams[1]["component"][0]["dataAbsentReason"].is_object());
    let notes = |exam: &Value| exam["note"].to_string();
    let share = "Forearm's share of the movement: 31 % (95 % interval 24 to 38 %).";
    assert!(notes(exams[0]).contains(share), "{}", exams[0]);
    assert!(notes(exams[0]).contains("forearm-moved"), "{}", exams[0]);
    assert!(notes(exams[1]).contains("Worn strangely"), "{}", exams[1]);
    assert_eq!(exams[2]["note"], Value::Null);
}
