//! Drawings from invented numbers: structure, room, legibility and refusal, not bytes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a failed check may stop the test"
)]

use carpotempo::chart::palette::{self, Color};
use carpotempo::chart::*;
use carpotempo::movement::{Movement, MovingPhase, Side};
use jiff::ToSpan;
use jiff::civil::{Date, date};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// A number in 0..1 that looks random and is always the same.
fn wobble(n: usize) -> f64 {
    let x = (n as f64 + 1.0) * 12.9898;
    (x.sin() * 43_758.545_3).rem_euclid(1.0)
}

/// Raised cosine from 0 to 1.
fn rise(share: f64) -> f64 {
    0.5 - 0.5 * (share.clamp(0.0, 1.0) * std::f64::consts::PI).cos()
}

/// An invented set: `count` repetitions filling `length_s`, from `start_deg` to about `top_deg`.
fn invented_set(count: usize, length_s: f64, start_deg: f64, top_deg: f64) -> AngleChart {
    let each = length_s / (count as f64 + 0.3);
    let mut repetitions = Vec::new();
    let mut tops = Vec::new();
    for n in 0..count {
        let a = each * (n as f64 + 0.25);
        let tired = 1.0 - 0.25 * n as f64 / count as f64;
        let lower = each * 0.45 * tired * (0.9 + 0.2 * wobble(n));
        let (lift, hold) = (each * 0.2, each * 0.12);
        repetitions.push(RepetitionMark {
            lift_start_s: a,
            lift_end_s: a + lift,
            lower_start_s: a + lift + hold,
            lower_end_s: a + lift + hold + lower,
            doubts: Vec::new(),
        });
        tops.push(
            start_deg + (top_deg - start_deg) * (0.9 + 0.1 * wobble(n + 7)) * (0.8 + 0.2 * tired),
        );
    }
    let samples = (length_s * 50.0) as usize;
    let trace = (0..=samples)
        .map(|n| {
            let t_s = n as f64 / 50.0;
            let mut angle_deg = start_deg + 0.8 * (t_s * 1.3).sin();
            for (r, top) in repetitions.iter().zip(&tops) {
                if t_s >= r.lift_start_s && t_s <= r.lower_end_s {
                    let up = rise((t_s - r.lift_start_s) / (r.lift_end_s - r.lift_start_s));
                    let down = rise((t_s - r.lower_start_s) / (r.lower_end_s - r.lower_start_s));
                    let sag = 2.0 * rise((t_s - r.lift_end_s) / (r.lower_start_s - r.lift_end_s));
                    angle_deg = start_deg + (top - start_deg - sag * up) * (up - down);
                }
            }
            TracePoint {
                t_s,
                angle_deg,
                uncertainty_deg: None,
            }
        })
        .collect();
    AngleChart {
        title: "Wrist extension, right, set 2 of 3".to_owned(),
        subtitle:
            "Right hand, 1.5 kg, asked 4-0-2-1: four seconds down, two up, one held. Invented data."
                .to_owned(),
        movement: Movement::WristExtension,
        timed: MovingPhase::Lower,
        trace,
        repetitions,
        gaps: Vec::new(),
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: vec![
            "One sensor on the hand: the angle is the hand against its own neutral pose."
                .to_owned(),
        ],
    }
}

fn rich_set() -> AngleChart {
    let mut chart = invented_set(8, 62.0, -22.0, 44.0);
    chart.band = Some(RangeBand {
        low_deg: 30.0,
        high_deg: 45.0,
    });
    chart.ceiling_deg = Some(55.0);
    chart.repetitions[4].doubts = vec!["gap".to_owned()];
    chart.repetitions[6].doubts = vec!["forearm moved".to_owned()];
    let gap = Stretch {
        start_s: chart.repetitions[4].lower_start_s + 0.4,
        end_s: chart.repetitions[4].lower_start_s + 2.9,
    };
    chart
        .trace
        .retain(|p| p.t_s <= gap.start_s || p.t_s >= gap.end_s);
    chart.gaps = vec![gap];
    for point in &mut chart.trace {
        point.uncertainty_deg = Some(1.5 + 0.03 * point.t_s);
    }
    chart.uncertainty_note = Some("the angle lies within, 19 times in 20".to_owned());
    chart
}

fn tempo_set(label: &str, count: usize, mean_s: f64, fade: f64) -> TempoSet {
    let band = TempoBand {
        low_s: 3.0,
        high_s: 6.0,
        prescribed_s: 4.0,
    };
    let repetitions = (0..count)
        .map(|n| {
            let time_s =
                mean_s * (1.0 - fade * n as f64 / count as f64) * (0.8 + 0.45 * wobble(n + count));
            TempoRepetition {
                duration_s: Some(time_s),
                verdict: Some(if time_s < band.low_s {
                    TempoVerdict::Hurried
                } else if time_s > band.high_s {
                    TempoVerdict::Slower
                } else {
                    TempoVerdict::InBand
                }),
                doubtful: n % 7 == 5,
            }
        })
        .collect();
    TempoSet {
        label: label.to_owned(),
        band: Some(band),
        repetitions,
    }
}

fn tempo(sets: Vec<TempoSet>) -> TempoChart {
    TempoChart {
        title: "Lowering time, wrist extension, right".to_owned(),
        subtitle: "3 sets on 12 March 2026, 1.5 kg. Invented data.".to_owned(),
        phase: MovingPhase::Lower,
        sets,
        notes: vec!["Band: 0.75 to 1.5 of the prescribed time.".to_owned()],
    }
}

fn three_sets() -> TempoChart {
    tempo(vec![
        tempo_set("Set 1", 10, 4.6, 0.1),
        tempo_set("Set 2", 10, 5.0, 0.3),
        tempo_set("Set 3", 9, 4.2, 0.5),
    ])
}

fn range_sessions(first: Date, days: &[i64], from: f64, to: f64, seed: usize) -> Vec<RangeSession> {
    days.iter()
        .enumerate()
        .map(|(n, day)| {
            let share = n as f64 / days.len() as f64;
            let middle = from + (to - from) * share + 3.0 * (wobble(n + seed) - 0.5);
            let known = !(n + seed).is_multiple_of(11);
            RangeSession {
                date: first.checked_add(day.days()).unwrap(),
                median_deg: known.then_some(middle),
                low_deg: known.then_some(middle - 2.0 - 2.0 * wobble(n)),
                high_deg: known.then_some(middle + 1.5 + 2.0 * wobble(n + 3)),
            }
        })
        .collect()
}

fn ranges(first: Date, left: &[i64], right: &[i64]) -> RangeHistoryChart {
    RangeHistoryChart {
        title: "Wrist extension: range in weighted repetitions".to_owned(),
        subtitle: "Both hands, forearm rested, palm down. Invented data.".to_owned(),
        movement: Movement::WristExtension,
        series: vec![
            RangeSeries {
                label: String::new(),
                side: Some(Side::Left),
                sessions: range_sessions(first, left, 61.0, 64.0, 2),
                error: None,
            },
            RangeSeries {
                label: String::new(),
                side: Some(Side::Right),
                sessions: range_sessions(first, right, 41.0, 57.0, 5),
                error: Some(ErrorBand {
                    half_width_deg: 8.0,
                    label: "first value ± 8°, a borrowed error".to_owned(),
                }),
            },
        ],
        target_deg: Some(60.0),
        band: Some(RangeBand {
            low_deg: 45.0,
            high_deg: 55.0,
        }),
        gap_days: 10,
        spread_note: Some("middle half of the session's repetitions".to_owned()),
        notes: Vec::new(),
    }
}

const FOUR_WEEKS: [i64; 13] = [0, 2, 4, 4, 7, 9, 11, 14, 16, 18, 21, 25, 27];
const PAUSED: [i64; 14] = [0, 2, 4, 7, 9, 11, 14, 33, 35, 37, 40, 42, 44, 47];

fn lowering(first: Date, days: &[i64]) -> LoweringHistoryChart {
    let sessions = days
        .iter()
        .enumerate()
        .map(|(n, day)| {
            let middle = 2.4 + 1.6 * n as f64 / days.len() as f64 + 0.5 * wobble(n);
            LoweringSession {
                date: first.checked_add(day.days()).unwrap(),
                median_s: Some(middle),
                low_s: Some(middle - 0.4),
                high_s: Some(middle + 0.5),
            }
        })
        .collect();
    LoweringHistoryChart {
        title: "Lowering time, wrist extension".to_owned(),
        subtitle: "Right hand. Invented data.".to_owned(),
        phase: MovingPhase::Lower,
        series: vec![LoweringSeries {
            label: String::new(),
            side: Some(Side::Right),
            sessions,
        }],
        band: Some(TempoBand {
            low_s: 3.0,
            high_s: 6.0,
            prescribed_s: 4.0,
        }),
        gap_days: 10,
        spread_note: Some("middle half of the session's repetitions".to_owned()),
        notes: Vec::new(),
    }
}

fn done(first: Date, days: &[i64]) -> DoneChart {
    DoneChart {
        title: "Repetitions done of prescribed".to_owned(),
        subtitle: "Wrist extension, right hand. Invented data.".to_owned(),
        sessions: days
            .iter()
            .enumerate()
            .map(|(n, day)| DoneSession {
                date: first.checked_add(day.days()).unwrap(),
                done_count: [30, 24, 30, 30, 0, 30, 33, 28][n % 8],
                prescribed_count: (n != 8).then_some(30),
                load_kg: Some(1.0 + 0.25 * (5 * n / days.len()) as f64),
            })
            .collect(),
        notes: Vec::new(),
    }
}

/// Every text lies on the drawing, off every other text and off the marks.
fn assert_room(picture: &Picture, size: Size, what: &str) {
    let texts = picture.texts();
    for (index, text) in texts.iter().enumerate() {
        let a = text.area;
        assert!(
            a.left_px >= 0.0
                && a.top_px >= 0.0
                && a.right_px <= f64::from(size.width_px)
                && a.bottom_px <= f64::from(size.height_px),
            "{what}: {:?} leaves the drawing: {a:?}",
            text.text
        );
        for other in &texts[index + 1..] {
            assert!(
                !a.overlaps(&other.area),
                "{what}: {:?} {a:?} overlaps {:?} {:?}",
                text.text,
                other.text,
                other.area
            );
        }
        for mark in picture.claimed() {
            assert!(!a.overlaps(mark), "{what}: {:?} covers a mark", text.text);
        }
        let contrast = text.color.contrast_ratio(palette::WHITE);
        assert!(
            contrast >= 4.5,
            "{what}: {:?} has contrast {contrast}",
            text.text
        );
        assert!(
            !text.text.contains(['-', '−']) || text.text.contains(' '),
            "{what}: {:?} looks negative",
            text.text
        );
    }
}

fn assert_good<C: Chart>(chart: &C, what: &str) -> Picture {
    let own = picture(chart, chart.size()).unwrap_or_else(|e| panic!("{what}: {e}"));
    assert_room(&own, chart.size(), what);
    for (width_px, height_px) in [(480, 360), (700, 420), (1600, 900)] {
        let size = Size {
            width_px,
            height_px,
        };
        let drawn = picture(chart, size).unwrap();
        assert_room(&drawn, size, &format!("{what} at {width_px} x {height_px}"));
    }
    own
}

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
    save(&out, "range", &ranges(start, &FOUR_WEEKS, &FOUR_WEEKS));
    save(&out, "range-paused", &ranges(start, &PAUSED[..5], &PAUSED));
    save(&out, "range-one", &ranges(start, &[0], &[0]));
    let year: Vec<i64> = (0..400).map(|n| n * 365 / 400).collect();
    save(&out, "range-year", &ranges(start, &year[..250], &year));
    save(&out, "lowering", &lowering(start, &FOUR_WEEKS));
    save(&out, "done", &done(start, &FOUR_WEEKS));
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

#[test]
fn invented_sets_of_every_length_have_room_for_their_words() {
    for (count, length_s) in [
        (1, 5.0),
        (3, 20.0),
        (8, 62.0),
        (15, 90.0),
        (30, 240.0),
        (60, 300.0),
        (60, 1200.0),
        (2, 1200.0),
    ] {
        for (start, top) in [
            (0.0, 40.0),
            (-22.0, 44.0),
            (-70.0, 90.0),
            (5.0, 20.0),
            (-60.0, -8.0),
        ] {
            let mut chart = invented_set(count, length_s, start, top);
            assert_good(
                &chart,
                &format!("{count} in {length_s} s from {start} to {top}"),
            );
            chart.band = Some(RangeBand {
                low_deg: start + 2.0,
                high_deg: top,
            });
            chart.ceiling_deg = Some(top + 3.0);
            chart.movement = Movement::RadialDeviation;
            assert_good(&chart, &format!("{count} in {length_s} s with a band"));
        }
    }
    assert_good(&rich_set(), "the rich set");
}

#[test]
fn the_angle_chart_names_directions_phases_and_doubts() {
    let drawn = assert_good(&rich_set(), "the rich set");
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    for expected in [
        "1",
        "8",
        "5?",
        "7?",
        "lift",
        "hold",
        "lower",
        "rest",
        "neutral",
        "not beyond 55°",
        "asked 30–45°",
        "flexion 22°",
        "flexion ↓",
        "lowering, s",
        "time, s",
        "Hatched: no data, 2.5 s in all.",
        "? in doubt: 5 (gap); 7 (forearm moved).",
    ] {
        assert!(
            texts.contains(&expected),
            "{expected:?} is missing in {texts:?}"
        );
    }
    assert!(texts.iter().any(|t| t.starts_with("extension 4")));
}

#[test]
fn a_level_below_the_own_neutral_is_a_word_and_a_positive_number() {
    let mut chart = invented_set(4, 30.0, -40.0, -5.0);
    chart.ceiling_deg = Some(-2.0);
    chart.band = Some(RangeBand {
        low_deg: -12.0,
        high_deg: -4.0,
    });
    let drawn = assert_good(&chart, "below neutral");
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    assert!(texts.contains(&"not beyond flexion 2°"), "{texts:?}");
    assert!(texts.contains(&"flexion 40°"), "{texts:?}");
    assert!(
        texts.iter().any(|t| t.starts_with("asked flexion 12°")),
        "{texts:?}"
    );
}

#[test]
fn no_repetitions_is_a_drawing_that_says_so() {
    let mut chart = invented_set(0, 12.0, 0.0, 0.0);
    let says = |chart: &AngleChart| {
        let drawn = assert_good(chart, "no repetitions");
        assert!(
            drawn
                .texts()
                .iter()
                .any(|t| t.text.contains("no repetitions"))
        );
        assert!(drawn.description().contains("no repetitions"));
    };
    says(&chart);
    chart.trace.truncate(1);
    says(&chart);
    chart.trace.clear();
    says(&chart);
    let empty = tempo(Vec::new());
    let drawn = assert_good(&empty, "no sets");
    assert!(drawn.texts().iter().any(|t| t.text == "no repetitions"));
    let mut ranges = ranges(date(2026, 3, 2), &[], &[]);
    let says = |chart: &RangeHistoryChart| {
        let drawn = assert_good(chart, "no sessions");
        assert!(drawn.texts().iter().any(|t| t.text == "no sessions"));
    };
    says(&ranges);
    ranges.series.clear();
    says(&ranges);
    assert_good(&done(date(2026, 3, 2), &[]), "nothing done");
}

#[test]
fn tempo_sets_of_every_number_have_room() {
    for sets in [1, 2, 3, 4, 5, 8, 13] {
        for count in [1, 6, 12, 30, 60] {
            let all = (1..=sets)
                .map(|n| tempo_set(&format!("Set {n}"), count, 4.5, 0.5))
                .collect();
            assert_good(&tempo(all), &format!("{sets} sets of {count}"));
        }
    }
}

#[test]
fn hurried_is_a_word_of_its_own_colour_and_slower_is_not() {
    let band = TempoBand {
        low_s: 3.0,
        high_s: 6.0,
        prescribed_s: 4.0,
    };
    let repetition = |duration_s, verdict| TempoRepetition {
        duration_s,
        verdict,
        doubtful: false,
    };
    let set = TempoSet {
        label: "Set 1".to_owned(),
        band: Some(band),
        repetitions: vec![
            repetition(Some(1.9), Some(TempoVerdict::Hurried)),
            repetition(Some(7.2), Some(TempoVerdict::Slower)),
            repetition(Some(4.0), Some(TempoVerdict::InBand)),
            repetition(None, None),
            repetition(Some(90.0), Some(TempoVerdict::Slower)),
            repetition(Some(2.98), Some(TempoVerdict::Hurried)),
        ],
    };
    let drawn = assert_good(&tempo(vec![set]), "verdicts");
    let color = |words: &str| {
        let found = drawn.texts().iter().find(|t| t.text == words);
        found
            .unwrap_or_else(|| panic!("{words:?} is missing: {:?}", drawn.texts()))
            .color
    };
    assert_eq!(color("hurried 1.9"), palette::HURRIED);
    // Not "hurried 3.0" beside a band that starts at 3 s.
    assert_eq!(color("hurried 2.98"), palette::HURRIED);
    assert_eq!(color("slower 7.2"), palette::QUIET);
    assert_eq!(color("slower 90.0"), palette::QUIET);
    assert_eq!(color("4.0"), palette::INK);
    color("not known");
    color("1 not compared");
    color("asked 4 s, band 3–6 s");
}

#[test]
fn a_set_without_a_band_is_drawn_without_one() {
    let mut set = tempo_set("Set 1", 8, 4.0, 0.3);
    set.band = None;
    for repetition in &mut set.repetitions {
        repetition.verdict = None;
    }
    let drawn = assert_good(&tempo(vec![set]), "no band");
    assert!(!drawn.texts().iter().any(|t| t.text.contains("asked")));
}

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

#[test]
fn long_and_strange_words_stay_on_the_drawing() {
    let strange = [
        "x".repeat(400),
        "wrist ".repeat(90),
        "手首の伸展 <script>alert(\"&\")</script>\u{0}\u{7f}\n\tend".to_owned(),
        String::new(),
        " ".to_owned(),
    ];
    for words in strange {
        let mut angle = rich_set();
        angle.title.clone_from(&words);
        angle.subtitle.clone_from(&words);
        angle.notes = vec![words.clone(); 9];
        angle.repetitions[0].doubts = vec![words.clone(); 4];
        let svg = assert_good(&angle, "strange words").svg().unwrap();
        assert!(!svg.contains("<script"));
        assert!(!svg.contains('\u{0}'));
        let mut sets = three_sets();
        sets.title.clone_from(&words);
        sets.sets[1].label.clone_from(&words);
        assert_good(&sets, "strange words");
        let mut range = ranges(date(2026, 3, 2), &FOUR_WEEKS, &FOUR_WEEKS);
        range.title.clone_from(&words);
        range.series[0].label.clone_from(&words);
        range.series[1]
            .error
            .as_mut()
            .unwrap()
            .label
            .clone_from(&words);
        assert_good(&range, "strange words");
    }
}

#[test]
fn numbers_that_cannot_be_shown_are_refused_by_name() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
        let mut chart = rich_set();
        chart.trace[7].angle_deg = bad;
        let message = svg(&chart).unwrap_err().to_string();
        assert!(
            message.contains("angle") && message.contains('7'),
            "{message}"
        );
        let mut chart = rich_set();
        chart.repetitions[2].lower_end_s = bad;
        assert!(svg(&chart).is_err());
        let mut chart = rich_set();
        chart.ceiling_deg = Some(bad);
        assert!(png(&chart).is_err());
        let mut sets = three_sets();
        sets.sets[0].repetitions[3].duration_s = Some(bad);
        assert!(svg(&sets).is_err());
        let mut range = ranges(date(2026, 3, 2), &FOUR_WEEKS, &FOUR_WEEKS);
        range.series[1].sessions[1].median_deg = Some(bad);
        assert!(svg(&range).is_err());
        let mut load = done(date(2026, 3, 2), &FOUR_WEEKS);
        load.sessions[0].load_kg = Some(bad);
        assert!(svg(&load).is_err());
    }
    let mut chart = rich_set();
    chart.trace.swap(3, 4);
    assert_eq!(
        svg(&chart).unwrap_err(),
        ChartError::Order {
            what: "time",
            index: 4
        }
    );
    let small = Size {
        width_px: 100,
        height_px: 80,
    };
    assert!(matches!(
        picture(&rich_set(), small),
        Err(ChartError::Size { .. })
    ));
}

/// Pixels of a PNG, three bytes each, with its width and height.
fn decoded(bytes: &[u8]) -> (Vec<u8>, u32, u32) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (pixels, info.width, info.height)
}

#[test]
fn the_png_is_twice_the_size_and_white_at_its_edges() {
    let chart = rich_set();
    let (pixels, width, height) = decoded(&png(&chart).unwrap());
    assert_eq!(
        (width, height),
        (2 * chart.size().width_px, 2 * chart.size().height_px)
    );
    let at = |x: u32, y: u32| {
        let start = ((y * width + x) * 3) as usize;
        [pixels[start], pixels[start + 1], pixels[start + 2]]
    };
    for x in 0..width {
        assert_eq!(at(x, 0), [255; 3]);
        assert_eq!(at(x, height - 1), [255; 3]);
    }
    let inked = pixels.chunks(3).filter(|p| *p != [255; 3]).count();
    assert!(inked > 20_000, "{inked} pixels are inked");
}

#[test]
fn the_svg_holds_every_text_and_a_view_box_and_nothing_that_clashes() {
    let chart = rich_set();
    let drawn = picture(&chart, chart.size()).unwrap();
    let svg = drawn.svg().unwrap();
    assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"880\" height=\"480\" viewBox=\"0 0 8800 4800\" role=\"img\""));
    assert!(svg.contains(&format!("<title>{}</title>", chart.title)));
    assert!(svg.contains("<desc>Wrist extension. Angle against time over 8 repetitions"));
    for text in drawn.texts() {
        assert!(
            svg.contains(&format!("aria-label=\"{}\"", text.text)),
            "{:?}",
            text.text
        );
    }
    for absent in [
        " id=",
        "<style",
        "<script",
        "<text",
        "font-family",
        "href",
        "url(",
    ] {
        assert!(!svg.contains(absent), "{absent}");
    }
    assert_eq!(
        svg.matches("<path").count() + svg.matches("<circle").count(),
        svg.matches("/>").count()
    );
}

#[test]
fn one_drawing_gives_both_outputs_and_always_the_same() {
    let (a, b) = (rich_set(), rich_set());
    assert_eq!(svg(&a).unwrap(), svg(&b).unwrap());
    assert_eq!(png(&a).unwrap(), png(&b).unwrap());
    let drawn = picture(&a, a.size()).unwrap();
    assert_eq!(drawn.svg().unwrap(), svg(&a).unwrap());
    assert_eq!(drawn.png().unwrap(), png(&a).unwrap());
}

#[test]
fn the_drawing_function_takes_any_plotters_backend() {
    use plotters::prelude::{IntoDrawingArea, SVGBackend};
    let chart = three_sets();
    let mut foreign = String::new();
    let texts = {
        let step = GRID.unsigned_abs();
        let Size {
            width_px,
            height_px,
        } = chart.size();
        let backend = SVGBackend::with_string(&mut foreign, (width_px * step, height_px * step));
        let area = backend.into_drawing_area();
        let texts = draw(&chart, &area).unwrap();
        area.present().unwrap();
        texts
    };
    let own = picture(&chart, chart.size()).unwrap();
    assert_eq!(texts, own.texts());
    for text in &texts {
        assert!(foreign.contains(&text.text), "{:?}", text.text);
    }
}

#[test]
fn twenty_minutes_weigh_little() {
    let mut chart = invented_set(20, 1200.0, 0.0, 40.0);
    let step = 1.0 / 104.0;
    chart.trace = (0..124_800)
        .map(|n| TracePoint {
            t_s: f64::from(n) * step,
            angle_deg: 20.0 + 20.0 * (f64::from(n) * step).sin() + wobble(n as usize),
            uncertainty_deg: Some(2.0),
        })
        .collect();
    let bytes = svg(&chart).unwrap().len();
    assert!(bytes < 400_000, "{bytes} bytes");
}

/// Source of the formula and of 4.5:1 for text, 3:1 for marks: Web Content Accessibility
/// Guidelines 2.2, W3C 2023, success criteria 1.4.3 and 1.4.11.
#[test]
fn texts_and_marks_stand_out_from_the_paper() {
    let white = palette::WHITE;
    let black = Color { rgb: (0, 0, 0) };
    assert!((white.contrast_ratio(black) - 21.0).abs() < 1e-9);
    // The lightest grey that passes 4.5:1 on white is #767676 (same source, technique G18).
    let grey = Color {
        rgb: (0x76, 0x76, 0x76),
    };
    assert!(grey.contrast_ratio(white) >= 4.5);
    let lighter = Color {
        rgb: (0x77, 0x77, 0x77),
    };
    assert!(lighter.contrast_ratio(white) < 4.5);
    for text in [
        palette::INK,
        palette::QUIET,
        palette::HURRIED,
        palette::LOWER,
        palette::LEFT,
        palette::RIGHT,
    ] {
        assert!(text.contrast_ratio(white) >= 4.5, "{text:?}");
    }
    for mark in [palette::LIFT, palette::REST, palette::AXIS] {
        assert!(
            mark.contrast_ratio(white) >= 3.0,
            "{mark:?} {}",
            mark.contrast_ratio(white)
        );
    }
}

/// What must be told apart differs in lightness, so that a grey print keeps it (common practice,
/// no source for the figure of 1.6).
#[test]
fn what_must_be_told_apart_differs_in_lightness() {
    for (a, b) in [
        (palette::LIFT, palette::LOWER),
        (palette::HOLD, palette::LIFT),
        (palette::HOLD, palette::LOWER),
        (palette::IN_BAND, palette::HURRIED),
        (palette::LEFT, palette::RIGHT),
        (palette::REST, palette::LOWER),
    ] {
        let apart = a.contrast_ratio(b);
        assert!(apart >= 1.6, "{a:?} and {b:?}: {apart}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, rng_seed: RngSeed::Fixed(20_260_302), ..ProptestConfig::default() })]

    /// Any numbers give a drawing in which no words touch, or a refusal; never a panic.
    #[test]
    fn any_angles_are_drawn_or_refused(
        steps in prop::collection::vec((0.0..3.0f64, prop_oneof![400 => -400.0..400.0f64, 20 => -9e5..9e5f64, 1 => Just(f64::NAN), 1 => -1e7..1e7f64]), 0..60),
        marks in prop::collection::vec(-5.0..100.0f64, 0..40),
        gaps in prop::collection::vec((0.0..50.0f64, 0.0..9.0f64), 0..3),
        ceiling in prop::option::of(-90.0..90.0f64),
        movement in prop::sample::select(Movement::ALL.to_vec()),
    ) {
        let mut t_s = 0.0;
        let trace = steps.iter().map(|(step, angle_deg)| {
            t_s += step;
            TracePoint { t_s, angle_deg: *angle_deg, uncertainty_deg: (angle_deg.abs() > 50.0).then_some(*step) }
        }).collect();
        let mut marks = marks;
        marks.sort_by(f64::total_cmp);
        let repetitions = marks.chunks_exact(4).map(|c| RepetitionMark {
            lift_start_s: c[0], lift_end_s: c[1], lower_start_s: c[2], lower_end_s: c[3],
            doubts: if c[0] > 50.0 { vec!["gap".to_owned()] } else { Vec::new() },
        }).collect();
        let chart = AngleChart {
            movement, trace, repetitions, ceiling_deg: ceiling,
            gaps: gaps.iter().map(|(start_s, length_s)| Stretch { start_s: *start_s, end_s: start_s + length_s }).collect(),
            ..invented_set(0, 1.0, 0.0, 0.0)
        };
        if let Ok(drawn) = picture(&chart, chart.size()) {
            assert_room(&drawn, chart.size(), "any angles");
        }
    }

    #[test]
    fn any_times_are_drawn_or_refused(
        sets in prop::collection::vec(prop::collection::vec((prop::option::of(prop_oneof![600 => 0.0..9.0f64, 20 => 0.0..1e6f64, 1 => -1.0..1.0f64]), 0..4u8, any::<bool>()), 0..64), 0..9),
        band in prop::option::of((0.0..5.0f64, 0.0..9.0f64)),
    ) {
        let sets: Vec<TempoSet> = sets.iter().enumerate().map(|(n, set)| TempoSet {
            label: format!("Set {}", n + 1),
            band: band.map(|(low_s, width_s)| TempoBand { low_s, high_s: low_s + width_s, prescribed_s: low_s + width_s / 3.0 }),
            repetitions: set.iter().map(|(duration_s, verdict, doubtful)| TempoRepetition {
                duration_s: *duration_s,
                verdict: [None, Some(TempoVerdict::InBand), Some(TempoVerdict::Hurried), Some(TempoVerdict::Slower)][usize::from(*verdict)],
                doubtful: *doubtful,
            }).collect(),
        }).collect();
        let chart = tempo(sets);
        if let Ok(drawn) = picture(&chart, chart.size()) {
            assert_room(&drawn, chart.size(), "any times");
        }
    }

    #[test]
    fn any_histories_are_drawn_or_refused(
        days in prop::collection::vec(0..40i64, 0..50),
        values in prop::collection::vec(prop::option::of(-20.0..170.0f64), 50),
        target in prop::option::of(-1e5..1e5f64),
        gap_days in 0..60u32,
    ) {
        let mut at = 0;
        let days: Vec<i64> = days.iter().map(|d| { at += (d - 20).max(0); at }).collect();
        let mut chart = ranges(date(2025, 12, 30), &days, &days[..days.len() / 2]);
        for series in &mut chart.series {
            for (session, value) in series.sessions.iter_mut().zip(&values) {
                session.median_deg = *value;
            }
        }
        chart.target_deg = target;
        chart.gap_days = gap_days;
        let drawn = picture(&chart, chart.size()).unwrap();
        assert_room(&drawn, chart.size(), "any history");
        let load = done(date(2025, 12, 30), &days);
        let drawn = picture(&load, load.size()).unwrap();
        assert_room(&drawn, load.size(), "any load");
    }
}
