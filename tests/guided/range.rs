//! Range tests: every direction led by itself with the empty hand, without a word about tempo or
//! about reaching too little, and measured as truly done.

use carpotempo::movement::{Movement, Side};
use carpotempo::pipeline::live::Phase;
use carpotempo::pipeline::motion::Zero;
use carpotempo::recording::{EventKind, SetEndReason, SetStart};
use carpotempo::routine::{Item, Routine, STARTING};
use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::Reach;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::session::{Manner, SetPlan, Step};

use super::drive::{Drive, plan, plan_of, played, untroubled};
use super::fed::Fed;

fn range_check() -> Routine {
    let own = STARTING.iter().find(|own| own.name == "range-check");
    Routine::from_toml(own.unwrap().toml).unwrap()
}

/// How far this person goes, degrees: a little less to the right hand than to the left.
fn travel_deg(movement: Movement, side: Side) -> f64 {
    let left_deg = match movement {
        Movement::WristFlexion => 58.0,
        Movement::WristExtension => 50.0,
        Movement::RadialDeviation => 17.0,
        Movement::UlnarDeviation => 28.0,
        _ => 66.0,
    };
    match side {
        Side::Left => left_deg,
        Side::Right => 0.9 * left_deg,
    }
}

/// Slowly out, a second and a little more at the end, and back.
fn slow(movement: Movement, side: Side) -> SetManner {
    SetManner {
        lower_s: 2.5,
        lift_s: 2.5,
        hold_s: 1.4,
        ..SetManner::ordinary(3, travel_deg(movement, side))
    }
}

/// Everything that the routine asks for, as the body does it.
fn steps(routine: &Routine) -> Vec<Step> {
    let mut steps = Vec::new();
    for side in routine.hands() {
        let movement = Movement::WristExtension;
        steps.extend([
            Step::Strap(side),
            Step::Calibrate {
                movement,
                posture: movement.usual_posture(),
            },
            Step::Rest(4.0),
        ]);
        for set in routine.items.iter().flat_map(Item::all_counted) {
            steps.push(Step::Set(Box::new(SetPlan {
                start: SetStart {
                    movement: Some(set.movement),
                    side: Some(side),
                    posture: Some(set.posture()),
                    load_kg: Some(0.0),
                    range_test: true,
                    ..SetStart::default()
                },
                manner: Manner::Strokes(slow(set.movement, side)),
                end: SetEndReason::Reached,
                lost_s: None,
            })));
            steps.push(Step::Rest(5.0));
        }
    }
    steps
}

/// Against the simulator's truth: ranges within 1.5 degrees (what is asked of 95 in 100 repetitions
/// in README.md), ends within 5 degrees (they rest on the neutral pose, and are shown in whole
/// degrees), arcs of both ends within 5 as well.
#[test]
fn the_range_check_is_led_to_its_end_and_its_ends_are_those_truly_reached() {
    let routine = range_check();
    for seed in 0..3 {
        let played = played(70 + seed, &steps(&routine));
        let mut drive = Drive::new(plan_of(routine.clone()));
        drive.answer(&untroubled);
        drive.play(&played.samples, &untroubled);
        drive.wait(30.0, &untroubled);
        let screen = drive.guided.view().screen;
        let Screen::Summary { sentences, .. } = screen else {
            panic!("seed {seed}: {screen:?}, {:#?}", drive.said);
        };
        // No tempo was asked and there is no record to beat: nothing else is said of it.
        assert_eq!(sentences, ["You did 36 of 36 repetitions today."]);
        assert_eq!(
            drive.ends(),
            [Some(SetEndReason::Reached); 12],
            "seed {seed}"
        );
        said_gently(&drive.said);
        for event in &drive.events {
            if let EventKind::SetStart(start) = &event.kind {
                assert!(start.range_test && start.load_kg == Some(0.0) && start.tempo.is_none());
            }
        }
        let sets = drive.analysis().sets;
        assert_eq!(sets.len(), played.truth.len());
        for (set, truth) in sets.iter().zip(&played.truth) {
            let name = format!("seed {seed}, {:?} {:?}", truth.movement, truth.side);
            assert_eq!(
                (set.movement, set.side),
                (Some(truth.movement), Some(truth.side))
            );
            assert!(set.range_test, "{name}");
            assert_eq!((set.eccentric, set.tempo_band), (None, None), "{name}");
            assert_eq!(set.zero, Some(Zero::Calibration), "{name}");
            assert_eq!(set.reps.len(), 3, "{name}");
            for (rep, truth) in set.reps.iter().zip(&truth.reps) {
                assert_eq!(rep.verdict, None);
                let range_deg = rep.range_deg - truth.range_deg;
                let end_deg = rep.peak_deg - truth.range_deg;
                println!("{name}: range {range_deg:+.2}, end {end_deg:+.2}");
                assert!(range_deg.abs() < 1.5, "{name}: {range_deg}");
                assert!(end_deg.abs() < 5.0, "{name}: {end_deg}");
            }
        }
    }
}

/// Nothing that hurries or pushes anybody, and each direction by its name.
fn said_gently(said: &[String]) {
    let counted = |words: &str| said.iter().filter(|line| *line == words).count();
    assert_eq!(counted(&Line::Slower.words()), 0, "{said:#?}");
    assert_eq!(counted(&Line::FarEnough.words()), 0);
    assert_eq!(counted(&Line::AsFarAsComfortable.words()), 0);
    assert_eq!(counted(&Line::Ready.words()), 0);
    assert_eq!(counted(&Line::ReadyForRange.words()), 12);
    assert_eq!(counted(&Line::AndBack.words()), 36, "{said:#?}");
    assert_eq!(counted("hold"), 36);
    for direction in ["bend down", "bend back", "thumb side", "palm up"] {
        assert_eq!(counted(&format!("Next: How far: {direction}.")), 2);
    }
    assert!(!said.iter().any(|line| line.contains("weight down. ")));
}

const TEST: &str = "title = \"T\"\n[[items]]\nkind = \"range-test\"\nplane = \"flexion-extension\"\nside = \"right\"\ntimes = 6\n";

fn working(fed: &Fed) -> (Option<Reach>, Option<f64>) {
    match fed.screen() {
        Screen::Working { exercise, live } => {
            assert!(exercise.range_test);
            assert_eq!((exercise.set_of, exercise.asked), ([1, 2], None));
            (live.latest.and_then(|latest| latest.reach), live.target_deg)
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn going_less_far_is_never_short_and_never_ends_the_set() {
    let mut fed = Fed::at_work(plan(TEST));
    fed.ready();
    fed.said();
    // A third of what the first ones reached, three times: no form is kept in a range test.
    for range_deg in [45.0, 45.0, 45.0, 15.0, 15.0] {
        fed.counted(range_deg, false);
        assert_eq!(working(&fed), (None, None));
    }
    assert_eq!(
        fed.said(),
        ["1", "2", "3", "4", "2 more.", "5", "One more."]
    );
    fed.counted(15.0, false);
    assert_eq!(fed.said()[..2], ["6", "That is all of this set."]);
    assert!(matches!(fed.screen(), Screen::Intro(next) if next.words == "How far: bend back"));
}

#[test]
fn only_a_ceiling_is_told_of_and_the_end_is_held_for_as_long_as_asked() {
    let toml = format!("{TEST}no_further_deg = 40\nhold_s = 2\n");
    let mut fed = Fed::at_work(plan(&toml));
    fed.ready();
    fed.said();
    fed.hand(Phase::Lift, 30.0, false, 1.0);
    assert_eq!(fed.said(), Vec::<String>::new(), "out at one's own pace");
    fed.hand(Phase::Hold, 30.0, false, 2.3);
    assert_eq!(fed.said(), ["hold", "two", "And back."]);
    fed.hand(Phase::Lower, 20.0, false, 1.0);
    assert_eq!(fed.said(), Vec::<String>::new());
    fed.counted(39.0, false);
    assert_eq!(working(&fed).0, Some(Reach::Within));
    fed.counted(41.0, false);
    assert_eq!(working(&fed).0, Some(Reach::FarEnough));
    assert_eq!(fed.said().last().unwrap(), "Far enough.");
}

#[test]
fn it_stops_as_every_set_does_and_what_is_left_out_is_both_directions() {
    let mut fed = Fed::at_work(plan(TEST));
    fed.ready();
    fed.counted(45.0, false);
    fed.press(Press::Pause);
    assert!(matches!(fed.screen(), Screen::Paused { weight: false, .. }));
    fed.press(Press::Skip { reason: None });
    assert!(
        !matches!(fed.screen(), Screen::Intro(_)),
        "{:?}",
        fed.screen()
    );
    let starts = fed
        .events
        .iter()
        .filter(|kind| matches!(kind, EventKind::SetStart(_)));
    assert_eq!(starts.count(), 1);
}
