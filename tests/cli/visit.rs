//! A visit to the clinic, from options and from a file.

use std::path::Path;
use std::process::Output;

use carpotempo::movement::Side;
use carpotempo::recording::{EventKind, Store, Visit};

use crate::run::{carpotempo, stderr, stdout};

/// Runs `visit P-0001` on a store in that folder.
fn visit(folder: &Path, arguments: &[&str]) -> Output {
    let store = folder.join("store");
    let mut all = vec!["visit", "P-0001", "--store", store.to_str().unwrap()];
    all.extend(arguments);
    carpotempo(&all)
}

fn done(folder: &Path, arguments: &[&str]) -> String {
    let output = visit(folder, arguments);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    stdout(&output)
}

fn fails(folder: &Path, arguments: &[&str], status: i32, words: &str) {
    let output = visit(folder, arguments);
    let error = stderr(&output);
    assert_eq!(output.status.code(), Some(status), "{arguments:?}: {error}");
    assert!(error.contains(words), "{arguments:?}: {error}");
    assert!(stdout(&output).is_empty());
    assert!(!error.contains("panicked"), "{error}");
}

/// Visits in the store with the day of each.
fn kept(folder: &Path) -> Vec<(String, Visit)> {
    let store = Store::at(folder.join("store"));
    let sessions = store.sessions(&"P-0001".parse().unwrap()).unwrap().sessions;
    let mut kept = Vec::new();
    for session in sessions {
        let recording = session.open().unwrap();
        assert!(recording.hand.is_empty() && recording.warnings.is_empty());
        for event in recording.events {
            let EventKind::Visit(detail) = event.kind else {
                panic!("a visit alone");
            };
            let day = session.started_at.date().to_string();
            kept.push((day, Visit::from_detail(&detail).unwrap()));
        }
    }
    kept
}

const OPTIONS: [&str; 24] = [
    "--range",
    "right:flexion=62",
    "--range",
    "right:extension=-5",
    "--range",
    "left:radial-deviation=20.5",
    "--grip",
    "right=21,22.5,21.5",
    "--grip",
    "left=0",
    "--pinch",
    "right=4.5,4,4",
    "--pinch-kind",
    "key",
    "--sensation",
    "right=dull, at the \"index\" finger",
    "--thumb",
    "right=4 of 5",
    "--symptom-mean",
    "2.4",
    "--decision",
    "Same weight",
    "--reason",
    "Woken twice",
];

const FILE: &str = "\
symptom_mean = 2.4
decision = \"Same weight\"
reason = \"Woken twice\"
[right]
flexion_deg = 62
extension_deg = -5
grip_kg = [21, 22.5, 21.5]
pinch_kg = [4.5, 4, 4]
pinch_kind = \"key\"
sensation = 'dull, at the \"index\" finger'
thumb_strength = \"4 of 5\"
[left]
radial_deviation_deg = 20.5
grip_kg = [0]
";

#[test]
fn options_and_file_write_the_same_visit_and_read_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("visit.toml");
    std::fs::write(&file, FILE).unwrap();
    let mut options = OPTIONS.to_vec();
    options.extend(["--on", "2026-03-16", "--new"]);
    let said = done(folder.path(), &options);
    for words in [
        "on 2026-03-16",
        "right hand, goniometer: flexion 62, extension -5 deg",
        "left hand, goniometer: radial deviation 20.5 deg",
        "right grip: 21, 22.5, 21.5 kg\n",
        "left grip: 0 kg (1 of 3 trials)",
        "right pinch (key): 4.5, 4, 4 kg\n",
        "right sensation: dull, at the \"index\" finger",
        "right thumb strength: 4 of 5",
        "symptom mean: 2.4 of 1 to 5",
        "decision: Same weight",
        "reason: Woken twice",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert!(
        !said.contains("function mean"),
        "missing stays missing: {said}"
    );
    done(
        folder.path(),
        &["--file", file.to_str().unwrap(), "--on", "2026-03-23"],
    );
    let kept = kept(folder.path());
    let days: Vec<&str> = kept.iter().map(|(day, _)| day.as_str()).collect();
    assert_eq!(days, ["2026-03-16", "2026-03-23"]);
    assert_eq!(kept[0].1, kept[1].1);
    assert_eq!(kept[0].1.hand(Side::Right).grip_kg, [21.0, 22.5, 21.5]);
    let listed = done(folder.path(), &["--list"]);
    assert_eq!(listed.matches("Visit on ").count(), 2);
    assert_eq!(listed.matches("decision: Same weight").count(), 2);
}

#[test]
fn the_template_is_a_visit_once_its_lines_are_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let template = done(folder.path(), &["--template"]);
    let file = folder.path().join("visit.toml");
    std::fs::write(&file, &template).unwrap();
    let path = file.to_str().unwrap();
    fails(
        folder.path(),
        &["--file", path, "--new"],
        1,
        "nothing is said of the visit",
    );
    let filled: Vec<&str> = template
        .lines()
        .map(|line| {
            line.strip_prefix('#')
                .filter(|rest| !rest.starts_with(' '))
                .unwrap_or(line)
        })
        .filter(|line| !line.ends_with("\"\""))
        .collect();
    std::fs::write(&file, filled.join("\n")).unwrap();
    done(folder.path(), &["--file", path, "--new"]);
    let hand = kept(folder.path())[0].1.right.clone();
    assert_eq!(hand.ranges_deg().len(), 6);
    assert_eq!((hand.grip_kg.len(), hand.pinch_kg.len()), (3, 3));
}

#[test]
fn what_cannot_be_is_refused_with_one_message_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    for (options, words) in [
        (&[][..], "nothing is said of the visit"),
        (
            &["--range", "right:flexion=620"],
            "right flexion is 620; expected -90 to 150 degrees",
        ),
        (&["--range", "right:flexoin=60"], "did you mean flexion?"),
        (&["--range", "flexion=60"], "expected SIDE:WHICH=DEG"),
        (&["--range", "up:flexion=60"], "expected SIDE:WHICH=DEG"),
        (&["--range", "right:flexion=NaN"], "expected SIDE:WHICH=DEG"),
        (
            &["--range", "right:flexion=6", "--range", "right:flexion=7"],
            "give it once",
        ),
        (&["--grip", "right=1,2,3,4"], "right grip has 4 trials"),
        (&["--grip", "right=1,,3"], "expected SIDE=KG,KG,KG"),
        (
            &["--grip", "right=500"],
            "right grip is 500; expected 0 to 120 kg",
        ),
        (&["--pinch", "left=-1"], "left pinch is -1"),
        (
            &["--symptom-mean", "0.5"],
            "the symptom mean is 0.5; expected 1 to 5",
        ),
        (&["--decision", " "], "the decision is there without words"),
        (
            &["--on", "2999-01-01", "--decision", "x"],
            "is still to come",
        ),
        (
            &["--file", "x.toml", "--decision", "x"],
            "cannot be used with",
        ),
        (&["--list", "--decision", "x"], "cannot be used with"),
        (&["--pinch-kind", "key", "--decision", "x"], "--pinch"),
    ] {
        let mut options = options.to_vec();
        if !options.contains(&"--list") {
            options.push("--new");
        }
        fails(path, &options, 2, words);
    }
    let file = path.join("visit.toml");
    for (text, words) in [
        (
            "decision = \"x\"\n[right]\nflexion = 60\n",
            "line 3, column 1",
        ),
        ("decision = \n", "line 1"),
        (
            "[right]\ngrip_kg = [1, 2, 3, 4]\n",
            "right grip has 4 trials",
        ),
        ("[right]\ngrip_kg = \"20\"\n", "line 2"),
    ] {
        std::fs::write(&file, text).unwrap();
        fails(path, &["--file", file.to_str().unwrap(), "--new"], 1, words);
    }
    fails(
        path,
        &["--decision", "x"],
        1,
        "a new patient begins with --new",
    );
    fails(path, &["--list"], 1, "there is no patient P-0001");
    assert!(!path.join("store").exists(), "nothing was written");
}
