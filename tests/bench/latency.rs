//! From sensor to screen: the real program with an invented person at the pace of life, and the
//! page in headless Chromium.
//!
//! Each view carries the time at which its latest sample came to the program, by the computer's wall
//! clock; the page notes when it drew the view and when the next frame began, by which time it was
//! shown. Both clocks are the same computer's; the browser gives its own to 0.1 ms.

use std::time::Duration;

use serde_json::{Value, json};

use crate::browser::Browser;
use crate::led::Program;
use crate::sets::quantile;

const ROUTINE: &str = r#"
title = "An invented routine"
sessions_a_week = 3
screened_on = 2000-01-01
contact = "the practice, by telephone"
review_by = 2199-01-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "right"
repetitions = 12
load_kg = 0.5
tempo = "4-0-2-1"
"#;

/// The set is watched for so long, seconds.
const WATCHED_S: f64 = 60.0;
/// Of a number of the kernel's about time (USER_HZ, proc(5)), seconds.
const TICK_S: f64 = 0.01;

/// Time on the processor so far, seconds. Source: proc(5), /proc/PID/stat, fields 14 and 15.
fn processor_s(id: u32) -> f64 {
    let text = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap();
    let fields: Vec<&str> = text
        .rsplit(')')
        .next()
        .unwrap()
        .split_whitespace()
        .collect();
    let ticks: u64 = fields[11..13]
        .iter()
        .map(|f| f.parse::<u64>().unwrap())
        .sum();
    ticks as f64 * TICK_S
}

/// Clicks from the first screen to the first set as a person without trouble does.
fn to_the_set(browser: &Browser) {
    let answer = r"
        const main = document.querySelector('main');
        const named = (text) => [...main.querySelectorAll('button')].find((b) => b.textContent.trim() === text);
        const screen = document.body.dataset.screen;
        if (screen === 'working') return true;
        const texts = ['Yes, I hear it', 'No, none of these', 'I have read this', 'None of the three: all 0', 'It is on', 'No', 'Start', 'Next'];
        if (screen === 'welcome') main.querySelector('button.main').click();
        else if (screen === 'symptoms') { named('None of the three: all 0')?.click(); named('Next')?.click(); }
        else if (screen === 'place' && !main.querySelector(`button.main[aria-disabled='false']`)) return false;
        else texts.map(named).find(Boolean)?.click();
        return false;
    ";
    for _ in 0..240 {
        if browser.run(answer, json!([])) == json!(true) {
            return;
        }
        std::thread::sleep(Duration::from_millis(500));
    }
    panic!("no set: {}", browser.is("document.body.innerText"));
}

pub fn run() {
    let Some(browser) = Browser::open() else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let program = Program::begin(folder.path(), ROUTINE, &[]);
    browser.size(1024, 768);
    // The page keeps times where it finds a list to put them in.
    let list = json!({ "source": "window.__frames = []" });
    browser.devtools("Page.addScriptToEvaluateOnNewDocument", list);
    browser.go(&program.url);
    browser.until("document.body.dataset.screen");
    to_the_set(&browser);
    browser.until("document.querySelector('.set')?.dataset.standing === 'going'");
    let before_s = processor_s(program.id());
    browser.run("window.__frames.length = 0", json!([]));
    std::thread::sleep(Duration::from_secs_f64(WATCHED_S));
    let taken = browser.is(
        "[performance.timeOrigin, window.__frames.filter((f) => f.shown_ms !== null && f.sample_at_ms !== null), \
          document.body.dataset.screen]",
    );
    let share = (processor_s(program.id()) - before_s) / WATCHED_S;
    let origin_ms = taken[0].as_f64().unwrap();
    let frames = taken[1].as_array().unwrap();
    let number = |frame: &Value, name: &str| frame[name].as_f64().unwrap();
    let mut newest_ms = f64::NEG_INFINITY;
    let (mut drawn_ms, mut shown_ms, mut at_ms) = (Vec::new(), Vec::new(), Vec::new());
    for frame in frames {
        let sample_ms = number(frame, "sample_at_ms");
        // A frame that draws no new sample again is none.
        if sample_ms > newest_ms {
            newest_ms = sample_ms;
            drawn_ms.push(origin_ms + number(frame, "drawn_ms") - sample_ms);
            shown_ms.push(origin_ms + number(frame, "shown_ms") - sample_ms);
            at_ms.push(number(frame, "drawn_ms"));
        }
    }
    let lasting_s = (at_ms.last().unwrap() - at_ms.first().unwrap()) / 1e3;
    let print = |what: &str, values: &[f64]| {
        println!(
            "  {what}: median {:.1} ms, 95 % {:.1} ms, 99 % {:.1} ms, longest {:.1} ms",
            quantile(values, 0.5),
            quantile(values, 0.95),
            quantile(values, 0.99),
            quantile(values, 1.0)
        );
    };
    println!(
        "sensor to screen, {} frames with new samples over {lasting_s:.0} s, ends on {}: {:.1} a second (goal 30)",
        shown_ms.len(),
        taken[2],
        (at_ms.len() - 1) as f64 / lasting_s
    );
    print("sample's arrival to its drawing", &drawn_ms);
    print(
        "sample's arrival to the next frame's beginning (goal 100 at 95 %)",
        &shown_ms,
    );
    println!("  the program: {:.1} % of one core", 100.0 * share);
}
