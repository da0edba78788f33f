//! Tempo notation, time under tension, load steps, smallest changes, two-for-two and norms against
//! the reference vectors
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

use carpotempo::movement::Movement;
use carpotempo::review::{
    Change, Judgement, OWN_PAIRS, Person, Sex, mdc95_deg, norms, own_error_deg, range_error,
    share_words, two_for_two,
};
use carpotempo::routine::{Pace, Tempo, load_step_percent};
use jiff::civil::date;
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

#[test]
fn the_smallest_change_that_counts_is_196_roots_of_two_standard_errors() {
    for case in section("mdc") {
        let sem_deg = case["sem"].as_f64().unwrap();
        let expected_deg = case["mdc95"].as_f64().unwrap();
        assert!((mdc95_deg(sem_deg) - expected_deg).abs() < 5e-5, "{case}");
    }
    // Of pairs the standard error is the root of half the mean squared difference (Bland & Altman,
    // BMJ 313:744, 1996, from memory); pairs that all differ by 4 have one of 4 / sqrt(2).
    let own_deg = own_error_deg(&[4.0, -4.0, 4.0]).unwrap();
    assert!((own_deg - 1.96 * 4.0).abs() < 5e-4, "{own_deg}");
    assert_eq!(own_error_deg(&[]), None);
}

#[test]
fn a_range_change_is_judged_as_the_vectors_say() {
    for case in section("rom_change") {
        let number = |key: &str| case[key].as_f64().unwrap();
        // The movement whose borrowed error is the one of the case.
        let movement = match number("mdc") {
            8.0 => Movement::WristExtension,
            11.0 => Movement::WristFlexion,
            other => panic!("no movement has {other}"),
        };
        let error = range_error(movement, true, &[]);
        let ends = [(1, "base"), (20, "now")].map(|(day, key)| (date(2026, 3, day), number(key)));
        // Of a sensor that is not off at all, as the rule of the case knows none.
        let change = Change::new(ends, error, Some(0.0));
        let beyond = matches!(case["verdict"].as_str().unwrap(), "improved" | "worse");
        assert_eq!(change.judgement == Judgement::BeyondError, beyond, "{case}");
    }
}

/// Ours: a change that the sensor's own stated error may make is none, and says so.
#[test]
fn a_change_within_the_sensors_own_stated_error_is_not_called_one() {
    let error = range_error(Movement::WristExtension, true, &[]);
    let ends = [(1, 40.0), (20, 52.0)].map(|(day, deg)| (date(2026, 3, day), deg));
    let sure = Change::new(ends, error, Some(3.0));
    assert_eq!(sure.judgement, Judgement::BeyondError);
    assert_eq!(
        sure.judgement_words(),
        "beyond the borrowed error of 8 degrees"
    );
    let unsure = Change::new(ends, error, Some(13.0));
    assert_eq!(unsure.judgement, Judgement::UnknownOrWithinError);
    assert_eq!(
        unsure.judgement_words(),
        "unknown or within the sensor's own stated error of 13 degrees"
    );
    let unknown = Change::new(ends, None, Some(3.0));
    assert_eq!(unknown.judgement, Judgement::UnknownOrWithinError);
    let unstated = Change::new(ends, error, None);
    assert_eq!(unstated.judgement, Judgement::UnknownOrWithinError);
    assert_eq!(
        unstated.judgement_words(),
        "unknown whether beyond error: by how much the sensor itself was off is not known for one of the two sessions"
    );
}

/// Ours: the person's own error holds from five pairs of fittings on, the larger of own and
/// borrowed before.
#[test]
fn a_persons_own_error_is_named_as_such_and_is_trusted_from_five_pairs_on() {
    let words = |pairs: &[f64]| {
        range_error(Movement::WristFlexion, true, pairs)
            .unwrap()
            .words()
    };
    assert_eq!(words(&[]), "the borrowed error of 11 degrees");
    assert_eq!(words(&[1.0]), "the borrowed error of 11 degrees");
    assert_eq!(
        words(&[8.0]),
        "the own error of 16 degrees (1 pair of fittings)"
    );
    assert_eq!(
        words(&[2.0; OWN_PAIRS]),
        "the own error of 4 degrees (5 pairs of fittings)"
    );
    let deviation = |pairs: &[f64]| range_error(Movement::RadialDeviation, true, pairs);
    assert_eq!(deviation(&[2.0; OWN_PAIRS - 1]), None);
    assert!(deviation(&[2.0; OWN_PAIRS]).is_some());
}

#[test]
fn two_more_than_asked_in_the_last_two_sessions_is_what_the_rule_asks() {
    for case in section("two_for_two") {
        let whole = |value: &Value| u32::try_from(value.as_u64().unwrap()).unwrap();
        let last: Vec<u32> = case["last_set"]
            .as_array()
            .unwrap()
            .iter()
            .map(whole)
            .collect();
        let seen = case["condition_seen"].as_bool().unwrap();
        assert_eq!(two_for_two(whole(&case["goal"]), &last), seen, "{case}");
    }
}

#[test]
fn a_share_of_nothing_prescribed_is_unknown() {
    for case in section("adherence") {
        let (Some(asked), Some(done)) =
            (case["prescribed_sessions"].as_u64(), case["done"].as_u64())
        else {
            continue;
        };
        let words = share_words(u32::try_from(done).unwrap(), u32::try_from(asked).unwrap());
        match case["session_pct"].as_f64() {
            Some(percent) => assert_eq!(words, format!("{percent:.0} %")),
            None => assert_eq!(words, "unknown"),
        }
    }
}

/// Source: each row of normative_rom.csv names its own.
#[test]
fn norms_are_those_of_the_table_and_fit_age_and_sex_or_are_none() {
    let Some(folder) = reference::reference() else {
        return;
    };
    let mut table = csv::Reader::from_path(folder.join("vectors/normative_rom.csv")).unwrap();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let of_table = |study: &str, motion: &str| -> f64 {
        let row = rows
            .iter()
            .find(|row| row[2].starts_with(study) && &row[1] == motion);
        row.unwrap()[3].parse().unwrap()
    };
    let motions = [
        (Movement::WristFlexion, "flexion"),
        (Movement::WristExtension, "extension"),
        (Movement::RadialDeviation, "radial_deviation"),
        (Movement::UlnarDeviation, "ulnar_deviation"),
        (Movement::Pronation, "pronation"),
        (Movement::Supination, "supination"),
    ];
    let person = |age_years: u32, sex: Option<Sex>| Person {
        age_years: Some(age_years),
        sex,
    };
    for (who, studies) in [
        (
            person(30, Some(Sex::Male)),
            &["Boone&Azen1979", "Greene&Wolf1989"][..],
        ),
        (person(30, Some(Sex::Female)), &["Greene&Wolf1989"][..]),
        (person(30, None), &["Greene&Wolf1989"][..]),
        // Macedo & Magee 2009 moved the joints of others: no norm of an active range.
        (person(57, Some(Sex::Female)), &[][..]),
        (person(57, Some(Sex::Male)), &[][..]),
        (person(60, None), &["Walker1984"][..]),
        (person(69, Some(Sex::Male)), &["Walker1984"][..]),
        (person(72, None), &[][..]),
        (person(84, Some(Sex::Female)), &["Walker1984"][..]),
        (person(85, None), &[][..]),
        (person(90, None), &[][..]),
        (Person::default(), &[][..]),
    ] {
        for (movement, motion) in motions {
            let found: Vec<f64> = norms(movement, who)
                .iter()
                .map(|norm| norm.mean_deg)
                .collect();
            let expected: Vec<f64> = studies
                .iter()
                .map(|study| of_table(study, motion))
                .collect();
            assert_eq!(found, expected, "{who:?} {motion}");
        }
    }
    assert!(norms(Movement::ArmCircles, person(30, None)).is_empty());
}
