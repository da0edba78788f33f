//! Circles, stretches and glides: what is not an angle that goes up and down.

use carpotempo::movement::{Hands, Movement, Side, Stretch};
use carpotempo::pipeline::live::Phase;
use carpotempo::recording::{EventKind, SetEndReason, SetStart};
use carpotempo::routine::PartHands;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::Standing;
use carpotempo::source::simulator::circles::CircleManner;
use carpotempo::source::simulator::session::{Manner, SetPlan, Step};

use super::drive::{Drive, ROUTINE, fitted, plan, played, routine, untroubled};
use super::fed::Fed;

const CIRCLES: &str = r#"
title = "An invented routine"
[[items]]
kind = "counted"
movement = "arm-circles"
side = "right"
repetitions = 6
rest_s = 20
[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#;

fn circling(turns: usize, seed: u64) -> Drive {
    let circles = Step::Set(Box::new(SetPlan {
        start: SetStart {
            movement: Some(Movement::ArmCircles),
            side: Some(Side::Right),
            posture: Some(Movement::ArmCircles.usual_posture()),
            ..SetStart::default()
        },
        manner: Manner::Circles(CircleManner {
            turns,
            turn_s: 2.5,
            half_angle_deg: 25.0,
            still_s: 2.0,
        }),
        end: SetEndReason::Reached,
        lost_s: None,
    }));
    let mut steps = fitted();
    steps.extend([circles, Step::Rest(12.0)]);
    let played = played(seed, &steps);
    let mut drive = Drive::new(plan(CIRCLES));
    drive.answer(&untroubled);
    drive.play(&played.samples, &|screen| match screen {
        Screen::Rest { .. } => None,
        other => untroubled(other),
    });
    drive
}

#[test]
fn circles_are_counted_while_they_are_drawn_and_the_set_ends_with_the_dose() {
    for seed in 0..4 {
        let drive = circling(6, 200 + seed);
        let said: Vec<&str> = drive.said.iter().map(String::as_str).collect();
        let counts: Vec<&str> = said
            .iter()
            .copied()
            .filter(|words| words.parse::<u32>().is_ok())
            .collect();
        assert_eq!(
            counts,
            ["1", "2", "3", "4", "5", "6"],
            "seed {seed}: {said:?}"
        );
        assert_eq!(drive.ends(), [Some(SetEndReason::Reached)], "seed {seed}");
        let half = said
            .iter()
            .position(|words| words.starts_with("Half-way. Any tingling?"));
        let third = said.iter().position(|words| *words == "3");
        assert_eq!(half, third.map(|third| third + 1), "asked half-way");
        assert!(matches!(
            drive.guided.view().screen,
            Screen::Rest { weight: false, .. }
        ));
        let found = drive.analysis().sets[0].reps.len();
        assert!((6..=7).contains(&found), "seed {seed}: {found}");
    }
}

#[test]
fn an_arm_that_stops_circling_is_asked_whether_it_hurts_or_tingles() {
    let mut drive = circling(3, 300);
    let Screen::Paused {
        provokes, enough, ..
    } = drive.guided.view().screen
    else {
        panic!("{:?}", drive.screens);
    };
    assert!(provokes && enough);
    assert_eq!(
        drive.said.last().unwrap(),
        "Rest your hand. Does it hurt or tingle?"
    );
    // What was done may be enough.
    drive.press(Press::Enough);
    assert!(matches!(drive.guided.view().screen, Screen::Rest { .. }));
}

#[test]
fn a_loaded_item_that_provokes_is_asked_about_without_touching_anything() {
    let toml = ROUTINE.replacen("repetitions = 4", "repetitions = 4\nprovokes = true", 1);
    let mut fed = Fed::at_work(plan(&toml));
    fed.ready();
    fed.counted(45.0, false);
    assert!(!asks(&fed));
    fed.counted(45.0, false);
    assert!(asks(&fed), "half-way");
    fed.counted(45.0, false);
    assert!(!asks(&fed), "going on is no");
    // Stillness is the answer yes: the set pauses, and both are asked about.
    fed.hand(Phase::Rest, 0.0, true, 6.0);
    assert!(matches!(
        fed.screen(),
        Screen::Paused { provokes: true, .. }
    ));
}

fn asks(fed: &Fed) -> bool {
    matches!(fed.screen(), Screen::Working { live, .. } if live.asks_tingling && live.standing == Standing::Going)
}

/// Counted work first, so that the sensor is on.
fn then(item: &str) -> Fed {
    let head = &ROUTINE[..ROUTINE.find("[[items]]\nkind = \"timed\"").unwrap()];
    // Otherwise what is for the left hand would come first.
    let head = head.replacen("[[items]]", "order = \"item-by-item\"\n[[items]]", 1);
    let mut fed = Fed::at_work(plan(&format!("{head}\n[[items]]\n{item}")));
    fed.press(Press::Skip { reason: None });
    fed.press(Press::Skip { reason: None });
    if matches!(fed.screen(), Screen::Wearing { .. }) {
        fed.press(Press::No);
    }
    fed
}

#[test]
fn before_a_stretch_the_weight_goes_down_and_its_steadiness_is_shown() {
    let mut fed =
        then("kind = \"stretch\"\nstretch = \"bend-down\"\nside = \"right\"\nhold_s = 15\n");
    let Screen::Timed { words, hold, .. } = fed.screen() else {
        panic!("{:?}", fed.screen());
    };
    assert!(words.starts_with("Put any weight down first."), "{words}");
    assert_eq!(hold, None);
    fed.press(Press::Next);
    let held = |fed: &Fed| match fed.screen() {
        Screen::Timed { hold, .. } => hold,
        other => panic!("{other:?}"),
    };
    fed.hand(Phase::None, 0.0, true, 4.0);
    let kept = held(&fed).unwrap();
    assert_eq!((kept.steady, kept.away_deg), (true, 0.0));
    // A far angle stands for an arm that went elsewhere.
    fed.hand(Phase::None, 60.0, true, 0.5);
    let moved = held(&fed).unwrap();
    assert!(!moved.steady && moved.away_deg > 45.0, "{moved:?}");
    fed.wait(15.0);
    assert!(!matches!(fed.screen(), Screen::Timed { .. }), "over");
}

#[test]
fn without_the_sensor_on_that_hand_nothing_is_said_of_how_it_is_held() {
    let mut fed =
        then("kind = \"stretch\"\nstretch = \"bend-down\"\nside = \"left\"\nhold_s = 15\n");
    fed.press(Press::Next);
    fed.hand(Phase::None, 0.0, true, 4.0);
    assert!(matches!(
        fed.screen(),
        Screen::Timed {
            hold: None,
            left_s: Some(_),
            ..
        }
    ));
}

#[test]
fn a_glide_is_led_from_position_to_position() {
    let mut fed = then(
        "kind = \"timed\"\nwhat = \"tendon-glides\"\nside = \"right\"\nrepetitions = 2\npause_s = 3\n",
    );
    fed.press(Press::Next);
    fed.said();
    fed.wait(17.5);
    assert_eq!(
        fed.said(),
        [
            "Fingers straight and together.",
            "Wide open.",
            "A loose fist.",
            "Fingers straight and together.",
            "Wide open.",
            "A loose fist.",
        ]
    );
    assert!(matches!(
        fed.screen(),
        Screen::Timed {
            position: Some("a loose fist"),
            ..
        }
    ));
    fed.wait(1.0);
    assert_eq!(fed.said()[0], "And let go.");
}

#[test]
fn tingling_half_way_through_a_stretch_ends_it() {
    let mut fed =
        then("kind = \"stretch\"\nstretch = \"palms-together\"\nside = \"both\"\nhold_s = 20\n");
    fed.press(Press::Next);
    fed.wait(10.5);
    let Screen::Timed {
        tingling: true,
        left_s,
        ..
    } = fed.screen()
    else {
        panic!("{:?}", fed.screen());
    };
    fed.wait(30.0);
    let Screen::Timed {
        left_s: later_s, ..
    } = fed.screen()
    else {
        panic!("the clock waits for the answer");
    };
    assert_eq!(left_s, later_s);
    fed.press(Press::Yes);
    assert!(!matches!(fed.screen(), Screen::Timed { .. }));
    assert!(
        fed.events
            .iter()
            .any(|kind| matches!(kind, EventKind::Tingling(_)))
    );
}

#[test]
fn no_item_loads_both_hands_at_once() {
    // Whatever a routine asks for, what is counted and may be loaded is done hand by hand; what takes
    // both hands begins with the weight put down.
    for movement in Movement::ALL {
        for order in ["hand-by-hand", "item-by-item"] {
            let toml = format!(
                "title = \"T\"\norder = \"{order}\"\n[[items]]\nkind = \"counted\"\nmovement = \"{}\"\nside = \"both\"\nrepetitions = 3\nload_kg = 0.5\n{}",
                movement.name(),
                // Ulnar deviation is loaded with the arm hanging alone.
                if movement == Movement::UlnarDeviation {
                    "load_shape = \"one-sided\"\nposture = { direction = \"hanging\", rotation = \"thumb-up\" }\n"
                } else {
                    ""
                }
            );
            let routine = routine(&toml);
            let course = routine.course(&routine.hands());
            assert_eq!(course.len(), 2);
            for part in course {
                assert!(
                    matches!(part.hands, PartHands::One(_)),
                    "{movement:?} {order}"
                );
            }
        }
    }
    for stretch in Stretch::ALL {
        let side = if stretch.hands() == Hands::OneAtATime {
            "right"
        } else {
            "both"
        };
        let fed = then(&format!(
            "kind = \"stretch\"\nstretch = \"{}\"\nside = \"{side}\"\nhold_s = 20\n",
            stretch.name()
        ));
        let Screen::Timed { words, .. } = fed.screen() else {
            panic!("{:?}", fed.screen());
        };
        assert!(words.starts_with("Put any weight down first."), "{words}");
    }
}
