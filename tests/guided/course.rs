//! The whole course, first screen to last.

use carpotempo::movement::Movement;
use carpotempo::recording::{EventKind, SetEndReason, When};
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::session::Step;

use super::drive::{Drive, ROUTINE, felt, fitted, plan, played, set, untroubled};

fn both_exercises() -> Vec<Step> {
    let mut steps = fitted();
    let extension = Movement::WristExtension;
    steps.push(set(
        extension,
        extension.usual_posture(),
        SetManner::ordinary(4, 45.0),
    ));
    steps.push(Step::Rest(5.0));
    let flexion = Movement::WristFlexion;
    steps.push(set(
        flexion,
        flexion.usual_posture(),
        SetManner::ordinary(3, 50.0),
    ));
    steps.push(Step::Rest(4.0));
    steps
}

#[test]
fn a_session_runs_from_the_first_screen_to_the_last() {
    for seed in 0..4 {
        let played = played(seed, &both_exercises());
        let mut drive = Drive::new(plan(ROUTINE));
        drive.answer(&untroubled);
        drive.play(&played.samples, &untroubled);
        drive.wait(60.0, &untroubled);
        assert_eq!(
            drive.screens,
            [
                "night",
                "cautions",
                "symptoms",
                "place",
                "hearing",
                "calibrate",
                "intro",
                "working",
                "rest",
                "intro",
                "working",
                "rest",
                "wearing",
                "timed",
                "symptoms",
                "remark",
                "summary"
            ],
            "seed {seed}: {:#?}",
            drive.said
        );
        let Screen::Summary {
            sentences, next, ..
        } = drive.guided.view().screen
        else {
            panic!("no summary");
        };
        assert_eq!(sentences[0], "You did 7 of 7 repetitions today.");
        assert_eq!(
            next.as_deref(),
            Some("Thursday"),
            "two days after a Tuesday"
        );
        let remarks = drive
            .events
            .iter()
            .filter(|event| matches!(&event.kind, EventKind::Note(note) if note.text.as_deref() == Some("went well")))
            .count();
        assert_eq!(remarks, 1);
        let reached = Some(SetEndReason::Reached);
        assert_eq!(drive.ends(), [reached, reached], "seed {seed}");
        let counts: Vec<usize> = drive
            .analysis()
            .sets
            .iter()
            .map(|set| set.reps.len())
            .collect();
        assert_eq!(counts, [4, 3], "seed {seed}");
    }
}

#[test]
fn the_answers_before_and_after_are_kept_for_each_hand() {
    let played = played(1, &both_exercises());
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&untroubled);
    drive.play(&played.samples, &untroubled);
    drive.wait(60.0, &untroubled);
    for when in [When::Before, When::After] {
        let pains = drive.events.iter().filter(
            |event| matches!(&event.kind, EventKind::Pain(pain) if pain.when == Some(when)),
        );
        assert_eq!(pains.count(), 2, "{when:?}");
    }
}

#[test]
fn above_the_limit_is_not_today_and_recorded_as_such() {
    let mut drive = Drive::new(plan(ROUTINE));
    drive.answer(&|screen| match screen {
        Screen::Symptoms { .. } => Some(Press::Symptoms {
            left: None,
            right: Some(felt(4, 0, 0)),
        }),
        Screen::NotToday { .. } => None,
        other => untroubled(other),
    });
    let Screen::NotToday { contact, .. } = drive.guided.view().screen else {
        panic!("{:?}", drive.screens);
    };
    assert_eq!(contact.as_deref(), Some("the practice, by telephone"));
    let declined =
        |event: &&carpotempo::recording::Event| matches!(event.kind, EventKind::Declined(_));
    assert_eq!(drive.events.iter().filter(declined).count(), 1);
}

#[test]
fn the_first_time_one_question_that_applies_is_not_today() {
    let mut first = plan(ROUTINE);
    first.first_time = true;
    let mut drive = Drive::new(first);
    drive.press(Press::Begin);
    assert!(
        matches!(drive.guided.view().screen, Screen::FirstQuestions { questions } if questions.len() == 7)
    );
    drive.press(Press::Applies);
    assert!(matches!(
        drive.guided.view().screen,
        Screen::NotToday { .. }
    ));
}

#[test]
fn no_weight_is_offered_without_sign_off_after_the_review_day_or_with_numb_fingers() {
    let unsigned = ROUTINE.replace("screened_on = 2026-03-01", "");
    let overdue = ROUTINE.replace("review_by = 2026-04-01", "review_by = 2026-03-02");
    for (toml, numbness) in [(unsigned.as_str(), 0), (overdue.as_str(), 0), (ROUTINE, 2)] {
        let mut drive = Drive::new(plan(toml));
        let mut steps = fitted();
        steps.push(Step::Rest(2.0));
        drive.answer(&untroubled_but_numb(numbness));
        drive.play(&played(3, &steps).samples, &|screen| match screen {
            Screen::Intro(_) => None,
            other => untroubled_but_numb(numbness)(other),
        });
        let view = drive.guided.view();
        assert!(!view.weights);
        let Screen::Intro(exercise) = view.screen else {
            panic!("{:?}", drive.screens);
        };
        assert_eq!(exercise.load_kg, Some(0.0));
        assert_eq!(exercise.load_words, "empty hand");
    }
}

fn untroubled_but_numb(numbness: u8) -> impl Fn(&Screen) -> Option<Press> {
    move |screen| match screen {
        Screen::Symptoms { .. } => Some(Press::Symptoms {
            left: Some(felt(0, 0, 0)),
            right: Some(felt(0, 0, numbness)),
        }),
        other => untroubled(other),
    }
}

#[test]
fn what_is_left_out_takes_nothing_from_the_number_of_parts() {
    let toml = ROUTINE.replacen("sets = 1", "sets = 3", 1);
    let mut fed = super::fed::Fed::at_work(plan(&toml));
    let place = |fed: &super::fed::Fed| fed.guided.view().done_of;
    assert_eq!(
        place(&fed),
        [0, 5],
        "three sets, one, and a thing by the clock"
    );
    fed.ready();
    for _ in 0..4 {
        fed.counted(45.0, false);
    }
    assert_eq!(place(&fed), [1, 5]);
    // The second and the third set go together.
    fed.press(Press::Skip { reason: None });
    assert_eq!(place(&fed), [3, 5]);
    fed.press(Press::Skip { reason: None });
    assert_eq!(place(&fed), [4, 5]);
    fed.press(Press::FinishHere);
    assert_eq!(place(&fed)[1], 5);
}

#[test]
fn whether_the_voice_is_heard_is_asked_before_the_first_words_of_the_work() {
    // What needs no sensor comes first here: nothing is put on before it.
    let (head, items) = ROUTINE.split_once("[[items]]").unwrap();
    let stretch = "[[items]]\nkind = \"stretch\"\nstretch = \"bend-back\"\nside = \"right\"\nhold_s = 15\n\n[[items]]";
    let mut drive = Drive::new(plan(&format!("{head}{stretch}{items}")));
    drive.answer(&|screen| match screen {
        Screen::Timed { .. } => None,
        other => untroubled(other),
    });
    assert_eq!(
        drive.screens,
        ["night", "cautions", "symptoms", "hearing", "timed"]
    );
    let Screen::Timed {
        lasts_s, left_s, ..
    } = drive.guided.view().screen
    else {
        panic!("{:?}", drive.screens);
    };
    assert_eq!((lasts_s, left_s), (15.0, None), "how long is said before");
    // And it is asked once.
    drive.press(Press::Skip { reason: None });
    drive.guided.connected();
    drive.press(Press::Next);
    assert_eq!(drive.screens.last().unwrap(), "calibrate");
}
