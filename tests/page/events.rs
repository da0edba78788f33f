//! What a window is told.

use std::time::{Duration, Instant};

use carpotempo::session::guided::line::Line;
use carpotempo::session::guided::view::Screen;

use super::client::{Events, served, view};

#[test]
fn a_window_sees_at_once_what_is_shown_and_a_second_one_the_same() {
    let mut served = served();
    served.page.show(view());
    let mut one = Events::open(served.port, &served.cookie);
    let seen = one.next_of("view");
    assert_eq!(seen["screen"]["screen"], "welcome");
    assert_eq!(seen["simulated"], true);
    let mut other = Events::open(served.port, &served.cookie);
    assert_eq!(other.next_of("view"), seen);
    let mut later = view();
    later.screen = Screen::Night;
    served.page.show(later);
    for window in [&mut one, &mut other] {
        assert_eq!(window.next_of("view")["screen"]["screen"], "night");
    }
}

#[test]
fn the_same_screen_comes_no_more_often_than_a_screen_draws_and_the_last_one_comes() {
    let mut served = served();
    served.page.show(view());
    let mut window = Events::open(served.port, &served.cookie);
    window.next_of("view");
    let begun = Instant::now();
    let last = 300;
    let shown = std::thread::spawn(move || {
        for number in 1..=last {
            let mut next = view();
            next.done_of = [number, last];
            served.page.show(next);
            std::thread::sleep(Duration::from_millis(4));
        }
        served
    });
    let mut count = 0;
    while window.next_of("view")["done_of"][0] != last {
        count += 1;
    }
    let most = 1.0 + begun.elapsed().as_secs_f64() / 0.015;
    assert!(f64::from(count) <= most, "{count} in {:?}", begun.elapsed());
    assert!(count >= 5, "{count}");
    drop(shown.join().unwrap());
}

#[test]
fn lines_come_in_order_with_their_kind_and_the_end_is_told() {
    let mut served = served();
    served.page.show(view());
    let mut window = Events::open(served.port, &served.cookie);
    window.next_of("view");
    let second = Line::Second {
        word: "down",
        number: 1,
    };
    for line in [Line::Ready, second, Line::Count(3)] {
        served.page.say(&line);
    }
    let told: Vec<String> = (0..3).map(|_| window.next_of("line").to_string()).collect();
    assert_eq!(
        told,
        [
            r#"{"id":1,"kind":"other","words":"Ready. Begin when you like."}"#,
            r#"{"id":2,"kind":"second","words":"down"}"#,
            r#"{"id":3,"kind":"count","words":"3"}"#,
        ]
    );
    drop(served);
    window.next_of("over");
    assert!(window.next().is_none(), "the connection ends");
}
