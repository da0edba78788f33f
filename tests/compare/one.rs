//! One recording: differences, counts, no limits.

use crate::marked::*;

const NOTE: &str = "Agreement with the program is not correctness.";

/// Each start a tenth early, each end a quarter late.
const BY_S: [f64; 4] = [-0.1, 0.0, 0.0, 0.25];

#[test]
fn the_differences_are_those_that_were_made() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let folder = tempfile::tempdir().unwrap();
    let own = moved(&times, |_| BY_S);
    let marks = written(folder.path(), "mine.csv", &marks_csv(&own));
    let whole = json(&[&recording, &marks]);
    let mine = between(&whole, "you", "the program");
    let [only] = mine["recordings"].as_array().unwrap().as_slice() else {
        panic!("{mine}");
    };
    assert_eq!(only["first_count"], times.len());
    assert_eq!(only["second_count"], times.len());
    let pairs = only["pairs"].as_array().unwrap();
    assert_eq!(pairs.len(), times.len());
    for pair in pairs {
        let differences = &pair["differences"];
        near(&differences["lift_s"], 0.1);
        near(&differences["hold_s"], 0.0);
        near(&differences["lower_s"], 0.25);
        near(&differences["lift_start_s"], -0.1);
        near(&differences["lift_end_s"], 0.0);
        near(&differences["lower_start_s"], 0.0);
        near(&differences["lower_end_s"], 0.25);
    }
    assert!(mine["over"].is_null());
    let why = mine["no_over"].as_str().unwrap();
    assert!(why.contains("not independent"), "{why}");
    assert_eq!(whole["note"], NOTE);
    assert_eq!(whole["recordings"][0]["name"], "extension-calibrated");

    let text = told(&[&recording, &marks]);
    assert!(text.starts_with("You, against the program\n"), "{text}");
    assert!(text.contains("+0.10    0.00   +0.25   -0.10"), "{text}");
    assert!(text.contains(why) && text.ends_with(&format!("{NOTE}\n")));
    assert!(!text.contains("ICC") && !text.contains("limit  "), "{text}");
}

#[test]
fn what_one_alone_has_is_said_with_its_time() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let folder = tempfile::tempdir().unwrap();
    // The second is not marked, and something at the very beginning is.
    let mut own = times.clone();
    own.remove(1);
    own.insert(0, [0.2, 0.6, 0.6, 1.0]);
    let marks = written(folder.path(), "mine.csv", &marks_csv(&own));
    let whole = json(&[&recording, &marks]);
    let only = &between(&whole, "you", "the program")["recordings"][0];
    assert_eq!(only["pairs"].as_array().unwrap().len(), times.len() - 1);
    assert_eq!(only["only_first"][0]["start_s"], 0.2);
    assert_eq!(only["only_second"][0]["rep"], 2);
    let text = told(&[&recording, &marks]);
    let outside = "only you: number 1 at 0.2 to 1.0 s (outside of the set)";
    assert!(text.contains(outside), "{text}");
    assert!(text.contains("only the program: number 2 at "), "{text}");
}

/// The same marks, as a spreadsheet of a country with decimal commas keeps them.
#[test]
fn a_spreadsheet_of_another_country_says_the_same() {
    let recording = recording("flexion-hurried.csv");
    let times = moved(&found(&recording), |place| {
        let more_s = 0.01 * place as f64;
        [-more_s, 0.0, 0.0, more_s]
    });
    let folder = tempfile::tempdir().unwrap();
    let plain = marks_csv(&times);
    let mut foreign =
        String::from("\u{feff}note;lower_end_s;lower_start_s;lift_end_s;lift_start_s;Rep\r\n");
    for (place, times) in times.iter().enumerate() {
        let [a, b, c, d] = times.map(|time_s| time_s.to_string().replace('.', ","));
        foreign += &format!("slow;{d};{c};{b};{a};{}\r\n", place + 1);
    }
    foreign += ";;;;;\r\n";
    let plain = written(folder.path(), "plain.csv", &plain);
    let foreign = written(folder.path(), "foreign.csv", &foreign);
    let [a, b] = [&plain, &foreign].map(|marks| json(&[&recording, marks]));
    assert_eq!(a["comparisons"], b["comparisons"]);
    assert!(!a["comparisons"][0]["recordings"][0]["pairs"][3].is_null());
}

#[test]
fn what_was_not_marked_stays_unknown() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let mut text = String::from("lift_start_s,lift_end_s,lower_start_s,lower_end_s\n");
    for [_, _, start_s, end_s] in &times {
        text += &format!(",,{start_s},{}\n", end_s + 0.5);
    }
    let folder = tempfile::tempdir().unwrap();
    let marks = written(folder.path(), "m.csv", &text);
    let whole = json(&[&recording, &marks]);
    let pairs = &between(&whole, "you", "the program")["recordings"][0]["pairs"];
    assert_eq!(pairs.as_array().unwrap().len(), times.len());
    assert!(pairs[0]["differences"]["lift_s"].is_null());
    assert!(pairs[0]["differences"]["hold_s"].is_null());
    near(&pairs[0]["differences"]["lower_s"], 0.5);
}

/// s_w of pairs is the root of the sum of squared differences over twice their number.
#[test]
fn marking_again_gives_ones_own_repeatability() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let folder = tempfile::tempdir().unwrap();
    let later_s = |place: usize| [0.3, -0.1][place % 2];
    let again = moved(&times, |place| [0.0, 0.0, 0.0, later_s(place)]);
    let name = |number| format!("extension-calibrated-marks-{number}.csv");
    let first = written(folder.path(), &name(1), &marks_csv(&times));
    let second = written(folder.path(), &name(2), &marks_csv(&again));
    let whole = json(&[&recording, &second, &first]);
    let own = &whole["repeatability"][0];
    assert_eq!(own["by"], "you");
    let lower = &own["measures"][2];
    assert_eq!(lower["measure"], "lower");
    let squares: f64 = (0..times.len()).map(|place| later_s(place).powi(2)).sum();
    let s_w = (squares / (2 * times.len()) as f64).sqrt();
    near(&lower["within_deviation_s"], s_w);
    near(&lower["coefficient_s"], 1.96 * 2f64.sqrt() * s_w);
    let shift_s = (0..times.len()).map(later_s).sum::<f64>() / times.len() as f64;
    near(&lower["shift_s"], shift_s);
    // The first marking is held against the program, whatever the order of the arguments.
    let mine = between(&whole, "you", "the program");
    near(
        &mine["recordings"][0]["pairs"][0]["differences"]["lower_s"],
        0.0,
    );
    let text = told(&[&recording, &first, &second]);
    assert!(text.contains("Your own repeatability"), "{text}");
}

#[test]
fn two_people_are_held_against_the_program_and_each_other() {
    let recording = recording("extension-calibrated");
    let times = found(&recording);
    let folder = tempfile::tempdir().unwrap();
    let anna = moved(&times, |_| BY_S);
    let you = "extension-calibrated-marks.csv";
    let you = written(folder.path(), you, &marks_csv(&times));
    let anna = written(
        folder.path(),
        "extension-calibrated-anna.csv",
        &marks_csv(&anna),
    );
    let whole = json(&[&recording, &anna, &you]);
    assert_eq!(whole["comparisons"].as_array().unwrap().len(), 3);
    let both = &between(&whole, "you", "anna")["recordings"][0]["pairs"][0];
    near(&both["differences"]["lower_s"], -0.25);
    assert!(whole["repeatability"].as_array().unwrap().is_empty());
}

#[test]
fn the_chart_of_one_recording_has_no_limits() {
    let recording = recording("extension-calibrated");
    let folder = tempfile::tempdir().unwrap();
    let marks = marks_csv(&moved(&found(&recording), |_| BY_S));
    let marks = written(folder.path(), "m.csv", &marks);
    let charts = folder.path().join("charts");
    told(&[&recording, &marks, "--charts", charts.to_str().unwrap()]);
    let svg = charts.join("agreement-you-program-lowering.svg");
    let svg = std::fs::read_to_string(svg).unwrap();
    assert!(svg.contains("The lowering: yours against the program"));
    assert!(svg.contains("No limits.") && !svg.contains("upper limit"));
    assert!(svg.contains("differences only"));
    assert!(charts.join("agreement-you-program-lowering.png").exists());
}
