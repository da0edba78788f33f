//! Every screen that is met is looked at once: the page's own rules on sizes at three widths, and
//! axe-core.
//!
//! Truth: WCAG 2.2 AA (W3C) as far as axe-core (MPL-2.0) sees it; the sizes are the project's own
//! rules: targets of 44 px, working text of 48 px and a count of 160 px on windows from 1024 px, no
//! scrolling sideways from 360 px.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use serde_json::json;

use super::browser::Browser;

/// Windows that a screen is looked at in, CSS pixels.
const SIZES: [(u32, u32); 3] = [(360, 740), (1920, 1080), (1024, 768)];

static LOOKED: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());

/// What is on the screen, and which of its kinds.
fn name(browser: &Browser) -> String {
    let name = browser.is("[document.body.dataset.screen, \
          document.querySelector('#lost')?.innerText ? 'lost' : '', \
          document.querySelector('.set')?.dataset.standing, \
          document.querySelector('.runs') ? 'runs' : '', \
          (document.querySelector('#ask[open] h2') ?? document.querySelector('h1'))?.textContent \
            .toLowerCase().replace(/[^a-z]+/g, '-').slice(0, 40)].filter(Boolean).join('_')");
    name.as_str().unwrap().to_owned()
}

/// Looks at what is on the screen, if it was not looked at yet. Pictures go where
/// `CARPOTEMPO_PICTURES` says.
pub fn look(browser: &Browser) {
    let looked = || LOOKED.lock().unwrap_or_else(PoisonError::into_inner);
    let name = name(browser);
    if !looked().insert(name.clone()) {
        return;
    }
    let wrong = wrong(browser, &name);
    if self::name(browser) != name {
        // It has gone on by itself in the middle: another time.
        looked().remove(&name);
        return;
    }
    assert!(wrong.is_empty(), "{name}: {wrong:#?}");
}

/// Looks at what is on the screen under this name, which stays until another is shown.
pub fn look_at(browser: &Browser, name: &str) {
    let wrong = wrong(browser, name);
    assert!(wrong.is_empty(), "{name}: {wrong:#?}");
}

/// A picture of what is on the screen, where `CARPOTEMPO_PICTURES` says.
fn picture(browser: &Browser, name: &str) {
    if let Some(folder) = std::env::var_os("CARPOTEMPO_PICTURES") {
        let folder = PathBuf::from(folder);
        browser.picture(&folder.join(format!("{name}.png")));
    }
}

fn wrong(browser: &Browser, name: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    for (width_px, height_px) in SIZES {
        browser.size(width_px, height_px);
        // Laid out and drawn.
        std::thread::sleep(Duration::from_millis(120));
        let found = browser.run(include_str!("looked.js"), json!([]));
        let said = found.as_array().unwrap().clone();
        wrong.extend(said.iter().map(|one| format!("{width_px} px: {one}")));
        picture(browser, &format!("{name}-{width_px}"));
        let said = browser.complaints();
        wrong.extend(said.iter().map(|one| format!("{width_px} px: {one}")));
    }
    // The last of the sizes once more in dark colours.
    browser.dark(true);
    picture(browser, &format!("{name}-dark"));
    let said = browser.complaints();
    wrong.extend(said.iter().map(|one| format!("dark: {one}")));
    browser.dark(false);
    wrong
}

/// Whether all of these were looked at.
pub fn looked_at(kinds: &[&str]) {
    let looked = LOOKED.lock().unwrap_or_else(PoisonError::into_inner);
    for kind in kinds {
        let some = looked.iter().any(|name| name.starts_with(kind));
        assert!(some, "{kind} was not looked at: {looked:?}");
    }
}
