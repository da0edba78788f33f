//! Pictures to look at.

use super::*;

/// Writes examples to look at: `CHARTS_OUT=folder cargo test --test charts -- --ignored`.
#[test]
#[ignore = "writes pictures to look at into the folder named by CHARTS_OUT"]
fn gallery() {
    let out =
        std::path::PathBuf::from(std::env::var("CHARTS_OUT").expect("CHARTS_OUT names a folder"));
    fn save<C: Chart>(out: &std::path::Path, name: &str, chart: &C) {
        let drawn = picture(chart, chart.size()).unwrap();
        std::fs::write(out.join(format!("{name}.svg")), drawn.svg().unwrap()).unwrap();
        std::fs::write(out.join(format!("{name}.png")), drawn.png().unwrap()).unwrap();
    }
    let start = date(2026, 3, 2);
    save(&out, "angle-plain", &invented_set(8, 62.0, -22.0, 44.0));
    save(&out, "angle-rich", &rich_set());
    save(&out, "angle-one", &invented_set(1, 8.0, 0.0, 50.0));
    save(&out, "angle-sixty", &invented_set(60, 420.0, -15.0, 40.0));
    save(&out, "angle-long", &invented_set(20, 1200.0, 0.0, 40.0));
    let mut none = invented_set(0, 12.0, -3.0, 0.0);
    none.title = "A very long title that goes on about the movement, the hand, the load, the posture, the set and the day, and then some more, to see whether it wraps".to_owned();
    save(&out, "angle-none", &none);
    save(&out, "tempo", &three_sets());
    save(
        &out,
        "tempo-one",
        &tempo(vec![tempo_set("Set 1", 12, 3.4, 0.4)]),
    );
    save(
        &out,
        "tempo-many",
        &tempo(
            (1..=7)
                .map(|n| tempo_set(&format!("Set {n}"), 15 + n, 4.0, 0.4))
                .collect(),
        ),
    );
    save(
        &out,
        "tempo-sixty",
        &tempo(vec![
            tempo_set("Set 1", 60, 5.0, 0.5),
            tempo_set("Set 2", 45, 4.0, 0.3),
        ]),
    );
    let mut slow = tempo_set("Long lowerings", 8, 6.6, -0.3);
    slow.repetitions[4].duration_s = Some(41.0);
    slow.repetitions[4].verdict = Some(TempoVerdict::Slower);
    let mut free = tempo_set("As fast as possible", 8, 0.9, 0.2);
    free.band = None;
    for repetition in &mut free.repetitions {
        repetition.verdict = None;
    }
    save(&out, "tempo-free", &tempo(vec![free.clone()]));
    save(&out, "tempo-slow", &tempo(vec![slow, free]));
    let mut unnamed = invented_set(8, 62.0, -12.0, 44.0);
    unnamed.movement = None;
    unnamed.zero = Some(Zero::StillStart);
    unnamed.repetitions.pop();
    save(&out, "angle-unnamed", &unnamed);
    save(&out, "range", &ranges(start, &FOUR_WEEKS, &FOUR_WEEKS));
    save(&out, "range-paused", &ranges(start, &PAUSED[..5], &PAUSED));
    save(&out, "range-one", &ranges(start, &[0], &[0]));
    let year: Vec<i64> = (0..400).map(|n| n * 365 / 400).collect();
    save(&out, "range-year", &ranges(start, &year[..250], &year));
    save(&out, "lowering", &lowering(start, &FOUR_WEEKS));
    save(&out, "done", &done(start, &FOUR_WEEKS));
    save(&out, "agreement", &agreement::agreement(6, 9, 0.1));
    save(&out, "agreement-two", &agreement::agreement(2, 3, 0.1));
    save(&out, "agreement-one", &agreement::agreement(1, 9, 0.1));
    save(&out, "done-year", &done(start, &year));
    let small = Size {
        width_px: 480,
        height_px: 360,
    };
    let narrow = picture(&rich_set(), small).unwrap();
    std::fs::write(out.join("angle-small.png"), narrow.png().unwrap()).unwrap();
    let narrow = picture(&three_sets(), small).unwrap();
    std::fs::write(out.join("tempo-small.png"), narrow.png().unwrap()).unwrap();
    let narrow = picture(&ranges(start, &FOUR_WEEKS, &FOUR_WEEKS), small).unwrap();
    std::fs::write(out.join("range-small.png"), narrow.png().unwrap()).unwrap();
}
