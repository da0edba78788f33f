//! Sets in which the sensor was worn strangely: named, and left out of the ranges.

use carpotempo::joint::wear::{WearFinding, WearKind};
use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::SetResult;
use carpotempo::pipeline::summary::{SessionBrief, SessionSummary};
use carpotempo::review::*;
use jiff::civil::date;

use crate::invented::*;

fn extension(range_deg: f64, wear: Option<WearKind>) -> SetResult {
    let reps = [(range_deg, 4.0); 5];
    let mut set = set(Movement::WristExtension, Side::Right, Some(0.5), &reps);
    set.wear = wear
        .map(|kind| WearFinding {
            kind,
            or: None,
            since_s: 0.0,
            evidence_deg: Some(150.0),
            evidence_s: None,
        })
        .into_iter()
        .collect();
    set
}

/// Two sessions: the second with a set of half the range besides, worn so.
fn sessions(wear: WearKind) -> Vec<SessionSummary> {
    vec![
        session(at(date(2026, 4, 1), 8, 2), vec![extension(50.0, None)]),
        session(
            at(date(2026, 4, 3), 8, 2),
            vec![
                extension(52.0, None),
                extension(25.0, Some(wear)),
                extension(25.0, Some(wear)),
            ],
        ),
    ]
}

fn reviewed(all: Vec<SessionSummary>) -> Review {
    review(&patient("p1"), &summaries(all), &ReviewOptions::default())
}

#[test]
fn ranges_of_a_turned_sensor_are_left_out_and_said_so() {
    let review = reviewed(sessions(WearKind::Turned));
    let last = review.series[0].sessions.last().unwrap();
    assert_eq!(last.range.unwrap().median_deg, 52.0);
    assert_eq!(last.done_count, 15);
    let finding = review.findings.iter().find(|f| f.about == "wear").unwrap();
    assert!(
        finding.text.contains("left out of trends") && finding.text.contains("when it was fitted"),
        "{}",
        finding.text
    );
    let [_, last] = &sessions(WearKind::Turned)[..] else {
        panic!()
    };
    assert_eq!(SessionBrief::of(last).groups[0].range_deg, Some(52.0));
}

#[test]
fn ranges_of_a_sensor_fitted_upside_down_stand() {
    let review = reviewed(sessions(WearKind::FaceDown));
    let last = review.series[0].sessions.last().unwrap();
    assert_eq!(last.range.unwrap().median_deg, 25.0);
    let finding = review.findings.iter().find(|f| f.about == "wear").unwrap();
    assert!(
        finding.text.contains("stand all the same"),
        "{}",
        finding.text
    );
}

#[test]
fn a_session_without_a_range_that_counts_has_none() {
    let all = vec![session(
        at(date(2026, 4, 1), 8, 2),
        vec![extension(25.0, Some(WearKind::OtherHand))],
    )];
    let review = reviewed(all);
    assert!(review.series[0].sessions[0].range.is_none());
    assert_eq!(review.series[0].sessions[0].done_count, 5);
}
