//! What the page is told is the analysis, in bounded pieces, and unknown where it is unknown.

use serde_json::Value;

use super::{recording, served};

#[test]
fn the_curve_is_the_analysed_one_in_bounded_parts() {
    for name in ["flexion-hurried.csv", "extension-calibrated"] {
        let served = served(&recording(name));
        for (number, set) in served.detail.sets.iter().enumerate() {
            let motion = set.motion.as_ref().unwrap();
            let (points, parts) = served.points(number);
            let lasts_s = motion.curve.len() as f64 * 0.01;
            assert_eq!(parts, (lasts_s / 60.0).floor() as usize + 1, "{name}");
            assert!(points.len() as f64 > lasts_s / 0.02 - 2.0);
            for (t_s, angle_deg) in points {
                let index = motion.curve.index_of(t_s);
                assert!((motion.curve.time_s(index) - t_s).abs() < 1e-6);
                let truth_deg = motion.curve.angle(index) - motion.zero_deg;
                assert!((angle_deg - truth_deg).abs() <= 0.006, "{t_s} s");
            }
        }
    }
}

#[test]
fn the_outline_holds_the_whole_curve() {
    let served = served(&recording("flexion-hurried.csv"));
    let told = served.told();
    let outline = &told["sets"][0]["curve"]["outline"];
    let column_s = outline["column_s"].as_f64().unwrap();
    let start_s = told["sets"][0]["curve"]["start_s"].as_f64().unwrap();
    let (points, _) = served.points(0);
    for (t_s, angle_deg) in points {
        let columns = outline["low_deg"].as_array().unwrap().len();
        // A point on the edge of two columns is in either.
        let place = (t_s - start_s) / column_s;
        let inside = [place - 1e-6, place + 1e-6].iter().any(|place| {
            let column = (place.max(0.0) as usize).min(columns - 1);
            let [low, high] = ["low_deg", "high_deg"].map(|end| outline[end][column].as_f64());
            low.is_some_and(|low| low <= angle_deg + 1e-4)
                && high.is_some_and(|high| high >= angle_deg - 1e-4)
        });
        assert!(inside, "{t_s} s");
    }
}

#[test]
fn a_gap_is_told_and_holds_no_angles() {
    let mut recording = recording("flexion-hurried.csv");
    recording
        .hand
        .retain(|sample| !(20.3..23.1).contains(&sample.t_s));
    let served = served(&recording);
    let told = served.told();
    let gaps = told["sets"][0]["curve"]["gaps_s"].as_array().unwrap();
    assert_eq!(gaps.len(), 1, "{gaps:?}");
    let [from_s, to_s] = [0, 1].map(|end| gaps[0][end].as_f64().unwrap());
    assert!((from_s - 20.3).abs() < 0.05 && (to_s - 23.1).abs() < 0.05);
    let (points, _) = served.points(0);
    let inside = |(t_s, _): &&(f64, f64)| *t_s > from_s + 0.011 && *t_s < to_s - 0.011;
    assert_eq!(points.iter().find(inside), None);
    let doubtful = |rep: &&Value| rep["doubts"].as_array().unwrap().contains(&"gap".into());
    let reps = told["analysis"]["sets"][0]["reps"].as_array().unwrap();
    assert!(reps.iter().any(|rep| doubtful(&rep)));
}

#[test]
fn unknown_is_told_as_unknown() {
    // Nobody named or calibrated anything.
    let told = served(&recording("flexion-hurried.csv")).told();
    let set = &told["sets"][0];
    for key in ["title", "directions"] {
        assert_eq!(set[key], Value::Null, "{key}");
    }
    assert_eq!(set["posed"], false);
    assert_eq!(told["simulated"], false);
    let last = set["phases"].as_array().unwrap().last().unwrap();
    assert_eq!(last["rest_s"], Value::Null, "no rest is known of the last");
    // With a calibration the words are the joint's, against a neutral pose.
    let told = served(&recording("extension-calibrated")).told();
    let set = &told["sets"][0];
    assert_eq!(set["title"], "Wrist extension");
    assert_eq!(set["posed"], true);
    assert_eq!(set["directions"]["up"], "extension");
    assert_eq!(set["directions"]["down"], "flexion");
}

#[test]
fn a_recording_without_samples_and_one_without_movement_have_pages() {
    let mut empty = recording("flexion-hurried.csv");
    empty.hand.clear();
    let served_empty = served(&empty);
    let told = served_empty.told();
    assert_eq!(told["samples_count"], 0);
    assert_eq!(told["sets"], serde_json::json!([]));
    assert_eq!(told["start_s"], Value::Null);
    assert_eq!(served_empty.get("/").status, 200);
    assert_eq!(served_empty.get("/curve.json?set=0&part=0").status, 404);

    let mut still = recording("flexion-hurried.csv");
    still.hand.retain(|sample| sample.t_s < 3.0);
    let served_still = served(&still);
    let told = served_still.told();
    assert_eq!(told["analysis"]["sets"][0]["reps"], serde_json::json!([]));
    assert_eq!(told["sets"][0]["phases"], serde_json::json!([]));
    assert_eq!(told["sets"][0]["median_range_deg"], Value::Null);
}

#[test]
fn an_hour_is_told_in_bounded_pieces() {
    let mut recording = recording("flexion-hurried.csv");
    let once = recording.hand.clone();
    let lasts_s = once.last().unwrap().t_s + 0.02;
    let mut begins_s = lasts_s;
    while begins_s < 3600.0 {
        recording.hand.extend(once.iter().map(|sample| {
            let mut later = *sample;
            later.t_s += begins_s;
            later
        }));
        begins_s += lasts_s;
    }
    let served = served(&recording);
    let told = served.told();
    let outline = &told["sets"][0]["curve"]["outline"];
    assert_eq!(outline["low_deg"].as_array().unwrap().len(), 2000);
    let (points, parts) = served.points(0);
    assert_eq!(parts, (begins_s / 60.0) as usize + 1);
    assert!(points.len() as f64 >= begins_s / 0.02 - 10.0);
}
