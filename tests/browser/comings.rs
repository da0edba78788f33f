//! Reload, a second tab, a closed browser, a program that is gone: nothing lost, nothing counted
//! twice.

use serde_json::json;

use super::browser::Browser;
use super::led::{recordings, replayed};
use super::looks::look;
use super::patient::Patient;

/// One long exercise of the right hand; invented.
const ROUTINE: &str = r#"
title = "An invented routine"
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2199-04-01

[[items]]
kind = "counted"
movement = "wrist-extension"
side = "right"
repetitions = 7
load_kg = 0.5
rest_s = 20
tempo = "3-0-2-1"

[[items]]
kind = "timed"
what = "self-massage"
side = "right"
seconds = 20
"#;

#[test]
fn a_set_outlives_a_reload_a_second_tab_and_a_closed_browser() {
    let folder = tempfile::tempdir().unwrap();
    let Some(mut patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "4"]) else {
        return;
    };
    patient.goes_on_until("working");
    patient.is_in_mid_set(1);
    patient.browser.reload();
    patient.browser.until("document.body.dataset.screen");
    assert_eq!(patient.screen(), "working", "it goes on");
    assert!(patient.count() >= 1, "and nothing is lost");
    patient.is_in_mid_set(2);

    // A second tab shows the same, and stops the same.
    let first = patient.browser.this_tab();
    let address = format!("http://127.0.0.1:{}/", patient.program.port());
    patient.browser.tab(&address);
    patient
        .browser
        .until("document.body.dataset.screen === 'working'");
    assert!(patient.count() >= 2);
    std::thread::sleep(std::time::Duration::from_millis(700));
    patient.browser.keys("x");
    patient.meets("paused");
    patient.browser.to_tab(&first);
    patient.meets("paused");
    patient.press("No, go on");
    patient.meets("working");
    let done = patient.count();
    patient.browser.close_tab();
    let other = patient.browser.tabs();
    patient.browser.to_tab(&other[0]);
    patient.meets("working");
    patient.is_in_mid_set(done + 1);

    // The browser is closed, and another one opened.
    let Some(browser) = Browser::open() else {
        return;
    };
    drop(std::mem::replace(&mut patient.browser, browser));
    patient.opens(&patient.browser);
    assert!(patient.count() > done || patient.screen() != "working");
    patient.goes_on_until("summary");
    patient.press("Close");
    let told = patient.stands_up();
    assert!(told.contains("7 repetitions"), "{told}");
    let recordings = recordings(folder.path());
    assert_eq!(recordings.len(), 1);
    assert_eq!(replayed(&recordings[0].0).iter().sum::<usize>(), 7);
}

#[test]
fn a_program_that_is_gone_is_told_of_and_one_that_has_ended_too() {
    let folder = tempfile::tempdir().unwrap();
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    patient.goes_on_until("intro");
    let Patient {
        browser, program, ..
    } = patient;
    // Killed, as by a crash.
    drop(program);
    browser.until("document.body.innerText.includes('The connection to the program is lost.')");
    look(&browser);

    // What was answered is kept: the first questions are not asked again.
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    drop(browser);
    patient.goes_on_until("cautions");
    let screens = patient.screens.borrow().join(" ");
    assert!(!screens.contains("first-questions"), "{screens}");
    // Ended in the terminal: the page says so, and is not looking for it.
    patient.program.interrupt();
    patient.reads("You can close this window now.");
    patient.looks();
    std::thread::sleep(std::time::Duration::from_secs(3));
    assert!(!patient.text().contains("connection"), "{}", patient.text());
    patient.stands_up();
}

#[test]
fn what_is_asked_over_a_screen_changes_nothing_until_it_is_answered() {
    let folder = tempfile::tempdir().unwrap();
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    patient.goes_on_until("intro");
    for (button, heading) in [
        ("Leave this out", "Leave this exercise out?"),
        ("Finish here for today", "Finish here for today?"),
    ] {
        patient.press(button);
        patient.reads(heading);
        patient.looks();
        assert_eq!(
            patient.browser.is("document.activeElement.textContent"),
            json!("No, stay"),
            "what is focused changes nothing"
        );
        patient.press("No, stay");
        assert_eq!(patient.screen(), "intro");
    }
    patient.press("Leave this out");
    patient.reads("Leave this exercise out?");
    patient.press("No time");
    patient.meets("timed");
    patient.reads("Part 2 of 2");
    patient.press("Finish here for today");
    patient.reads("What you have done is kept.");
    patient.press("Yes, finish here");
    patient.goes_on_until("summary");
    patient.press("Close");
    patient.stands_up();

    // The next time there are questions about the night; and one answer ends it for today.
    let Some(patient) = Patient::sits_down(folder.path(), ROUTINE, &["--pace", "5"]) else {
        return;
    };
    patient.walks("not-today", &|screen| {
        if screen != "symptoms" {
            return false;
        }
        patient.press("None of the three: all 0");
        patient
            .browser
            .click(".felt fieldset input[value='8'] + label");
        patient.press("Next");
        true
    });
    patient.looks();
    let text = patient.text();
    assert!(text.contains("Not today"), "{text}");
    assert!(text.contains("the practice, by telephone"), "{text}");
    patient.press("Close");
    patient.reads("You can close this window now.");
    patient.stands_up();
}
