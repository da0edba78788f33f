//! The angle over a set.

use super::*;

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
            chart.movement = Some(Movement::RadialDeviation);
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

/// Every word of a drawing, its description included.
fn words(drawn: &Picture) -> String {
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    format!("{}\n{}", texts.join("\n"), drawn.description())
}

const ANATOMICAL: [&str; 8] = [
    "extension",
    "flexion",
    "deviation",
    "supination",
    "pronation",
    "radial",
    "ulnar",
    "wrist",
];

fn unnamed(mut chart: AngleChart, zero: Zero) -> AngleChart {
    chart.title = "Angle about the main axis".to_owned();
    chart.subtitle = "Invented data.".to_owned();
    chart.notes.clear();
    chart.movement = None;
    chart.zero = Some(zero);
    chart
}

#[test]
fn a_movement_without_a_name_gets_no_word_of_the_body() {
    for (zero, word) in [
        (Zero::UsualStart, "usual start level"),
        (Zero::StillStart, "still start"),
        (Zero::Calibration, "neutral"),
    ] {
        for (start, top) in [(0.0, 50.0), (-22.0, 44.0), (-60.0, -8.0)] {
            let mut chart = unnamed(invented_set(8, 62.0, start, top), zero);
            chart.ceiling_deg = Some(-3.0);
            chart.band = Some(RangeBand {
                low_deg: -6.0,
                high_deg: 20.0,
            });
            let drawn = assert_good(&chart, "no name");
            let words = words(&drawn).to_lowercase();
            for anatomical in ANATOMICAL {
                assert!(!words.contains(anatomical), "{anatomical:?} in {words}");
            }
            assert!(words.contains("away from the start ↑"), "{words}");
            assert!(words.contains("movement not named"), "{words}");
            assert!(words.lines().any(|line| line == word), "{words}");
            assert!(
                words.lines().any(|line| line.starts_with("top ")),
                "{words}"
            );
        }
    }
}

#[test]
fn only_a_calibrated_zero_is_called_neutral_or_makes_an_angle_a_pose() {
    for (zero, word) in [
        (Some(Zero::UsualStart), "usual start level"),
        (Some(Zero::StillStart), "still start"),
        (None, "towards extension ↑  degrees"),
    ] {
        let mut chart = invented_set(8, 62.0, -22.0, 44.0);
        chart.notes.clear();
        chart.zero = zero;
        let words = words(&assert_good(&chart, "no calibration"));
        assert!(!words.contains("neutral"), "{words}");
        assert!(words.lines().any(|line| line == word), "{words}");
        assert!(words.contains("towards extension ↑"), "{words}");
        assert!(
            words.lines().any(|line| line == "towards flexion ↓"),
            "{words}"
        );
        assert!(
            words
                .lines()
                .any(|line| line == "start 22° towards flexion"),
            "{words}"
        );
        for digit in '0'..='9' {
            assert!(!words.contains(&format!("extension {digit}")), "{words}");
        }
    }
}

#[test]
fn whole_turns_have_no_phases_and_are_timed_whole() {
    let mut chart = unnamed(invented_set(5, 20.0, -20.0, 20.0), Zero::UsualStart);
    chart.timed = None;
    let r = &chart.repetitions[1];
    let whole = format!("{:.1}", r.lower_end_s - r.lift_start_s);
    let drawn = assert_good(&chart, "turns");
    let texts: Vec<&str> = drawn.texts().iter().map(|t| t.text.as_str()).collect();
    for absent in ["rest", "lift", "hold", "lower", "lowering, s"] {
        assert!(!texts.contains(&absent), "{absent:?} in {texts:?}");
    }
    assert!(texts.contains(&"turn, s"), "{texts:?}");
    assert!(texts.contains(&whole.as_str()), "{whole} in {texts:?}");
    assert!(drawn.description().contains("turn in seconds"));
    chart.movement = Some(Movement::ArmCircles);
    assert_good(&chart, "named turns");
}

/// Lines of one colour and width in an SVG.
fn strokes(svg: &str, color: Color, width: &str) -> usize {
    let (red, green, blue) = color.rgb;
    let color = format!("#{red:02x}{green:02x}{blue:02x}").to_lowercase();
    svg.to_lowercase()
        .split('<')
        .filter(|tag| {
            tag.contains(&format!("stroke=\"{color}\""))
                && tag.contains(&format!("stroke-width=\"{width}\""))
        })
        .count()
}

#[test]
fn an_unfinished_repetition_is_one_thin_line_and_a_rest_is_dotted() {
    let note = "Thin grey: movement outside the counted repetitions.";
    let whole = invented_set(4, 30.0, 0.0, 45.0);
    let drawn = picture(&whole, whole.size()).unwrap();
    assert!(!drawn.texts().iter().any(|t| t.text == note));
    let dots = |svg: &str| svg.matches("<circle").count();
    let resting = drawn.svg().unwrap();
    let mut cut = whole.clone();
    cut.repetitions.pop();
    let drawn = picture(&cut, cut.size()).unwrap();
    assert!(drawn.texts().iter().any(|t| t.text == note));
    let moving = drawn.svg().unwrap();
    assert_eq!(
        strokes(&moving, palette::REST, "11"),
        strokes(&resting, palette::REST, "11") + 1
    );
    assert!(dots(&moving) > 20 && dots(&moving).abs_diff(dots(&resting)) < 20);
}

#[test]
fn a_hold_too_short_to_be_one_leaves_no_bed() {
    let mut chart = invented_set(6, 20.0, 0.0, 45.0);
    let beds = |chart: &AngleChart| {
        let (red, green, blue) = palette::HOLD.rgb;
        let color = format!("#{red:02x}{green:02x}{blue:02x}");
        svg(chart).unwrap().to_lowercase().matches(&color).count()
    };
    let with = beds(&chart);
    for repetition in &mut chart.repetitions {
        repetition.lower_start_s = repetition.lift_end_s + 0.14;
    }
    // The key keeps its own.
    assert_eq!((beds(&chart), with), (1, 7));
}

#[test]
fn the_meaning_of_the_angle_stays_on_the_smallest_drawing() {
    let size = Size {
        width_px: 480,
        height_px: 360,
    };
    let drawn = picture(&rich_set(), size).unwrap();
    let said = |words: &str| drawn.texts().iter().any(|t| t.text.contains(words));
    assert!(said("One sensor on the hand"));
    assert!(said("? in doubt"));
}
