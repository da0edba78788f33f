//! The history: series, medians, changes, adherence, findings.

use carpotempo::movement::{ForearmRotation, Movement, Side};
use carpotempo::pipeline::summary::{SessionSummary, SymptomAnswer, SymptomKind};
use carpotempo::recording::{Night, Scale, When};
use carpotempo::reps::Doubt;
use carpotempo::review::*;
use jiff::ToSpan;
use jiff::civil::date;

use crate::invented::*;

const FLEX: Movement = Movement::WristFlexion;
const EXT: Movement = Movement::WristExtension;

fn reviewed(all: Vec<SessionSummary>) -> Review {
    review(&patient("h1"), &summaries(all), &ReviewOptions::default())
}

/// One session with one set of the right hand at these ranges and lowering times.
fn one(movement: Movement, day: i8, reps: &[(f64, f64)]) -> SessionSummary {
    let sets = vec![set(movement, Side::Right, Some(0.0), reps)];
    session(at(date(2026, 3, day), 12, 1), sets)
}

#[test]
fn a_session_has_median_quartiles_and_best_of_its_repetitions() {
    // Quartiles by definition 7 of Hyndman & Fan 1996, by hand: of 10, 20, 30, 50 they are 17.5,
    // 25 and 35.
    let review = reviewed(vec![one(
        FLEX,
        3,
        &[(20.0, 4.0), (10.0, 3.0), (50.0, 2.0), (30.0, 5.0)],
    )]);
    let series = &review.series[0];
    let figures = &series.sessions[0];
    let range = figures.range.unwrap();
    assert_eq!(
        (
            range.lower_quartile_deg,
            range.median_deg,
            range.upper_quartile_deg
        ),
        (17.5, 25.0, 35.0)
    );
    assert_eq!(range.best_deg, 50.0);
    let timed = figures.timed.unwrap();
    assert_eq!(
        (
            timed.lower_quartile_s,
            timed.median_s,
            timed.upper_quartile_s
        ),
        (2.75, 3.5, 4.25)
    );
    assert_eq!((figures.judged_count, figures.hurried_count), (4, 1));
    assert_eq!((figures.done_count, figures.prescribed_count), (4, Some(6)));
    assert_eq!(series.change, None, "one session is no change");
    assert_eq!(figures.date, date(2026, 3, 3));
    assert_eq!(figures.name, "2026-03-03T113000Z");
}

#[test]
fn movement_side_posture_and_load_part_the_series() {
    let reps = [(40.0, 4.0); 6];
    let mut turned = set(FLEX, Side::Right, Some(0.0), &reps);
    turned.posture.as_mut().unwrap().rotation = ForearmRotation::ThumbUp;
    let sets = vec![
        set(FLEX, Side::Right, Some(0.0), &reps),
        set(FLEX, Side::Right, Some(0.5), &reps),
        set(FLEX, Side::Right, Some(0.75), &reps),
        set(FLEX, Side::Right, None, &reps),
        set(FLEX, Side::Left, Some(0.0), &reps),
        set(EXT, Side::Right, Some(0.0), &reps),
        turned,
    ];
    let review = reviewed(vec![session(at(date(2026, 3, 3), 12, 1), sets)]);
    assert_eq!(review.series.len(), 6);
    let loaded: Vec<&Series> = review
        .series
        .iter()
        .filter(|series| series.load == HandLoad::Loaded)
        .collect();
    assert_eq!(loaded.len(), 1);
    let session = &loaded[0].sessions[0];
    assert_eq!(
        (session.load_min_kg, session.load_max_kg),
        (Some(0.5), Some(0.75))
    );
    assert_eq!((session.set_count, session.done_count), (2, 12));
    // The hands of one movement, posture and load stand together, the left one first.
    let groups = review.groups();
    assert_eq!(groups.len(), 5);
    let both: Vec<_> = groups.iter().filter(|group| group.len() == 2).collect();
    assert_eq!(both.len(), 1);
    assert_eq!(both[0][0].side, Some(Side::Left));
    assert_eq!(both[0][1].side, Some(Side::Right));
}

/// Source: rom_change of the reference vectors (rules_vectors.json), which repeat the borrowed
/// errors of Reissner et al., J Orthop Surg Res 2019, as MDC95.
#[test]
fn a_change_is_beyond_only_above_the_borrowed_error() {
    for (movement, error_deg, first_deg, last_deg, beyond) in [
        (EXT, 8.0, 40.0, 47.0, false),
        (EXT, 8.0, 40.0, 48.0, false),
        (EXT, 8.0, 40.0, 49.0, true),
        (FLEX, 11.0, 55.0, 44.0, false),
        (FLEX, 11.0, 55.0, 43.0, true),
    ] {
        let review = reviewed(vec![
            one(movement, 3, &[(first_deg, 4.0); 6]),
            one(movement, 20, &[(last_deg, 4.0); 6]),
        ]);
        let change = review.series[0].change.unwrap();
        assert_eq!(change.error.unwrap().error_deg, error_deg);
        assert!(change.error.unwrap().source.starts_with("borrowed"));
        assert_eq!(change.judgement == Judgement::BeyondError, beyond);
        assert!(!change.words().contains('-'), "{}", change.words());
        let named = review
            .findings
            .iter()
            .any(|finding| finding.about == "range");
        assert_eq!(named, beyond);
    }
}

#[test]
fn an_arc_has_the_larger_error_and_deviation_and_rotation_have_none() {
    let mut arcs = [
        one(EXT, 3, &[(40.0, 4.0); 6]),
        one(EXT, 20, &[(55.0, 4.0); 6]),
    ];
    for session in &mut arcs {
        for rep in &mut session.analysis.sets[0].reps {
            rep.start_deg = -20.0;
            rep.peak_deg -= 20.0;
        }
    }
    let review = reviewed(arcs.to_vec());
    let change = review.series[0].change.unwrap();
    assert_eq!(change.error.unwrap().error_deg, 18.0);
    assert_eq!(change.judgement, Judgement::UnknownOrWithinError);
    for movement in [Movement::RadialDeviation, Movement::Supination] {
        let review = reviewed(vec![
            one(movement, 3, &[(20.0, 4.0); 6]),
            one(movement, 20, &[(60.0, 4.0); 6]),
        ]);
        let change = review.series[0].change.unwrap();
        assert_eq!(change.error, None);
        assert_eq!(change.judgement, Judgement::UnknownOrWithinError);
        assert!(change.judgement_words().starts_with("unknown"));
    }
}

#[test]
fn what_is_not_prescribed_stays_unknown() {
    let mut open = one(FLEX, 3, &[(40.0, 4.0); 5]);
    open.analysis.sets[0].target_reps = None;
    let known = one(FLEX, 4, &[(40.0, 4.0); 6]);
    let review = reviewed(vec![open, known]);
    let total = review.series[0].total;
    assert_eq!(review.series[0].sessions[0].prescribed_count, None);
    assert_eq!(
        (
            total.done_count,
            total.done_of_known_count,
            total.prescribed_count
        ),
        (11, 6, Some(6))
    );
    assert_eq!(review.adherence.asked_session_count, None);
    assert!(terminal(&review).contains("sessions asked: unknown"));
    assert!(terminal(&review).contains("5 more where the prescribed number is unknown"));
}

#[test]
fn the_routine_says_what_was_asked_even_of_sets_never_begun() {
    // One of two sets of the left hand and nothing else: 2 x 2 x 6 + 2 x 1 x 6 were asked.
    let mut part = session(
        at(date(2026, 3, 3), 12, 1),
        vec![set(FLEX, Side::Left, Some(0.5), &[(40.0, 4.0); 6])],
    );
    part.routine = Some(routine());
    let review = reviewed(vec![part]);
    let row = &review.sessions[0];
    assert_eq!((row.done_count, row.prescribed_count), (6, Some(36)));
    assert_eq!(review.series[0].sessions[0].prescribed_count, Some(12));
    assert_eq!(review.series[0].target_deg, Some(45.0));
    assert_eq!(
        row.not_begun,
        [
            "wrist flexion right",
            "wrist extension left",
            "wrist extension right"
        ]
    );
}

#[test]
fn sessions_asked_follow_the_routine_of_each_day() {
    // Five a week for 14 days, then seven a week for 7 days and the last day: 10 + 8.
    let mut first = one(FLEX, 1, &[(40.0, 4.0); 6]);
    first.routine = Some(routine());
    let mut second = one(FLEX, 15, &[(40.0, 4.0); 6]);
    let mut daily = routine();
    daily.sessions_a_week = Some(7);
    second.routine = Some(daily.clone());
    let mut third = one(FLEX, 22, &[(40.0, 4.0); 6]);
    third.routine = Some(daily);
    let review = reviewed(vec![first, second, third]);
    let done = &review.adherence;
    assert!((done.asked_session_count.unwrap() - 18.0).abs() < 1e-9);
    assert_eq!((done.day_count, done.exercise_count), (22, 3));
    let changed: Vec<&Finding> = review
        .findings
        .iter()
        .filter(|f| f.about == "routine")
        .collect();
    assert_eq!(changed.len(), 1);
    assert_eq!(changed[0].names, [review.sessions[1].name.clone()]);
}

#[test]
fn doubts_are_counted_and_a_cut_phase_is_not_timed() {
    let mut doubted = one(FLEX, 3, &[(40.0, 4.0), (40.0, 4.0), (40.0, 1.0)]);
    let reps = &mut doubted.analysis.sets[0].reps;
    reps[0].doubts = vec![Doubt::Gap, Doubt::LowRate];
    reps[2].doubts = vec![Doubt::EndCut];
    reps[2].verdict = None;
    let review = reviewed(vec![doubted]);
    let session = &review.series[0].sessions[0];
    assert_eq!(session.doubtful_count, 2);
    assert_eq!(session.doubts["gap"], 1);
    assert_eq!(session.doubts["low-rate"], 1);
    assert_eq!(session.doubts["end-cut"], 1);
    assert_eq!(session.timed.unwrap().lower_quartile_s, 4.0);
    assert_eq!(session.judged_count, 2);
    assert!(
        review
            .findings
            .iter()
            .any(|finding| finding.about == "doubts")
    );
}

#[test]
fn days_are_those_of_the_recordings_own_offset() {
    // Half past midnight in summer time, two hours ahead, is the day before in universal time;
    // month's end and the night of the change lie between.
    let reps = [(40.0, 4.0); 6];
    let sets = || vec![set(FLEX, Side::Right, Some(0.0), &reps)];
    let all = vec![
        session(at(date(2026, 2, 28), 23, 1), sets()),
        session(at(date(2026, 3, 1), 0, 1), sets()),
        session(at(date(2026, 3, 28), 23, 1), sets()),
        session(at(date(2026, 3, 30), 0, 2), sets()),
    ];
    let summaries = summaries(all);
    let days = |since| {
        let review = review(&patient("h1"), &summaries, &ReviewOptions { since });
        let days: Vec<_> = review.series[0].sessions.iter().map(|s| s.date).collect();
        days
    };
    let all = [
        date(2026, 2, 28),
        date(2026, 3, 1),
        date(2026, 3, 28),
        date(2026, 3, 30),
    ];
    assert_eq!(days(None), all);
    assert_eq!(days(Some(date(2026, 3, 1))), all[1..]);
    assert_eq!(days(Some(date(2026, 3, 30))), all[3..]);
    assert_eq!(summaries.sessions[3].name, "2026-03-29T223000Z");
}

#[test]
fn two_sessions_of_one_day_are_two() {
    let reps = [(40.0, 4.0); 6];
    let sets = || vec![set(FLEX, Side::Right, Some(0.0), &reps)];
    let review = reviewed(vec![
        session(at(date(2026, 3, 3), 7, 1), sets()),
        session(at(date(2026, 3, 3), 19, 1), sets()),
    ]);
    assert_eq!(review.series[0].sessions.len(), 2);
    assert_eq!(review.adherence.day_count, 1);
    assert_eq!(review.adherence.exercise_count, 2);
    assert!(terminal(&review).contains("2 sessions done, 3 Mar 2026"));
}

fn answer(kind: SymptomKind, value: u8, when: When, of: Option<&str>) -> SymptomAnswer {
    SymptomAnswer {
        kind,
        value: Scale::new(value),
        side: Some(Side::Right),
        when: Some(when),
        of: of.map(str::to_owned),
    }
}

#[test]
fn answers_go_to_the_session_that_they_are_about() {
    let mut evening = one(FLEX, 3, &[(40.0, 4.0); 6]);
    evening.routine = Some(routine());
    evening.symptoms = vec![
        answer(SymptomKind::Tingling, 1, When::Before, None),
        answer(SymptomKind::Tingling, 1, When::After, None),
    ];
    let mut morning = session(at(date(2026, 3, 4), 7, 1), Vec::new());
    let name = "2026-03-03T113000Z";
    morning.symptoms = vec![answer(
        SymptomKind::Tingling,
        3,
        When::NextMorning,
        Some(name),
    )];
    morning.nights = vec![Night {
        woke: Some(true),
        ..Night::default()
    }];
    let review = reviewed(vec![evening, morning]);
    let row = &review.sessions[0].symptoms[0];
    assert_eq!(
        (row.before, row.after, row.next_morning),
        (Some(1), Some(1), Some(3))
    );
    assert_eq!(row.during, None, "what was not asked is not 0");
    assert!(review.sessions[1].symptoms.is_empty());
    // The routine allows no rise of tingling.
    let above: Vec<&Finding> = review
        .findings
        .iter()
        .filter(|finding| {
            finding
                .text
                .starts_with("Above the routine's limits in 1 session")
        })
        .collect();
    assert_eq!(above.len(), 1);
    assert_eq!(above[0].names, [name]);
    let texts: Vec<&str> = review.findings.iter().map(|f| f.text.as_str()).collect();
    assert!(
        texts.contains(&"Woken by the hand in 1 of 1 night answered."),
        "{texts:?}"
    );
    let worst =
        "Worst answers of 10: pain no answers; tingling 3 (right, 3 Mar); numbness no answers.";
    assert!(texts.contains(&worst), "{texts:?}");
}

#[test]
fn a_long_silence_and_sets_without_repetitions_are_named() {
    let mut empty = one(FLEX, 14, &[]);
    empty.stops = vec![None, Some("arm pain".to_owned())];
    let review = reviewed(vec![one(FLEX, 3, &[(40.0, 4.0); 6]), empty]);
    let texts: Vec<&str> = review.findings.iter().map(|f| f.text.as_str()).collect();
    for said in [
        "Stopped in 1 session: arm pain (14 Mar); no reason given (14 Mar).",
        "Days in a row without a session: 10 without, after 3 Mar.",
        "Sets begun and no repetition counted in 1 session.",
        "Pain, tingling and numbness: no answers in this period.",
    ] {
        assert!(texts.contains(&said), "{said}: {texts:?}");
    }
    let session = &review.series[0].sessions[1];
    assert_eq!(
        (session.done_count, session.range, session.timed),
        (0, None, None)
    );
    assert_eq!(review.last_exercise.unwrap().session, 0);
}

#[test]
fn a_range_below_zero_of_the_zero_is_told_by_its_word() {
    let mut low = one(EXT, 3, &[(20.0, 4.0); 6]);
    for rep in &mut low.analysis.sets[0].reps {
        rep.start_deg = -30.0;
        rep.peak_deg = -10.0;
    }
    let review = reviewed(vec![low]);
    let page = carpotempo::report::page(&review, &Default::default()).unwrap();
    assert!(page.contains("flexion 10 degrees"));
    let body = page.split("<body>").nth(1).unwrap();
    for (nth, part) in body.split("<svg").enumerate() {
        let shown = if nth == 0 {
            part
        } else {
            part.split("</svg>").nth(1).unwrap()
        };
        for sign in ["-10", "\u{2212}", ">-"] {
            assert!(!shown.contains(sign), "{sign} in {shown}");
        }
    }
}

#[test]
fn the_terminal_text_says_it_shortly() {
    let start = date(2026, 3, 2);
    let all = (0..4)
        .map(|week| {
            let day = start.checked_add((7 * i64::from(week)).days()).unwrap();
            let gain = 5.0 * f64::from(week);
            let sets = vec![
                set(FLEX, Side::Left, Some(0.5), &[(50.0, 4.1); 6]),
                set(
                    FLEX,
                    Side::Right,
                    Some(0.5),
                    &[(30.0 + gain, 4.0 - 0.5 * f64::from(week)); 6],
                ),
            ];
            let mut one = session(at(day, 18, 1), sets);
            one.routine = Some(routine());
            one
        })
        .collect();
    insta::assert_snapshot!(terminal(&reviewed(all)), @"
    Patient h1: 4 sessions done, 2 to 23 Mar 2026, of about 16 asked (5 a week).
    Repetitions: 48 of 144 prescribed.

    Wrist flexion, with a weight, palm up, forearm rested, elbow 90 degrees
      hand           sessions  degrees   lowering asked 4.0 s  hurried  done
      left, 0.5 kg   4         50 to 50  4.1 s (4.1 to 4.1)    0 %      24 of 48
      right, 0.5 kg  4         30 to 45  2.5 s (2.5 to 2.5)    25 %     24 of 48
      left: the same, unknown or within the borrowed error of 11 degrees
      right: 15 degrees more, beyond the borrowed error of 11 degrees

    To look at (facts, no advice)
      - Pain, tingling and numbness: no answers in this period.
      - Wrist flexion right, with a weight: 30 to 45 degrees, 15 degrees more,
        beyond the borrowed error of 11 degrees.
      - Wrist flexion right, with a weight: 6 of 6 lowerings hurried in the last
        session, 6 of 24 over the period (25 %).

    One sensor: angles are the hand against its neutral pose, and a forearm that
    moves along is part of them.
    It records and times what was prescribed; it does not treat, diagnose or decide.
    ");
}
