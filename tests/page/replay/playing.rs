//! It plays, pauses and keeps to itself.

use carpotempo::pipeline::Expectation;
use carpotempo::recording::Recording;
use serde_json::{Value, json};

use super::super::browser::PATIENCE;
use super::recording;
use super::window::{HOME, LEFT, SPACE, at_s, go, hurried, is_at, opened, text};

#[test]
fn it_plays_at_each_speed_and_pauses() {
    let Some((browser, served)) = opened(&recording("flexion-hurried.csv"), &hurried()) else {
        return;
    };
    let end_s = served.detail.analysis.sets[0].end_s;
    for (speed, name) in [
        (0.25, "0.25"),
        (0.5, "0.5"),
        (1.0, "1"),
        (2.0, "2"),
        (4.0, "4"),
    ] {
        browser.click(&format!("label[for='speed-{name}']"));
        browser.run("document.querySelector('#time').focus()", json!([]));
        browser.keys(HOME);
        browser.keys(SPACE);
        assert_eq!(text(&browser, ".play"), "Pause");
        let script = "const done = arguments[0]; const time = document.querySelector('#time'); const [t, at] = [performance.now(), time.valueAsNumber]; setTimeout(() => requestAnimationFrame(() => done((time.valueAsNumber - at) / (performance.now() - t) * 1000)), 1000)";
        let seen = browser.run_async(script, json!([])).as_f64().unwrap();
        browser.keys(SPACE);
        assert_eq!(text(&browser, ".play"), "Play");
        // A busy computer shows fewer frames, never a faster hand.
        assert!(
            seen > 0.5 * speed && seen < 1.1 * speed,
            "{speed}: {seen} of a second in a second"
        );
        let paused_s = at_s(&browser);
        std::thread::sleep(std::time::Duration::from_millis(200));
        assert_eq!(at_s(&browser), paused_s, "paused");
    }
    go(&browser, end_s - 1.0);
    browser.keys(SPACE);
    browser.until("document.querySelector('.play').innerText === 'Play again'");
    assert!((at_s(&browser) - end_s).abs() < 0.02, "{}", at_s(&browser));
    // Off the time line, too.
    browser.run("document.activeElement.blur()", json!([]));
    browser.keys(LEFT);
    let reps = &served.detail.analysis.sets[0].reps;
    is_at(&browser, reps[reps.len() - 1].lift_start_s);
}

#[test]
fn nothing_leaves_the_computer_and_nothing_is_wrong() {
    let empty = Recording {
        hand: Vec::new(),
        ..recording("flexion-hurried.csv")
    };
    let mut still = recording("flexion-hurried.csv");
    still.hand.retain(|sample| sample.t_s < 3.0);
    for (recording, says) in [
        (recording("arm-circles.csv"), "of 8 turns"),
        (recording("extension-calibrated"), "nobody\u{2019}s record"),
        (still, "0 repetitions"),
        (empty, "nothing to play"),
    ] {
        let Some((browser, served)) = opened(&recording, &Expectation::default()) else {
            return;
        };
        let seen = text(&browser, "body").to_lowercase();
        assert!(seen.contains(says), "{says}: {seen}");
        let own = format!("http://{}/", served.page.address());
        let requests = browser.requests();
        assert!(requests.iter().any(|url| url.ends_with("/recording.json")));
        // The browser's own empty page asks for parts of itself, which are in the browser.
        let inside = |url: &&String| url.starts_with("chrome") || url.starts_with("data:");
        for url in requests.iter().filter(|url| !inside(url)) {
            assert!(url.starts_with(&own), "{url}");
        }
        let log = browser.log("browser");
        assert_eq!(log, Vec::<Value>::new(), "{says}");
    }
}

#[test]
fn a_program_that_has_ended_is_said() {
    let mut recording = recording("flexion-hurried.csv");
    let lasts_s = recording.hand.last().unwrap().t_s;
    let later: Vec<_> = recording
        .hand
        .iter()
        .flat_map(|sample| {
            [1.0, 2.0, 3.0].map(|times| {
                let mut later = *sample;
                later.t_s += times * (lasts_s + 0.02);
                later
            })
        })
        .collect();
    recording.hand.extend(later);
    recording.hand.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
    let Some((browser, served)) = opened(&recording, &hurried()) else {
        return;
    };
    browser.until("document.querySelector('.angle .big').innerText.includes('\u{b0}')");
    let end_s = served.detail.analysis.sets[0].end_s;
    drop(served);
    go(&browser, end_s - 1.0);
    let said = browser.within(PATIENCE, "document.querySelector('#trouble').innerText");
    let said = said.map(|said| said.as_str().unwrap().to_owned());
    assert!(
        said.is_some_and(|said| said.contains("does not answer")),
        "a part that cannot be had is said"
    );
}
