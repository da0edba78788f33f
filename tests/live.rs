//! The pipeline in live use: it says what the analysis of the whole recording says, soon after it
//! happened, and the same again to the bit.
//!
//! Truth and bounds: simulated sets; the figures are the project's own goals (common practice, no
//! source).
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test says what is wrong by failing, and prints its figures"
)]

#[path = "common/session.rs"]
mod session;
#[path = "common/simulated.rs"]
mod simulated;

use carpotempo::movement::{Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams, News, Phase, Step};
use carpotempo::pipeline::motion::{AxisFrom, Zero};
use carpotempo::pipeline::{Analysis, Expectation, analyse, set_specs};
use carpotempo::recording::{Calibration, Event, EventKind, Recording, Writer, open};
use carpotempo::reps::{Doubt, Repetition};
use carpotempo::routine::TempoBand;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::unit::UnitErrors;
use rayon::prelude::*;
use session::{REPETITIONS, session};
use simulated::{Simulated, body, quantile, simulate};

fn live(rate_hz: f64) -> Live {
    Live::new(LiveParams {
        rate_hz,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: None,
    })
}

/// Live use of a plain recording, which is one set.
fn live_of(recording: &Recording, rate_hz: f64) -> Live {
    let specs = set_specs(recording, &Expectation::default()).unwrap();
    Live::new(LiveParams {
        rate_hz,
        kind: FilterKind::Vqf,
        band: TempoBand::default(),
        expected: Expectation::default(),
        whole: specs.into_iter().next(),
    })
}

/// Everything that was said, and the analysis at the end. `lead_s` before its time each event is
/// handed over; infinitely early is before the first sample.
fn played(recording: &Recording, mut live: Live, lead_s: f64) -> (Vec<Step>, Analysis) {
    let mut events = recording.events.iter().cloned().peekable();
    let steps = recording
        .hand
        .iter()
        .map(|sample| {
            while let Some(event) = events.next_if(|event| event.t_s - lead_s < sample.t_s) {
                live.event(event);
            }
            live.sample(sample)
        })
        .collect();
    for event in events {
        live.event(event);
    }
    (steps, live.finish())
}

fn at_once(recording: &Recording) -> (Vec<Step>, Analysis) {
    let live = live(session::rate_hz(recording));
    played(recording, live, 0.0)
}

/// Difficulties that leave the still start of a set alone.
fn with_still_start() -> impl Iterator<Item = Difficulty> {
    Difficulty::ALL
        .into_iter()
        .filter(|d| !matches!(d, Difficulty::StartsMoving | Difficulty::MovesAround))
}

#[test]
fn live_figures_are_those_of_the_analysis_and_come_soon() {
    let mut asked: Vec<(u64, Vec<Difficulty>)> = (0..12).map(|seed| (seed, vec![])).collect();
    for (index, difficulty) in with_still_start().enumerate() {
        let first = 50_000 + 100 * index as u64;
        asked.extend((first..first + 4).map(|seed| (seed, vec![difficulty])));
    }
    let sets: Vec<Simulated> = asked
        .into_par_iter()
        .map(|(seed, difficulties)| simulate(seed, 8, &difficulties))
        .collect();
    struct Pair {
        refined: Vec<Repetition>,
        online: Vec<Repetition>,
        announced_s: Vec<f64>,
    }
    let pairs: Vec<Pair> = sets
        .par_iter()
        .map(|set| {
            let refined = analyse(&set.recording, &Expectation::default()).unwrap();
            let live = live_of(&set.recording, set.rate_hz);
            let (steps, online) = played(&set.recording, live, 0.0);
            let mut announced_s = Vec::new();
            for step in &steps {
                for news in &step.news {
                    if let News::Counted(number, repetition) = news {
                        assert_eq!(*number, announced_s.len() + 1, "numbers go up by one");
                        announced_s.push(step.t_s - repetition.lower_end_s);
                    }
                }
            }
            Pair {
                refined: refined.sets[0].reps.clone(),
                online: online.sets[0].reps.clone(),
                announced_s,
            }
        })
        .collect();
    let mut off = Vec::new();
    let mut missed = Vec::new();
    let (mut lower, mut range, mut announced) = (Vec::new(), Vec::new(), Vec::new());
    for (set, pair) in sets.iter().zip(&pairs) {
        announced.extend(pair.announced_s.iter().copied());
        if pair.refined.len() != pair.online.len() {
            off.push(format!(
                "seed {} {:?} {:.0} Hz: live {}, refined {}, true {}",
                set.seed,
                set.difficulties,
                set.rate_hz,
                pair.online.len(),
                pair.refined.len(),
                set.truth.len()
            ));
            continue;
        }
        for (refined, online) in pair.refined.iter().zip(&pair.online) {
            if refined.doubts.contains(&Doubt::Gap) || online.doubts.contains(&Doubt::Gap) {
                continue;
            }
            lower.push((refined.lower_s() - online.lower_s()).abs());
            range.push((refined.range_deg - online.range_deg).abs());
        }
        if pair.online.len() != set.truth.len() {
            missed.push(format!(
                "seed {} {:?} {:.0} Hz: both {}, true {}",
                set.seed,
                set.difficulties,
                set.rate_hz,
                pair.online.len(),
                set.truth.len()
            ));
        }
    }
    println!(
        "{} sets, counts apart in {}; lowering apart 50 % {:.3} s, 95 % {:.3} s; range apart 50 % {:.2} deg, 95 % {:.2} deg; announced 50 % {:.2} s, 95 % {:.2} s, earliest {:.2} s after the end",
        sets.len(),
        off.len(),
        quantile(&lower, 0.5),
        quantile(&lower, 0.95),
        quantile(&range, 0.5),
        quantile(&range, 0.95),
        quantile(&announced, 0.5),
        quantile(&announced, 0.95),
        quantile(&announced, 0.0)
    );
    println!("{}\n{}", off.join("\n"), missed.join("\n"));
    assert!(off.len() <= sets.len() / 50 + 1, "{}", off.join("\n"));
    assert!(lower.len() > 300);
    assert!(quantile(&lower, 0.5) <= 0.010);
    assert!(quantile(&lower, 0.95) <= 0.100);
    assert!(quantile(&range, 0.5) <= 0.5);
    assert!(quantile(&range, 0.95) <= 2.0);
    assert!(quantile(&announced, 0.5) <= 0.4);
    // Nothing is announced before it happened.
    assert!(quantile(&announced, 0.0) > 0.0);
}

#[test]
fn the_same_session_gives_the_same_to_the_bit() {
    let recording = session::recording(&session(1));
    let (first_steps, first) = at_once(&recording);
    let (again_steps, again) = at_once(&recording);
    assert_eq!(first_steps.len(), recording.hand.len());
    for (a, b) in first_steps.iter().zip(&again_steps) {
        assert_eq!(a, b);
        assert_eq!(
            a.measured_deg.map(f64::to_bits),
            b.measured_deg.map(f64::to_bits)
        );
        let bits = |step: &Step| {
            let q = step.oriented.world_from_sensor;
            [q.w, q.i, q.j, q.k].map(f64::to_bits)
        };
        assert_eq!(bits(a), bits(b));
    }
    assert_eq!(
        serde_json::to_string(&first).unwrap(),
        serde_json::to_string(&again).unwrap()
    );
}

#[test]
fn events_that_arrive_before_their_time_change_nothing() {
    let recording = session::recording(&session(2));
    let (steps, analysis) = at_once(&recording);
    for lead_s in [0.004, 0.5, 7.0, f64::INFINITY] {
        let live = live(session::rate_hz(&recording));
        let (early_steps, early) = played(&recording, live, lead_s);
        assert_eq!(early, analysis, "{lead_s} s early");
        assert!(steps == early_steps, "{lead_s} s early");
    }
}

#[test]
fn samples_that_come_in_bursts_change_nothing() {
    // A radio hands over several samples at a time, after the button that came between them.
    let recording = session::recording(&session(3));
    let (steps, analysis) = at_once(&recording);
    let mut live = live(session::rate_hz(&recording));
    let mut events = recording.events.iter().cloned().peekable();
    let mut burst_steps = Vec::new();
    for burst in recording.hand.chunks(8) {
        let last_s = burst.last().unwrap().t_s;
        while let Some(event) = events.next_if(|event| event.t_s < last_s) {
            live.event(event);
        }
        burst_steps.extend(burst.iter().map(|sample| live.sample(sample)));
    }
    for event in events {
        live.event(event);
    }
    assert_eq!(live.finish(), analysis);
    assert!(steps == burst_steps);
}

#[test]
fn a_calibration_in_the_stream_aligns_and_the_angle_is_the_wrists() {
    let played = session(4);
    let recording = session::recording(&played);
    let (steps, analysis) = at_once(&recording);
    let aligned: Vec<f64> = steps
        .iter()
        .flat_map(|step| step.news.iter().map(|news| (step.t_s, news)))
        .filter_map(|(t_s, news)| matches!(news, News::Aligned(_)).then_some(t_s))
        .collect();
    let event_s = recording
        .events
        .iter()
        .find_map(|event| matches!(event.kind, EventKind::Calibration(_)).then_some(event.t_s))
        .unwrap();
    assert_eq!(aligned.len(), 1);
    assert!((0.0..0.1).contains(&(aligned[0] - event_s)));
    let refined = analyse(&recording, &Expectation::default()).unwrap();
    for ((set, truth), refined) in analysis.sets.iter().zip(&played.truth).zip(&refined.sets) {
        assert_eq!(set.zero, Some(Zero::Calibration));
        assert_eq!(set.axis_from, Some(AxisFrom::Calibration));
        assert_eq!(set.reps.len(), truth.reps.len());
        for ((own, truth), refined) in set.reps.iter().zip(&truth.reps).zip(&refined.reps) {
            assert!((own.range_deg - truth.range_deg).abs() < 1.5, "{own:?}");
            // Against the neutral pose: within the few degrees that a person settles by.
            assert!(own.start_deg.abs() < 8.0, "{own:?}");
            assert!((own.peak_deg - refined.peak_deg).abs() < 1.5, "{own:?}");
        }
    }
}

#[test]
fn a_calibration_that_moved_is_refused_aloud_and_the_movement_gives_the_axis() {
    let mut recording = session::recording(&session(5));
    for event in &mut recording.events {
        if let EventKind::Calibration(calibration) = &mut event.kind {
            // The still window is put over the movement.
            calibration.still_start_s = calibration.move_start_s;
            calibration.still_end_s = calibration.move_end_s;
        }
    }
    let (steps, analysis) = at_once(&recording);
    let refused: Vec<&String> = steps
        .iter()
        .flat_map(|step| &step.news)
        .filter_map(|news| match news {
            News::Refused(why) => Some(why),
            _ => None,
        })
        .collect();
    assert_eq!(refused.len(), 1);
    assert!(refused[0].contains("hold still again"), "{}", refused[0]);
    assert!(
        analysis
            .warnings
            .iter()
            .any(|w| w.contains("hold still again")),
        "{:?}",
        analysis.warnings
    );
    let counts: Vec<usize> = analysis.sets.iter().map(|set| set.reps.len()).collect();
    assert_eq!(counts, REPETITIONS);
    for set in &analysis.sets {
        assert_eq!(set.axis_from, Some(AxisFrom::Movement));
    }
}

#[test]
fn sets_are_those_of_the_events() {
    let recording = session::recording(&session(6));
    let (steps, analysis) = at_once(&recording);
    let counts: Vec<usize> = analysis.sets.iter().map(|set| set.reps.len()).collect();
    assert_eq!(counts, REPETITIONS);
    let mut words = Vec::new();
    for news in steps.iter().flat_map(|step| &step.news) {
        match news {
            News::SetBegan => words.push("began".to_owned()),
            News::Counted(number, _) => words.push(number.to_string()),
            News::SetEnded(set) => words.push(format!("ended {}", set.reps.len())),
            News::Aligned(_) | News::Refused(_) | News::Worn(_) => {}
        }
    }
    let expected = [
        "began", "1", "2", "3", "4", "5", "ended 5", "began", "1", "2", "3", "4", "ended 4",
    ];
    // The last set may end with the stream, after the last sample.
    assert!(
        words == expected || words == expected[..expected.len() - 1],
        "{words:?}"
    );
    let at = |wanted: fn(&EventKind) -> bool| -> Vec<f64> {
        let events = recording.events.iter().filter(|event| wanted(&event.kind));
        events.map(|event| event.t_s).collect()
    };
    let starts_s = at(|kind| matches!(kind, EventKind::SetStart(_)));
    let ends_s = at(|kind| matches!(kind, EventKind::SetEnd(_)));
    for (index, set) in analysis.sets.iter().enumerate() {
        assert_eq!(set.movement, Some(Movement::WristExtension));
        assert_eq!(set.side, Some(Side::Right));
        assert_eq!(set.target_reps, Some(5));
        assert_eq!((set.start_s, set.end_s), (starts_s[index], ends_s[index]));
        let within = |r: &Repetition| r.lift_start_s >= set.start_s && r.lower_end_s <= set.end_s;
        assert!(set.reps.iter().all(within));
    }
    let between = |t_s: f64| t_s <= starts_s[0] || (ends_s[0] < t_s && t_s <= starts_s[1]);
    for step in steps.iter().filter(|step| between(step.t_s)) {
        assert_eq!((step.phase, step.reps_count), (Phase::None, 0));
    }
    let refined = analyse(&recording, &Expectation::default()).unwrap();
    for (live, refined) in analysis.sets.iter().zip(&refined.sets) {
        assert_eq!(live.reps.len(), refined.reps.len());
        assert_eq!(live.end_reason, refined.end_reason);
        assert_eq!(live.tempo_band, refined.tempo_band);
        for (live, refined) in live.reps.iter().zip(&refined.reps) {
            assert!((live.lower_s() - refined.lower_s()).abs() < 0.05);
            assert!((live.range_deg - refined.range_deg).abs() < 1.0);
        }
    }
}

#[test]
fn a_set_that_is_still_open_ends_with_the_stream() {
    let mut recording = session::recording(&session(7));
    let last = recording
        .events
        .iter()
        .rposition(|event: &Event| matches!(event.kind, EventKind::SetEnd(_)))
        .unwrap();
    let end_s = recording.events.remove(last).t_s;
    recording.hand.retain(|sample| sample.t_s <= end_s);
    let (_, analysis) = at_once(&recording);
    let counts: Vec<usize> = analysis.sets.iter().map(|set| set.reps.len()).collect();
    assert_eq!(counts, REPETITIONS);
    let last = analysis.sets.last().unwrap();
    assert_eq!(last.end_reason, None);
    assert!((last.end_s - recording.hand.last().unwrap().t_s).abs() < 1e-9);
}

#[test]
fn what_is_begun_and_not_finished_is_reported() {
    for seed in 0..12 {
        let mut random = Random::new(900 + seed);
        let mut manner = SetManner::ordinary(4, 50.0);
        manner.hold_s = 0.5;
        let timeline = manner.timeline(&mut random);
        let body = body(Movement::WristFlexion, Side::Left, &mut random);
        let unit = UnitErrors::consumer(100.0, &mut random);
        let mut samples = unit.sample(&body, &timeline, &mut random);
        // Cut in the last lift, from its half on, or early in the last lowering.
        let last = timeline.intended.last().unwrap();
        let [from_s, to_s] = if seed % 2 == 0 {
            [last.lift_from_s, last.lift_to_s]
        } else {
            [
                last.lower_from_s,
                last.lower_to_s - 0.6 * (last.lower_to_s - last.lower_from_s),
            ]
        };
        let cut_s = from_s + (0.6 + 0.03 * seed as f64) * (to_s - from_s);
        samples.retain(|sample| sample.t_s < cut_s);
        let recording = simulated::recording(samples);
        let (_, analysis) = played(&recording, live_of(&recording, 100.0), 0.0);
        let refined = analyse(&recording, &Expectation::default()).unwrap();
        for set in [&analysis.sets[0], &refined.sets[0]] {
            assert_eq!(set.reps.len(), 3, "seed {seed}");
            assert_eq!(set.incomplete_count, 1, "seed {seed}");
        }
    }
}

#[test]
fn a_gap_within_a_repetition_marks_it_in_both() {
    for seed in 0..4 {
        let plain = simulate(3200 + seed, 6, &[]);
        let mut recording = plain.recording;
        let third = plain.truth[2];
        let middle_s = 0.5 * (third.lower_start_s + third.lower_end_s);
        let hand = &mut recording.hand;
        hand.retain(|sample| (sample.t_s - middle_s).abs() > 0.25);
        let (_, online) = played(&recording, live_of(&recording, plain.rate_hz), 0.0);
        let refined = analyse(&recording, &Expectation::default()).unwrap();
        for analysis in [online, refined] {
            let reps = &analysis.sets[0].reps;
            let doubtful: Vec<usize> = (0..reps.len())
                .filter(|&index| reps[index].doubts.contains(&Doubt::Gap))
                .collect();
            assert_eq!(doubtful, [2], "seed {seed}");
        }
    }
}

#[test]
fn a_session_that_was_recorded_replays_to_the_bit() {
    // Every number of the recording reads back to the same f64, those of the events too.
    let played = session(9);
    let given = session::recording(&played);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session");
    played.record(&path, &session::head()).unwrap();
    let read = open(&path).unwrap();
    assert_eq!(read.hand, given.hand);
    assert_eq!(read.events, given.events);
    let (steps, analysis) = at_once(&given);
    let (again_steps, again) = at_once(&read);
    assert!(steps == again_steps);
    assert_eq!(analysis, again);
}

#[test]
fn every_number_of_an_event_reads_back_to_the_same_bits() {
    let mut random = Random::new(12);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("session");
    let mut writer = Writer::create(&path, &session::head()).unwrap();
    let events: Vec<Event> = (0..500)
        .map(|index| Event {
            t_s: f64::from(index),
            kind: EventKind::Calibration(Calibration {
                still_start_s: Some(random.between(0.0, 200.0)),
                ..Calibration::default()
            }),
        })
        .collect();
    for event in &events {
        writer.event(event).unwrap();
    }
    writer.finish().unwrap();
    assert_eq!(open(&path).unwrap().events, events);
}

#[test]
fn nothing_at_all_is_no_set() {
    let analysis = live(100.0).finish();
    assert_eq!(analysis, Analysis::default());
}

#[test]
fn a_set_that_was_taken_back_is_none_whatever_the_hand_did() {
    let played_session = session(11);
    let mut recording = session::recording(&played_session);
    let rate_hz = session::rate_hz(&recording);
    let live_of_announced = || {
        Live::new(LiveParams {
            rate_hz,
            kind: FilterKind::Vqf,
            band: TempoBand::default(),
            expected: Expectation::default(),
            whole: None,
        })
    };
    for left in [1, 0] {
        // The first announcement is taken back, then the other one too.
        let mut ends = recording
            .events
            .iter_mut()
            .filter_map(|event| match &mut event.kind {
                EventKind::SetEnd(end) if !end.taken_back => Some(end),
                _ => None,
            });
        ends.next().unwrap().taken_back = true;
        let refined = analyse(&recording, &Expectation::default()).unwrap();
        let (_, online) = played(&recording, live_of_announced(), 0.0);
        for (how, analysis) in [("refined", refined), ("online", online)] {
            let counts: Vec<usize> = analysis.sets.iter().map(|set| set.reps.len()).collect();
            assert_eq!(counts, &REPETITIONS[2 - left..], "{how}");
        }
    }
}
