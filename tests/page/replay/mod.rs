//! The page of a recording: its doors, its numbers, the program, and what is seen in a browser.

mod doors;
mod figures;
mod looks;
mod numbers;
mod playing;
mod program;
mod window;

use carpotempo::page::ReplayPage;
use carpotempo::pipeline::{Detail, Expectation, analyse_in_detail};
use carpotempo::recording::{ForeignOptions, Recording, open_any};
use serde_json::Value;

use super::client::{Answer, cookie, get};

fn recording(name: &str) -> Recording {
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
    served_as(recording, &Expectation::default())
}

fn served_as(recording: &Recording, expected: &Expectation) -> Served {
    let detail = analyse_in_detail(recording, expected).unwrap();
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
