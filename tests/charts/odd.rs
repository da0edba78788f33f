//! Nothing, too much and nonsense: drawn so that it says so, or refused.

use super::*;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

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

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, rng_seed: RngSeed::Fixed(20_260_302), ..ProptestConfig::default() })]

    /// Any numbers give a drawing in which no words touch, or a refusal; never a panic.
    #[test]
    fn any_angles_are_drawn_or_refused(
        steps in prop::collection::vec((0.0..3.0f64, prop_oneof![400 => -400.0..400.0f64, 20 => -9e5..9e5f64, 1 => Just(f64::NAN), 1 => -1e7..1e7f64]), 0..60),
        marks in prop::collection::vec(-5.0..100.0f64, 0..40),
        gaps in prop::collection::vec((0.0..50.0f64, 0.0..9.0f64), 0..3),
        ceiling in prop::option::of(-90.0..90.0f64),
        movement in prop::option::of(prop::sample::select(Movement::ALL.to_vec())),
        zero in prop::sample::select(vec![None, Some(Zero::Calibration), Some(Zero::StillStart), Some(Zero::UsualStart)]),
        timed in prop::sample::select(vec![None, Some(MovingPhase::Lift), Some(MovingPhase::Lower)]),
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
            movement, zero, timed, trace, repetitions, ceiling_deg: ceiling,
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
        targets in prop::collection::vec(prop::option::of(-1e5..1e5f64), 2),
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
        for (series, target) in chart.series.iter_mut().zip(targets) {
            series.target_deg = target;
        }
        chart.gap_days = gap_days;
        let drawn = picture(&chart, chart.size()).unwrap();
        assert_room(&drawn, chart.size(), "any history");
        let load = done(date(2025, 12, 30), &days);
        let drawn = picture(&load, load.size()).unwrap();
        assert_room(&drawn, load.size(), "any load");
    }
}
