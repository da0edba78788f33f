//! Differences against means: room for every number of recordings, and words without signs.

use super::*;
use carpotempo::review::agreement::limits;

pub fn agreement(recordings: usize, pairs: usize, bias_s: f64) -> AgreementChart {
    let recordings: Vec<AgreementRecording> = (0..recordings)
        .map(|own| AgreementRecording {
            label: (own + 1).to_string(),
            pairs_s: (0..pairs)
                .map(|pair| {
                    let mean_s = 4.0 + 0.3 * wobble(7 * own) + 0.2 * wobble(31 * own + pair);
                    let apart_s = 0.1 * wobble(13 * own) + 0.2 * wobble(17 * pair + own);
                    (mean_s, bias_s + apart_s)
                })
                .collect(),
        })
        .collect();
    let differences: Vec<Vec<f64>> = recordings
        .iter()
        .map(|own| own.pairs_s.iter().map(|pair| pair.1).collect())
        .collect();
    AgreementChart {
        title: "The lowering: yours against the program's".to_owned(),
        subtitle: format!("{} pairs", recordings.len() * pairs),
        first: "yours".to_owned(),
        phase: "lowering".to_owned(),
        limits: limits(&differences),
        recordings,
        notes: vec!["Agreement with the program is not correctness.".to_owned()],
    }
}

#[test]
fn every_number_of_recordings_and_pairs_has_room() {
    for recordings in [0, 1, 2, 3, 6, 12, 40] {
        for pairs in [0, 1, 2, 10, 30] {
            for bias_s in [-0.6, 0.0, 0.02, 3.0] {
                let chart = agreement(recordings, pairs, bias_s);
                assert_good(&chart, &format!("{recordings} of {pairs} at {bias_s}"));
            }
        }
    }
}

#[test]
fn bias_and_limits_stand_beside_their_lines_in_words() {
    let chart = agreement(6, 9, -0.3);
    let found = chart.limits.unwrap();
    let texts: Vec<String> = assert_good(&chart, "six")
        .texts()
        .iter()
        .map(|text| text.text.clone())
        .collect();
    for (value, name) in [
        (found.bias, "bias"),
        (found.lower, "lower limit"),
        (found.upper, "upper limit"),
    ] {
        let word = if value < 0.0 { "shorter" } else { "longer" };
        let words = format!("{:.2} s {word}", value.abs());
        assert!(texts.contains(&words), "{words}: {texts:?}");
        assert!(texts.contains(&name.to_owned()));
    }
    for number in 1..=6 {
        assert!(texts.contains(&number.to_string()), "{texts:?}");
    }
    assert!(chart.description().contains("54 pairs of 6 recordings"));
}

#[test]
fn one_recording_has_no_limits() {
    let chart = agreement(1, 9, 0.2);
    assert_eq!(chart.limits, None);
    let texts = assert_good(&chart, "one").texts().to_vec();
    assert!(texts.iter().all(|text| !text.text.contains("limit")));
    assert!(chart.description().ends_with("No limits."));
}

/// Two recordings say little: their intervals reach far beyond the pairs, and the chart says so.
#[test]
fn an_interval_that_leaves_the_chart_is_said() {
    let says = |chart: &AgreementChart| {
        let texts = assert_good(chart, "intervals").texts().to_vec();
        texts
            .iter()
            .any(|text| text.text.contains("goes on beyond"))
    };
    assert!(says(&agreement(2, 3, 0.1)));
    assert!(!says(&agreement(12, 9, 0.1)));
}

#[test]
fn what_is_no_number_is_refused() {
    let mut chart = agreement(2, 3, 0.0);
    chart.recordings[1].pairs_s[0].1 = f64::NAN;
    assert!(matches!(
        picture(&chart, chart.size()),
        Err(ChartError::NotFinite { .. })
    ));
}
