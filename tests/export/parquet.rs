//! The cohort in Parquet, read by two engines with the query of the README.

use std::collections::BTreeMap;
use std::path::Path;

use carpotempo::movement::MovingPhase;
use carpotempo::pipeline::summary::{SessionSummary, fresh_summaries};
use carpotempo::recording::Store;
use carpotempo::reps::Doubt;
use carpotempo::review::quantile;
use jiff::ToSpan;
use serde_json::{Value, json};

use crate::cohort::{exported, odd_history, recorded};
use crate::invented::{changed, patient, store_summaries};
use crate::readers::{python_with_packages, run};

/// The query as the README shows it.
fn query() -> String {
    let readme = include_str!("../../README.md");
    let mut lines = readme.lines().map(str::trim);
    let from: Vec<&str> = lines
        .by_ref()
        .skip_while(|line| !line.starts_with("SELECT patient"))
        .take_while(|line| !line.is_empty())
        .collect();
    let query = from.join("\n");
    assert!(query.contains("FROM repetitions"), "{query}");
    query.trim_end_matches(';').to_owned()
}

/// Asks DuckDB and DataFusion the same, and tells what is in the files beside the rows.
const ASK: &str = r#"
import glob, json, sys
import datafusion, duckdb, pyarrow, pyarrow.parquet
root, query = sys.argv[1], open(sys.argv[2]).read()
duck = duckdb.connect()
duck.execute(f"CREATE VIEW repetitions AS SELECT * FROM read_parquet('{root}/*/*.parquet', hive_partitioning = true)")
fusion = datafusion.SessionContext()
fusion.register_parquet("repetitions", root, table_partition_cols=[("patient", pyarrow.string())])
def ask(query):
    a = [list(row) for row in duck.execute(query).fetchall()]
    b = [list(row.values()) for batch in fusion.sql(query).collect() for row in batch.to_pylist()]
    return [a, b]
counts = ask("SELECT count(*), count(load_kg), count(movement), count(verdict), count(timed_s), count(isb_peak_deg), sum(doubts_count) FROM repetitions")
first = sorted(glob.glob(root + "/*/*.parquet"))[0]
table = pyarrow.parquet.ParquetFile(first)
schema = table.schema_arrow
rows = pyarrow.parquet.ParquetFile(first).read().slice(0, 1).to_pylist()
print(json.dumps({
    "answers": ask(query),
    "counts": counts,
    "file": {key.decode(): value.decode() for key, value in (table.metadata.metadata or {}).items()},
    "types": {field.name: str(field.type) for field in schema},
    "units": {field.name: (field.metadata or {}).get(b"unit", b"").decode() for field in schema},
    "first": rows[0],
}, default=str))
"#;

fn ask(folder: &Path, root: &Path) -> Option<Value> {
    let python = python_with_packages()?;
    let file = folder.join("query.sql");
    std::fs::write(&file, query()).unwrap();
    Some(run(&python, ASK, &[root, &file]))
}

/// Three patients: the recorded one, the odd history, and one who differs from it.
fn cohort(folder: &Path) -> Store {
    let store = Store::at(folder.join("store"));
    recorded(&store);
    let odd = odd_history(3, 22);
    store_summaries(&store, "h1", &odd);
    let other: Vec<SessionSummary> = odd
        .iter()
        .map(|one| {
            let mut one = one.clone();
            one.analysis.sets.truncate(1);
            changed(&one, one.started_at.clone(), 1.1, 1.3)
        })
        .collect();
    store_summaries(&store, "h2", &other);
    store
}

fn export_all(store: &Store, out: &Path) {
    let done = std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["export", "--all", "--to", "parquet", "--store"])
        .arg(store.root())
        .arg("--out")
        .arg(out)
        .output()
        .unwrap();
    assert!(done.status.success(), "{done:?}");
}

fn sessions(store: &Store, code: &str) -> Vec<SessionSummary> {
    let all = fresh_summaries(store, &patient(code), &|_| ()).unwrap();
    all.sessions.into_iter().map(|one| one.summary).collect()
}

type Key = (String, String, String, String);

/// Lowering time by week from the summaries, as a review counts it.
fn truth(store: &Store, codes: &[&str]) -> BTreeMap<Key, (Option<f64>, usize)> {
    let mut groups: BTreeMap<Key, (Vec<f64>, usize)> = BTreeMap::new();
    for code in codes {
        for session in sessions(store, code) {
            let day = session.day();
            let since_monday = i64::from(day.weekday().to_monday_zero_offset());
            let monday = day.checked_sub(since_monday.days()).unwrap();
            // The query leaves range tests out: they have no lowering to time.
            for set in session.analysis.sets.iter().filter(|set| !set.range_test) {
                let (Some(movement), Some(side)) = (set.movement, set.side) else {
                    continue;
                };
                for rep in &set.reps {
                    let key = (
                        code.to_string(),
                        monday.to_string(),
                        movement.name().to_owned(),
                        side.name().to_owned(),
                    );
                    let group = groups.entry(key).or_default();
                    group.1 += 1;
                    let (cut, time_s) = match set.eccentric {
                        Some(MovingPhase::Lift) => (Doubt::StartCut, rep.lift_s()),
                        _ => (Doubt::EndCut, rep.lower_s()),
                    };
                    if !rep.doubts.contains(&cut) {
                        group.0.push(time_s);
                    }
                }
            }
        }
    }
    let median = |(times, count): (Vec<f64>, usize)| (quantile(&times, 0.5), count);
    groups
        .into_iter()
        .map(|(key, group)| (key, median(group)))
        .collect()
}

#[test]
fn two_engines_give_the_lowering_time_by_week_that_the_program_gives() {
    let folder = tempfile::tempdir().unwrap();
    let store = cohort(folder.path());
    let out = folder.path().join("cohort");
    export_all(&store, &out);
    let Some(said) = ask(folder.path(), &out) else {
        return;
    };
    let truth = truth(&store, &["h1", "h2", "p1"]);
    assert!(truth.len() > 12, "{}", truth.len());
    for answers in said["answers"].as_array().unwrap() {
        let rows = answers.as_array().unwrap();
        assert_eq!(rows.len(), truth.len());
        for (row, ((code, week, movement, side), (time_s, count))) in rows.iter().zip(&truth) {
            let place = format!("{row} for {code} {week} {movement} {side}");
            assert_eq!(row[0], *code, "{place}");
            assert!(row[1].as_str().unwrap().starts_with(week), "{place}");
            assert_eq!(
                (&row[2], &row[3]),
                (&json!(movement), &json!(side)),
                "{place}"
            );
            let found = row[4].as_f64();
            assert_eq!(found.is_some(), time_s.is_some(), "{place}");
            let off = found.zip(*time_s).map_or(0.0, |(a, b)| (a - b).abs());
            assert!(off < 1e-9, "{place}: {time_s:?}");
            assert_eq!(row[5], *count, "{place}");
        }
    }
}

#[test]
fn nulls_units_moments_and_the_file_itself_say_what_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let store = cohort(folder.path());
    let out = folder.path().join("cohort");
    export_all(&store, &out);
    let Some(said) = ask(folder.path(), &out) else {
        return;
    };
    let all: Vec<SessionSummary> = ["h1", "h2", "p1"]
        .iter()
        .flat_map(|code| sessions(&store, code))
        .collect();
    let reps = || {
        let sets = all.iter().flat_map(|one| &one.analysis.sets);
        sets.flat_map(|set| set.reps.iter().map(move |rep| (set, rep)))
    };
    let cut = |rep: &carpotempo::reps::Repetition, set: &carpotempo::pipeline::SetResult| {
        let cut = if set.eccentric == Some(MovingPhase::Lift) {
            Doubt::StartCut
        } else {
            Doubt::EndCut
        };
        rep.doubts.contains(&cut)
    };
    let calibrated = |set: &carpotempo::pipeline::SetResult| {
        let axis = set.movement.and_then(|one| one.joint_axis());
        axis.is_some() && set.zero == Some(carpotempo::pipeline::motion::Zero::Calibration)
    };
    let expected = json!([[
        reps().count(),
        reps().filter(|(set, _)| set.load_kg.is_some()).count(),
        reps().filter(|(set, _)| set.movement.is_some()).count(),
        reps().filter(|(_, rep)| rep.verdict.is_some()).count(),
        // A range test has no lowering to time.
        reps()
            .filter(|(set, rep)| !cut(rep, set) && !set.range_test)
            .count(),
        reps().filter(|(set, _)| calibrated(set)).count(),
        reps().map(|(_, rep)| rep.doubts.len()).sum::<usize>(),
    ]]);
    for counts in said["counts"].as_array().unwrap() {
        assert_eq!(counts, &expected);
    }
    assert!(
        expected[0][4].as_u64() < expected[0][0].as_u64(),
        "some are unknown"
    );
    for (name, unit) in [
        ("range_deg", "degrees"),
        ("timed_s", "seconds"),
        ("peak_speed_deg_s", "degrees per second"),
        ("load_kg", "kilograms"),
        ("lower_sparc_ratio", "dimensionless"),
        ("utc_offset_s", "seconds"),
    ] {
        assert_eq!(said["units"][name], unit, "{name}");
    }
    assert_eq!(said["types"]["started_at"], "timestamp[us, tz=UTC]");
    assert_eq!(said["types"]["utc_offset_s"], "int32");
    assert_eq!(said["file"]["carpotempo.schema_version"], "1");
    assert_eq!(said["file"]["carpotempo.patient"], "h1");
    let convention = said["file"]["carpotempo.angle_convention"]
        .as_str()
        .unwrap();
    assert!(convention.contains("flexion, ulnar deviation and pronation positive"));
    // 22:30 of the 22nd, five hours behind universal time.
    assert_eq!(said["first"]["started_at"], "2025-12-23 03:30:00+00:00");
    assert_eq!(said["first"]["day"], "2025-12-22");
    assert_eq!(said["first"]["utc_offset_s"], -18000);
    assert_eq!(said["first"]["isb_peak_deg"], -40.0);
}

#[test]
fn one_patient_and_a_day_to_begin_with_make_a_part_of_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = cohort(folder.path());
    let out = folder.path().join("one");
    exported("h2", "parquet", &store, &out);
    let file = out
        .join("patient=h2")
        .join(carpotempo::export::PARQUET_FILE);
    let magic = std::fs::read(&file).unwrap();
    assert!(magic.starts_with(b"PAR1") && magic.ends_with(b"PAR1"));
    let late = folder.path().join("late");
    let done = crate::cohort::export("h2", "parquet", &store, &late, &["--since", "2026-01-05"]);
    let said = String::from_utf8(done.stdout).unwrap();
    let day = jiff::civil::date(2026, 1, 5);
    let count = sessions(&store, "h2")
        .iter()
        .filter(|one| one.day() >= day)
        .count();
    assert!(
        count > 0 && said.starts_with(&format!("{count} session")),
        "{said}"
    );
}

#[test]
fn an_empty_store_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let done = std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
        .args(["export", "--all", "--to", "parquet", "--store"])
        .arg(folder.path())
        .arg("--out")
        .arg(folder.path().join("out"))
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(1));
    let said = String::from_utf8(done.stderr).unwrap();
    assert!(said.contains("no patient in the store"), "{said}");
}
