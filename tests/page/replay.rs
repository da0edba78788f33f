//! The page of a recording: its doors, and that its numbers are those of `replay --json`.

use std::io::Write;

use carpotempo::page::{Page, ReplayPage};
use carpotempo::pipeline::{Detail, Expectation, analyse_in_detail};
use carpotempo::recording::{ForeignOptions, Recording, open_any};
use serde_json::Value;

use super::client::{Answer, ask, connect, cookie, get, own};

pub fn recording(name: &str) -> Recording {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("recordings");
    open_any(&folder.join(name), &ForeignOptions::default()).unwrap()
}

/// A page, and what its numbers have to be.
struct Served {
    page: ReplayPage,
    port: u16,
    cookie: String,
    detail: Detail,
}

fn served(recording: &Recording) -> Served {
    let detail = analyse_in_detail(recording, &Expectation::default()).unwrap();
    let page = ReplayPage::serve(0, recording, &detail).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    Served {
        page,
        port,
        cookie,
        detail,
    }
}

impl Served {
    fn get(&self, path: &str) -> Answer {
        get(self.port, &self.cookie, path)
    }

    fn told(&self) -> Value {
        let answer = self.get("/recording.json");
        assert_eq!(answer.status, 200);
        assert_eq!(answer.header("content-type"), Some("application/json"));
        serde_json::from_str(&answer.body).unwrap()
    }

    /// The points of a set's curve, and how many parts they came in.
    fn points(&self, set: usize) -> (Vec<(f64, f64)>, usize) {
        let mut points = Vec::new();
        for part in 0.. {
            let answer = self.get(&format!("/curve.json?set={set}&part={part}"));
            if answer.status == 404 {
                return (points, part);
            }
            assert_eq!(answer.status, 200, "{part}");
            assert!(answer.body.len() < 100_000, "a part is bounded");
            let told: Value = serde_json::from_str(&answer.body).unwrap();
            let step_s = told["step_s"].as_f64().unwrap();
            for run in told["runs"].as_array().unwrap() {
                let start_s = run["start_s"].as_f64().unwrap();
                let angles = run["angles_deg"].as_array().unwrap();
                points.extend(angles.iter().enumerate().map(|(place, angle)| {
                    (start_s + place as f64 * step_s, angle.as_f64().unwrap())
                }));
            }
        }
        unreachable!("the parts have an end");
    }
}

#[test]
fn the_replay_has_the_doors_of_the_session() {
    let served = served(&recording("flexion-hurried.csv"));
    let (port, cookie) = (served.port, served.cookie.as_str());
    assert!(served.page.address().ip().is_loopback());
    let paths = ["/", "/recording.json", "/curve.json?set=0&part=0"];
    let guided = Page::serve(0, |_| ()).unwrap();
    let foreign = super::client::cookie(guided.address().port(), &guided.url());
    for path in paths.iter().chain(&["/replay/page.js", "/nothing"]) {
        let host = format!("Host: 127.0.0.1:{port}\r\n");
        for (head, status) in [
            (format!("GET {path} HTTP/1.1\r\n{host}"), 403),
            (
                format!("GET {path} HTTP/1.1\r\n{host}Cookie: {foreign}\r\n"),
                403,
            ),
            (
                format!(
                    "GET {path} HTTP/1.1\r\nHost: rebound.example:{port}\r\nCookie: {cookie}\r\n"
                ),
                421,
            ),
            (
                format!(
                    "{}Origin: http://other.example\r\n",
                    own(port, cookie, "GET", path)
                ),
                403,
            ),
            (
                format!(
                    "{}Sec-Fetch-Site: cross-site\r\n",
                    own(port, cookie, "GET", path)
                ),
                403,
            ),
            (
                format!(
                    "{}Content-Length: 99999999\r\n",
                    own(port, cookie, "GET", path)
                ),
                413,
            ),
        ] {
            let answer = ask(port, &head, "");
            assert_eq!(answer.status, status, "{head}");
            assert!(!answer.body.contains("range_deg"), "{head}");
        }
    }
    for path in paths {
        let answer = served.get(path);
        assert_eq!(answer.status, 200, "{path}");
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("default-src 'self'"), "{policy}");
        assert_eq!(answer.header("cache-control"), Some("no-store"));
        for method in ["POST", "PUT", "DELETE", "HEAD", "OPTIONS"] {
            let answer = ask(port, &own(port, cookie, method, path), "");
            assert_eq!(answer.status, 405, "{method} {path}");
            assert_eq!(answer.header("allow"), Some("GET"));
        }
    }
}

#[test]
fn nothing_else_is_answered() {
    let served = served(&recording("flexion-hurried.csv"));
    for path in [
        "/nothing",
        "/press",
        "/events",
        "/app.js",
        "/replay/",
        "/replay/../dom.js",
        "/replay/%2e%2e/dom.js",
        "//recording.json",
        "/recording.json/",
        "/flexion-hurried.csv",
        "/recordings/flexion-hurried.csv",
        "/curve.json?set=1&part=0",
        "/curve.json?set=0&part=1000000",
        "/curve.json?set=0&part=18446744073709551615",
    ] {
        assert_eq!(served.get(path).status, 404, "{path}");
    }
    for query in [
        "",
        "?",
        "?set=0",
        "?part=0",
        "?set=-1&part=0",
        "?set=0&part=-1",
        "?set=0&part=NaN",
        "?set=0&part=18446744073709551616",
        "?set=a&part=b",
    ] {
        assert_eq!(
            served.get(&format!("/curve.json{query}")).status,
            400,
            "{query}"
        );
    }
    let (port, cookie) = (served.port, served.cookie.as_str());
    let head = own(port, cookie, "POST", "/press");
    assert_eq!(ask(port, &head, "").status, 404);
}

#[test]
fn two_hundred_idle_connections_do_not_keep_the_replay_away() {
    let served = served(&recording("flexion-hurried.csv"));
    let mut idle = Vec::new();
    for number in 0..200 {
        let mut stream = connect(served.port);
        if number % 2 == 0 {
            let _ = stream.write_all(b"GET /recording.json HTTP/1.1\r\nHost: ");
        }
        idle.push(stream);
    }
    assert_eq!(served.get("/recording.json").status, 200);
    drop(idle);
}

#[test]
fn every_file_that_the_page_names_is_there() {
    let served = served(&recording("flexion-hurried.csv"));
    let page = served.get("/").body;
    let quoted = |text: &str, before: &str| -> Vec<String> {
        let parts = text.split(before).skip(1);
        let names = parts.filter_map(|part| part.split('"').next());
        names.map(str::to_owned).collect()
    };
    let mut named = quoted(&page, "href=\"");
    named.extend(quoted(&page, "src=\""));
    let mut scripts = vec!["page.js".to_owned()];
    let mut seen = 0;
    while let Some(script) = scripts.get(seen).cloned() {
        seen += 1;
        let text = served.get(&format!("/replay/{script}")).body;
        for own in quoted(&text, "from \"") {
            match own.strip_prefix("./") {
                Some(own) if !scripts.contains(&own.to_owned()) => scripts.push(own.to_owned()),
                Some(_) => {}
                None => named.push(own.replace("../", "")),
            }
        }
    }
    assert!(scripts.len() >= 7, "{scripts:?}");
    named.extend(scripts.iter().map(|own| format!("replay/{own}")));
    for file in named {
        assert_eq!(served.get(&format!("/{file}")).status, 200, "{file}");
    }
}

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
