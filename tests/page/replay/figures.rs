//! What is seen in a browser agrees with the analysis.

use carpotempo::pipeline::{Detail, Expectation};
use carpotempo::reps::Repetition;
use carpotempo::routine::Verdict;
use serde_json::json;

use super::super::session;
use super::recording;
use super::window::{
    END, HOME, PAGE_DOWN, PAGE_UP, RIGHT, figures, go, hurried, is_at, opened, text,
};

fn seconds(value_s: f64) -> String {
    format!("{value_s:.2} s")
}

/// A number with its stated error, which is rounded up; without where it is unknown.
fn stated(value: f64, error: Option<f64>, decimals: i32) -> String {
    let places = usize::try_from(decimals).unwrap();
    let unit = 10_f64.powi(decimals);
    error.map_or(format!("{value:.places$}"), |error| {
        let up = (error * unit - 1e-9).ceil() / unit;
        format!("{value:.places$} \u{b1}{up:.places$}")
    })
}

fn verdict(repetition: &Repetition) -> &'static str {
    match repetition.verdict {
        Some(Verdict::InBand) => "\u{2713} in tempo",
        Some(Verdict::Hurried) => "\u{bb} hurried",
        Some(Verdict::Slower) => "\u{ab} slower than asked",
        None => "\u{2013} not judged",
    }
}

#[test]
fn stepping_shows_the_figures_of_each_repetition() {
    let Some((browser, served)) = opened(&recording("flexion-hurried.csv"), &hurried()) else {
        return;
    };
    let reps = &served.detail.analysis.sets[0].reps;
    assert!(reps.len() >= 8);
    assert_eq!(
        text(&browser, ".repetition h2"),
        "Before the first repetition"
    );
    for (at, rep) in reps.iter().enumerate() {
        // The time line has the focus; off it the arrows step too.
        match at % 3 {
            0 => browser.keys(PAGE_UP),
            1 => browser.press("Next repetition \u{25b8}"),
            _ => browser.keys(RIGHT),
        }
        if at % 3 == 2 {
            browser.run("document.querySelector('#time').focus()", json!([]));
        }
        is_at(&browser, rep.lift_start_s);
        let heading = format!("Repetition {} of {}", at + 1, reps.len());
        assert_eq!(text(&browser, ".repetition h2"), heading);
        let seen = figures(&browser);
        let rest = reps
            .get(at + 1)
            .map_or("unknown, the last one".to_owned(), |next| {
                seconds(next.lift_start_s - rep.lower_end_s)
            });
        for (word, value) in [
            (
                "Range",
                stated(rep.range_deg, rep.range_error_deg, 0) + "\u{b0}",
            ),
            ("Lift", stated(rep.lift_s(), rep.lift_error_s, 2) + " s"),
            ("Hold", stated(rep.hold_s(), rep.hold_error_s, 2) + " s"),
            ("Lower", stated(rep.lower_s(), rep.lower_error_s, 2) + " s"),
            ("Rest after", rest),
            (
                "Fastest while lowering",
                format!("{:.0}\u{b0}/s", rep.peak_speed_deg_s),
            ),
            ("Tempo", verdict(rep).to_owned()),
            ("Doubts", "none".to_owned()),
        ] {
            assert_eq!(seen[word], value, "{word} of repetition {}", at + 1);
        }
        assert_eq!(text(&browser, ".count .big"), at.to_string(), "done so far");
        assert_eq!(text(&browser, ".phase-name"), "lift");
        assert!(text(&browser, "#told").starts_with(&heading), "it is told");
    }
    browser.keys(PAGE_DOWN);
    is_at(&browser, reps[reps.len() - 2].lift_start_s);
    browser.keys(END);
    assert_eq!(text(&browser, ".count .big"), reps.len().to_string());
    browser.keys(HOME);
    assert_eq!(text(&browser, ".count .big"), "0");
}

/// The phase of a time by the analysis.
fn phase(reps: &[Repetition], t_s: f64) -> &'static str {
    let inside = |rep: &&Repetition| (rep.lift_start_s..rep.lower_end_s).contains(&t_s);
    match reps.iter().find(inside) {
        None => "rest",
        Some(rep) if t_s < rep.lift_end_s => "lift",
        Some(rep) if t_s < rep.lower_start_s => "hold",
        Some(_) => "lower",
    }
}

/// The angle between two points of the curve; the record has no gap.
fn truth_deg(detail: &Detail, set: usize, t_s: f64) -> f64 {
    let motion = detail.sets[set].motion.as_ref().unwrap();
    let curve = &motion.curve;
    let place = (t_s - curve.start_s) * 100.0;
    let before = place.floor() as usize;
    let [from_deg, to_deg] = [before, before + 1].map(|index| curve.angle(index));
    from_deg + (to_deg - from_deg) * place.fract() - motion.zero_deg
}

#[test]
fn angle_and_phase_are_those_of_the_analysis_at_any_time() {
    let played = session::session(5);
    let Some((browser, served)) = opened(&session::recording(&played), &Expectation::default())
    else {
        return;
    };
    let sets = &served.detail.analysis.sets;
    assert_eq!(sets.len(), 2);
    for (number, set) in sets.iter().enumerate() {
        let choice = "const set = document.querySelector('#set'); set.value = arguments[0]; set.dispatchEvent(new Event('change'))";
        browser.run(choice, json!([number.to_string()]));
        let of = format!("of {} repetitions", set.reps.len());
        assert!(text(&browser, ".count").ends_with(&of), "set {number}");
        browser.until("document.querySelector('.angle .big').innerText.includes('\u{b0}')");
        for share in 1..40 {
            let t_s = set.start_s + (set.end_s - set.start_s) * f64::from(share) / 40.0;
            go(&browser, t_s);
            let own_deg = truth_deg(&served.detail, number, t_s);
            let seen = text(&browser, ".angle .big");
            let seen_deg: f64 = seen.trim_end_matches('\u{b0}').parse().unwrap();
            let word = text(&browser, ".angle .under");
            // Calibrated: a word and a number without a sign.
            let expected = match own_deg {
                deg if deg.abs() < 0.4 => "neutral",
                deg if deg > 0.0 => "extension",
                _ => "flexion",
            };
            if own_deg.abs() < 0.4 || own_deg.abs() > 0.6 {
                assert_eq!(word, expected, "{t_s} s");
            }
            // Rounded to a degree, and drawn between points of 50 a second.
            assert!(
                (seen_deg - own_deg.abs()).abs() < 0.53,
                "{t_s} s: {seen} {own_deg}"
            );
            assert_eq!(
                text(&browser, ".phase-name"),
                phase(&set.reps, t_s),
                "{t_s} s"
            );
            let done = set.reps.iter().filter(|rep| rep.lower_end_s <= t_s).count();
            assert_eq!(text(&browser, ".count .big"), done.to_string(), "{t_s} s");
        }
    }
}

#[test]
fn a_gap_is_seen_as_a_gap() {
    let mut recording = recording("flexion-hurried.csv");
    recording
        .hand
        .retain(|sample| !(20.3..23.1).contains(&sample.t_s));
    let Some((browser, served)) = opened(&recording, &hurried()) else {
        return;
    };
    go(&browser, 22.0);
    assert_eq!(text(&browser, ".angle .big"), "\u{2013}");
    assert_eq!(text(&browser, ".phase-name"), "gap");
    assert!(text(&browser, ".key").contains("no data"));
    let reps = &served.detail.analysis.sets[0].reps;
    let doubtful = reps.iter().position(|rep| !rep.doubts.is_empty()).unwrap();
    go(&browser, reps[doubtful].lift_start_s + 0.01);
    let doubts = figures(&browser)["Doubts"].as_str().unwrap().to_owned();
    assert!(doubts.starts_with("gap:"), "{doubts}");
}
