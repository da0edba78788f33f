//! Screens that a session seldom comes to, or not at a known moment: shown to the page one after the
//! other by the page's own server, and looked at.

mod sets;

use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use carpotempo::joint::CalibrationFault;
use carpotempo::movement::{GlidePosition, Movement, Side};
use carpotempo::page::Page;
use carpotempo::recording::When;
use carpotempo::session::guided::press::Press;
use carpotempo::session::guided::view::{HoldView, LinkView, Screen, SensorView, View};
use carpotempo::session::guided::working::Stopped;

use super::browser::Browser;
use super::looks::look_at;

/// The page and who looks at it.
pub struct Shown {
    page: Page,
    pressed: Receiver<Press>,
    browser: Browser,
}

impl Shown {
    /// The page before its first view; `None`, and said so, without a browser.
    fn opened() -> Option<Shown> {
        let browser = Browser::open()?;
        let (presses, pressed) = channel();
        let page = Page::serve(0, move |press| presses.send(press).unwrap_or_default()).unwrap();
        browser.size(1024, 768);
        let mut shown = Shown {
            page,
            pressed,
            browser,
        };
        shown.page.show(view(Screen::Night));
        shown.browser.go(&shown.page.url());
        shown.browser.until("document.body.dataset.screen");
        Some(shown)
    }

    /// Shows a view and looks at it under that name.
    fn looks(&mut self, name: &str, view: View) {
        // Another screen before, so that it is made anew.
        self.page.show(self::view(Screen::Night));
        self.browser
            .until("document.body.dataset.screen === 'night'");
        let screen = serde_json::to_value(&view.screen).unwrap()["screen"].clone();
        self.page.show(view);
        self.browser
            .until(&format!("document.body.dataset.screen === {screen}"));
        std::thread::sleep(Duration::from_millis(300));
        look_at(&self.browser, &format!("rare-{name}"));
    }
}

fn view(screen: Screen) -> View {
    View {
        screen,
        sensor: SensorView {
            link: LinkView::There,
            battery_percent: Some(80),
            battery_low: false,
        },
        forearm: None,
        done_of: [2, 9],
        weights: true,
        heard: Some(true),
        simulated: true,
    }
}

fn paused(why: Stopped, provokes: bool) -> Screen {
    Screen::Paused {
        why,
        weight: true,
        provokes,
        enough: true,
    }
}

fn timed(heading: &str, drawing: &str, left_s: Option<f64>) -> Screen {
    Screen::Timed {
        heading: heading.to_owned(),
        words: "Put any weight down first. In your own time, as it was shown to you; a comfortable pull, never into pain, no bouncing. Any new tingling or numbness ends it.".to_owned(),
        drawing: drawing.to_owned(),
        side: None,
        lasts_s: 60.0,
        left_s,
        time_of: [2, 3],
        tingling: false,
        hold: None,
        position: None,
    }
}

#[test]
fn every_way_to_pause_is_told() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    for (name, why, provokes) in [
        ("paused-posture", Stopped::LeftPosture, false),
        ("paused-sensor", Stopped::Sensor, false),
        ("paused-asleep", Stopped::Asleep, true),
    ] {
        shown.looks(name, view(paused(why, provokes)));
    }
    // Whoever does not hear reads all of it, too.
    shown.looks(
        "paused-unheard",
        View {
            heard: Some(false),
            ..view(paused(Stopped::Still, false))
        },
    );
    let sides = vec![Side::Left, Side::Right];
    shown.looks(
        "hurt-two-hands",
        view(Screen::Hurt {
            sides: sides.clone(),
        }),
    );
    let when = When::During;
    shown.looks("symptoms-during", view(Screen::Symptoms { when, sides }));
    shown.looks(
        "rest-good-place",
        view(Screen::Rest {
            left_s: 42.0,
            done: Some([5, 8]),
            good_place: true,
            next: "Bend to the little-finger side".to_owned(),
            weight: true,
        }),
    );
}

#[test]
fn every_trouble_with_the_sensor_is_told() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    for (link, words) in [
        (LinkView::Looking, "Is it switched on and near?"),
        (LinkView::Stalled, "Switch it off and on."),
        (LinkView::Lost, "Bring it nearer."),
        (LinkView::Gone, "then start the program again"),
    ] {
        let place = view(Screen::Place {
            side: Side::Left,
            change: true,
        });
        let sensor = SensorView {
            link,
            battery_percent: None,
            battery_low: false,
        };
        shown.looks(&format!("place-{link:?}"), View { sensor, ..place });
        let state = || {
            let text = shown
                .browser
                .is("document.querySelector('.state').innerText");
            text.as_str().unwrap().to_owned()
        };
        assert!(state().contains(words), "{link:?}: {}", state());
        shown.browser.press("It is on");
        assert!(state().contains("has to be found first"), "{}", state());
    }
    let sensor = SensorView {
        link: LinkView::There,
        battery_percent: Some(9),
        battery_low: true,
    };
    let place = view(Screen::Place {
        side: Side::Right,
        change: false,
    });
    shown.looks("place-battery", View { sensor, ..place });
    let low = view(Screen::Intro(sets::exercise()));
    shown.looks("intro-battery", View { sensor, ..low });
    let movement = Movement::WristExtension;
    shown.looks(
        "calibrate-wrong",
        view(Screen::Calibrate {
            side: Side::Right,
            movement,
            posture: movement.usual_posture(),
            move_now: false,
            wrong: Some(
                CalibrationFault::TooSmall {
                    travel_deg: 11.0,
                    needed_deg: 15.0,
                }
                .to_string(),
            ),
            without: true,
        }),
    );
    // Both ways out are within reach without scrolling, and are told.
    for (button, press) in [
        ("Go on without this", Press::GoOn),
        ("It hurts", Press::Pause),
    ] {
        let low = format!(
            "[...document.querySelectorAll('main button')].find(b => b.innerText === '{button}').getBoundingClientRect().bottom <= innerHeight"
        );
        assert_eq!(shown.browser.is(&low).as_bool(), Some(true), "{button}");
        shown.browser.press(button);
        let told = shown.pressed.recv_timeout(Duration::from_secs(5));
        assert_eq!(told.as_ref(), Ok(&press));
    }
    shown.looks(
        "wearing-looser",
        view(Screen::Wearing {
            side: Side::Left,
            looser: true,
        }),
    );
}

/// A second sensor, where it goes and how it stands.
#[test]
fn a_second_sensor_is_put_on_shown_and_done_without() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    let sensor = |link, battery_percent| SensorView {
        link,
        battery_percent: Some(battery_percent),
        battery_low: battery_percent <= 15,
    };
    let both = |screen, link, battery_percent| View {
        forearm: Some(sensor(link, battery_percent)),
        ..view(screen)
    };
    let place = |side, change| Screen::Place { side, change };
    let is = |browser: &Browser, asked: &str| {
        let seen = browser.is(asked);
        seen.as_bool().unwrap()
    };
    let alone = "[...document.querySelectorAll('main .row button')].some(b => b.innerText.includes('hand sensor alone') && !b.hidden)";
    for (side, link, words) in [
        (
            Side::Right,
            LinkView::Looking,
            "Looking for the forearm sensor",
        ),
        (
            Side::Left,
            LinkView::Lost,
            "The forearm sensor is out of reach",
        ),
        (
            Side::Left,
            LinkView::Stalled,
            "connected, but nothing comes",
        ),
    ] {
        let screen = place(side, link != LinkView::Looking);
        shown.looks(&format!("place-both-{link:?}"), both(screen, link, 70));
        let text = shown.browser.is("document.querySelector('main').innerText");
        let text = text.as_str().unwrap();
        for words in [words, "two fingers' breadth above the wrist"] {
            assert!(text.contains(words), "{words}: {text}");
        }
        assert!(is(&shown.browser, alone), "{link:?}");
        shown.browser.press("Both are on");
        let text = shown.browser.is("document.querySelector('main').innerText");
        assert!(text.as_str().unwrap().contains("have to be found first"));
    }
    shown.looks(
        "place-both-there",
        both(place(Side::Right, false), LinkView::There, 9),
    );
    assert!(!is(&shown.browser, alone), "nobody has to go without");
    let main =
        "document.querySelector('main button.main').getAttribute('aria-disabled') === 'false'";
    assert!(is(&shown.browser, main));
    for (name, link) in [("there", LinkView::There), ("lost", LinkView::Lost)] {
        let working = both(Screen::Intro(sets::exercise()), link, 70);
        shown.looks(&format!("intro-both-{name}"), working);
        let top = shown.browser.is("document.querySelector('#top').innerText");
        let top = top.as_str().unwrap();
        let words = if link == LinkView::There {
            "found"
        } else {
            "lost"
        };
        assert!(top.contains("Sensor found, battery 80 %"), "{top}");
        let forearm = format!("Forearm sensor {words}, battery 70 %");
        assert!(top.contains(&forearm), "{top}");
    }
    let movement = Movement::WristExtension;
    for move_now in [false, true] {
        let screen = Screen::Calibrate {
            side: Side::Right,
            movement,
            posture: movement.usual_posture(),
            move_now,
            wrong: None,
            without: false,
        };
        let name = format!("calibrate-both-{move_now}");
        shown.looks(&name, both(screen, LinkView::There, 70));
    }
    for looser in [false, true] {
        let side = Side::Right;
        let name = format!("wearing-both-{looser}");
        let screen = Screen::Wearing { side, looser };
        shown.looks(&name, both(screen, LinkView::There, 70));
    }
}

#[test]
fn what_goes_by_the_clock_is_led() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    let mut glides = timed("Tendon glides", "tendon-glides", Some(31.0));
    if let Screen::Timed { position, .. } = &mut glides {
        *position = Some(GlidePosition::WideOpen.words());
    }
    shown.looks("timed-glides", view(glides));
    let mut let_go = timed("Hand bent back", "bend-back", Some(11.0));
    if let Screen::Timed { hold, side, .. } = &mut let_go {
        *hold = Some(HoldView {
            steady: false,
            away_deg: 14.0,
        });
        *side = Some(Side::Left);
    }
    shown.looks("timed-let-go", view(let_go));
    shown.looks(
        "timed-own-words",
        view(timed("As your clinician says", "own-words", None)),
    );
    shown.looks("timed-shaking", view(timed("Shaking out", "shaking", None)));
}

#[test]
fn the_first_and_the_last_screen_are_looked_at_with_all_that_they_may_hold() {
    let Some(mut shown) = Shown::opened() else {
        return;
    };
    shown.looks(
        "welcome-unfinished",
        view(Screen::Welcome {
            title: "An invented routine".to_owned(),
            unfinished: true,
            questions: true,
            clinic: true,
        }),
    );
    shown.looks(
        "ask-first",
        view(Screen::AskFirst {
            contact: Some("the practice, by telephone".to_owned()),
        }),
    );
    for (worked, heading) in [(true, "Well done"), (false, "Thank you")] {
        let summary = Screen::Summary {
            worked,
            sentences: vec![
                "You did 14 of 16 repetitions today.".to_owned(),
                "2 of 14 lowerings were quicker than asked.".to_owned(),
                "Your range was about the same as last time.".to_owned(),
            ],
            next: Some("Thursday".to_owned()),
            clinic: true,
        };
        shown.looks(&format!("summary-{worked}"), view(summary));
        let seen = shown.browser.is("document.querySelector('h1').textContent");
        assert_eq!(seen, heading);
    }
}
