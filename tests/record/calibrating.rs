//! The calibration's prompts: refused with the reason and asked again, and never taken from
//! somebody who does not hold still.

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::recording::{Event, EventKind};
use carpotempo::routine::TempoBand;
use carpotempo::session::{Calibrating, CalibratingParams, Output, Say};
use carpotempo::source::simulator::body::{Body, Worn};
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::stage::{Stage, stand};
use carpotempo::source::simulator::timeline::{Piece, Shape, Timeline};
use carpotempo::source::simulator::unit::UnitErrors;

const MOVEMENT: Movement = Movement::WristExtension;

fn piece(start_s: f64, end_s: f64, from_deg: f64, to_deg: f64) -> Piece {
    Piece {
        start_s,
        end_s,
        from_deg,
        to_deg,
        shape: Shape::MinimumJerk,
    }
}

/// Still, then out to each angle in turn, back and still again.
fn out_and_back(angles_deg: &[f64]) -> Timeline {
    let mut timeline = Timeline::default();
    let mut now_s = 0.0;
    let mut go = |lasting_s: f64, from_deg: f64, to_deg: f64| {
        timeline
            .pieces
            .push(piece(now_s, now_s + lasting_s, from_deg, to_deg));
        now_s += lasting_s;
    };
    for &angle_deg in angles_deg {
        go(4.0, 0.0, 0.0);
        go(1.5, 0.0, angle_deg);
        go(0.3, angle_deg, angle_deg);
        go(1.5, angle_deg, 0.0);
    }
    go(3.0, 0.0, 0.0);
    timeline.duration_s = now_s;
    timeline
}

/// Everything that is said to somebody who does that, and whether it ends calibrated.
fn said(timeline: Timeline, seed: u64) -> (Vec<Say>, bool) {
    let mut random = Random::new(seed);
    let worn = Worn {
        side: Side::Right,
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    };
    let body = Body {
        movement: MOVEMENT,
        side: worn.side,
        posture: MOVEMENT.usual_posture(),
        forearm_m: worn.forearm_m,
        lever_m: worn.lever_m,
        height_m: worn.height_m,
        hand_from_sensor: worn.hand_from_sensor,
    };
    let mut stage = Stage::new(&mut random);
    stage.wear(worn, &mut random);
    let place = stand(&mut random);
    stage.exercise(body, timeline, place, &mut random);
    let way = stage.finish();
    let unit = UnitErrors::consumer(104.0, &mut random);
    let samples = unit.sample_way(way.duration_s, |t_s| way.read(t_s), &mut random);
    let mut live = Live::new(LiveParams {
        rate_hz: 104.0,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Default::default(),
        whole: None,
    });
    let posture = MOVEMENT.usual_posture();
    let params = CalibratingParams::default();
    let mut calibrating = Calibrating::new(MOVEMENT, Side::Right, posture, params);
    let mut says = Vec::new();
    for sample in &samples {
        for output in calibrating.step(&live.sample(sample)) {
            match output {
                Output::Say(say) => says.push(say),
                Output::Record(kind) => {
                    assert!(matches!(kind, EventKind::Calibration(_)));
                    live.event(Event {
                        t_s: sample.t_s.next_up(),
                        kind,
                    });
                }
                Output::Done => panic!("a calibration ends no session"),
            }
        }
        if calibrating.is_done() {
            break;
        }
    }
    (says, calibrating.is_done())
}

#[test]
fn still_one_movement_and_back_is_a_calibration() {
    for seed in 0..6 {
        let (says, done) = said(out_and_back(&[38.0]), seed);
        assert!(done, "{says:?}");
        assert_eq!(says[..2], [Say::HoldStill, Say::MoveOnce(MOVEMENT)]);
        let Say::Calibrated { travel_deg } = says[2] else {
            panic!("{says:?}");
        };
        assert!((travel_deg - 38.0).abs() < 2.0, "{travel_deg}");
        assert_eq!(says.len(), 3);
    }
}

#[test]
fn a_movement_too_small_is_refused_with_the_reason_and_asked_for_again() {
    let (says, done) = said(out_and_back(&[12.5, 36.0]), 3);
    assert!(done, "{says:?}");
    let refused: Vec<&String> = says
        .iter()
        .filter_map(|say| match say {
            Say::Refused(why) => Some(why),
            _ => None,
        })
        .collect();
    assert_eq!(refused.len(), 1, "{says:?}");
    assert!(refused[0].contains("15 are needed"), "{refused:?}");
    // Said with it, and no word of moving further.
    let said = Say::Refused(refused[0].clone()).words();
    assert!(said.contains("only as far as is comfortable"), "{said}");
    assert!(!said.contains("further"), "{said}");
    let asked = says.iter().filter(|say| **say == Say::MoveOnce(MOVEMENT));
    assert_eq!(asked.count(), 2, "{says:?}");
    let Some(Say::Calibrated { travel_deg }) = says.last() else {
        panic!("{says:?}");
    };
    assert!(
        (travel_deg - 36.0).abs() < 2.0,
        "the second one counts: {travel_deg}"
    );
}

#[test]
fn a_fidget_is_no_movement() {
    let (says, done) = said(out_and_back(&[8.0, 40.0]), 4);
    assert!(done);
    assert!(
        !says.iter().any(|say| matches!(say, Say::Refused(_))),
        "{says:?}"
    );
    let Some(Say::Calibrated { travel_deg }) = says.last() else {
        panic!("{says:?}");
    };
    assert!((travel_deg - 40.0).abs() < 2.0, "{travel_deg}");
}

#[test]
fn a_hand_that_stays_out_is_told_to_come_back_and_then_to_begin_again() {
    let timeline = Timeline {
        duration_s: 40.0,
        pieces: vec![
            piece(0.0, 4.0, 0.0, 0.0),
            piece(4.0, 5.5, 0.0, 40.0),
            piece(5.5, 40.0, 40.0, 40.0),
        ],
        ..Timeline::default()
    };
    let (says, done) = said(timeline, 5);
    assert!(!done);
    let place = |wanted: Say| says.iter().position(|say| *say == wanted);
    assert!(place(Say::ComeBack).is_some(), "{says:?}");
    assert!(place(Say::ComeBack) < place(Say::NotBack), "{says:?}");
}

#[test]
fn somebody_who_is_never_still_is_asked_again_and_never_calibrated() {
    let mut manner = SetManner::ordinary(8, 30.0);
    manner.lift_s = 1.0;
    manner.lower_s = 1.0;
    manner.hold_s = 0.0;
    manner.rest_s = 0.0;
    manner.still_start_s = 0.0;
    let (says, done) = said(manner.timeline(&mut Random::new(6)), 6);
    assert!(!done);
    assert!(says.contains(&Say::NotStillYet), "{says:?}");
    assert!(!says.contains(&Say::MoveOnce(MOVEMENT)), "{says:?}");
}
