//! Every file that the pages name is there, and the replay knows nothing of marking.

use std::collections::BTreeSet;

use carpotempo::page::{DrillPage, ReplayPage};
use carpotempo::pipeline::{Expectation, analyse_in_detail};

use super::client::{ask, cookie, get, own};
use super::{recording, served};

fn quoted<'a>(text: &'a str, before: &'static str) -> impl Iterator<Item = &'a str> {
    let parts = text.split(before).skip(1);
    parts.filter_map(|part| part.split('"').next())
}

/// The files that a page names, and that its scripts name, by their paths.
fn named(port: u16, cookie: &str, page: &str) -> BTreeSet<String> {
    let text = get(port, cookie, page).body;
    let mut found: BTreeSet<String> = BTreeSet::new();
    let own = quoted(&text, "href=\"").chain(quoted(&text, "src=\""));
    let mut open: Vec<String> = own.map(|own| format!("/{own}")).collect();
    while let Some(path) = open.pop() {
        if !found.insert(path.clone()) || !path.ends_with(".js") {
            continue;
        }
        let folder = path.rsplit_once('/').unwrap().0;
        let script = get(port, cookie, &path).body;
        for own in quoted(&script, "from \"") {
            let above = folder.rsplit_once('/').map_or("", |(above, _)| above);
            open.push(match own.strip_prefix("../") {
                Some(own) => format!("{above}/{own}"),
                None => format!("{folder}/{}", own.trim_start_matches("./")),
            });
        }
    }
    found
}

#[test]
fn every_file_that_a_page_names_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let marked = served(&recording("extension-calibrated"), folder.path());
    let drill = DrillPage::serve(0).unwrap();
    let port = drill.address().port();
    let drill_cookie = cookie(port, &drill.url());
    for (port, cookie, page, least) in [
        (marked.port, marked.cookie.as_str(), "/", 18),
        (marked.port, marked.cookie.as_str(), "/drill", 9),
        (port, drill_cookie.as_str(), "/", 9),
        (port, drill_cookie.as_str(), "/drill", 9),
    ] {
        let files = named(port, cookie, page);
        assert!(files.len() >= least, "{page}: {files:?}");
        for file in files {
            assert_eq!(get(port, cookie, &file).status, 200, "{page}: {file}");
        }
    }
    for path in [
        "/recording.json",
        "/marks",
        "/marking.json",
        "/mark/page.js",
        "/replay/page.js",
    ] {
        assert_eq!(get(port, &drill_cookie, path).status, 404, "{path}");
    }
}

#[test]
fn a_recording_that_is_only_replayed_takes_no_marks() {
    let recording = recording("extension-calibrated");
    let detail = analyse_in_detail(&recording, &Expectation::default()).unwrap();
    let page = ReplayPage::serve(0, &recording, &detail).unwrap();
    let port = page.address().port();
    let cookie = cookie(port, &page.url());
    for path in [
        "/marking.json",
        "/compared.json",
        "/marks.csv",
        "/whole",
        "/mark/page.js",
    ] {
        assert_eq!(get(port, &cookie, path).status, 404, "{path}");
    }
    let head = own(port, &cookie, "POST", "/marks");
    assert_eq!(ask(port, &head, "").status, 404);
    assert_eq!(get(port, &cookie, "/drill").status, 200);
}
