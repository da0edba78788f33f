//! The caseload: known stories, the order, what is missing, and that it agrees with the review.

use carpotempo::movement::Movement;
use carpotempo::pipeline::summary::{
    Briefs, SessionBrief, SessionSummary, SymptomKind, Unread, fresh_summaries, stored_briefs,
};
use carpotempo::recording::{Night, Store, When};
use carpotempo::review::*;
use jiff::civil::date;
use serde_json::Value;

use crate::command::command;
use crate::invented::*;
use crate::stories::*;

fn line(all: &[SessionSummary]) -> CaseloadLine {
    caseload_line(&patient("p1"), &briefs(all), ON)
}

fn about(line: &CaseloadLine) -> Vec<&str> {
    line.reasons.iter().map(|reason| reason.about).collect()
}

fn short(line: &CaseloadLine) -> String {
    let words: Vec<&str> = line.reasons.iter().map(|r| r.short.as_str()).collect();
    words.join("; ")
}

#[test]
fn who_improves_has_more_range_beyond_error_and_nothing_else() {
    let line = line(&improving());
    assert_eq!(short(&line), "more range, wrist flexion right: 40 to 59");
    let change = &line.range.beyond[0];
    assert_eq!(change.change.error.unwrap().from, ErrorFrom::Borrowed);
    assert_eq!(change.change.error.unwrap().error_deg, 11.0);
    assert!(
        line.reasons[0]
            .text
            .contains("beyond the borrowed error of 11 degrees")
    );
    assert_eq!(change.names[0], "2026-03-02T173000Z");
    assert_eq!((line.done_count, line.asked_count), (10, Some(10.0)));
}

#[test]
fn on_a_plateau_there_is_nothing_to_name_and_the_range_is_within_error() {
    let line = line(&plateau());
    assert_eq!(short(&line), "");
    assert_eq!(line.range.within_count, 1);
    assert_eq!(line.range.beyond, []);
    assert_eq!(line.last_session, Some(date(2026, 3, 27)));
}

#[test]
fn tingling_that_rises_and_wakes_is_named_with_both_figures() {
    let line = line(&tingling_at_night());
    assert_eq!(about(&line), ["symptoms", "rising", "nights"]);
    assert_eq!(line.reasons[1].short, "tingling up from 0 to 3");
    assert_eq!(
        line.reasons[2].short,
        "nights woken up from 1 of 10 to 8 of 10"
    );
    assert_eq!(line.reasons[1].names.len(), 10);
    assert_eq!(line.symptoms[1].worst, Some(3));
    assert_eq!(line.symptoms[1].worst_before, Some(0));
    // The limits of the routine: tingling may not rise within a session.
    assert!(
        line.reasons[0]
            .text
            .contains("tingling right: 1 before, 3 after")
    );
}

#[test]
fn who_stopped_coming_is_named_by_the_days_of_silence() {
    let line = line(&stopped_coming());
    assert_eq!(short(&line), "no session for 17 days");
    assert_eq!(line.last_session, Some(date(2026, 3, 12)));
    assert_eq!((line.done_count, line.asked_count), (0, Some(10.0)));
    assert_eq!(
        line.symptoms.map(|s| s.worst),
        [None; 3],
        "not asked is not 0"
    );
    assert_eq!(line.sensor, None);
}

#[test]
fn hurried_lowering_is_named_by_its_share() {
    let line = line(&hurried());
    assert_eq!(short(&line), "hurried 100 %");
    assert!(line.reasons[0].text.contains("120 of 120"));
}

#[test]
fn those_who_need_a_look_come_first_and_there_is_no_score() {
    let named =
        |code: &str, all: &[SessionSummary]| caseload_line(&patient(code), &briefs(all), ON);
    let mut stopped = plateau();
    stopped.last_mut().unwrap().stops = vec![Some("tingling".to_owned())];
    let lines = vec![
        named("a-plateau", &plateau()),
        named("b-hurried", &hurried()),
        named("c-improving", &improving()),
        named("d-silent", &stopped_coming()),
        named("e-tingling", &tingling_at_night()),
        named("f-stopped", &stopped),
    ];
    let all = caseload(lines, ON);
    let order: Vec<&str> = all.lines.iter().map(|line| line.patient.as_str()).collect();
    assert_eq!(
        order,
        [
            "f-stopped",
            "e-tingling",
            "d-silent",
            "b-hurried",
            "c-improving",
            "a-plateau"
        ]
    );
    let json = serde_json::to_value(&all).unwrap();
    let first = &json["lines"][0];
    assert_eq!(
        first["reasons"][0]["short"],
        "stopped 1 time: tingling (27 Mar)"
    );
    assert_eq!(first["reasons"][0]["names"][0], "2026-03-27T173000Z");
    assert_eq!(first["reasons"][0]["rank"], Value::Null);
    let text = caseload_terminal(&all);
    for code in order {
        assert_eq!(text.lines().filter(|l| l.starts_with(code)).count(), 1);
    }
    insta::assert_snapshot!(text);
}

#[test]
fn what_is_missing_stands_as_missing() {
    let nothing = line(&[]);
    assert_eq!(short(&nothing), "no session yet");
    assert_eq!((nothing.last_session, nothing.asked_count), (None, None));
    // Without a routine nobody knows what was asked; without answers nobody knows how it was.
    let mut bare = plateau();
    for session in &mut bare {
        session.routine = None;
        session.symptoms.clear();
        session.nights.clear();
    }
    let bare = line(&bare);
    assert_eq!((bare.done_count, bare.asked_count), (10, None));
    assert_eq!(bare.symptoms.map(|s| s.worst), [None; 3]);
    assert_eq!(bare.nights.answered_count, 0);
    let text = caseload_terminal(&caseload(vec![nothing, bare], ON));
    let row = text.lines().find(|l| l.contains("27 Mar")).unwrap();
    assert!(row.contains("10 of ?"), "{row}");
}

#[test]
fn a_session_that_is_not_read_hides_whether_there_is_silence() {
    let mut stored = briefs(&stopped_coming());
    let unread = |day: i8, stale: bool| Unread {
        name: format!("u{day}"),
        started_at: at(date(2026, 3, day), 18, 1),
        stale,
    };
    stored.unread = vec![unread(20, true), unread(21, false), unread(31, false)];
    let line = caseload_line(&patient("p1"), &stored, ON);
    assert_eq!((line.stale_count, line.missing_count), (1, 1));
    assert_eq!(line.last_heard, Some(date(2026, 3, 21)));
    assert_eq!(about(&line), ["sessions", "not read"]);
    // A later day is said, and is no part of it.
    let early = caseload_line(&patient("p1"), &briefs(&plateau()), date(2026, 3, 15));
    assert_eq!((early.later_count, early.done_count), (10, 10));
    assert_eq!(about(&early), ["not read"]);
}

#[test]
fn numbness_at_every_start_and_a_day_to_look_at_the_routine_are_named() {
    let mut all = plateau();
    for session in &mut all {
        session.routine.as_mut().unwrap().review_by = Some(date(2026, 3, 28));
        session
            .symptoms
            .push(answer(SymptomKind::Numbness, 1, When::Before));
    }
    let line = line(&all);
    assert_eq!(about(&line), ["numbness", "routine"]);
    let mut visited = all.clone();
    visited.push(session(at(date(2026, 3, 28), 9, 1), Vec::new()));
    visited.last_mut().unwrap().visits = vec![serde_json::json!({"decision": "the same"})];
    let line = caseload_line(&patient("p1"), &briefs(&visited), ON);
    assert_eq!(about(&line), ["numbness"]);
    assert_eq!(line.last_visit, Some(date(2026, 3, 28)));
    assert_eq!(line.range, RangeCounts::default(), "none since the visit");
}

#[test]
fn an_answer_of_the_next_morning_counts_with_the_session_it_names() {
    let mut all = plateau();
    let mut morning = session(at(date(2026, 3, 28), 8, 1), Vec::new());
    let mut worse = answer(SymptomKind::Tingling, 5, When::NextMorning);
    worse.of = Some("2026-03-27T173000Z".to_owned());
    morning.symptoms = vec![worse];
    morning.nights = vec![Night {
        woke: Some(true),
        ..Night::default()
    }];
    all.push(morning);
    let line = line(&all);
    let limits = line.reasons.iter().find(|r| r.about == "symptoms").unwrap();
    assert_eq!(limits.names, ["2026-03-27T173000Z"]);
    assert!(limits.short.contains("5 next morning"), "{}", limits.short);
}

/// The list rests on briefs, the review on whole summaries: the figures that both show agree.
#[test]
fn the_caseload_and_the_review_say_the_same() {
    for all in [
        improving(),
        plateau(),
        tingling_at_night(),
        stopped_coming(),
        hurried(),
    ] {
        let line = line(&all);
        let told = all.clone();
        let options = ReviewOptions::default();
        let review = review(&patient("p1"), &summaries(all), &options);
        let beyond: Vec<Change> = review
            .series
            .iter()
            .filter_map(|series| series.change)
            .filter(|change| change.judgement == Judgement::BeyondError)
            .collect();
        let found: Vec<Change> = line.range.beyond.iter().map(|found| found.change).collect();
        assert_eq!(found, beyond);
        let last = review.sessions.iter().rfind(|row| row.set_count > 0);
        assert_eq!(line.last_session, last.map(|row| row.date));
        let two_weeks = ReviewOptions {
            since: Some(date(2026, 3, 16)),
        };
        let recent = carpotempo::review::review(&patient("p1"), &summaries(told), &two_weeks);
        assert_eq!(line.done_count, recent.adherence.exercise_count);
        let judged = |of: fn(&TotalCounts) -> u32| -> u32 {
            recent.series.iter().map(|series| of(&series.total)).sum()
        };
        let (judged, hurried) = (judged(|t| t.judged_count), judged(|t| t.hurried_count));
        let named = line.reasons.iter().any(|reason| reason.about == "tempo");
        assert_eq!(named, judged > 0 && 4 * hurried >= judged);
    }
}

#[test]
fn a_brief_holds_what_its_summary_says() {
    let one = &hurried()[15];
    let brief = SessionBrief::of(one);
    assert_eq!((brief.set_count, brief.done_count), (2, 12));
    assert_eq!(brief.groups.len(), 1, "two sets of one kind");
    let group = &brief.groups[0];
    assert_eq!(group.movement, Some(Movement::WristFlexion));
    assert_eq!((group.range_deg, group.start_deg), (Some(40.0), Some(0.0)));
    assert_eq!((group.judged_count, group.hurried_count), (12, 12));
    assert!(group.calibrated && group.loaded == Some(true));
    let text = serde_json::to_string(&brief).unwrap();
    assert_eq!(serde_json::from_str::<SessionBrief>(&text).unwrap(), brief);
    assert!(text.len() < 3000, "{} bytes", text.len());
}

#[test]
fn the_command_computes_nothing_and_says_what_refreshes_what_is_missing() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    store_summaries(&store, "p1", &plateau());
    store_summaries(&store, "p2", &stopped_coming());
    let sessions = store.session_folders(&patient("p1")).unwrap();
    std::fs::remove_file(sessions[3].join("summary.json")).unwrap();
    let stale = sessions[4].join("events.csv");
    let text = std::fs::read_to_string(&stale).unwrap_or_else(|_| "t_s,event,detail\n".to_owned());
    std::fs::write(&stale, text + "99,note,\"{\"\"text\"\":\"\"more\"\"}\"\n").unwrap();
    let on = ["--on", "2026-03-29"];
    let run = |options: &[&str]| {
        let done = command(&["caseload"], store.root(), options);
        assert_eq!(done.status.code(), Some(0), "{done:?}");
        assert!(done.stderr.is_empty(), "{done:?}");
        String::from_utf8(done.stdout).unwrap()
    };
    let text = run(&on);
    assert!(
        text.contains("1 session without a summary, 1 with a stale one"),
        "{text}"
    );
    let refresh = format!("carpotempo refresh --store {}", store.root().display());
    assert!(text.contains(&refresh), "{text}");
    assert!(
        !sessions[3].join("summary.json").exists(),
        "nothing is made"
    );
    assert!(text.find("p2").unwrap() < text.find("p1").unwrap());
    let json: Value = serde_json::from_str(&run(&[on[0], on[1], "--json"])).unwrap();
    assert_eq!(
        (&json["stale_count"], &json["missing_count"]),
        (&1.into(), &1.into())
    );
    assert_eq!(json["lines"][0]["patient"], "p2");
    let done = command(&["refresh", "p1"], store.root(), &[]);
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    let said = String::from_utf8(done.stdout).unwrap();
    assert!(
        said.contains("20 sessions: 2 summaries made anew"),
        "{said}"
    );
    assert!(!run(&on).contains("without a summary"));
    let done = command(&["refresh", "nobody"], store.root(), &[]);
    assert_eq!(done.status.code(), Some(1));
    assert!(done.stdout.is_empty());
}

#[test]
fn briefs_are_kept_beside_the_summaries_and_not_needed() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::at(folder.path());
    let said = Said::default();
    let (session, _) = record(
        &store,
        "p1",
        at(date(2026, 3, 3), 18, 1),
        Some(routine()),
        &crate::long::tasks(40.0, 4.2)[..1],
        &said,
        1,
    );
    let stored = || stored_briefs(&store, &patient("p1")).unwrap();
    assert_eq!(stored().unread.len(), 1);
    fresh_summaries(&store, &patient("p1"), &|_| ()).unwrap();
    let kept = stored();
    assert_eq!((kept.sessions.len(), kept.unread.len()), (1, 0));
    std::fs::remove_file(session.join("brief.json")).unwrap();
    assert_eq!(stored(), kept);
    std::fs::write(session.join("brief.json"), "{\"stamp\":").unwrap();
    assert_eq!(stored(), kept);
    assert_ne!(kept, Briefs::default());
    let done = command(&["refresh", "p1"], store.root(), &[]);
    assert_eq!(done.status.code(), Some(0), "{done:?}");
    let brief = std::fs::read(session.join("brief.json")).unwrap();
    serde_json::from_slice::<Value>(&brief).unwrap();
    assert_eq!(stored(), kept);
}

/// The line of a patient whose every column says something does not fit into 80 columns.
#[test]
fn where_lines_are_short_what_does_not_fit_stands_under_its_line() {
    let mut one = tingling_at_night();
    for session in &mut one[10..] {
        session.stops = vec![Some("numb thumb".to_owned())];
        session.sensor.link_lost_count = 1;
        session.sensor.gap_count = 3;
        session.sensor.lowest_battery_percent = Some(12);
    }
    let lines = vec![line(&one), line(&plateau())];
    let all = caseload(lines, ON);
    let whole = caseload_terminal(&all);
    let mut longest = whole.lines().map(|line| line.chars().count());
    assert!(longest.any(|long| long > 120), "{whole}");
    assert_eq!(whole.matches("why look:").count(), 0);
    for width in [60, 80, 100] {
        let text = caseload_within(&all, Some(width));
        let most = text.lines().map(|line| line.chars().count()).max();
        assert!(most <= Some(width.max(80)), "{text}");
        assert!(text.contains("\n    why look: stopped 10 times"), "{text}");
        let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let sensor = "lost 10, 30 gaps, 12 %";
        assert!(squeezed(&text).contains(sensor), "{text}");
        for reason in all.lines.iter().flat_map(|line| &line.reasons) {
            assert!(squeezed(&text).contains(&squeezed(&reason.short)), "{text}");
        }
    }
    assert_eq!(caseload_within(&all, Some(1000)), whole);
}

#[test]
fn a_store_without_patients_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("nothing");
    let done = command(&["caseload"], &root, &[]);
    assert_eq!(done.status.code(), Some(0));
    let said = String::from_utf8(done.stdout).unwrap();
    assert!(
        said.contains("No patients in") && said.contains("nothing"),
        "{said}"
    );
}
