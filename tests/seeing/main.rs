//! Learning to see: marking a recording by hand, blind first, and judging by eye; over plain HTTP, by
//! the program, and in a browser.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise, and says what it does not check"
)]

#[path = "../common/browser/mod.rs"]
mod browser;
#[allow(dead_code, reason = "other tests use the rest of it")]
#[path = "../page/client.rs"]
mod client;
mod drill;
mod drill_page;
mod files;
mod hand;
mod looks;
mod mark_page;
mod marking;
mod program;
mod refused;
#[allow(dead_code, reason = "other tests use the rest of it")]
#[path = "../common/shown.rs"]
mod shown;

use std::path::{Path, PathBuf};

use carpotempo::page::{MarksPlace, ReplayPage};
use carpotempo::pipeline::{Detail, Expectation, analyse_in_detail};
use carpotempo::recording::{ForeignOptions, Recording, open_any};
use client::{Answer, cookie, get, post};
use serde_json::{Value, json};

fn path(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("recordings")
        .join(name)
}

fn recording(name: &str) -> Recording {
    open_any(&path(name), &ForeignOptions::default()).unwrap()
}

/// A recording that is served to be marked.
struct Served {
    page: ReplayPage,
    port: u16,
    cookie: String,
    detail: Detail,
    folder: PathBuf,
}

/// Serves a recording to be marked; marks go into that folder.
fn served(recording: &Recording, folder: &Path) -> Served {
    let detail = analyse_in_detail(recording, &Expectation::default()).unwrap();
    let place = MarksPlace::new(folder.to_owned(), recording);
    let page = ReplayPage::serve_to_mark(0, recording, &detail, place).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    Served {
        page,
        port,
        cookie,
        detail,
        folder: folder.to_owned(),
    }
}

impl Served {
    fn get(&self, path: &str) -> Answer {
        get(self.port, &self.cookie, path)
    }

    fn told(&self, path: &str) -> Value {
        let answer = self.get(path);
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
        serde_json::from_str(&answer.body).unwrap()
    }

    fn save(&self, marks: &[[Option<f64>; 4]]) -> Answer {
        let json = json!({ "marks": rows(marks) });
        post(self.port, &self.cookie, "/marks", &json.to_string())
    }

    fn files(&self) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(&self.folder) else {
            return Vec::new();
        };
        let name = |entry: std::io::Result<std::fs::DirEntry>| {
            entry.unwrap().file_name().into_string().unwrap()
        };
        let mut names: Vec<String> = entries.map(name).collect();
        names.sort();
        names
    }
}

/// Marks as the page sends them.
fn rows(marks: &[[Option<f64>; 4]]) -> Vec<Value> {
    let row = |(at, [a, b, c, d]): (usize, &[Option<f64>; 4])| json!({ "rep": at + 1, "lift_start_s": a, "lift_end_s": b, "lower_start_s": c, "lower_end_s": d });
    marks.iter().enumerate().map(row).collect()
}

/// Times that are all marked.
fn whole(times_s: [f64; 4]) -> [Option<f64>; 4] {
    times_s.map(Some)
}
