//! Whatever is pressed, moved, lost and counted, in whatever order.

use carpotempo::pipeline::live::News;
use carpotempo::recording::EventKind;
use carpotempo::routine::Item;
use carpotempo::session::Link;
use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::press::{Felt, NightAnswer, Press};
use carpotempo::session::guided::view::Screen;
use carpotempo::session::guided::working::Standing;
use carpotempo::session::guided::{Guided, Output};
use proptest::prelude::*;

use super::drive::{ROUTINE, felt, plan};
use super::fed::{Fed, repetition, step};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicU32, Ordering};

/// Something that happens to a session.
#[derive(Debug, Clone)]
enum Act {
    Press(Press),
    Link(Link),
    Time(f64),
    /// The lid was closed for so long.
    Asleep(f64),
    Battery(u8),
    /// The page is loaded again: it asks for the view, once more and once more.
    Reload,
    /// Samples at this angle, still or not, so many.
    Samples(f64, bool, usize),
    /// A repetition of this range, hurried or not.
    Counted(f64, bool),
}

fn press() -> impl Strategy<Value = Press> {
    let any_felt = (0_u8..=10, 0_u8..=3, 0_u8..=3)
        .prop_map(|(pain, tingling, numbness)| felt(pain, tingling, numbness));
    prop_oneof![
        1 => Just(Press::Begin),
        1 => Just(Press::BeginAnew),
        1 => Just(Press::OnlyQuestions),
        1 => Just(Press::Applies),
        1 => Just(Press::NoneApplies),
        1 => Just(Press::Night(NightAnswer::default())),
        8 => Just(Press::Next),
        4 => Just(Press::Symptoms { left: None, right: Some(Felt::default()) }),
        1 => any_felt.clone().prop_map(|felt| Press::Symptoms { left: Some(felt), right: None }),
        3 => Just(Press::Yes),
        5 => Just(Press::No),
        2 => Just(Press::Pause),
        2 => any_felt.prop_map(|felt| Press::Hurts { felt, side: None, like: None }),
        2 => Just(Press::GoOn),
        1 => Just(Press::MoreTime),
        1 => Just(Press::Skip { reason: None }),
        1 => Just(Press::Enough),
        1 => Just(Press::Remark { text: "x".to_owned() }),
    ]
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        6 => press().prop_map(Act::Press),
        3 => Just(Act::Press(Press::Next)),
        1 => prop_oneof![Just(Link::Lost), Just(Link::Stalled), Just(Link::Gone)].prop_map(Act::Link),
        4 => Just(Act::Link(Link::Back)),
        // Rarely: it ends everything.
        1 => prop_oneof![30 => Just(Act::Time(0.2)), 1 => Just(Act::Press(Press::FinishHere))],
        1 => (0.1..100.0_f64).prop_map(Act::Time),
        1 => prop_oneof![4 => 5.0..1000.0_f64, 1 => 1800.0..9000.0_f64].prop_map(Act::Asleep),
        1 => (0_u8..=100).prop_map(Act::Battery),
        1 => Just(Act::Reload),
        3 => (-20.0..70.0_f64, any::<bool>(), 1_usize..400).prop_map(|(angle, still, count)| Act::Samples(angle, still, count)),
        14 => (8.0..60.0_f64, any::<bool>()).prop_map(|(range, hurried)| Act::Counted(range, hurried)),
    ]
}

/// A session whose sensor is fitted, before its first exercise.
static FITTED: LazyLock<Fed> = LazyLock::new(|| Fed::at_work(plan(&long())));

/// One act, or several that make a set likely: by chance alone it would hardly ever begin.
fn runs() -> impl Strategy<Value = Vec<Act>> {
    let counted = proptest::collection::vec((8.0..60.0_f64, any::<bool>()), 0..9);
    let set = counted.prop_map(|counted| {
        let ready = [
            Act::Press(Press::Next),
            Act::Link(Link::Back),
            Act::Samples(0.0, true, 700),
        ];
        let counted = counted
            .into_iter()
            .map(|(range_deg, hurried)| Act::Counted(range_deg, hurried));
        ready.into_iter().chain(counted).collect()
    });
    prop_oneof![4 => act().prop_map(|act| vec![act]), 1 => set]
}

/// More sets, more repetitions, and some beyond the dose.
fn long() -> String {
    ROUTINE.replace("sets = 1", "sets = 6").replace(
        "repetitions = 4",
        "repetitions = 6\nextra_repetitions_max = 2",
    )
}

/// What must hold, whatever happens.
#[derive(Default)]
struct Watch {
    set_open: bool,
    counted_in_set: u32,
    /// Set by a stop; only a press that goes on, or a new part, may clear it.
    stopped: bool,
    /// Parts of which it was said that more is allowed.
    more_said: Vec<[usize; 2]>,
    /// Repetitions that were said.
    counted: usize,
}

impl Watch {
    fn take(&mut self, guided: &Guided, outputs: &[Output], by_press: bool) {
        for output in outputs {
            match output {
                Output::Record(EventKind::SetStart(start)) => {
                    assert!(!self.set_open, "a set within a set");
                    assert!(!self.stopped, "went on by itself");
                    let item = match &start.item {
                        Some(carpotempo::recording::ItemRef::Number(number)) => *number as usize,
                        other => panic!("{other:?}"),
                    };
                    let routine = super::drive::routine(&long());
                    let Item::Counted(item) = &routine.items[item - 1] else {
                        panic!("a set of something that is not counted");
                    };
                    assert!(start.target_reps.unwrap() <= item.repetitions);
                    self.set_open = true;
                    self.counted_in_set = 0;
                }
                Output::Record(EventKind::SetEnd(_)) => {
                    assert!(self.set_open, "an end without a start");
                    self.set_open = false;
                }
                Output::Say(Line::Count(_)) => {
                    assert!(self.set_open, "counted outside a set");
                    self.counted += 1;
                }
                Output::Say(Line::MoreAllowed(_)) => {
                    self.more_said.push(guided.view().done_of);
                }
                _ => {}
            }
        }
        let view = guided.view();
        match &view.screen {
            Screen::Paused { .. } | Screen::Hurt { .. } | Screen::Settling { .. } => {
                assert!(!self.set_open, "a set goes on behind a stop");
                self.stopped = true;
            }
            Screen::Working { exercise, live } => {
                assert!(!self.stopped || by_press, "went on without a press");
                self.stopped = false;
                assert!(live.count <= exercise.target + 2, "beyond the dose");
                assert!(
                    live.count <= exercise.target || self.more_said.contains(&view.done_of),
                    "beyond the dose and nothing said"
                );
                let going = matches!(live.standing, Standing::Ready | Standing::Going);
                assert_eq!(
                    going, self.set_open,
                    "a set is open while it is shown as such"
                );
            }
            _ => {
                assert!(!self.set_open, "a set is open elsewhere");
                self.stopped = false;
            }
        }
    }
}

/// Repetitions that were counted in all cases: what is never reached is not tested.
static COUNTED: AtomicU32 = AtomicU32::new(0);

#[test]
fn whatever_happens_no_set_goes_on_past_a_stop_nor_beyond_its_dose() {
    any_acts();
    assert!(COUNTED.load(Ordering::Relaxed) > 1000, "{COUNTED:?}");
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(20_260_301),
        ..ProptestConfig::default()
    })]

    fn any_acts(acts in proptest::collection::vec(runs(), 1..60)) {
        let Fed { mut guided, pose, mut now_s, .. } = FITTED.clone();
        let mut watch = Watch::default();
        for act in acts.into_iter().flatten() {
            match act {
                Act::Press(press) => {
                    let outputs = guided.press(press);
                    watch.take(&guided, &outputs, true);
                }
                Act::Link(link) => {
                    let outputs = guided.link(link);
                    watch.take(&guided, &outputs, false);
                }
                Act::Time(by_s) => {
                    now_s += by_s;
                    let outputs = guided.time(now_s);
                    watch.take(&guided, &outputs, false);
                }
                Act::Asleep(slept_s) => {
                    let outputs = guided.asleep(slept_s);
                    watch.take(&guided, &outputs, false);
                    let goes_on = matches!(guided.view().screen, Screen::Working { .. });
                    prop_assert!(!goes_on, "a set goes on after a sleep");
                }
                Act::Battery(percent) => guided.battery(percent),
                Act::Reload => {
                    let view = guided.view();
                    prop_assert_eq!(view, guided.view(), "looking changes nothing");
                }
                Act::Samples(angle_deg, still, count) => {
                    for _ in 0..count {
                        now_s += 0.01;
                        let outputs = guided.step(&step(&pose, now_s, angle_deg, still));
                        watch.take(&guided, &outputs, false);
                    }
                }
                Act::Counted(range_deg, hurried) => {
                    now_s += 0.01;
                    let before = match guided.view().screen {
                        Screen::Working { live, .. } if live.standing != Standing::AwaitStill => Some(live.count),
                        _ => None,
                    };
                    let mut step = step(&pose, now_s, 0.0, false);
                    step.news.push(News::Counted(1, Box::new(repetition(now_s, range_deg, hurried))));
                    let outputs = guided.step(&step);
                    let said = outputs.iter().any(|output| matches!(output, Output::Say(Line::Count(_))));
                    prop_assert_eq!(said, before.is_some(), "a counted repetition is said, and only in a set");
                    COUNTED.fetch_add(u32::from(said), Ordering::Relaxed);
                    watch.take(&guided, &outputs, false);
                }
            }
        }
        // Nothing that was counted is lost, wherever it ends.
        for _ in 0..4 {
            let outputs = guided.press(Press::FinishHere);
            watch.take(&guided, &outputs, true);
        }
        if let Screen::Summary { sentences, .. } = guided.view().screen {
            if let Some(told) = sentences.iter().find(|words| words.starts_with("You did ")) {
                let begins = format!("You did {} of ", watch.counted);
                prop_assert!(told.starts_with(&begins), "{} and {}", told, watch.counted);
            } else {
                prop_assert_eq!(watch.counted, 0, "{:?}", sentences);
            }
        }
    }
}
