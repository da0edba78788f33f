//! The three CSV files, read by Python's csv.

use std::collections::BTreeMap;
use std::path::Path;

use carpotempo::export::CSV_FILES;
use carpotempo::pipeline::summary::{SessionSummary, fresh_summaries};
use carpotempo::recording::Store;
use carpotempo::reps::Repetition;
use serde_json::Value;

use crate::cohort::{exported, odd_history, recorded};
use crate::invented::{patient, store_summaries};
use crate::readers::{python, run};

/// Every row as an object of texts, and medians by Python's statistics of what a review shows.
const READ: &str = r#"
import csv, json, statistics, sys
def rows(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file, strict=True))
tables = [rows(path) for path in sys.argv[1:]]
groups = {}
for row in tables[2]:
    key = "|".join([row["session"], row["movement"], row["side"]])
    groups.setdefault(key, []).append(row)
medians = {key: {
    "count": len(rows),
    "range": statistics.median(float(r["wrist_range_deg"]) for r in rows if r["wrist_range_deg"]),
    "timed": [float(r["timed_s"]) for r in rows if r["timed_s"]],
} for key, rows in groups.items()}
for one in medians.values():
    one["timed"] = statistics.median(one["timed"]) if one["timed"] else None
print(json.dumps({"tables": tables, "medians": medians}))
"#;

struct Read {
    sessions: Vec<Row>,
    sets: Vec<Row>,
    reps: Vec<Row>,
    medians: Value,
}

type Row = BTreeMap<String, String>;

fn read(folder: &Path) -> Option<Read> {
    let python = python()?;
    let paths = CSV_FILES.map(|name| folder.join(name));
    let paths: Vec<&Path> = paths.iter().map(AsRef::as_ref).collect();
    let mut read = run(&python, READ, &paths);
    let mut tables: Vec<Vec<Row>> = serde_json::from_value(read["tables"].take()).unwrap();
    let (reps, sets, sessions) = (tables.pop()?, tables.pop()?, tables.pop()?);
    Some(Read {
        sessions,
        sets,
        reps,
        medians: read["medians"].take(),
    })
}

fn review(code: &str, store: &Store) -> Value {
    let done = std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["review", code, "--json", "--store"])
        .arg(store.root())
        .output()
        .unwrap();
    assert!(done.status.success());
    serde_json::from_slice(&done.stdout).unwrap()
}

/// The number of a cell; empty is unknown.
fn number(row: &Row, name: &str) -> Option<f64> {
    let text = &row[name];
    (!text.is_empty()).then(|| text.parse().unwrap())
}

fn summaries(store: &Store, code: &str) -> Vec<SessionSummary> {
    let all = fresh_summaries(store, &patient(code), &|_| ()).unwrap();
    all.sessions.into_iter().map(|one| one.summary).collect()
}

#[test]
fn every_repetition_stands_there_with_the_numbers_of_the_analysis() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path().join("store"));
    recorded(&store);
    store_summaries(&store, "h1", &odd_history(2, 22));
    for code in ["p1", "h1"] {
        let out = folder.path().join(code);
        exported(code, "csv", &store, &out);
        let Some(read) = read(&out) else { return };
        let all = summaries(&store, code);
        let sets = || all.iter().flat_map(|one| &one.analysis.sets);
        let reps: Vec<&Repetition> = sets().flat_map(|set| &set.reps).collect();
        assert!(reps.len() > 10);
        assert_eq!(read.reps.len(), reps.len());
        for (row, rep) in read.reps.iter().zip(reps) {
            for (name, value) in [
                ("lift_start_s", Some(rep.lift_start_s)),
                ("lift_end_s", Some(rep.lift_end_s)),
                ("lower_start_s", Some(rep.lower_start_s)),
                ("lower_end_s", Some(rep.lower_end_s)),
                ("lower_s", Some(rep.lower_s())),
                ("range_deg", Some(rep.range_deg)),
                ("peak_deg", Some(rep.peak_deg)),
                ("start_deg", Some(rep.start_deg)),
                ("peak_speed_deg_s", Some(rep.peak_speed_deg_s)),
                ("mean_speed_deg_s", rep.mean_speed_deg_s),
                ("lower_sparc_ratio", rep.lower_sparc_ratio),
                ("lower_ldlj_ratio", rep.lower_ldlj_ratio),
            ] {
                assert_eq!(number(row, name), value, "{name}");
            }
            assert_eq!(row["verdict"], rep.verdict.map_or("", |one| one.name()));
            let doubts: Vec<&str> = rep.doubts.iter().map(|doubt| doubt.name()).collect();
            assert_eq!(row["doubts"], doubts.join(" "));
            assert_eq!(row["patient"], code);
        }
        assert_eq!(read.sets.len(), sets().count());
        for (row, set) in read.sets.iter().zip(sets()) {
            assert_eq!(number(row, "load_kg"), set.load_kg);
            assert_eq!(row["done_count"], set.reps.len().to_string());
            assert_eq!(row["range_test"], set.range_test.to_string());
            if set.range_test {
                assert_eq!(number(row, "timed_median_s"), None);
            }
            assert_eq!(row["movement"], set.movement.map_or("", |one| one.name()));
            assert_eq!(
                row["tempo"],
                set.tempo.map_or(String::new(), |one| one.code())
            );
            assert_eq!(
                number(row, "range_median_deg").is_none(),
                set.reps.is_empty()
            );
        }
    }
}

#[test]
fn sessions_and_medians_are_those_of_the_review() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path().join("store"));
    recorded(&store);
    store_summaries(&store, "h1", &odd_history(2, 22));
    for code in ["p1", "h1"] {
        let out = folder.path().join(code);
        exported(code, "csv", &store, &out);
        let Some(read) = read(&out) else { return };
        let review = review(code, &store);
        let sessions = review["sessions"].as_array().unwrap();
        assert_eq!(read.sessions.len(), sessions.len());
        for (row, own) in read.sessions.iter().zip(sessions) {
            for name in [
                "duration_s",
                "set_count",
                "done_count",
                "prescribed_count",
                "doubtful_count",
                "visit_count",
            ] {
                assert_eq!(number(row, name), own[name].as_f64(), "{name}");
            }
            assert_eq!(row["session"], own["name"]);
            assert_eq!(row["started_at"], own["started_at"]);
            assert_eq!(row["day"], own["date"]);
            let count = own["stops"].as_array().unwrap().len();
            assert_eq!(row["stop_count"], count.to_string());
        }
        let mut compared = 0;
        for series in review["series"].as_array().unwrap() {
            let Some(movement) = series["movement"].as_str() else {
                continue;
            };
            for own in series["sessions"].as_array().unwrap() {
                let side = series["side"].as_str().unwrap();
                let key = format!("{}|{movement}|{side}", own["name"].as_str().unwrap());
                let found = &read.medians[&key];
                assert_eq!(found["count"], own["done_count"], "{key}");
                let range = own["range"]["median_deg"].as_f64().unwrap();
                assert!((found["range"].as_f64().unwrap() - range).abs() < 1e-9);
                let timed = own["timed"]["median_s"].as_f64();
                let found = found["timed"].as_f64();
                assert_eq!(timed.is_some(), found.is_some(), "{key}");
                if let Some((own, found)) = timed.zip(found) {
                    assert!((own - found).abs() < 1e-9, "{key}");
                }
                compared += 1;
            }
        }
        assert!(compared >= 3, "{compared}");
    }
}

#[test]
fn what_is_unknown_is_empty_and_answers_stand_with_their_session() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path().join("store"));
    recorded(&store);
    store_summaries(&store, "h1", &odd_history(1, 22));
    let out = folder.path().join("out");
    exported("p1", "csv", &store, &out);
    let Some(read) = read(&out) else { return };
    let [first, answers, last] = &read.sessions[..] else {
        panic!("{} sessions", read.sessions.len());
    };
    let cells = |row: &Row, names: &[&str]| -> Vec<String> {
        names.iter().map(|name| row[*name].clone()).collect()
    };
    let names = [
        "pain_left_before_0_to_10",
        "pain_left_next_morning_0_to_10",
        "pain_right_before_0_to_10",
        "tingling_left_before_0_to_10",
        "numbness_side_or_time_unknown_0_to_10",
        "night_woke",
        "night_splint",
        "dropped_things",
        "stop_reasons",
    ];
    let expected = ["1", "3", "", "", "0", "true", "", "false", "tingling"];
    assert_eq!(cells(first, &names), expected);
    assert_eq!(cells(answers, &names), [""; 9]);
    assert_eq!(answers["prescribed_count"], "");
    // A note that a spreadsheet would compute stands there as words, its quotes and line kept.
    assert_eq!(first["notes"], "'=1+1, \"said\"\nwith a line");
    assert_eq!(
        (first["simulated"].as_str(), last["simulated"].as_str()),
        ("false", "true")
    );
    assert_eq!(first["started_at"], "2026-03-29T00:30:00+01:00");
    assert_eq!(first["utc_offset_s"], "3600");
    let odd = folder.path().join("odd");
    exported("h1", "csv", &store, &odd);
    let odd = super::csv::read(&odd).unwrap();
    let unknown = &odd.sets[3];
    for name in [
        "movement",
        "side",
        "load_kg",
        "elbow_deg",
        "forearm",
        "tempo",
        "target_reps_count",
        "end_reason",
        "zero",
        "isb_axis",
        "range_median_deg",
        "timed_median_s",
        "hurried_count",
    ] {
        assert_eq!(unknown[name], "", "{name}");
    }
    // The lift is what is timed where it is eccentric; a cut one is left out.
    let supination = &odd.sets[1];
    assert_eq!(supination["timed_median_s"], "2");
    let of_set = |set: &str| {
        let rows = odd.reps.iter();
        let rows: Vec<&Row> = rows.filter(|row| row["set"] == set).take(3).collect();
        rows
    };
    assert_eq!(of_set("1")[1]["timed_s"], "");
    assert_eq!(of_set("2")[0]["timed_s"], "");
    // Signed as the ISB has it: extension is negative, without a calibration it is unknown.
    assert_eq!(of_set("1")[0]["isb_peak_deg"], "-40");
    assert_eq!(of_set("2")[0]["isb_peak_deg"], "");
    assert_eq!(of_set("3")[0]["isb_axis"], "");
}

#[test]
fn numbers_name_their_unit() {
    let mut bare = Vec::new();
    let reps = carpotempo::export::repetition_columns();
    let sets = carpotempo::export::set_table_columns();
    let sessions = carpotempo::export::session_columns();
    use carpotempo::export::table::Kind;
    let all = reps
        .iter()
        .map(|one| (one.name.clone(), one.kind, one.unit()));
    let all = all.chain(
        sets.iter()
            .map(|one| (one.name.clone(), one.kind, one.unit())),
    );
    let all = all.chain(
        sessions
            .iter()
            .map(|one| (one.name.clone(), one.kind, one.unit())),
    );
    for (name, kind, unit) in all {
        let number = matches!(kind, Kind::Number | Kind::Whole);
        if number && unit.is_none() && name != "set" && name != "repetition" {
            bare.push(name);
        }
    }
    assert!(bare.is_empty(), "without a unit: {bare:?}");
}
