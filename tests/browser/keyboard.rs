//! A whole session by the keyboard alone.

use serde_json::json;

use super::browser::hands::{ENTER, RIGHT, SPACE, TAB};
use super::patient::Patient;

/// A short one; invented.
const ROUTINE: &str = r#"
title = "An invented routine"
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2199-04-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "right"
repetitions = 2
load_kg = 0.5
rest_s = 20
tempo = "3-0-2-1"

[[items]]
kind = "timed"
what = "tendon-glides"
side = "right"
repetitions = 3
pause_s = 2
"#;

/// Presses Tab until that has the focus, whose words or name these are; it has to be seen that it
/// has it.
fn to(patient: &Patient, words: &str) {
    let words = json!(words);
    let there = format!(
        "(() => {{ const one = document.activeElement; \
            return one.textContent.trim() === {words} || one.labels?.[0]?.textContent === {words} || one.value === {words} || one.id === {words}; }})()"
    );
    for _ in 0..40 {
        if patient.browser.is(&there) == json!(true) {
            let seen = patient.browser.is(
                "(() => { const one = document.activeElement; \
                    const style = getComputedStyle(one.labels?.[0] && one.type === 'radio' ? one.labels[0] : one); \
                    return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2; })()",
            );
            assert_eq!(seen, json!(true), "the focus on {words} is not seen");
            return;
        }
        patient.browser.keys(TAB);
    }
    panic!("Tab does not lead to {words}: {}", patient.text());
}

fn press(patient: &Patient, words: &str) -> bool {
    to(patient, words);
    patient.browser.keys(ENTER);
    true
}

#[test]
fn the_keyboard_alone_suffices_outside_sets() {
    let folder = tempfile::tempdir().unwrap();
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    let is = |expression: &str| patient.browser.is(expression) == json!(true);
    let by_keys = |screen: &str| match screen {
        // "Click, or press Enter": wherever the focus is.
        "welcome" => {
            patient.browser.keys(ENTER);
            true
        }
        "first-questions" => press(&patient, "No, none of these"),
        "cautions" => press(&patient, "I have read this"),
        "symptoms" => {
            // A row is one stop; arrows choose within it.
            for (row, steps) in [(0, 1), (1, 0), (2, 0)] {
                let first = format!(
                    "document.querySelectorAll('.felt fieldset')[{row}].contains(document.activeElement)"
                );
                while !is(&first) {
                    patient.browser.keys(TAB);
                }
                patient.browser.keys(SPACE);
                for _ in 0..steps {
                    patient.browser.keys(RIGHT);
                }
            }
            press(&patient, "Next")
        }
        "place" if is("document.querySelector('button.main[aria-disabled=false]') !== null") => {
            press(&patient, "It is on")
        }
        "hearing" => press(&patient, "Yes, I hear it"),
        "wearing" => press(&patient, "No"),
        "intro" => press(&patient, "Start"),
        "rest" => press(&patient, "Go on now"),
        "timed" if is("document.querySelector('.runs') === null") => press(&patient, "Start"),
        "remark" => {
            to(&patient, "remark");
            patient.browser.keys("by keys");
            press(&patient, "Keep it and go on")
        }
        _ => true,
    };
    patient.walks("summary", &by_keys);
    assert_eq!(patient.noted("counts"), json!(["0", "1"]));
    assert!(!patient.screens.borrow().contains(&"paused".to_owned()));
    press(&patient, "Close");
    patient.reads("You can close this window now.");
    patient.stands_up();

    // The day after: only the questions about the night.
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    patient.meets("welcome");
    to(
        &patient,
        "Only the questions about last night (about 20 seconds, no sensor needed)",
    );
    patient.browser.keys(ENTER);
    patient.meets("night");
    patient.looks();
    patient.browser.keys(TAB);
    patient.browser.keys(SPACE);
    press(&patient, "Next");
    for hand in [
        "Your left hand this morning",
        "Your right hand this morning",
    ] {
        patient.reads(hand);
        patient.looks();
        std::thread::sleep(std::time::Duration::from_millis(420));
        press(&patient, "None of the three: all 0");
        press(&patient, "Next");
    }
    patient.meets("summary");
    patient.looks();
    press(&patient, "Close");
    let told = patient.stands_up();
    assert!(told.contains("0 repetitions"), "{told}");
}
