//! The replay's page as it looks: at three widths, in dark colours too.
//!
//! Truth: WCAG 2.2 AA as far as axe-core sees it, and the project's own rules on sizes: no scrolling
//! sideways from 360 px, targets of 44 px (24 px in the table of repetitions).

use carpotempo::pipeline::Expectation;
use carpotempo::recording::Recording;
use serde_json::{Value, json};

use super::recording;
use super::window::{hurried, opened};

const MEASURED: &str = r"
    const wrong = [];
    const root = document.documentElement;
    if (root.scrollWidth > innerWidth) wrong.push(`scrolls sideways by ${root.scrollWidth - innerWidth} px`);
    for (const target of document.querySelectorAll('button, select, summary, .speed label, input[type=range]')) {
      const { width, height } = target.getBoundingClientRect();
      const least = target.closest('table') ? 24 : 44;
      if (target.checkVisibility() && width > 0 && (width < least || height < least))
        wrong.push(`target ${target.textContent}: ${width} x ${height} px`);
    }
    return wrong;";

/// The same without what lies between two times.
fn gapped(from_s: f64, to_s: f64) -> Recording {
    let mut recording = recording("flexion-hurried.csv");
    recording
        .hand
        .retain(|sample| !(from_s..to_s).contains(&sample.t_s));
    recording
}

#[test]
fn it_can_be_read_and_used_at_every_width_and_in_the_dark() {
    for (name, recording, expected) in [
        (
            "calibrated",
            recording("extension-calibrated"),
            Expectation::default(),
        ),
        ("hurried with a gap", gapped(20.3, 23.1), hurried()),
        (
            "circles",
            recording("arm-circles.csv"),
            Expectation::default(),
        ),
    ] {
        let Some((browser, _served)) = opened(&recording, &expected) else {
            return;
        };
        // All repetitions in their table.
        browser.run(
            "const all = document.querySelector('.all'); if (all) all.open = true",
            json!([]),
        );
        for (width_px, height_px) in [(360, 740), (1920, 1080), (1024, 768)] {
            browser.size(width_px, height_px);
            std::thread::sleep(std::time::Duration::from_millis(150));
            let measured = browser.run(MEASURED, json!([]));
            assert_eq!(measured, Value::Array(Vec::new()), "{name}, {width_px} px");
            let said = browser.complaints();
            assert!(said.is_empty(), "{name}, {width_px} px: {said:#?}");
        }
        browser.dark(true);
        let said = browser.complaints();
        assert!(said.is_empty(), "{name}, dark: {said:#?}");
    }
}
