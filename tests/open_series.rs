//! The open series, counted, against counts made by eye before the segmenter ran on them.
//!
//! Source: Burns et al., Physiol Meas 39:075007, 2018, data of PyPI seglearn 1.2.5;
//! tests/open_series/README.md tells how they are exported and how they were counted.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test stops at the first surprise and says why it did nothing"
)]

#[path = "bench/by_eye.rs"]
mod by_eye;

use by_eye::{Tally, tallies};

/// Floors just under what is measured (README.md); the goals are 97 % exact and 100 % within one of
/// the hundred, 92 % and 99 % of all.
const OF_HUNDRED: Floor = Floor {
    exact_percent: 97.0,
    within_one_percent: 100.0,
};
const OF_ALL: Floor = Floor {
    exact_percent: 93.5,
    within_one_percent: 99.0,
};

struct Floor {
    exact_percent: f64,
    within_one_percent: f64,
}

fn holds(name: &str, tally: &Tally, floor: &Floor) {
    println!("{name}: {tally}");
    assert!(
        tally.exact_percent() >= floor.exact_percent,
        "{name}: {tally}"
    );
    assert!(
        tally.within_one_percent() >= floor.within_one_percent,
        "{name}: {tally}"
    );
}

#[test]
fn the_open_series_are_counted_as_the_eye_counted_them() {
    let Some([hundred, all]) = tallies(&mut |_| {}) else {
        println!("not checked: CARPOTEMPO_OPEN_SERIES does not name the exported series");
        assert!(
            std::env::var("CI").as_deref() != Ok("true"),
            "the open series are absent under CI"
        );
        return;
    };
    assert_eq!((hundred.series, all.series), (100, 140));
    holds("without PEN and ROW", &hundred, &OF_HUNDRED);
    holds("all", &all, &OF_ALL);
}
