//! Times against the band.

use super::*;

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
fn without_a_band_the_median_of_the_undoubted_times_is_named() {
    let time = |duration_s, doubtful| TempoRepetition {
        duration_s: Some(duration_s),
        verdict: None,
        doubtful,
    };
    let mut set = TempoSet {
        label: "Set 1: movement not named".to_owned(),
        band: None,
        repetitions: vec![
            time(9.0, true),
            time(2.0, false),
            time(2.4, false),
            time(2.1, false),
        ],
    };
    let named = |set: &TempoSet, words: &str| {
        let drawn = assert_good(&tempo(vec![set.clone()]), "no band");
        drawn.texts().iter().any(|t| t.text.starts_with(words))
    };
    assert!(named(&set, "median 2.1 s"));
    set.repetitions.pop();
    assert!(!named(&set, "median"));
}
