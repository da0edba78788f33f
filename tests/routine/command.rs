//! The command line of prescriptions.

use std::path::Path;

use carpotempo::routine::{Routine, STARTING};

use crate::run::{carpotempo, stderr, stdout};

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn new_names_the_starting_routines_and_writes_one_that_checks() {
    let names = stdout(&carpotempo(&["routine", "new"]));
    let folder = tempfile::tempdir().unwrap();
    for starting in STARTING {
        assert!(names.contains(starting.name), "{names}");
        let file = folder.path().join(format!("{}.toml", starting.name));
        let output = carpotempo(&[
            "routine",
            "new",
            "--from",
            starting.name,
            "--out",
            text(&file),
        ]);
        assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
        assert_eq!(std::fs::read_to_string(&file).unwrap(), starting.toml);
        let checked = carpotempo(&["routine", "check", text(&file)]);
        assert_eq!(checked.status.code(), Some(0), "{}", stderr(&checked));
        let told = stdout(&checked);
        assert!(told.contains("practice without weight only"), "{told}");
    }
    let printed = carpotempo(&["routine", "new", "--from", "gentle-start"]);
    assert!(Routine::from_toml(&stdout(&printed)).is_ok());
}

#[test]
fn nothing_is_written_over_and_a_misspelt_name_is_suggested() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("mine.toml");
    std::fs::write(&file, "mine").unwrap();
    let output = carpotempo(&[
        "routine",
        "new",
        "--from",
        "gentle-start",
        "--out",
        text(&file),
    ]);
    assert_eq!(output.status.code(), Some(1));
    assert!(stderr(&output).contains("is there already, and nothing is written over it"));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    let output = carpotempo(&["routine", "new", "--from", "gentel-start"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("did you mean gentle-start?"));
    assert!(output.stdout.is_empty());
}

#[test]
fn check_names_every_problem_with_line_and_column_and_prints_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("wrong.toml");
    std::fs::write(
        &file,
        "title = \"T\"\nround = 2\n[[items]]\nkind = \"counted\"\nmovement = \"wrist-flexon\"\nside = \"left\"\nrepetitions = 0\n",
    )
    .unwrap();
    let output = carpotempo(&["routine", "check", text(&file)]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    let told = stderr(&output);
    for said in [
        "wrong.toml: 3 things are wrong",
        "line 2, column 1: \"round\" is not a key of the routine; did you mean \"rounds\"?",
        "line 5, column 12: movement = \"wrist-flexon\" is not known; did you mean \"wrist-flexion\"?",
        "line 7, column 15: repetitions = 0 is out of range",
    ] {
        assert!(told.contains(said), "{said} not in {told}");
    }
}

#[test]
fn ulnar_deviation_thumb_up_is_refused_with_the_reason() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ulnar.toml");
    std::fs::write(
        &file,
        "title = \"T\"\n[[items]]\nkind = \"counted\"\nmovement = \"ulnar-deviation\"\nside = \"left\"\nrepetitions = 8\nload_kg = 0.5\nposture = { rotation = \"thumb-up\" }\n",
    )
    .unwrap();
    let output = carpotempo(&["routine", "check", text(&file)]);
    assert_eq!(output.status.code(), Some(1));
    let told = stderr(&output);
    assert!(told.contains("line 8, column 11: ulnar deviation with the thumb up is only the lowering of the muscles that lift the thumb side"), "{told}");
}

#[test]
fn check_against_the_routine_before_remarks_on_a_great_step_of_load() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, load_kg: f64| {
        let file = folder.path().join(name);
        let text = format!(
            "title = \"T\"\n[[items]]\nkind = \"counted\"\nmovement = \"wrist-flexion\"\nside = \"left\"\nrepetitions = 8\nload_kg = {load_kg}\n"
        );
        std::fs::write(&file, text).unwrap();
        file
    };
    let (before, now) = (write("before.toml", 1.0), write("now.toml", 1.5));
    let told = stdout(&carpotempo(&[
        "routine",
        "check",
        text(&now),
        "--previous",
        text(&before),
    ]));
    assert!(
        told.contains("item 1: load_kg from 1 to 1.5 is +50 %"),
        "{told}"
    );
    let told = stdout(&carpotempo(&["routine", "check", text(&now)]));
    assert!(!told.contains("+50 %"), "{told}");
}
