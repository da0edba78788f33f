//! A set as an invented hand does it: as asked, hurried, short, too far, slowly; and what the page
//! draws of each.
//!
//! Truth: what was invented, and the project's own rules on sizes (`looks`).

use std::time::Duration;

use carpotempo::movement::{Movement, Side};
use carpotempo::routine::Verdict;
use carpotempo::session::guided::view::{AskedView, ExerciseView, LatestView, LiveView, Screen};
use carpotempo::session::guided::working::{Reach, Standing};
use serde_json::json;

use super::{Shown, look_at, view};

/// Time up, held, down, seconds, and how far, degrees.
const REPETITIONS: [[f64; 4]; 5] = [
    [2.1, 1.0, 4.0, 46.0],
    [1.9, 1.1, 1.9, 47.0],
    [2.0, 0.9, 3.8, 31.0],
    [2.2, 1.0, 4.1, 60.0],
    [2.0, 1.0, 7.0, 45.0],
];
const START_DEG: f64 = -18.0;
/// Views a second of the invented set.
const RATE_HZ: f64 = 6.0;

/// Bending back with all that a page may have to say of it.
pub fn exercise() -> ExerciseView {
    let movement = Movement::WristExtension;
    let posture = movement.usual_posture();
    ExerciseView {
        movement,
        words: movement.said_first(&posture).to_owned(),
        side: Side::Right,
        posture,
        load_kg: Some(0.5),
        load_shape: None,
        load_words: "0.5 kg".to_owned(),
        tempo_words: Some("up in two, hold one at the top, down in four".to_owned()),
        asked: Some(AskedView {
            lift_s: Some(2.0),
            hold_s: 1.0,
            lower_s: Some(4.0),
            rest_s: 0.0,
        }),
        target: 8,
        round_of: [1, 2],
        set_of: [2, 3],
        own_words: Some("Slowly, as we did it together.".to_owned()),
        caution: movement.caution(),
        range_test: false,
    }
}

/// The set at a time.
fn live(t_s: f64) -> LiveView {
    let gently = |share: f64| share * share * (3.0 - 2.0 * share);
    let mut live = LiveView {
        standing: Standing::Ready,
        count: 0,
        phase: "rest",
        word: "",
        asks_tingling: false,
        phase_s: t_s,
        asked_s: None,
        angle_deg: Some(START_DEG),
        target_deg: Some(40.0),
        no_further_deg: Some(55.0),
        latest: None,
    };
    let mut begins_s = 1.0;
    for [up_s, hold_s, down_s, far_deg] in REPETITIONS {
        let rise_deg = far_deg - START_DEG;
        for (phase, word, lasts_s, asked_s) in [
            ("lift", "up", up_s, Some(2.0)),
            ("hold", "hold", hold_s, Some(1.0)),
            ("lower", "down", down_s, Some(4.0)),
            ("rest", "", 0.9, None),
        ] {
            if t_s < begins_s {
                return live;
            }
            live.standing = Standing::Going;
            (live.phase, live.word, live.asked_s) = (phase, word, asked_s);
            live.phase_s = t_s - begins_s;
            let share = gently((live.phase_s / lasts_s).min(1.0));
            live.angle_deg = Some(match phase {
                "lift" => START_DEG + rise_deg * share,
                "hold" => far_deg,
                "lower" => far_deg - rise_deg * share,
                _ => START_DEG,
            });
            begins_s += lasts_s;
            if phase == "lower" && t_s >= begins_s {
                live.count += 1;
                live.latest = Some(LatestView {
                    verdict: Some(match down_s {
                        ..3.0 => Verdict::Hurried,
                        6.0.. => Verdict::Slower,
                        _ => Verdict::InBand,
                    }),
                    reach: Some(match far_deg {
                        ..40.0 => Reach::Short,
                        55.0.. => Reach::FarEnough,
                        _ => Reach::Within,
                    }),
                    lower_s: down_s,
                    range_deg: rise_deg,
                });
            }
        }
    }
    live
}

/// Shows the set from one time to another, as it changes, and looks at what it has come to.
fn goes_on(
    shown: &mut Shown,
    name: &str,
    [from_s, until_s]: [f64; 2],
    changed: &dyn Fn(&mut ExerciseView, &mut LiveView),
) {
    let steps = ((until_s - from_s) * RATE_HZ).ceil() as usize;
    for step in 0..=steps {
        let t_s = from_s + (until_s - from_s) * step as f64 / steps as f64;
        let (mut exercise, mut live) = (exercise(), live(t_s));
        changed(&mut exercise, &mut live);
        shown.page.show(view(Screen::Working { exercise, live }));
        std::thread::sleep(Duration::from_millis(20));
    }
    std::thread::sleep(Duration::from_millis(200));
    look_at(&shown.browser, &format!("rare-set-{name}"));
}

#[test]
fn pace_and_range_are_told_by_word_place_and_shape() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    let as_it_is = |_: &mut ExerciseView, _: &mut LiveView| {};
    let mut from_s = 0.0;
    for (name, until_s, pace, reach) in [
        ("ready", 0.8, None, None),
        ("up", 2.2, None, None),
        ("down", 6.2, None, None),
        ("hurrying", 12.6, Some("in time"), None),
        ("hurried", 14.6, Some("hurried"), None),
        ("short", 23.0, Some("in time"), Some("a little short")),
        ("too-far", 31.2, Some("in time"), Some("far enough")),
        ("slower", 42.0, Some("slower than asked"), None),
    ] {
        goes_on(&mut shown, name, [from_s, until_s], &as_it_is);
        from_s = until_s;
        let said = |what: &str| {
            let script = "const one = document.querySelector(arguments[0]); \
                return one.checkVisibility() ? [one.innerText, one.querySelector('svg.sign') !== null] : null";
            shown.browser.run(script, json!([what]))
        };
        // A word, and beside it a sign of its own shape.
        let told = |words: Option<&str>| words.map_or(json!(null), |words| json!([words, true]));
        assert_eq!(said(".pace"), told(pace), "{name}");
        assert_eq!(said(".reach-said"), told(reach), "{name}");
        // Whoever hurries sees it while it happens: the ball is a wedge that points down.
        let ahead = shown
            .browser
            .is("document.querySelector('.hill').classList.contains('ahead')");
        assert_eq!(ahead, json!(name == "hurrying"), "{name}");
    }
}

#[test]
fn what_else_a_set_may_say_fits_on_its_screen() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    goes_on(&mut shown, "await-still", [0.0, 0.5], &|_, live| {
        live.standing = Standing::AwaitStill;
    });
    goes_on(&mut shown, "asks-tingling", [0.0, 11.0], &|_, live| {
        live.asks_tingling = live.count == 1;
    });
    goes_on(&mut shown, "dose-done", [11.0, 14.0], &|exercise, live| {
        exercise.target = 1;
        live.asks_tingling = false;
    });
    goes_on(
        &mut shown,
        "empty-hand-without-tempo",
        [0.0, 14.6],
        &|exercise, live| {
            (exercise.load_kg, exercise.load_words) = (Some(0.0), "empty hand".to_owned());
            (exercise.tempo_words, exercise.asked, live.asked_s) = (None, None, None);
            (live.target_deg, live.no_further_deg) = (None, None);
        },
    );
    shown.looks("intro-full", view(Screen::Intro(exercise())));
}
