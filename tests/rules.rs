//! Tempo notation, time under tension and load steps against the reference vectors
//! (rules_vectors.json; formulas of the trade, common practice, no source, and steps of 2-10 %
//! from Ratamess et al., ACSM position stand, Med Sci Sports Exerc 41:687-708, 2009).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise and says why it did nothing"
)]

use carpotempo::routine::{Pace, Tempo, load_step_percent};
use serde_json::Value;

#[path = "common/reference.rs"]
mod reference;

/// The vectors, read in place; `None` where they are not.
fn vectors() -> Option<Value> {
    let path = reference::reference()?.join("vectors/rules_vectors.json");
    let text = std::fs::read_to_string(path).expect("the vectors can be read");
    Some(serde_json::from_str(&text).expect("the vectors are JSON"))
}

fn section(name: &str) -> Vec<Value> {
    let cases = vectors().map(|vectors| vectors[name].as_array().expect(name).clone());
    assert!(
        cases.as_ref().is_none_or(|cases| !cases.is_empty()),
        "{name}"
    );
    cases.unwrap_or_default()
}

fn pace(value: &Value) -> Pace {
    match value.as_f64() {
        Some(time_s) => Pace::Seconds(time_s),
        None => Pace::Fast,
    }
}

#[test]
fn tempo_codes_read_as_the_vectors_say() {
    for case in section("tempo_parse") {
        let text = case["in"].as_str().unwrap();
        let read = text.parse::<Tempo>();
        if case["error"] == Value::Bool(true) {
            assert!(read.is_err(), "{text}");
            continue;
        }
        let tempo = read.unwrap_or_else(|error| panic!("{text}: {error}"));
        if case["ok"] == Value::Bool(true) {
            continue;
        }
        assert_eq!(tempo.lower_s, pace(&case["ecc"]), "{text}");
        assert_eq!(
            Some(tempo.rest_s),
            case["pause_stretched"].as_f64(),
            "{text}"
        );
        assert_eq!(tempo.lift_s, pace(&case["con"]), "{text}");
        assert_eq!(
            Some(tempo.hold_s),
            case["pause_contracted"].as_f64(),
            "{text}"
        );
        assert_eq!(tempo.repetition_s(), case["rep_s"].as_f64(), "{text}");
    }
}

#[test]
fn time_under_tension_is_repetitions_times_the_sum() {
    for case in section("tut") {
        let tempo: Tempo = case["tempo"].as_str().unwrap().parse().unwrap();
        let reps = u32::try_from(case["reps"].as_u64().unwrap()).unwrap();
        assert_eq!(
            tempo.time_under_tension_s(reps),
            case["tut_s"].as_f64(),
            "{tempo}"
        );
    }
}

#[test]
fn time_under_tension_without_pauses_leaves_out_both_pauses() {
    let tempo: Tempo = "4-3-2-1".parse().unwrap();
    assert_eq!(tempo.time_under_tension_s(10), Some(100.0));
    assert_eq!(tempo.time_under_tension_without_pauses_s(10), Some(60.0));
    let fast: Tempo = "40X0".parse().unwrap();
    assert_eq!(fast.time_under_tension_s(10), None);
    assert_eq!(fast.time_under_tension_without_pauses_s(10), None);
}

#[test]
fn a_load_step_is_given_in_percent_of_the_load_before() {
    for case in section("load_step_2_10pct") {
        let load_kg = case["load"].as_f64().unwrap();
        let percent = load_step_percent(load_kg, 0.5).unwrap();
        let expected = case["step_0p5kg_pct"].as_f64().unwrap();
        assert!(
            (percent - expected).abs() < 0.005,
            "{load_kg} kg: {percent}"
        );
        for (bound, expected) in [("min", 2.0), ("max", 10.0)] {
            let change_kg = case[bound].as_f64().unwrap() - load_kg;
            let percent = load_step_percent(load_kg, change_kg).unwrap();
            assert!(
                (percent - expected).abs() < 1e-9,
                "{load_kg} kg {bound}: {percent}"
            );
        }
    }
    assert_eq!(load_step_percent(0.0, 0.5), None);
}
