//! The handout: its words and its paper.

use carpotempo::report::{HandoutOptions, Paper, handout};
use carpotempo::routine::{Routine, STARTING};

use crate::printing::{about, pages, print_as_it_is, stdout, tools};

/// A starting routine made out for an invented practice.
fn made_out(name: &str) -> Routine {
    let starting = STARTING.iter().find(|own| own.name == name).unwrap();
    let head = "screened_on = 2026-03-02\ncontact = \"the practice, by telephone\"\nreview_by = 2026-04-06\n";
    Routine::from_toml(&format!("{head}{}", starting.toml)).unwrap()
}

fn options(day: &str, paper: Paper) -> HandoutOptions {
    HandoutOptions {
        day: day.parse().unwrap(),
        patient: Some("P-0001".parse().unwrap()),
        paper,
    }
}

/// What a person reads: no drawings, no styles, one block a line.
fn text(html: &str) -> String {
    let mut text = String::new();
    let mut rest = html;
    while let Some((before, after)) = rest.split_once('<') {
        text.push_str(before);
        let (tag, after) = after.split_once('>').unwrap();
        let skipped = ["svg", "style", "title"]
            .into_iter()
            .find(|name| tag.split_whitespace().next() == Some(name));
        rest = match skipped {
            Some(name) => after.split_once(&format!("</{name}>")).unwrap().1,
            None => after,
        };
        if ["/p", "/li", "/h1", "/h2", "/h3", "/div"].contains(&tag) {
            text.push('\n');
        }
    }
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn the_handout_says_the_whole_prescription_in_plain_words() {
    let html = handout(&made_out("two-rounds"), &options("2026-03-09", Paper::A4));
    insta::assert_snapshot!(text(&html));
    assert!(!html.contains("<script"), "no script");
    assert!(!html.contains("http://") || html.contains("http://www.w3.org/2000/svg"));
    let svgs = html.matches("<svg").count();
    assert_eq!(
        svgs,
        2 + 5 * 2,
        "the sensor twice, each exercise for each hand"
    );
}

#[test]
fn no_weight_is_printed_before_the_routine_is_made_out_or_after_its_review() {
    let starting = STARTING
        .iter()
        .find(|own| own.name == "two-rounds")
        .unwrap();
    let bare = Routine::from_toml(starting.toml).unwrap();
    for (routine, day) in [
        (&bare, "2026-03-09"),
        (&made_out("two-rounds"), "2026-04-07"),
    ] {
        let text = text(&handout(routine, &options(day, Paper::A4)));
        assert!(!text.contains("0.5 kg"), "{text}");
        assert!(text.contains("empty hand"), "{text}");
        assert!(text.contains("Your clinician says when") || text.contains("asked your clinician"));
    }
}

#[test]
fn words_of_a_person_cannot_break_the_page() {
    let mut routine = made_out("gentle-start");
    routine.title = "</title><script>alert(1)</script>".to_owned();
    routine.contact = Some("<b onclick=x> & \"co\"".to_owned());
    let html = handout(&routine, &options("2026-03-09", Paper::A4));
    assert!(!html.contains("<script"));
    assert!(!html.contains("<b onclick"));
}

#[test]
fn every_starting_routine_prints_on_a_few_sheets_of_a4_and_of_letter() {
    let Some(browser) = tools() else { return };
    for starting in STARTING {
        for (paper, points) in [
            (Paper::A4, "594.96 x 841.92"),
            (Paper::Letter, "612 x 792 pts"),
        ] {
            let folder = tempfile::tempdir().unwrap();
            let page = folder.path().join("handout.html");
            let html = handout(&made_out(starting.name), &options("2026-03-09", paper));
            std::fs::write(&page, html).unwrap();
            let pdf = print_as_it_is(&browser, &page);
            let printed = about(&pdf, "Page size:");
            assert!(printed.starts_with(points), "{printed}");
            let most = if starting.name == "practice-round" {
                3
            } else {
                2
            };
            assert!(pages(&pdf) <= most, "{}: {}", starting.name, pages(&pdf));
            let pdf = pdf.to_str().unwrap();
            let first = stdout("pdftotext", &["-f", "1", "-l", "1", "-layout", pdf, "-"]);
            for said in ["Stop", "Whom to ask", "P-0001"] {
                assert!(
                    first.contains(said),
                    "{said} not on the first page: {first}"
                );
            }
        }
    }
}
