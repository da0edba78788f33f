//! Range tests across sessions: a series of their own, with ends, arc, spread and change.

use carpotempo::movement::{Movement, Plane, Side};
use carpotempo::pipeline::SetResult;
use carpotempo::pipeline::motion::Zero;
use carpotempo::pipeline::summary::SessionSummary;
use carpotempo::report::{self, ReportOptions};
use carpotempo::review::*;
use jiff::civil::date;

use crate::invented::*;
use crate::stories::briefs;
use crate::told::words;

const FLEX: Movement = Movement::WristFlexion;
const EXT: Movement = Movement::WristExtension;

/// One direction of a range test, as far as these degrees.
fn test(movement: Movement, side: Side, ends_deg: &[f64]) -> SetResult {
    let reps: Vec<(f64, f64)> = ends_deg.iter().map(|deg| (*deg, 2.0)).collect();
    let mut set = set(movement, side, Some(0.0), &reps);
    set.posture = Some(Plane::of(movement).unwrap().usual_posture());
    set.range_test = true;
    (set.tempo, set.tempo_words, set.tempo_band) = (None, None, None);
    (set.eccentric, set.target_reps) = (None, Some(3));
    set.reps.iter_mut().for_each(|rep| rep.verdict = None);
    set
}

fn on(day: i8, hour: i8, sets: Vec<SetResult>) -> SessionSummary {
    session(at(date(2026, 3, day), hour, 1), sets)
}

fn reviewed(all: Vec<SessionSummary>) -> Review {
    review(&patient("r1"), &summaries(all), &ReviewOptions::default())
}

#[test]
fn a_session_has_both_ends_with_mean_best_and_spread_and_their_arc() {
    let review = reviewed(vec![on(
        3,
        12,
        vec![
            test(FLEX, Side::Right, &[58.0, 61.0, 64.0]),
            test(EXT, Side::Right, &[50.0, 55.0, 54.0]),
            test(FLEX, Side::Left, &[70.0, 70.0, 70.0]),
        ],
    )]);
    let [left, right] = &review.range_tests[..] else {
        panic!("{:?}", review.range_tests);
    };
    assert_eq!(
        (right.plane, right.side),
        (Plane::FlexionExtension, Some(Side::Right))
    );
    let [Some(flexion), Some(extension)] = right.sessions[0].ends else {
        panic!("both ends were done");
    };
    // By hand: the mean of 58, 61, 64 is 61, that of 50, 55, 54 is 53.
    assert_eq!(
        (flexion.mean_deg, flexion.best_deg, flexion.least_deg),
        (61.0, 64.0, 58.0)
    );
    assert_eq!(flexion.spread_deg(), 6.0);
    assert_eq!((extension.mean_deg, extension.best_deg), (53.0, 55.0));
    assert_eq!(right.sessions[0].arc_deg, Some(114.0));
    assert_eq!((right.arc_change, right.end_changes), (None, [None, None]));
    // Half a plane has no arc.
    assert_eq!(
        (left.side, left.sessions[0].arc_deg),
        (Some(Side::Left), None)
    );
    assert!(left.sessions[0].ends[1].is_none());
}

#[test]
fn without_a_neutral_pose_there_are_no_ends() {
    let mut sets = [FLEX, EXT].map(|movement| test(movement, Side::Right, &[50.0; 3]));
    sets[1].zero = Some(Zero::StillStart);
    let review = reviewed(vec![on(3, 12, sets.to_vec())]);
    let session = &review.range_tests[0].sessions[0];
    assert!(session.ends[0].is_some() && session.ends[1].is_none());
    assert_eq!((session.arc_deg, session.done_count), (None, 6));
}

#[test]
fn range_tests_weights_and_ordinary_empty_hands_are_three_series() {
    let ordinary = |load_kg| {
        let mut set = set(FLEX, Side::Right, Some(load_kg), &[(40.0, 4.0); 6]);
        set.posture = Some(Plane::FlexionExtension.usual_posture());
        set
    };
    let sets = vec![
        test(FLEX, Side::Right, &[60.0; 3]),
        ordinary(0.0),
        ordinary(0.5),
    ];
    let review = reviewed(vec![on(3, 12, sets)]);
    let found: Vec<(HandLoad, u32)> = review
        .series
        .iter()
        .map(|series| (series.load, series.total.done_count))
        .collect();
    assert_eq!(
        found,
        [
            (HandLoad::RangeTest, 3),
            (HandLoad::Empty, 6),
            (HandLoad::Loaded, 6)
        ]
    );
    let tested = &review.series[0].sessions[0];
    assert_eq!(
        (tested.timed, tested.judged_count, tested.band),
        (None, 0, None)
    );
    assert_eq!(tested.prescribed_count, Some(3), "by its own sets");
}

/// Five pairs of fittings on one day, each 2 degrees apart: own SEM = sqrt(sum of d^2 / 2n) =
/// sqrt(2), MDC95 = 1.96 * sqrt(2) * sqrt(2) = 3.92 degrees.
#[test]
fn five_pairs_on_one_day_give_the_own_error_and_until_then_the_borrowed_one_is_named() {
    let both = |day, hour, flexion_deg: f64| {
        let sets = vec![
            test(FLEX, Side::Right, &[flexion_deg; 3]),
            test(EXT, Side::Right, &[50.0; 3]),
        ];
        on(day, hour, sets)
    };
    let few = reviewed(vec![both(3, 12, 60.0), both(5, 12, 66.0)]);
    let tests = &few.range_tests[0];
    let flexion = tests.end_changes[0].unwrap();
    let error = flexion.error.unwrap();
    // Borrowed by name: 11 degrees for flexion, 18 for an arc (Reissner et al. 2019).
    assert_eq!((error.error_deg, error.from), (11.0, ErrorFrom::Borrowed));
    assert_eq!(flexion.judgement, Judgement::UnknownOrWithinError);
    let arc = tests.arc_change.unwrap();
    assert_eq!((arc.change_deg, arc.error.unwrap().error_deg), (6.0, 18.0));

    let mut all = Vec::new();
    for day in 0..5 {
        all.push(both(3 + day, 9, 60.0));
        all.push(both(3 + day, 18, 62.0));
    }
    all.push(both(20, 12, 66.0));
    let many = reviewed(all);
    let flexion = many.range_tests[0].end_changes[0].unwrap();
    let error = flexion.error.unwrap();
    assert_eq!((error.from, error.own_pair_count), (ErrorFrom::Own, 5));
    assert!((error.error_deg - 3.92).abs() < 0.01, "{}", error.error_deg);
    assert_eq!(flexion.judgement, Judgement::BeyondError);
}

/// A weighted range that grew beyond the error, and range tests that did not.
fn grown_with_a_weight() -> Vec<SessionSummary> {
    let sets = |weighted_deg: f64, tested_deg: f64| {
        vec![
            set(FLEX, Side::Right, Some(0.5), &[(weighted_deg, 4.0); 6]),
            test(FLEX, Side::Right, &[tested_deg; 3]),
        ]
    };
    vec![on(3, 12, sets(30.0, 60.0)), on(10, 12, sets(55.0, 62.0))]
}

#[test]
fn where_there_are_range_tests_they_alone_are_weighed() {
    let all = grown_with_a_weight();
    let line = caseload_line(&patient("r1"), &briefs(&all), date(2026, 3, 11));
    assert_eq!((line.range.beyond.len(), line.range.within_count), (0, 1));
    let review = review_on(
        &patient("r1"),
        &summaries(all),
        &ReviewOptions::default(),
        Some(date(2026, 3, 11)),
    );
    let weighed: Vec<HandLoad> = review.weighed().map(|series| series.load).collect();
    assert_eq!(weighed, [HandLoad::RangeTest]);
    // The fact itself is told all the same, with what was in the hand.
    let told = review.findings.iter().find(|found| found.about == "range");
    assert!(told.unwrap().text.contains("with a weight: 30 to 55"));
}

#[test]
fn the_report_has_a_table_and_a_chart_of_their_own() {
    let mut all = grown_with_a_weight();
    for (summary, deg) in all.iter_mut().zip([50.0, 53.0]) {
        let sets = &mut summary.analysis.sets;
        sets.push(test(EXT, Side::Right, &[deg, deg + 1.0, deg + 2.0]));
    }
    let review = reviewed(all);
    let page = report::page(&review, &ReportOptions::default()).unwrap();
    let text = words(&page);
    for said in [
        "flexion 62 , extension 54 , arc 116 best 62 and 55; spread 0 and 2",
        "5 degrees more, unknown or within 18, borrowed",
        "Wrist flexion, range test",
        "Wrist flexion, with a weight",
    ] {
        assert!(text.contains(said), "{said} in {text}");
    }
    let between = text.split("Wrist flexion, range test").nth(1).unwrap();
    let section = between
        .split("Wrist flexion, with a weight")
        .next()
        .unwrap();
    assert!(
        !section.contains("Hurried") && !section.contains("Lowering"),
        "{section}"
    );
    let said = terminal(&review);
    assert!(said.contains("Wrist flexion, range test, "), "{said}");
}
