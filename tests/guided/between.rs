//! Between sessions: the questions alone, the morning after, an unfinished session taken up.

use carpotempo::movement::Side;
use carpotempo::recording::{EventKind, Night, When};
use carpotempo::session::guided::limits::Hands;
use carpotempo::session::guided::press::{NightAnswer, Press};
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::{Guided, GuidedPlan};

use super::drive::{Drive, ROUTINE, felt, name, plan, untroubled};
use super::fed::Fed;

fn answer() -> NightAnswer {
    NightAnswer {
        night: Night {
            woke: Some(true),
            splint: Some(false),
            dropped: Some(true),
        },
        left: felt(1, 2, 3),
        right: felt(4, 5, 6),
        skipped: Some("equipment".to_owned()),
    }
}

fn last_start() -> Option<Hands> {
    Some(Hands {
        left: felt(1, 2, 3),
        right: felt(2, 0, 0),
    })
}

#[test]
fn the_questions_alone_are_kept_and_end_there_without_a_sensor() {
    let mut drive = Drive::new(plan(ROUTINE));
    assert!(matches!(
        drive.guided.view().screen,
        Screen::Welcome {
            questions: true,
            ..
        }
    ));
    drive.press(Press::OnlyQuestions);
    drive.press(Press::Night(answer()));
    let Screen::Summary { sentences, .. } = drive.guided.view().screen else {
        panic!("{:?}", drive.screens);
    };
    assert_eq!(sentences[0], "Thank you. Your answers are kept.");
    let kinds: Vec<&EventKind> = drive.events.iter().map(|event| &event.kind).collect();
    let [
        EventKind::Night(night),
        answers @ ..,
        EventKind::Skipped(skipped),
    ] = &kinds[..]
    else {
        panic!("{kinds:?}");
    };
    assert_eq!(*night, answer().night);
    assert_eq!(skipped.reason.as_deref(), Some("equipment"));
    let values: Vec<(Option<Side>, u8)> = answers
        .iter()
        .map(|kind| match kind {
            EventKind::Pain(own) | EventKind::Tingling(own) | EventKind::Numbness(own) => {
                assert_eq!(own.when, Some(When::NextMorning));
                (own.side, own.value.unwrap().value())
            }
            other => panic!("{other:?}"),
        })
        .collect();
    let (left, right) = (Some(Side::Left), Some(Side::Right));
    assert_eq!(
        values,
        [
            (left, 1),
            (left, 2),
            (left, 3),
            (right, 4),
            (right, 5),
            (right, 6)
        ]
    );
    drive.press(Press::Next);
    assert!(drive.over);
}

#[test]
fn worse_the_morning_after_is_asked_about_before_the_next_session() {
    let mut better = answer();
    (better.left, better.right) = (felt(1, 2, 3), felt(3, 0, 0));
    for (own, asked) in [(answer(), true), (better, false)] {
        for goes_on in [false, true] {
            let mut drive = Drive::new(GuidedPlan {
                last_start: last_start(),
                ..plan(ROUTINE)
            });
            drive.press(Press::Begin);
            drive.press(Press::Night(own.clone()));
            let screen = name(&drive.guided.view().screen);
            assert_eq!(screen, if asked { "ask-first" } else { "cautions" });
            if asked {
                drive.press(if goes_on { Press::Yes } else { Press::No });
                let screen = name(&drive.guided.view().screen);
                assert_eq!(screen, if goes_on { "cautions" } else { "not-today" });
                let declined = |kind: &EventKind| matches!(kind, EventKind::Declined(_));
                assert_eq!(
                    drive.events.iter().any(|event| declined(&event.kind)),
                    !goes_on
                );
            }
        }
    }
}

#[test]
fn whoever_only_answers_and_is_worse_is_told_to_ask() {
    let mut drive = Drive::new(GuidedPlan {
        last_start: last_start(),
        ..plan(ROUTINE)
    });
    drive.press(Press::OnlyQuestions);
    drive.press(Press::Night(answer()));
    let Screen::Summary { sentences, .. } = drive.guided.view().screen else {
        panic!("{:?}", drive.screens);
    };
    assert!(sentences[1].ends_with("Ask your clinician before the next one."));
}

#[test]
fn the_night_is_asked_about_once_a_day() {
    let mut drive = Drive::new(GuidedPlan {
        night_asked: true,
        ..plan(ROUTINE)
    });
    drive.press(Press::Begin);
    assert_eq!(name(&drive.guided.view().screen), "cautions");
}

fn unfinished() -> GuidedPlan {
    GuidedPlan {
        already_counted: 3,
        ..plan(ROUTINE)
    }
}

#[test]
fn a_set_that_a_crash_cut_goes_on_with_the_rest_of_its_dose() {
    assert!(matches!(
        Guided::new(unfinished()).view().screen,
        Screen::Welcome {
            unfinished: true,
            ..
        }
    ));
    let mut fed = Fed::at_work(unfinished());
    fed.ready();
    fed.said();
    fed.counted(45.0, false);
    assert_eq!(fed.said()[0], "4", "of four");
    assert!(matches!(fed.screen(), Screen::Rest { .. }), "and no more");
}

#[test]
fn whoever_wants_to_begins_from_the_beginning_instead() {
    let mut plan = unfinished();
    plan.already_done = 1;
    let mut drive = Drive::new(plan.clone());
    assert_eq!(drive.guided.view().done_of, [1, 3]);
    drive.press(Press::BeginAnew);
    assert_eq!(drive.guided.view().done_of, [0, 3]);
    drive.answer(&untroubled);
    assert!(drive.screens.contains(&"place".to_owned()));
    let mut on = Drive::new(plan);
    on.press(Press::Begin);
    assert_eq!(on.guided.view().done_of, [1, 3]);
}

#[test]
fn worse_after_the_work_is_said_and_so_is_whom_to_ask() {
    for (pain, told) in [(3, false), (4, true)] {
        let mut fed = Fed::at_work(plan(ROUTINE));
        fed.press(Press::FinishHere);
        fed.press(Press::Symptoms {
            left: None,
            right: Some(felt(pain, 0, 0)),
        });
        fed.press(Press::Remark {
            text: String::new(),
        });
        let Screen::Summary { sentences, .. } = fed.screen() else {
            panic!("{:?}", fed.screen());
        };
        let asks = |words: &String| words.contains("ask your clinician before the next session");
        assert_eq!(sentences.iter().any(asks), told, "{sentences:?}");
    }
}

#[test]
fn a_strap_that_tingles_is_fitted_anew_and_kept_in_the_record() {
    let mut fed = Fed::at_work(plan(ROUTINE));
    fed.wait(61.0);
    fed.press(Press::Skip { reason: None });
    assert!(matches!(
        fed.screen(),
        Screen::Wearing { looser: false, .. }
    ));
    fed.press(Press::Yes);
    assert!(matches!(fed.screen(), Screen::Wearing { looser: true, .. }));
    fed.press(Press::Next);
    assert_eq!(name(&fed.screen()), "calibrate", "fitted anew");
    let tingling = |kind: &&EventKind| matches!(kind, EventKind::Tingling(_));
    assert_eq!(fed.events.iter().filter(tingling).count(), 1);
}
