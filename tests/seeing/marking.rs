//! What is sent before marks are saved, what is kept of them, and what is shown then.

use carpotempo::page::{MarksPlace, ReplayPage};
use carpotempo::pipeline::{Expectation, analyse_in_detail};
use carpotempo::recording::Marks;
use carpotempo::reps::Repetition;
use serde_json::{Value, json};

use super::client::{cookie, get, post};
use super::{Served, recording, rows, served, whole};

const HIDDEN: [&str; 4] = ["/recording.json", "/whole", "/compared.json", "/marks.csv"];

/// Everything that can be had before marks are saved.
fn all_that_is_sent(served: &Served) -> String {
    let mut text = String::new();
    for path in HIDDEN {
        let answer = served.get(path);
        assert_eq!(answer.status, 403, "{path}");
        text += &answer.body;
    }
    for path in ["/", "/marking.json", "/drill"] {
        let answer = served.get(path);
        assert_eq!(answer.status, 200, "{path}");
        text += &answer.body;
    }
    for part in 0.. {
        let answer = served.get(&format!("/curve.json?set=0&part={part}"));
        if answer.status == 404 {
            break;
        }
        text += &answer.body;
    }
    text
}

fn times_s(rep: &Repetition) -> [f64; 4] {
    [
        rep.lift_start_s,
        rep.lift_end_s,
        rep.lower_start_s,
        rep.lower_end_s,
    ]
}

#[test]
fn before_marks_are_saved_nothing_that_was_concluded_is_sent() {
    for name in ["extension-calibrated", "flexion-hurried.csv"] {
        let folder = tempfile::tempdir().unwrap();
        let served = served(&recording(name), folder.path());
        let sent = all_that_is_sent(&served);
        let analysis = serde_json::to_value(&served.detail.analysis).unwrap();
        let set = analysis["sets"][0].as_object().unwrap();
        let rep = analysis["sets"][0]["reps"][0].as_object().unwrap();
        let also_known = ["movement", "side", "start_s", "end_s", "zero"];
        for key in set.keys().chain(rep.keys()) {
            if !also_known.contains(&key.as_str()) {
                assert!(!sent.contains(&format!("\"{key}\"")), "{name}: {key}");
            }
        }
        let times = served.detail.analysis.sets[0].reps.iter().flat_map(times_s);
        // A short number may be an angle, too.
        for time in times
            .map(|time_s| time_s.to_string())
            .filter(|text| text.len() > 6)
        {
            assert!(!sent.contains(&time), "{name}: {time}");
        }
        for warning in &served.detail.analysis.warnings {
            assert!(!sent.contains(warning), "{name}: {warning}");
        }
        assert_eq!(served.told("/marking.json")["saved"], false);
        // The same search finds them once they are shown.
        assert_eq!(served.save(&[]).status, 200);
        let shown = served.get("/recording.json").body;
        assert!(shown.contains("\"range_deg\"") && shown.contains("\"reps\""));
        let first = &served.detail.analysis.sets[0].reps[0];
        assert!(shown.contains(&first.lift_start_s.to_string()));
        assert_eq!(served.told("/marking.json")["saved"], true);
        for path in HIDDEN {
            assert_eq!(served.get(path).status, 200, "{path}");
        }
    }
}

/// A zero that was read from the repetitions tells where they start.
#[test]
fn a_zero_that_rests_on_repetitions_is_not_told() {
    let mut moving = recording("flexion-hurried.csv");
    moving.hand.retain(|sample| sample.t_s > 5.0);
    let folder = tempfile::tempdir().unwrap();
    let served = served(&moving, folder.path());
    let analysis = serde_json::to_value(&served.detail.analysis).unwrap();
    assert_eq!(analysis["sets"][0]["zero"], "usual-start");
    assert_eq!(served.told("/marking.json")["sets"][0]["zero"], Value::Null);
}

#[test]
fn marks_are_kept_beside_each_other_and_the_recording_stays_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let marks = [
        whole([13.4, 15.2, 16.5, 20.1]),
        [Some(21.0), None, None, Some(27.5)],
    ];
    let of_recording = super::path("extension-calibrated");
    let listed = || std::fs::read_dir(&of_recording).unwrap().count();
    let before = listed();
    for run in 1..=3 {
        let inside = folder.path().join("not/there/yet");
        let served = served(&recording("extension-calibrated"), &inside);
        assert_eq!(served.save(&marks).status, 200);
        let path = inside.join(format!("extension-calibrated-marks-{run}.csv"));
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(
            text,
            "rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s\n1,13.4,15.2,16.5,20.1\n2,21,,,27.5\n"
        );
        assert_eq!(served.get("/marks.csv").body, text);
        assert_eq!(Marks::read(&path).unwrap().reps().len(), 2);
        assert_eq!(served.files().len(), run);
        // An answer that was lost is given again, and nothing is written twice.
        assert_eq!(served.save(&marks).status, 200);
        assert_eq!(served.files().len(), run);
    }
    assert_eq!(listed(), before);
}

#[test]
fn where_the_truth_is_known_both_are_held_against_it() {
    let recording = recording("extension-calibrated");
    let folder = tempfile::tempdir().unwrap();
    let detail = analyse_in_detail(&recording, &Expectation::default()).unwrap();
    let truth = super::path("extension-calibrated.truth.csv");
    let truth = Marks::read(&truth).unwrap();
    let first = truth.reps()[0];
    let place = MarksPlace::new(folder.path().to_owned(), &recording);
    let place = place.with_truth(truth.clone(), Some("as it was"));
    let page = ReplayPage::serve_to_mark(0, &recording, &detail, place).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    let before = get(port, &cookie, "/marking.json").body;
    assert!(!before.contains("as it was") && !before.contains("truth"));
    let [a, b, c, d] = first.times_s().map(Option::unwrap);
    let marks = json!({ "marks": rows(&[whole([a, b, c, d + 0.5])]) });
    let answer = post(port, &cookie, "/marks", &marks.to_string());
    assert_eq!(answer.status, 200, "{}", answer.body);
    let both: Value = serde_json::from_str(&answer.body).unwrap();
    assert_eq!(both["truth"]["true_count"], truth.reps().len());
    assert_eq!(both["truth"]["words"], "as it was");
    let lower = &both["truth"]["person"][2]["spread"];
    assert_eq!(lower["pair_count"], 1);
    assert!((lower["median_s"].as_f64().unwrap() - 0.5).abs() < 1e-9);
    let program = &both["truth"]["program"][2]["spread"];
    assert_eq!(program["pair_count"], truth.reps().len());
    assert!(program["median_s"].as_f64().unwrap().abs() < 0.3);
}

#[test]
fn both_are_laid_beside_each_other_as_the_pairs_have_it() {
    let folder = tempfile::tempdir().unwrap();
    let served = served(&recording("extension-calibrated"), folder.path());
    let reps = served.detail.analysis.sets[0].reps.clone();
    assert!(reps.len() >= 4);
    // The first a quarter of a second late at its end, the second left out, one where nothing is.
    let late = |rep: &Repetition, by_s: f64| {
        let [a, b, c, d] = times_s(rep);
        whole([a, b, c, d + by_s])
    };
    let marks = [
        whole([0.5, 0.6, 0.7, 0.8]),
        late(&reps[0], 0.25),
        late(&reps[2], -0.5),
        [None, None, Some(reps[3].lower_start_s + 0.125), None],
    ];
    let answer = served.save(&marks);
    assert_eq!(answer.status, 200, "{}", answer.body);
    let both: Value = serde_json::from_str(&answer.body).unwrap();
    assert_eq!(served.told("/compared.json"), both);
    assert_eq!(
        both["note"],
        "Agreement with the program is not correctness."
    );
    let comparison = &both["comparison"];
    assert_eq!(comparison["first_count"], 4);
    assert_eq!(comparison["second_count"], reps.len());
    let pairs = comparison["pairs"].as_array().unwrap();
    let numbers: Vec<[u64; 2]> = pairs
        .iter()
        .map(|pair| ["first", "second"].map(|who| pair[who]["rep"].as_u64().unwrap()))
        .collect();
    assert_eq!(numbers, [[2, 1], [3, 3], [4, 4]]);
    let near = |value: &Value, expected: f64| (value.as_f64().unwrap() - expected).abs() < 1e-9;
    assert!(near(&pairs[0]["differences"]["lower_s"], 0.25));
    assert!(near(&pairs[1]["differences"]["lower_end_s"], -0.5));
    assert_eq!(pairs[2]["differences"]["lower_s"], Value::Null);
    assert!(near(&pairs[2]["differences"]["lower_start_s"], 0.125));
    assert_eq!(comparison["only_first"][0]["rep"], 1);
    assert_eq!(comparison["only_second"][0]["rep"], 2);
    let lower = &both["phases"][2];
    assert_eq!(lower["phase"], "lower");
    assert_eq!(lower["spread"]["pair_count"], 2);
    assert!(near(&lower["spread"]["median_s"], -0.125));
}
