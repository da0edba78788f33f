//! The page and its files: self-contained, traceable, and nobody else's files overwritten.

use std::path::Path;

use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::ONE_SENSOR_NOTE;
use carpotempo::report::{self, ReportError, ReportOptions};
use carpotempo::review::{CLAIM_NOTE, Review, ReviewOptions, review};
use jiff::civil::date;

use crate::invented::*;

/// Three sessions, in the last of which something was said.
fn three(code: &str) -> Review {
    let reps = [(40.0, 4.0); 6];
    let sets = || {
        vec![
            set(Movement::WristFlexion, Side::Left, Some(0.5), &reps),
            set(Movement::WristFlexion, Side::Right, Some(0.5), &reps),
        ]
    };
    let mut all: Vec<_> = (3..6)
        .map(|day| session(at(date(2026, 3, day), 18, 1), sets()))
        .collect();
    all[2].notes = vec!["a < b & \"c\" <script>alert(1)</script>".to_owned()];
    all[2].stops = vec![Some("tingling".to_owned())];
    review(&patient(code), &summaries(all), &ReviewOptions::default())
}

fn invented() -> ReportOptions {
    ReportOptions {
        invented: true,
        made_on: Some(date(2026, 3, 9)),
        ..ReportOptions::default()
    }
}

#[test]
fn the_page_needs_no_network_and_no_script_and_says_what_it_is() {
    let page = report::page(&three("p1"), &invented()).unwrap();
    let addresses = page.matches("http").count();
    let namespaces = page.matches("xmlns=\"http://www.w3.org/2000/svg\"").count();
    assert_eq!(addresses, namespaces, "nothing but the name of SVG");
    for outside in ["<script", "<link", "@import", "<img", "<iframe", "<object"] {
        assert!(!page.contains(outside), "{outside}");
    }
    for said in [
        CLAIM_NOTE,
        ONE_SENSOR_NOTE,
        "Invented data",
        "Page made on 9 Mar 2026",
        "@page",
    ] {
        assert!(page.contains(said), "{said}");
    }
    assert!(page.contains("a &lt; b &amp; &quot;c&quot; &lt;script&gt;"));
    let mut own = three("p1");
    let text = report::page(&own, &ReportOptions::default()).unwrap();
    assert!(!text.contains("Invented data"));
    // A recording that a simulator played says so whoever prints it.
    own.sessions[0].simulated = true;
    let text = report::page(&own, &ReportOptions::default()).unwrap();
    assert!(text.contains("Invented data"));
    assert!(carpotempo::review::terminal(&own).starts_with("Invented data"));
}

#[test]
fn every_figure_leads_to_its_session() {
    let review = three("p1");
    let page = report::page(&review, &ReportOptions::default()).unwrap();
    for (index, row) in review.sessions.iter().enumerate() {
        assert!(page.contains(&row.name));
        assert!(page.contains(&format!("id=\"s{index}\"")));
        // From each of the two series, at least.
        assert!(page.matches(&format!("href=\"#s{index}\"")).count() >= 2);
    }
    for href in page.split("href=\"#").skip(1) {
        let id = href.split('"').next().unwrap();
        assert!(page.contains(&format!("id=\"{id}\"")), "{id} leads nowhere");
    }
    // Range, lowering time, repetitions, tempo of the last session.
    assert_eq!(page.matches("<figure").count(), 4);
    // And the days.
    assert_eq!(page.matches("<svg").count(), 5);
}

#[test]
fn a_target_is_a_line_on_how_far_each_hand_reaches() {
    let mut review = three("p1");
    let figures = |review: &Review| {
        let page = report::page(review, &ReportOptions::default()).unwrap();
        (page.matches("<figure").count(), page)
    };
    let (without, page) = figures(&review);
    assert!(!page.contains("aria-label=\"target"));
    for (series, target_deg) in review.series.iter_mut().zip([45.0, 35.0]) {
        series.target_deg = Some(target_deg);
    }
    let (with, page) = figures(&review);
    assert_eq!(with, without + 1);
    for words in ["target left 45°", "target right 35°"] {
        assert!(page.contains(&format!("aria-label=\"{words}\"")), "{words}");
    }
    // Where neutral is not known, nobody can say how far it was reached.
    for session in review.series.iter_mut().flat_map(|s| &mut s.sessions) {
        session.calibrated = false;
    }
    assert_eq!(figures(&review).0, without);
}

#[test]
fn a_page_of_answers_alone_and_a_page_of_nothing_say_unknown_not_zero() {
    let mut alone = session(at(date(2026, 3, 3), 18, 1), Vec::new());
    alone.skipped = vec![Some("travelling".to_owned())];
    let review = review(
        &patient("p1"),
        &summaries(vec![alone]),
        &ReviewOptions::default(),
    );
    let page = report::page(&review, &ReportOptions::default()).unwrap();
    assert!(page.contains("answers alone"));
    assert!(page.contains("travelling"));
    assert!(page.contains("<span class=\"unknown\">unknown</span>"));
    assert_eq!(page.matches("<figure").count(), 0);
    assert!(!page.contains("0 of 0"));
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn an_earlier_report_is_replaced_and_its_old_charts_go() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let review = three("p1");
    let paths = report::write(&out, &review, &invented()).unwrap();
    assert_eq!(paths.len(), 1 + 2 * 4);
    assert!(paths.iter().all(|path| path.is_file()));
    std::fs::write(out.join("charts/mine.txt"), "mine").unwrap();
    let mut fewer = review.clone();
    fewer.series.clear();
    let paths = report::write(&out, &fewer, &invented()).unwrap();
    assert_eq!(paths, [out.join("report.html")]);
    assert_eq!(names(&out.join("charts")), ["mine.txt"]);
    assert_eq!(names(&out), ["charts", "report.html"]);
}

#[test]
fn the_files_of_others_are_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("report.html");
    std::fs::write(&page, "<html>my own page</html>").unwrap();
    let refused = report::write(folder.path(), &three("p1"), &invented());
    assert!(
        matches!(refused, Err(ReportError::NotOurs { .. })),
        "{refused:?}"
    );
    assert_eq!(
        std::fs::read_to_string(&page).unwrap(),
        "<html>my own page</html>"
    );
    std::fs::remove_file(&page).unwrap();

    let charts = folder.path().join("charts");
    std::fs::create_dir(&charts).unwrap();
    let chart = charts.join("range-wrist-flexion-loaded.svg");
    std::fs::write(&chart, "mine").unwrap();
    let refused = report::write(folder.path(), &three("p1"), &invented()).unwrap_err();
    assert!(
        refused
            .to_string()
            .contains("range-wrist-flexion-loaded.svg"),
        "{refused}"
    );
    assert!(!page.exists(), "nothing is written before all is checked");
    std::fs::remove_file(&chart).unwrap();

    report::write(folder.path(), &three("p1"), &invented()).unwrap();
    let refused = report::write(folder.path(), &three("p2"), &invented()).unwrap_err();
    assert!(matches!(&refused, ReportError::OtherPatient { patient, .. } if patient == "p1"));
    // A page that names files outside its folder deletes none of them.
    let outside = folder.path().join("outside.txt");
    std::fs::write(&outside, "mine").unwrap();
    let edited = std::fs::read_to_string(&page).unwrap().replacen(
        "charts/range-wrist-flexion-loaded.svg",
        "charts/../outside.txt",
        1,
    );
    std::fs::write(&page, edited).unwrap();
    std::fs::remove_file(&chart).unwrap();
    report::write(folder.path(), &three("p1"), &invented()).unwrap();
    assert_eq!(std::fs::read_to_string(&outside).unwrap(), "mine");
}
