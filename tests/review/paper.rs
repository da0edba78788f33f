//! The page on paper: printed by a headless browser, on A4 and on Letter.

use std::path::{Path, PathBuf};
use std::process::Command;

use carpotempo::movement::{Movement, Side};
use carpotempo::report::{self, ReportOptions};
use carpotempo::review::{ReviewOptions, review};
use jiff::ToSpan;
use jiff::civil::date;

use crate::invented::*;

/// The browser and the PDF tools; where they are absent the test says so, and fails under CI.
fn tools() -> Option<PathBuf> {
    let found = |name: &str| {
        std::env::var_os("PATH").and_then(|path| {
            std::env::split_paths(&path)
                .map(|folder| folder.join(name))
                .find(|file| file.is_file())
        })
    };
    let browser = found("chromium").or_else(|| found("google-chrome"));
    if browser.is_none() || found("pdfinfo").is_none() || found("pdftotext").is_none() {
        assert_ne!(
            std::env::var("CI").as_deref(),
            Ok("true"),
            "chromium and poppler-utils are absent"
        );
        println!("not checked: chromium and poppler-utils (pdfinfo, pdftotext) are absent");
        return None;
    }
    browser
}

/// Prints a page on paper of this size; gives the PDF.
fn print(browser: &Path, page: &Path, size: &str) -> PathBuf {
    let folder = page.parent().unwrap();
    let text = std::fs::read_to_string(page).unwrap();
    let sized = folder.join(format!("{size}.html"));
    let style = format!("<style>@page {{ size: {size}; }}</style></head>");
    std::fs::write(&sized, text.replacen("</head>", &style, 1)).unwrap();
    let pdf = folder.join(format!("{size}.pdf"));
    let profile = folder.join(format!("profile-{size}"));
    let done = Command::new(browser)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
        ])
        .args([
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ])
        .arg("--no-pdf-header-footer")
        .arg(format!("--user-data-dir={}", profile.display()))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", sized.display()))
        .output()
        .unwrap();
    assert!(done.status.success() && pdf.is_file(), "{done:?}");
    pdf
}

fn stdout(program: &str, arguments: &[&str]) -> String {
    let done = Command::new(program).args(arguments).output().unwrap();
    assert!(done.status.success(), "{done:?}");
    String::from_utf8_lossy(&done.stdout).into_owned()
}

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
        let pdf = pdf.to_str().unwrap();
        let about = stdout("pdfinfo", &[pdf]);
        let line = |name: &str| {
            let line = about.lines().find(|line| line.starts_with(name));
            line.unwrap()[name.len()..].trim().to_owned()
        };
        assert!(line("Page size:").starts_with(points), "{about}");
        let pages: usize = line("Pages:").parse().unwrap();
        // The summary, two movements, the tables; the curves need a recording.
        assert!((5..=8).contains(&pages), "{size}: {pages} pages");
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
