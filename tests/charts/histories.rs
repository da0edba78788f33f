//! Values across sessions.

use super::*;

#[test]
fn histories_from_a_day_to_years_have_room() {
    let year: Vec<i64> = (0..400).map(|n| n * 365 / 400).collect();
    let decade: Vec<i64> = (0..60).map(|n| n * 61).collect();
    let cases: [&[i64]; 8] = [
        &[0],
        &[0, 0],
        &[0, 1],
        &[0, 0, 0, 30],
        &FOUR_WEEKS,
        &PAUSED,
        &year,
        &decade,
    ];
    for first in [
        date(2026, 3, 2),
        date(2024, 2, 28),
        date(2025, 12, 31),
        date(2026, 1, 30),
    ] {
        for days in cases {
            let what = format!("{} sessions from {first}", days.len());
            assert_good(&ranges(first, days, days), &what);
            assert_good(&ranges(first, &days[..1], days), &what);
            assert_good(&lowering(first, days), &what);
            assert_good(&done(first, days), &what);
        }
    }
}

#[test]
fn hands_with_targets_of_their_own_have_a_line_each() {
    let mut chart = ranges(date(2026, 3, 2), &PAUSED, &PAUSED);
    chart.kind = RangeKind::Reach;
    for (series, target_deg) in chart.series.iter_mut().zip([60.0, 45.0]) {
        series.target_deg = Some(target_deg);
    }
    let drawn = assert_good(&chart, "own targets");
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    for expected in [
        "target left 60°",
        "target right 45°",
        "extension reached, degrees from neutral",
    ] {
        assert!(texts.contains(&expected), "{expected:?} in {texts:?}");
    }
}

#[test]
fn the_range_history_names_sides_target_and_error() {
    let drawn = assert_good(&ranges(date(2026, 3, 2), &PAUSED, &PAUSED), "paused");
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    for expected in [
        "target 60°",
        "asked 45–55°",
        "19 days apart",
        "Open diamond: a session without a value.",
        "2 Mar 2026",
    ] {
        assert!(
            texts.contains(&expected),
            "{expected:?} is missing in {texts:?}"
        );
    }
    assert!(texts.iter().any(|t| t.starts_with("left 6")));
    assert!(texts.iter().any(|t| t.starts_with("right 5")));
    assert!(texts.concat().contains("first value ± 8°"));
}
