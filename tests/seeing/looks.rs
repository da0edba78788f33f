//! The pages as they look: at three widths, in dark colours too.
//!
//! Truth: WCAG 2.2 AA as far as axe-core sees it, and the project's own rules on sizes: no scrolling
//! sideways from 360 px, targets of 44 px (24 px in tables). `CARPOTEMPO_PICTURES` names a folder for
//! pictures.

use std::path::Path;
use std::time::Duration;

use serde_json::{Value, json};

use super::browser::Browser;
use super::{drill_page, mark_page};

const MEASURED: &str = r"
    const wrong = [];
    const root = document.documentElement;
    if (root.scrollWidth > innerWidth) wrong.push(`scrolls sideways by ${root.scrollWidth - innerWidth} px`);
    for (const target of document.querySelectorAll('button, select, summary, .speed label, input')) {
      const { width, height } = target.getBoundingClientRect();
      const least = target.closest('table') ? 24 : 44;
      if (target.checkVisibility() && width > 0 && (width < least || height < least))
        wrong.push(`target ${target.outerHTML}: ${width} x ${height} px`);
    }
    return wrong;";

fn looked_at(browser: &Browser, name: &str) {
    for (width_px, height_px) in [(360, 740), (1920, 1080), (1024, 768)] {
        browser.size(width_px, height_px);
        std::thread::sleep(Duration::from_millis(150));
        if let Some(folder) = std::env::var_os("CARPOTEMPO_PICTURES") {
            browser.picture(&Path::new(&folder).join(format!("{name}-{width_px}.png")));
        }
        let measured = browser.run(MEASURED, json!([]));
        assert_eq!(measured, Value::Array(Vec::new()), "{name}, {width_px} px");
        let said = browser.complaints();
        assert!(said.is_empty(), "{name}, {width_px} px: {said:#?}");
    }
    browser.dark(true);
    let said = browser.complaints();
    assert!(said.is_empty(), "{name}, dark: {said:#?}");
    browser.dark(false);
}

#[test]
fn marking_can_be_read_and_used_at_every_width_and_in_the_dark() {
    let folder = tempfile::tempdir().unwrap();
    // With a neutral pose, and without a name or a pose.
    for name in ["extension-calibrated", "flexion-hurried.csv"] {
        let Some((browser, _served)) = mark_page::opened(name, folder.path()) else {
            return;
        };
        looked_at(&browser, &format!("{name}-empty"));
        mark_page::mark(&browser, &[13.4, 15.2, 16.5, 20.1, 21.0, 22.5]);
        looked_at(&browser, &format!("{name}-marked"));
        browser.click("label[for='view-hand']");
        looked_at(&browser, &format!("{name}-hand"));
        browser.press("Save, and see the program\u{2019}s");
        looked_at(&browser, &format!("{name}-warned"));
        mark_page::save(&browser);
        looked_at(&browser, &format!("{name}-both"));
    }
}

#[test]
fn judging_by_eye_can_be_read_and_used_at_every_width_and_in_the_dark() {
    let Some((browser, _drill)) = drill_page::opened() else {
        return;
    };
    looked_at(&browser, "drill");
    browser.run("document.querySelector('.stage button').focus()", json!([]));
    drill_page::watch(&browser);
    browser.keys("a\u{e007}");
    browser.until("document.querySelector('[aria-invalid=true]')");
    looked_at(&browser, "drill-asked");
    browser.run("document.querySelector('#count').value = ''", json!([]));
    browser.keys("5\u{e007}");
    browser.until("!document.querySelector('.answer').hidden");
    looked_at(&browser, "drill-told");
}
