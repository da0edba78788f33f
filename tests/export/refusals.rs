//! What is refused: one message, nothing printed, nothing touched.

use carpotempo::recording::Store;

use crate::cohort::{export, exported, odd_history};
use crate::invented::store_summaries;

fn small(folder: &std::path::Path) -> Store {
    let store = Store::at(folder.join("store"));
    store_summaries(&store, "h1", &odd_history(1, 22));
    store
}

/// The message of a refusal with exit status 1.
fn refused(done: &std::process::Output) -> String {
    assert_eq!(done.status.code(), Some(1), "{done:?}");
    assert!(done.stdout.is_empty());
    let said = String::from_utf8(done.stderr.clone()).unwrap();
    assert_eq!(said.lines().count(), 1, "{said}");
    said
}

#[test]
fn what_is_there_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    let out = folder.path().join("out");
    std::fs::create_dir(&out).unwrap();
    let own = out.join("sets.csv");
    std::fs::write(&own, "mine").unwrap();
    let mut formats = vec![("csv", out.as_path()), ("fhir", own.as_path())];
    if cfg!(feature = "parquet") {
        formats.push(("parquet", out.as_path()));
    }
    for (to, out) in formats {
        let said = refused(&export("h1", to, &store, out, &[]));
        assert!(said.contains("never overwritten"), "{to}: {said}");
    }
    assert_eq!(std::fs::read_to_string(&own).unwrap(), "mine");
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), 1);
    // A file where the folder would be.
    let said = refused(&export("h1", "csv", &store, &own, &[]));
    assert!(said.contains("never overwritten"), "{said}");
    // An empty folder is taken, and a second time refused.
    let empty = folder.path().join("empty");
    std::fs::create_dir(&empty).unwrap();
    exported("h1", "csv", &store, &empty);
    let mut names: Vec<_> = std::fs::read_dir(&empty)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names, ["repetitions.csv", "sessions.csv", "sets.csv"]);
    refused(&export("h1", "csv", &store, &empty, &[]));
}

#[test]
fn an_unknown_patient_is_named_with_the_store_and_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    let out = folder.path().join("out");
    let mut formats = vec!["csv", "fhir"];
    if cfg!(feature = "parquet") {
        formats.push("parquet");
    }
    for to in formats {
        let said = refused(&export("p2", to, &store, &out, &[]));
        assert!(
            said.contains("p2") && said.contains(store.root().to_str().unwrap()),
            "{said}"
        );
        assert!(!out.exists(), "{to}");
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn arguments_that_mean_nothing_are_exit_status_two() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    let run = |words: &[&str]| {
        std::process::Command::new(env!("CARGO_BIN_EXE_carpotempo"))
            .arg("export")
            .args(words)
            .arg("--store")
            .arg(store.root())
            .current_dir(folder.path())
            .output()
            .unwrap()
    };
    for words in [
        &["--to", "csv"][..],
        &["h1"],
        &["h1", "--to", "xml"],
        &["a b", "--to", "csv"],
        &["h1", "--all", "--to", "parquet"],
        &["--all", "--to", "csv"],
        &["--all", "--to", "fhir"],
        &["h1", "--to", "csv", "--since", "2026-02-30"],
    ] {
        let done = run(words);
        assert_eq!(done.status.code(), Some(2), "{words:?}");
        assert!(done.stdout.is_empty());
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[cfg(not(feature = "parquet"))]
#[test]
fn a_build_without_parquet_says_how_to_get_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    let out = folder.path().join("out");
    let said = refused(&export("h1", "parquet", &store, &out, &[]));
    assert!(said.contains("--features parquet"), "{said}");
    assert!(!out.exists());
}

#[test]
fn a_late_day_and_a_patient_without_sessions_are_empty_tables() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    std::fs::create_dir(store.root().join("new")).unwrap();
    for (patient, more) in [("h1", &["--since", "2027-01-01"][..]), ("new", &[])] {
        let out = folder.path().join(format!("csv-{patient}"));
        let done = export(patient, "csv", &store, &out, more);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
        for name in ["sessions.csv", "sets.csv", "repetitions.csv"] {
            let text = std::fs::read_to_string(out.join(name)).unwrap();
            assert_eq!(text.lines().count(), 1, "{name}: {text}");
        }
        let file = folder.path().join(format!("{patient}.json"));
        let done = export(patient, "fhir", &store, &file, more);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
        let said = String::from_utf8(done.stdout).unwrap();
        assert!(
            said.starts_with("0 sessions, 0 sets, 0 repetitions: "),
            "{said}"
        );
    }
}

#[test]
fn a_session_that_cannot_be_read_is_named_and_the_others_are_exported() {
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    std::fs::create_dir(store.root().join("h1/broken")).unwrap();
    for (to, out) in [("csv", "out"), ("fhir", "out.json")] {
        let done = export("h1", to, &store, &folder.path().join(out), &[]);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
        let said = String::from_utf8(done.stderr).unwrap();
        assert!(
            said.contains("left out") && said.contains("broken"),
            "{said}"
        );
        assert!(
            String::from_utf8(done.stdout)
                .unwrap()
                .starts_with("3 sessions, ")
        );
    }
}

#[cfg(unix)]
#[test]
fn what_is_exported_is_readable_by_the_user_alone() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let store = small(folder.path());
    let out = folder.path().join("out");
    exported("h1", "csv", &store, &out);
    let file = folder.path().join("out.json");
    exported("h1", "fhir", &store, &file);
    for (path, mode) in [
        (out.clone(), 0o700),
        (out.join("sets.csv"), 0o600),
        (file, 0o600),
    ] {
        let found = std::fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        assert_eq!(found, mode, "{}", path.display());
    }
}
