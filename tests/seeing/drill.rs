//! Judging by eye over plain HTTP: what is shown, and that what is told of it is true.

use carpotempo::page::DrillPage;
use carpotempo::source::simulator::by_eye::SeenSet;
use serde_json::Value;

use super::client::{Answer, ask, cookie, get, own};

pub struct Drill {
    pub page: DrillPage,
    pub port: u16,
    pub cookie: String,
}

pub fn drill() -> Drill {
    let page = DrillPage::serve(0).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    Drill { page, port, cookie }
}

impl Drill {
    fn get(&self, path: &str) -> Answer {
        get(self.port, &self.cookie, path)
    }

    pub fn told(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        serde_json::from_str(&answer.body).unwrap()
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Reads the angles that are drawn as an eye does: how often it goes up, how far the last time, and how
/// long it then takes from nine tenths of the way to one tenth.
fn read_by_eye(angles_deg: &[f64], step_s: f64) -> (usize, f64, f64) {
    let base_deg = angles_deg[0];
    let most_deg = angles_deg.iter().copied().fold(f64::MIN, f64::max);
    let level_deg = base_deg + 0.3 * (most_deg - base_deg);
    let ups: Vec<usize> = (1..angles_deg.len())
        .filter(|at| angles_deg[at - 1] < level_deg && angles_deg[*at] >= level_deg)
        .collect();
    let last = &angles_deg[*ups.last().unwrap()..];
    let end_deg = last.iter().copied().fold(f64::MIN, f64::max);
    let floor_deg = *last.last().unwrap();
    let left = last
        .iter()
        .rposition(|deg| *deg > floor_deg + 0.9 * (end_deg - floor_deg))
        .unwrap();
    let arrived = last
        .iter()
        .rposition(|deg| *deg > floor_deg + 0.1 * (end_deg - floor_deg))
        .unwrap();
    (ups.len(), end_deg, (arrived - left) as f64 * step_s)
}

#[test]
fn what_is_told_is_what_was_shown() {
    let drill = drill();
    for _ in 0..40 {
        let shown = drill.told("/drill/set.json");
        let seed = shown["seed"].as_u64().unwrap();
        let step_s = number(&shown["step_s"]);
        let angles: Vec<f64> = shown["angles_deg"]
            .as_array()
            .unwrap()
            .iter()
            .map(number)
            .collect();
        let (count, end_deg, core_s) = read_by_eye(&angles, step_s);
        let was = drill.told(&format!(
            "/drill/answer.json?seed={seed}&count=3&lower_s=4&end_deg=-12.5"
        ));
        assert_eq!(was["count"]["was"], count, "seed {seed}");
        assert_eq!(was["count"]["said"], 3);
        assert_eq!(number(&was["count"]["too_much"]), 3.0 - count as f64);
        let true_deg = number(&was["end_deg"]["was"]);
        assert!(
            (true_deg - end_deg).abs() < 0.1,
            "seed {seed}: {true_deg} {end_deg}"
        );
        // The phase reaches beyond its core by the slow ends of a stroke: of minimum jerk the core is
        // 0.51 of the stroke and the phase 0.87, a ratio of 1.7. A sag of a sixth is hold, though it
        // leaves the uppermost tenth.
        let true_s = number(&was["lower_s"]["was"]);
        let context = format!("seed {seed}: {true_s} {core_s}");
        assert!(true_s < 1.9 * core_s + 0.1, "{context}");
        assert!(
            was["manner"] == "sagging-hold" || true_s > core_s,
            "{context}"
        );
        assert!((number(&was["lower_s"]["too_much"]) - (4.0 - true_s)).abs() < 1e-12);
        // And it is the simulator's own truth.
        let truth = SeenSet::of(u32::try_from(seed).unwrap()).truth().unwrap();
        assert_eq!(true_s, truth.last_lower_s, "seed {seed}");
        assert_eq!(true_deg, truth.last_end_deg, "seed {seed}");
        let reps = was["reps"].as_array().unwrap();
        assert_eq!(reps.len(), count);
        assert_eq!(number(&reps[count - 1]["lower_s"]), true_s);
    }
}

#[test]
fn nothing_of_the_truth_is_told_with_the_set() {
    let shown = drill().told("/drill/set.json");
    let mut keys: Vec<&String> = shown.as_object().unwrap().keys().collect();
    keys.sort();
    assert_eq!(
        keys,
        ["angles_deg", "movement", "seed", "side", "step_s", "title"]
    );
}

#[test]
fn what_was_not_said_is_not_judged_and_what_is_no_answer_is_refused() {
    let drill = drill();
    let was = drill.told("/drill/answer.json?seed=7");
    for name in ["count", "lower_s", "end_deg"] {
        assert_eq!(was[name]["said"], Value::Null);
        assert_eq!(was[name]["too_much"], Value::Null);
        assert!(was[name]["was"].is_number());
    }
    for query in [
        "",
        "?count=3",
        "?seed=-1",
        "?seed=4294967296",
        "?seed=a",
        "?seed=7&count=2.5",
        "?seed=7&count=100",
        "?seed=7&count=-1",
        "?seed=7&lower_s=NaN",
        "?seed=7&lower_s=inf",
        "?seed=7&lower_s=-1",
        "?seed=7&lower_s=100",
        "?seed=7&end_deg=181",
        "?seed=7&end_deg=",
    ] {
        let answer = drill.get(&format!("/drill/answer.json{query}"));
        assert_eq!(answer.status, 400, "{query}");
    }
}

#[test]
fn the_drill_has_the_doors_of_every_page() {
    let drill = drill();
    assert!(drill.page.address().ip().is_loopback());
    let (port, cookie) = (drill.port, drill.cookie.as_str());
    for path in [
        "/",
        "/drill",
        "/drill/set.json",
        "/drill/answer.json?seed=7",
    ] {
        let host = format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n");
        let with = own(port, cookie, "GET", path);
        for (head, status) in [
            (host, 403),
            (format!("{with}Origin: http://other.example\r\n"), 403),
            (format!("{with}Sec-Fetch-Site: cross-site\r\n"), 403),
        ] {
            let answer = ask(port, &head, "");
            assert_eq!(answer.status, status, "{head}");
            assert!(!answer.body.contains("angles_deg"), "{head}");
        }
        assert_eq!(drill.get(path).status, 200, "{path}");
        for method in ["POST", "PUT"] {
            let answer = ask(port, &own(port, cookie, method, path), "");
            assert_eq!(answer.status, 405, "{method} {path}");
            assert_eq!(answer.header("allow"), Some("GET"));
        }
    }
}
