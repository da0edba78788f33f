//! A window of headless Chromium on the replay's page.

use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::Expectation;
use carpotempo::recording::Recording;
use serde_json::{Value, json};

use super::super::browser::Browser;
use super::{Served, served_as};

// Keys that write nothing (W3C WebDriver, 17.4.2).
pub const SPACE: &str = " ";
pub const RIGHT: &str = "\u{e014}";
pub const PAGE_UP: &str = "\u{e00e}";
pub const PAGE_DOWN: &str = "\u{e00f}";
pub const END: &str = "\u{e010}";
pub const HOME: &str = "\u{e011}";
pub const LEFT: &str = "\u{e012}";

/// A page that a browser has opened.
pub fn opened(recording: &Recording, expected: &Expectation) -> Option<(Browser, Served)> {
    let browser = Browser::open()?;
    let served = served_as(recording, expected);
    browser.size(1024, 768);
    browser.go(&served.page.url());
    browser.until("document.querySelector('main:not([aria-busy])')");
    Some((browser, served))
}

pub fn hurried() -> Expectation {
    Expectation {
        movement: Some(Movement::WristFlexion),
        side: Some(Side::Left),
        tempo: Some("4-0-2-1".parse().unwrap()),
    }
}

pub fn text(browser: &Browser, selector: &str) -> String {
    let found = browser.run(
        "return document.querySelector(arguments[0]).innerText",
        json!([selector]),
    );
    found.as_str().unwrap().trim().to_owned()
}

pub fn at_s(browser: &Browser) -> f64 {
    let value = browser.is("document.querySelector('#time').valueAsNumber");
    value.as_f64().unwrap()
}

/// A slider keeps some digits fewer than it is given.
pub fn is_at(browser: &Browser, t_s: f64) {
    let seen_s = at_s(browser);
    assert!((seen_s - t_s).abs() < 1e-9, "at {seen_s} s, not {t_s} s");
}

/// Moves the slider as a hand on it does.
pub fn go(browser: &Browser, t_s: f64) {
    let script = "const time = document.querySelector('#time'); time.value = arguments[0]; time.dispatchEvent(new Event('input'))";
    browser.run(script, json!([t_s]));
}

/// The figures of the repetition that is shown: word and value.
pub fn figures(browser: &Browser) -> Value {
    browser.is("Object.fromEntries([...document.querySelectorAll('.repetition .facts div')].map((row) => [...row.children].map((cell) => cell.innerText.trim())))")
}
