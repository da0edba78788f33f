//! Live use against the analysis of recordings: the same repetitions, soon, and to the bit.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

use std::path::Path;

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, News};
use carpotempo::pipeline::{Analysis, Expectation, analyse, band_of, set_specs};
use carpotempo::recording::{EventKind, Recording, open};
use carpotempo::reps::Doubt;
use carpotempo::reps::excursion::median;
use carpotempo::routine::TempoBand;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::unit::UnitErrors;

fn simulated(seed: u64, difficulties: &[Difficulty]) -> Recording {
    let mut random = Random::new(seed);
    let manner = SetManner::drawn(&mut random, difficulties, 60.0);
    let timeline = manner.timeline(&mut random);
    let movement = Movement::WristFlexion;
    let body = Body {
        movement,
        side: Side::Right,
        posture: movement.usual_posture(),
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    };
    let unit = UnitErrors::consumer(104.0, &mut random);
    Recording {
        name: format!("simulated {seed}"),
        head: None,
        hand: unit.sample(&body, &timeline, &mut random),
        forearm: Vec::new(),
        events: Vec::new(),
        warnings: Vec::new(),
    }
}

fn live(recording: &Recording) -> Live {
    let specs = set_specs(recording, &Expectation::default()).unwrap();
    let announced = recording
        .events
        .iter()
        .any(|event| matches!(event.kind, EventKind::SetStart(_)));
    Live::new(LiveParams {
        rate_hz: 104.0,
        kind: FilterKind::Vqf,
        band: band_of(recording),
        expected: Expectation::default(),
        whole: specs.into_iter().next().filter(|_| !announced),
    })
}

/// Plays a recording; events are handed over so long before they take effect, seconds.
fn play(recording: &Recording, ahead_s: f64) -> (Analysis, Vec<News>) {
    let mut live = live(recording);
    let mut events = recording.events.iter().peekable();
    let mut news = Vec::new();
    for sample in &recording.hand {
        while let Some(event) = events.next_if(|event| event.t_s - ahead_s < sample.t_s) {
            live.event(event.clone());
        }
        news.extend(live.sample(sample).news);
    }
    for event in events {
        live.event(event.clone());
    }
    (live.finish(), news)
}

fn calibrated() -> Recording {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("recordings/extension-calibrated");
    open(&folder).unwrap()
}

#[test]
fn the_online_figures_agree_with_the_refined_ones() {
    let (mut lower_s, mut range_deg) = (Vec::new(), Vec::new());
    for seed in 0..12 {
        let difficulties = [Difficulty::Fatigue, Difficulty::Fidgets];
        let recording = simulated(seed, &difficulties[..(seed % 3) as usize]);
        let refined = analyse(&recording, &Expectation::default()).unwrap();
        let (online, _) = play(&recording, 0.0);
        let (a, b) = (&refined.sets[0].reps, &online.sets[0].reps);
        assert_eq!(a.len(), b.len(), "{}", recording.name);
        for (a, b) in a.iter().zip(b) {
            assert!((a.lower_end_s - b.lower_end_s).abs() < 0.25);
            lower_s.push((a.lower_s() - b.lower_s()).abs());
            range_deg.push((a.range_deg - b.range_deg).abs());
        }
    }
    assert!(lower_s.len() > 80);
    let (lower_s, range_deg) = (median(&lower_s).unwrap(), median(&range_deg).unwrap());
    assert!(lower_s < 0.01, "{lower_s}");
    assert!(range_deg < 0.3, "{range_deg}");
}

#[test]
fn a_repetition_is_announced_soon_after_it_ends() {
    let mut late_s = Vec::new();
    for seed in 20..26 {
        let recording = simulated(seed, &[]);
        let mut live = live(&recording);
        for sample in &recording.hand {
            for news in live.sample(sample).news {
                if let News::Counted(_, repetition) = news {
                    late_s.push(sample.t_s - repetition.lower_end_s);
                }
            }
        }
    }
    assert!(late_s.len() > 30);
    assert!(late_s.iter().all(|late_s| *late_s > 0.0));
    let late_s = median(&late_s).unwrap();
    assert!(late_s <= 0.4, "{late_s}");
}

#[test]
fn the_same_samples_give_the_same_to_the_bit_whenever_events_arrive() {
    let recording = calibrated();
    let (first, _) = play(&recording, 0.0);
    let (again, _) = play(&recording, 0.0);
    let (early, _) = play(&recording, 3.0);
    assert_eq!(first.sets[0].reps.len(), 6);
    assert_eq!(first, again);
    assert_eq!(first, early);
    let text = |analysis: &Analysis| serde_json::to_string(analysis).unwrap();
    assert_eq!(text(&first), text(&early));
}

#[test]
fn a_calibration_in_the_stream_aligns_and_sets_begin_and_end_by_events() {
    let (analysis, news) = play(&calibrated(), 0.0);
    assert!(news.iter().any(|n| matches!(n, News::Aligned(_))));
    assert!(news.contains(&News::SetBegan));
    let ended = news.iter().any(|n| matches!(n, News::SetEnded(_)));
    assert!(ended || analysis.sets[0].end_reason.is_some());
    let counted = news.iter().filter(|n| matches!(n, News::Counted(..)));
    assert_eq!(counted.count(), analysis.sets[0].reps.len());
    assert_eq!(analysis.sets[0].movement, Some(Movement::WristExtension));
}

#[test]
fn a_set_cut_by_the_end_reports_the_repetition_begun() {
    let mut recording = simulated(31, &[]);
    let refined = analyse(&recording, &Expectation::default()).unwrap();
    let last = refined.sets[0].reps.last().unwrap().clone();
    recording.hand.retain(|sample| sample.t_s < last.lift_end_s);
    let (online, _) = play(&recording, 0.0);
    let refined_cut = analyse(&recording, &Expectation::default()).unwrap();
    for analysis in [online, refined_cut] {
        assert_eq!(analysis.sets[0].reps.len(), refined.sets[0].reps.len() - 1);
        assert_eq!(analysis.sets[0].incomplete_count, 1);
    }
}

#[test]
fn a_gap_within_a_repetition_marks_it_in_both() {
    let mut recording = simulated(32, &[]);
    let refined = analyse(&recording, &Expectation::default()).unwrap();
    let third = refined.sets[0].reps[2].clone();
    let middle_s = 0.5 * (third.lower_start_s + third.lower_end_s);
    recording
        .hand
        .retain(|sample| (sample.t_s - middle_s).abs() > 0.3);
    let (online, _) = play(&recording, 0.0);
    let refined = analyse(&recording, &Expectation::default()).unwrap();
    for analysis in [online, refined] {
        let doubtful: Vec<usize> = analysis.sets[0]
            .reps
            .iter()
            .enumerate()
            .filter(|(_, rep)| rep.doubts.contains(&Doubt::Gap))
            .map(|(index, _)| index)
            .collect();
        assert_eq!(doubtful, [2]);
    }
}

#[test]
fn the_band_of_live_use_is_the_one_given() {
    let recording = simulated(33, &[]);
    let mut params_live = live(&recording);
    for sample in &recording.hand {
        params_live.sample(sample);
    }
    let analysis = params_live.finish();
    assert!(analysis.sets[0].tempo_band.is_none(), "no tempo is asked");
    assert_eq!(band_of(&recording), TempoBand::default());
}
