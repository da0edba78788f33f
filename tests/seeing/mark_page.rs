//! Marking in a browser: by keys, in the table, by a flag that is moved, over a reload, in two windows.

use std::path::Path;

use carpotempo::recording::Marks;
use serde_json::{Value, json};

use super::browser::Browser;
use super::{Served, recording, served};

const ENTER: &str = "\u{e007}";
const BACKSPACE: &str = "\u{e003}";
const TAB: &str = "\u{e004}";
const RIGHT: &str = "\u{e014}";
const SPACE: &str = " ";

/// A page for marking that a browser has opened.
pub fn opened(name: &str, folder: &Path) -> Option<(Browser, Served)> {
    let browser = Browser::open()?;
    let served = served(&recording(name), folder);
    browser.size(1024, 768);
    browser.go(&served.page.url());
    ready(&browser);
    Some((browser, served))
}

fn ready(browser: &Browser) {
    browser.until("document.querySelector('main:not([aria-busy])') && document.querySelector('.drawing-turning')");
}

fn text(browser: &Browser, selector: &str) -> String {
    let found = browser.run(
        "return document.querySelector(arguments[0]).innerText",
        json!([selector]),
    );
    found.as_str().unwrap().trim().to_owned()
}

fn go(browser: &Browser, t_s: f64) {
    let script = "const time = document.querySelector('#time'); time.value = arguments[0]; time.dispatchEvent(new Event('input'))";
    browser.run(script, json!([t_s]));
}

/// Marks by the key at these times.
pub fn mark(browser: &Browser, times_s: &[f64]) {
    for t_s in times_s {
        go(browser, *t_s);
        browser.keys(ENTER);
    }
}

/// What stands in the table, row by row.
fn table(browser: &Browser) -> Value {
    browser.is("[...document.querySelectorAll('.marks tbody tr')].map((row) => [...row.querySelectorAll('input')].map((input) => input.value))")
}

/// Presses "Save" and waits for both beside each other.
pub fn save(browser: &Browser) {
    browser.press("Save, and see the program\u{2019}s");
    browser.until("document.querySelector('.both')");
}

const FIRST: [f64; 4] = [13.4, 15.2, 16.5, 20.1];
const SECOND: [f64; 4] = [21.0, 22.7, 24.0, 27.5];

#[test]
fn two_repetitions_are_marked_by_keys_saved_and_laid_beside_the_programs() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    assert_eq!(text(&browser, ".mark"), "Mark: lift start repetition 1");
    mark(&browser, &FIRST);
    mark(&browser, &SECOND[..1]);
    assert_eq!(text(&browser, ".mark"), "Mark: lift end repetition 2");
    assert_eq!(
        text(&browser, "#told"),
        "Repetition 2, lift start at 21.00 s. Next: lift end of repetition 2."
    );
    // What cannot be is not marked, and said.
    mark(&browser, &[18.0]);
    assert_eq!(
        text(&browser, "#told"),
        "Not marked: that is before the lift start at 21.00 s."
    );
    // A wrong one is taken back.
    mark(&browser, &[26.0]);
    browser.keys(BACKSPACE);
    assert_eq!(text(&browser, ".mark"), "Mark: lift end repetition 2");
    mark(&browser, &SECOND[1..]);
    assert_eq!(
        table(&browser),
        json!([
            ["13.40", "15.20", "16.50", "20.10"],
            ["21.00", "22.70", "24.00", "27.50"]
        ])
    );
    // Frame by frame.
    go(&browser, 30.0);
    browser.keys(RIGHT);
    assert_eq!(text(&browser, ".clock"), "30.02 / 60.0 s");
    // Nothing that was concluded has come so far.
    let paths = "performance.getEntriesByType('resource').map((own) => new URL(own.name).pathname)";
    let asked = browser.is(paths);
    let asked: Vec<&str> = asked
        .as_array()
        .unwrap()
        .iter()
        .map(|own| own.as_str().unwrap())
        .collect();
    assert!(asked.contains(&"/marking.json"), "{asked:?}");
    for hidden in ["/recording.json", "/compared.json", "/whole"] {
        assert!(!asked.contains(&hidden), "{hidden}");
    }
    let seen = text(&browser, "body");
    for word in ["hurried", "in tempo", "not judged", "rest\n"] {
        assert!(!seen.contains(word), "{word}");
    }
    save(&browser);
    let count = served.detail.analysis.sets[0].reps.len();
    let seen = text(&browser, "body");
    assert!(
        seen.contains(&format!("you 2, the program {count}; 2 belong together")),
        "{seen}"
    );
    assert!(seen.contains("Agreement with the program is not correctness."));
    let rep = &served.detail.analysis.sets[0].reps[1];
    let late_s = SECOND[3] - rep.lower_end_s;
    let cell = browser
        .is("document.querySelector('.pairs tbody tr:nth-child(2) td:nth-child(6)').innerText");
    let shown: f64 = cell
        .as_str()
        .unwrap()
        .replace('\u{2212}', "-")
        .parse()
        .unwrap();
    assert!((shown - late_s).abs() < 0.0051, "{shown} {late_s}");
    let file = folder.path().join("extension-calibrated-marks-1.csv");
    let marks = Marks::read(&file).unwrap();
    let times: Vec<[f64; 4]> = marks
        .reps()
        .iter()
        .map(|own| own.times_s().map(Option::unwrap))
        .collect();
    assert_eq!(times, [FIRST, SECOND]);
    assert_eq!(browser.log("browser"), Vec::<Value>::new());
    // After a reload both are still there, and nothing can be marked.
    browser.reload();
    browser.until("document.querySelector('.both')");
    assert_eq!(
        browser.is("document.querySelector('.mark')?.checkVisibility() ?? false"),
        false
    );
    browser.go(&format!("http://{}/whole", served.page.address()));
    browser.until("document.querySelector('.repetition h2')?.innerText");
}

#[test]
fn marks_are_changed_in_the_table_moved_by_their_flags_and_survive_a_reload() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    mark(&browser, &FIRST);
    mark(&browser, &SECOND[..2]);
    browser.reload();
    ready(&browser);
    assert_eq!(
        table(&browser),
        json!([
            ["13.40", "15.20", "16.50", "20.10"],
            ["21.00", "22.70", "", ""]
        ])
    );
    assert_eq!(text(&browser, ".mark"), "Mark: lower start repetition 2");
    // By number: the field of the first lift end.
    browser.run(
        "const input = document.querySelectorAll('.marks input')[1]; input.focus(); input.select()",
        json!([]),
    );
    browser.keys("15.05");
    browser.keys(TAB);
    assert_eq!(table(&browser)[0][1], "15.05");
    assert_eq!(text(&browser, ".clock"), "15.05 / 60.0 s");
    // By its flag, half a second on.
    go(&browser, 14.0);
    browser.run("window.scrollTo(0, 0)", json!([]));
    let place = browser.is("(() => { const grips = [...document.querySelectorAll('.grip')].map((grip) => grip.getBoundingClientRect()); const grip = grips[1]; return [grip.x + grip.width / 2, grip.y + grip.height / 2, document.querySelectorAll('.grip').length]; })()");
    let at = |which: usize| place[which].as_f64().unwrap().round() as i64;
    drag(&browser, (at(0), at(1)), (at(0) + 20, at(1)));
    let moved = table(&browser)[0][1]
        .as_str()
        .unwrap()
        .parse::<f64>()
        .unwrap();
    assert!(moved > 15.15 && moved < 16.0, "{moved}");
    // Not beyond its neighbour.
    drag(&browser, (at(0) + 20, at(1)), (at(0) + 250, at(1)));
    assert_eq!(table(&browser)[0][1], "16.50");
    browser.press("Take back");
    assert_eq!(
        table(&browser)[0][1]
            .as_str()
            .unwrap()
            .parse::<f64>()
            .unwrap(),
        moved
    );
    // A row goes and comes again.
    browser.click(".marks tbody tr:nth-child(2) td:last-child button");
    assert_eq!(table(&browser).as_array().unwrap().len(), 1);
    browser.press("Take back");
    assert_eq!(table(&browser).as_array().unwrap().len(), 2);
    // What lacks a time is saved only on purpose.
    browser.press("Save, and see the program\u{2019}s");
    assert!(text(&browser, ".save-note").starts_with("One repetition lacks a time."));
    assert_eq!(served.files(), [""; 0]);
    save(&browser);
    let file =
        std::fs::read_to_string(folder.path().join("extension-calibrated-marks-1.csv")).unwrap();
    assert!(file.ends_with("2,21,22.7,,\n"), "{file}");
}

fn drag(browser: &Browser, (x, y): (i64, i64), (to_x, to_y): (i64, i64)) {
    let actions = json!({ "actions": [{
        "type": "pointer", "id": "mouse", "parameters": { "pointerType": "mouse" },
        "actions": [
            { "type": "pointerMove", "duration": 0, "x": x, "y": y },
            { "type": "pointerDown", "button": 0 },
            { "type": "pointerMove", "duration": 50, "x": to_x, "y": to_y },
            { "type": "pointerUp", "button": 0 },
        ],
    }] });
    browser.tried("POST", "/actions", &actions).unwrap();
}

#[test]
fn a_row_out_of_order_is_pointed_at_and_can_be_mended() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    mark(&browser, &FIRST);
    mark(&browser, &SECOND);
    browser.run(
        "const input = document.querySelectorAll('.marks input')[5]; input.value = '20.5'; input.dispatchEvent(new Event('change'))",
        json!([]),
    );
    browser.press("Save, and see the program\u{2019}s");
    browser.until("document.querySelector('.save-note').innerText");
    let said = text(&browser, ".save-note");
    assert!(
        said.starts_with("row 2: lift end: 20.5 s lies before the lift start, 21 s"),
        "{said}"
    );
    let focused = browser.is("document.activeElement.getAttribute('aria-label')");
    assert_eq!(focused, "Repetition 2, lift end, seconds");
    assert_eq!(served.files(), [""; 0]);
    browser.run("document.activeElement.select()", json!([]));
    browser.keys("22.5");
    browser.keys(TAB);
    save(&browser);
}

#[test]
fn a_mark_is_made_while_it_plays_at_the_time_of_the_key() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, _served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    browser.click("label[for='speed-0.5']");
    browser.run("document.querySelector('#time').focus()", json!([]));
    go(&browser, 20.0);
    browser.keys(SPACE);
    std::thread::sleep(std::time::Duration::from_millis(600));
    browser.keys(ENTER);
    browser.keys(SPACE);
    let marked: f64 = table(&browser)[0][0].as_str().unwrap().parse().unwrap();
    let stopped = browser
        .is("document.querySelector('#time').valueAsNumber")
        .as_f64()
        .unwrap();
    // Time does not stand still where it is marked, and a busy computer is slow to press the next key.
    assert!(
        marked > 20.05 && marked <= stopped + 0.02,
        "{marked} {stopped}"
    );
}

#[test]
fn a_window_that_comes_too_late_is_told_so() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    let first = browser.this_tab();
    let second = browser.tab(&format!("http://{}/", served.page.address()));
    ready(&browser);
    assert_eq!(table(&browser), json!([]), "a window has marks of its own");
    mark(&browser, &FIRST);
    browser.to_tab(&first);
    mark(&browser, &SECOND);
    save(&browser);
    browser.to_tab(&second);
    browser.press("Save, and see the program\u{2019}s");
    browser.until("document.querySelector('.save-note').innerText");
    assert!(text(&browser, ".save-note").contains("would not be blind"));
    browser.click(".save-note a");
    browser.until("document.querySelector('.both')");
    assert_eq!(served.files().len(), 1);
}

/// In the view without a trace neither the curve nor its outline can be seen.
#[test]
fn the_hand_alone_shows_no_trace() {
    let folder = tempfile::tempdir().unwrap();
    let Some((browser, _served)) = opened("extension-calibrated", folder.path()) else {
        return;
    };
    let seen = |selector: &str| {
        browser.run(
            "return document.querySelector(arguments[0])?.checkVisibility({ visibilityProperty: true }) ?? false",
            json!([selector]),
        )
    };
    assert_eq!(
        [seen(".curve"), seen(".envelope"), seen(".drawing-turning")],
        [true, true, true]
    );
    browser.click("label[for='view-hand']");
    assert_eq!(
        [seen(".curve"), seen(".envelope"), seen(".drawing-turning")],
        [false, false, true]
    );
    let turned =
        || browser.is("document.querySelector('.drawing-turning').getAttribute('transform')");
    go(&browser, 15.8);
    let up = turned();
    go(&browser, 20.6);
    assert_ne!(turned(), up);
    mark(&browser, &FIRST);
    assert_eq!(table(&browser)[0][3], "20.10");
    browser.click("label[for='view-curve']");
    assert_eq!(
        [seen(".curve"), seen(".envelope"), seen(".drawing-turning")],
        [true, true, false]
    );
}
