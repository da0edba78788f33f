//! The practice set: six recordings that say nothing, and their truth.

use std::path::{Path, PathBuf};

use carpotempo::source::simulator::practice::PracticeCase;

use crate::marked::*;

const NAMES: [&str; 6] = [
    "practice-1",
    "practice-2",
    "practice-3",
    "practice-4",
    "practice-5",
    "practice-6",
];

fn practice(folder: &Path, seed: &str) -> PathBuf {
    let out = folder.join(format!("set-{seed}"));
    let text = told(&["--practice", out.to_str().unwrap(), "--seed", seed]);
    assert!(text.starts_with("Six invented recordings"), "{text}");
    out
}

fn read(path: PathBuf) -> String {
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn a_seed_gives_the_same_six_and_nothing_outside_the_truth_gives_them_away() {
    let folder = tempfile::tempdir().unwrap();
    let out = practice(folder.path(), "3");
    let again = practice(&folder.path().join("again"), "3");
    for name in NAMES {
        for file in ["session.json", "samples.csv", "events.csv"] {
            let of = |out: &Path| read(out.join(name).join(file));
            assert_eq!(of(&out), of(&again), "{name} {file}");
        }
        let truth = format!("truth/{name}.csv");
        assert_eq!(read(out.join(&truth)), read(again.join(&truth)));
        for file in ["session.json", "events.csv"] {
            let text = read(out.join(name).join(file));
            for case in PracticeCase::ALL {
                assert!(!text.contains(case.name()), "{name} says {}", case.name());
            }
        }
        let events = read(out.join(name).join("events.csv"));
        assert!(events.contains("Invented data"), "{name}");
    }
    // All are announced alike: nothing but the movement tells them apart.
    let announced = |name: &str| {
        let events = read(out.join(name).join("events.csv"));
        let line = events.lines().find(|line| line.contains("set-start"));
        line.unwrap().split_once(',').unwrap().1.to_owned()
    };
    for name in NAMES {
        assert_eq!(announced(name), announced("practice-1"));
    }
    let more = carpotempo(&["compare", "--practice", out.to_str().unwrap()]);
    assert_eq!(more.status.code(), Some(1));
    assert!(stderr(&more).contains("is there already"));
}

/// Perfect marks: the truth itself, copied. The program is held against it in the same breath.
#[test]
fn the_program_reads_all_six_as_they_were_and_the_cases_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let out = practice(folder.path(), "7");
    let marks = folder.path().join("marks");
    std::fs::create_dir_all(&marks).unwrap();
    for name in NAMES {
        let truth = out.join(format!("truth/{name}.csv"));
        std::fs::copy(truth, marks.join(format!("{name}-marks.csv"))).unwrap();
    }
    let arguments = [out.to_str().unwrap(), marks.to_str().unwrap()];
    let whole = json(&arguments);
    let mut cases = Vec::new();
    for own in whole["recordings"].as_array().unwrap() {
        assert_eq!(own["invented"], true);
        let case = own["truth"]["case"].as_str().unwrap();
        let range = |value: &serde_json::Value| value.as_f64().unwrap();
        let read_deg = range(&own["program_range_deg"]);
        let true_deg = range(&own["truth"]["range_deg"]);
        // Only where the elbow helped is it said, and there of every repetition.
        let moved_count = own["forearm_moved_count"].as_u64();
        let expected = match case {
            "elbow-helping" => own["program_count"].as_u64(),
            _ => Some(0),
        };
        assert_eq!(moved_count, expected, "{own}");
        if case == "elbow-helping" {
            // One sensor sees the hand: the forearm's half is part of what it reads.
            assert!((read_deg - 2.0 * true_deg).abs() < 2.0, "{own}");
        } else if case == "oblique-curl" {
            assert!((read_deg - true_deg).abs() < 8.0, "{own}");
        } else {
            assert!((read_deg - true_deg).abs() < 2.0, "{own}");
        }
        cases.push(case.to_owned());
    }
    cases.sort_unstable();
    let mut all = PracticeCase::ALL.map(|case| case.name().to_owned());
    all.sort_unstable();
    assert_eq!(cases, all);
    let program = between(&whole, "the program", "the truth");
    let counts = &program["over"]["counts"];
    assert_eq!(counts["same_count"], 6, "{counts}");
    assert_eq!(counts["paired_count"], counts["second_count"]);
    for recording in program["recordings"].as_array().unwrap() {
        for pair in recording["pairs"].as_array().unwrap() {
            for key in ["lift_s", "hold_s", "lower_s"] {
                let off_s = pair["differences"][key].as_f64().unwrap();
                assert!(
                    off_s.abs() < 0.15,
                    "{} {key} {pair}",
                    recording["recording"]
                );
            }
        }
    }
    let mine = between(&whole, "you", "the truth");
    near(&mine["over"]["measures"][2]["limits"]["deviation"], 0.0);
    let text = told(&arguments);
    assert!(
        text.contains("What was true (invented recordings"),
        "{text}"
    );
    for case in PracticeCase::ALL {
        assert!(text.contains(case.words()), "{text}");
    }
}
