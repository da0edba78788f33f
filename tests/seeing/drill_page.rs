//! Judging by eye in a browser: by keys alone, and what is told is what the program knows.

use carpotempo::source::simulator::by_eye::SeenSet;
use serde_json::{Value, json};

use super::browser::Browser;
use super::drill::{Drill, drill};

const ENTER: &str = "\u{e007}";
const TAB: &str = "\u{e004}";

/// From here on the window's clock leaps: a set is over at once.
const HASTE: &str = "
    let now = performance.now();
    performance.now = () => now;
    window.requestAnimationFrame = (draw) => setTimeout(() => draw((now += 200)), 0);";

/// A drill that a browser has opened.
pub fn opened() -> Option<(Browser, Drill)> {
    let browser = Browser::open()?;
    let drill = drill();
    browser.size(1024, 768);
    browser.go(&drill.page.url());
    browser.until("document.querySelector('.drawing-turning')");
    Some((browser, drill))
}

/// Watches the set to its end, by the key.
pub fn watch(browser: &Browser) {
    browser.run(HASTE, json!([]));
    browser.keys(ENTER);
    browser.until("document.activeElement.id === 'count'");
}

fn text(browser: &Browser, selector: &str) -> String {
    let found = browser.run(
        "return document.querySelector(arguments[0]).innerText",
        json!([selector]),
    );
    found.as_str().unwrap().trim().to_owned()
}

/// The seed of the set that was judged last.
fn seed(browser: &Browser) -> u32 {
    let asked = "performance.getEntriesByType('resource').map((own) => new URL(own.name)).findLast((url) => url.pathname === '/drill/answer.json').searchParams.get('seed')";
    browser.is(asked).as_str().unwrap().parse().unwrap()
}

#[test]
fn sets_are_judged_by_keys_alone_and_the_tally_is_kept_on_the_page() {
    let Some((browser, drill)) = opened() else {
        return;
    };
    for round in 1..=3 {
        assert_eq!(
            browser.is("document.activeElement.innerText"),
            "Show the set"
        );
        watch(&browser);
        browser.keys("3");
        browser.keys(TAB);
        browser.keys("4");
        browser.keys(TAB);
        browser.keys("40");
        browser.keys(ENTER);
        browser.until("!document.querySelector('.answer').hidden");
        let truth = SeenSet::of(seed(&browser)).truth().unwrap();
        let told = text(&browser, ".answer");
        assert!(
            told.contains(&format!("You said 3, it was {}", truth.reps.len())),
            "{told}"
        );
        let lower = format!("You said 4.0 s, it was {:.1} s", truth.last_lower_s);
        assert!(told.contains(&lower), "{lower}: {told}");
        let end = format!("You said 40\u{b0}, it was {:.0}\u{b0}", truth.last_end_deg);
        assert!(told.contains(&end), "{end}: {told}");
        let so_far = text(&browser, ".so-far");
        assert!(
            so_far.contains(if round == 1 { "1 set" } else { "sets" }),
            "{so_far}"
        );
        assert!(so_far.contains(&format!("of {round}")), "{so_far}");
        // The answer has the focus; the next thing is the next set.
        browser.keys(TAB);
        assert_eq!(browser.is("document.activeElement.innerText"), "Next set");
        browser.keys(ENTER);
        browser.until("document.querySelector('.answer').hidden");
        browser.until("document.activeElement.innerText === 'Show the set'");
    }
    // Nothing is stored, and nothing goes elsewhere.
    let stored = "localStorage.length + sessionStorage.length + document.cookie.length";
    assert_eq!(browser.is(stored), 0);
    let own = format!("http://{}/", drill.page.address());
    for url in browser.requests() {
        assert!(url.starts_with(&own) || url.starts_with("data:"), "{url}");
    }
    assert_eq!(browser.log("browser"), Vec::<Value>::new());
    browser.reload();
    browser.until("document.querySelector('.drawing-turning')");
    assert!(text(&browser, ".so-far").contains("No set judged yet."));
}

#[test]
fn an_answer_waits_for_the_whole_set_and_has_to_be_numbers() {
    let Some((browser, _drill)) = opened() else {
        return;
    };
    browser.run("document.querySelector('#count').focus()", json!([]));
    browser.keys("3");
    browser.keys(ENTER);
    assert_eq!(text(&browser, "#told"), "Look at the set to its end first.");
    browser.run("document.querySelector('.stage button').focus()", json!([]));
    watch(&browser);
    browser.run(
        "document.querySelector('#lower_s').value = 'four'",
        json!([]),
    );
    browser.keys(ENTER);
    browser.until("document.querySelector('#lower_s').getAttribute('aria-invalid') === 'true'");
    assert_eq!(browser.is("document.activeElement.id"), "lower_s");
    // A comma is a decimal sign; what is left empty is not said.
    browser.run(
        "document.querySelector('#lower_s').value = '2,5'",
        json!([]),
    );
    browser.keys(ENTER);
    browser.until("!document.querySelector('.answer').hidden");
    let told = text(&browser, ".answer");
    assert!(told.contains("You said 2.5 s"), "{told}");
    assert!(told.contains("It was "), "{told}");
}
