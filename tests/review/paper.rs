//! The page on paper: printed by a headless browser, on A4 and on Letter.

use carpotempo::movement::{Movement, Side};
use carpotempo::report::{self, ReportOptions};
use carpotempo::review::{ReviewOptions, review};
use jiff::ToSpan;
use jiff::civil::date;

use crate::invented::*;
use crate::printing::{about, pages, print, stdout, tools};

#[test]
fn four_weeks_print_on_a_few_sheets_of_a4_and_of_letter() {
    let Some(browser) = tools() else { return };
    let start = date(2026, 3, 2);
    let all = (0..20)
        .map(|n| {
            let day = start.checked_add((n + n / 5 * 2).days()).unwrap();
            let reps = [(40.0 + n as f64 / 2.0, 4.0); 6];
            let mut sets = Vec::new();
            for movement in [Movement::WristFlexion, Movement::WristExtension] {
                for side in [Side::Left, Side::Right] {
                    sets.push(set(movement, side, Some(0.0), &reps));
                }
            }
            session(at(day, 18, 1), sets)
        })
        .collect();
    let review = review(&patient("p1"), &summaries(all), &ReviewOptions::default());
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("report.html");
    let text = report::page(&review, &ReportOptions::default()).unwrap();
    std::fs::write(&page, text).unwrap();
    for (size, points) in [("A4", "594.96 x 841.92"), ("letter", "612 x 792 pts")] {
        let pdf = print(&browser, &page, size);
        let paper = about(&pdf, "Page size:");
        assert!(paper.starts_with(points), "{paper}");
        let pages = pages(&pdf);
        // The summary, two movements, the tables; the curves need a recording.
        assert!((5..=8).contains(&pages), "{size}: {pages} pages");
        let pdf = pdf.to_str().unwrap();
        let first = stdout("pdftotext", &["-f", "1", "-l", "1", "-layout", pdf, "-"]);
        for said in [
            "Sessions done",
            "To look at",
            "Movements",
            "page 1 of",
            "Patient p1",
        ] {
            assert!(
                first.contains(said),
                "{size}: {said} not on the first page: {first}"
            );
        }
    }
}
