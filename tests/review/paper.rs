//! The page on paper: printed by a headless browser, on A4 and on Letter. What a visit needs stands
//! on two sheets, whatever the history; the appendix begins on a sheet of its own.

use std::path::Path;

use carpotempo::movement::{ForearmRotation, Movement, Side};
use carpotempo::pipeline::summary::{SessionSummary, SymptomKind, fresh_summaries};
use carpotempo::recording::{Store, When};
use carpotempo::report::{self, ReportOptions};
use carpotempo::review::{Review, ReviewOptions, review, review_on};
use jiff::ToSpan;
use jiff::civil::date;
use serde_json::json;

use crate::invented::*;
use crate::long::long_history;
use crate::printing::{about, pages, print, stdout, tools};
use crate::stories::answer;

fn on_paper(all: Vec<SessionSummary>) -> Review {
    review(&patient("p1"), &summaries(all), &ReviewOptions::default())
}

/// `count` sessions of three movements of both hands.
fn four_weeks(count: i64) -> Vec<SessionSummary> {
    let start = date(2026, 3, 2);
    (0..count)
        .map(|n| {
            let day = start.checked_add((n + n / 5 * 2).days()).unwrap();
            let reps = [(40.0 + n as f64 / 2.0, 4.0); 6];
            let mut sets = Vec::new();
            for movement in [
                Movement::WristFlexion,
                Movement::WristExtension,
                Movement::RadialDeviation,
            ] {
                for side in [Side::Left, Side::Right] {
                    sets.push(set(movement, side, Some(0.5), &reps));
                }
            }
            let mut one = session(at(day, 18, 1), sets);
            one.routine = Some(routine());
            for kind in SymptomKind::ALL {
                one.symptoms.push(answer(kind, 2, When::Before));
                one.symptoms.push(answer(kind, 3, When::After));
            }
            one
        })
        .collect()
}

/// Everything at once: many postures, long words, stops, visits, a routine that changes each time.
fn crowded() -> Vec<SessionSummary> {
    let mut all = four_weeks(20);
    let words = "words that do not end ".repeat(30);
    for (n, one) in all.iter_mut().enumerate() {
        let mut turned = one.analysis.sets.clone();
        for set in &mut turned {
            set.posture.as_mut().unwrap().rotation = ForearmRotation::ThumbUp;
            set.load_kg = Some(0.0);
        }
        one.analysis.sets.extend(turned);
        one.stops = vec![Some(words.clone())];
        one.declined = vec![Some(words.clone())];
        one.skipped = vec![Some(words.clone())];
        one.notes = vec![format!("{n} {words}")];
        let routine = one.routine.as_mut().unwrap();
        routine.title = words.clone();
        routine.sessions_a_week = Some(n as u32 + 1);
        if n == 10 {
            let range = |degrees: u32| json!({"movement": "wrist-flexion", "side": "right", "range_deg": degrees});
            let ranges: Vec<_> = (50..62).map(range).collect();
            one.visits = vec![json!({"goniometer": ranges, "reason": words})];
        }
    }
    all
}

/// Prints, and gives the words of the first three sheets.
fn printed(browser: &Path, review: &Review, size: &str, points: &str) -> [String; 3] {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("report.html");
    let text = report::page(review, &ReportOptions::default()).unwrap();
    std::fs::write(&page, text).unwrap();
    let pdf = print(browser, &page, size);
    let paper = about(&pdf, "Page size:");
    assert!(paper.starts_with(points), "{paper}");
    assert!(pages(&pdf) >= 3, "{} pages", pages(&pdf));
    let pdf = pdf.to_str().unwrap();
    ["1", "2", "3"].map(|n| stdout("pdftotext", &["-f", n, "-l", n, "-layout", pdf, "-"]))
}

#[test]
fn two_sheets_hold_what_a_visit_needs_and_the_third_begins_the_appendix() {
    let Some(browser) = tools() else { return };
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    long_history(&store, "p1", 30);
    let summaries = fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
    let on = Some(date(2025, 4, 1));
    let recorded = review_on(&patient("p1"), &summaries, &ReviewOptions::default(), on);
    assert!(recorded.last_exercise.is_some());
    for (what, review) in [
        ("recorded", recorded),
        ("four weeks", on_paper(four_weeks(20))),
        ("one session", on_paper(four_weeks(1))),
        ("four hundred", on_paper(four_weeks(400))),
        ("crowded", on_paper(crowded())),
    ] {
        for (size, points) in [("A4", "594.96 x 841.92"), ("letter", "612 x 792 pts")] {
            let [first, second, third] = printed(&browser, &review, size, points);
            let what = format!("{what}, {size}");
            for said in [
                "Sessions done of asked",
                "To look at",
                "Movements",
                "Inputs to the decision",
                "less range, beyond error",
                "page 1 of",
                "Patient p1",
            ] {
                assert!(
                    first.contains(said),
                    "{what}: {said} not on the first: {first}"
                );
            }
            assert!(second.contains("Across sessions"), "{what}: {second}");
            assert!(!second.contains("Appendix"), "{what}: {second}");
            assert!(
                third.trim_start().starts_with("Appendix"),
                "{what}: {third}"
            );
        }
    }
}
