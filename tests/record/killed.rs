//! The program killed at any moment: what is on the disk is a recording, and no more than half a
//! second is missing from it.

use std::process::Child;
use std::thread::sleep;
use std::time::{Duration, Instant};

use carpotempo::recording::{RecordingError, open};
use carpotempo::sample::Sample;
use carpotempo::source::signal::Told;
use carpotempo::source::simulator::live::{LivePerson, LivePlan};
use carpotempo::source::simulator::random::Random;

use crate::run::{carpotempo, command, new_folder, person, simulated, start, stderr};

/// What may be missing, seconds: the promise, and the time between the clock's being read here and
/// the program's work on a busy computer.
const MISSING_S: f64 = 0.5 + 0.5;
/// The sensor is connected so long after the start, and its first packets have come.
const CONNECTED_S: f64 = 0.4;

/// All that the person of that seed gives until then.
fn given(raw: bool, seed: u64, until_s: f64) -> Vec<Sample> {
    let plan = LivePlan {
        calibrates: !raw,
        ..person(&start("2-0-1-0"), seed)
    };
    LivePerson::new(plan)
        .take_while(|signal| signal.at_s < until_s)
        .filter_map(|signal| match signal.told {
            Told::Sample(_, sample) => Some(sample),
            _ => None,
        })
        .collect()
}

fn kill(mut child: Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}

/// Kills a run of that seed; how much was missing, seconds.
fn killed(seed: u64) -> f64 {
    let mut random = Random::new(1000 + seed);
    let raw = random.chance(0.5);
    let after_s = random.between(0.02, 5.0);
    let (_root, folder) = new_folder();
    let seed_text = seed.to_string();
    let mut more = vec!["--seed", &seed_text];
    if raw {
        more.push("--raw");
    }
    let began = Instant::now();
    let child = command(&simulated(&folder, &more)).spawn().unwrap();
    sleep(Duration::from_secs_f64(after_s).saturating_sub(began.elapsed()));
    let killed_s = began.elapsed().as_secs_f64();
    kill(child);

    let recording = match open(&folder) {
        Ok(recording) => recording,
        // Killed before there was a whole session.json.
        Err(RecordingError::NoSessionFile { .. } | RecordingError::NotFound { .. })
            if killed_s < CONNECTED_S + MISSING_S =>
        {
            return 0.0;
        }
        Err(error) => panic!("killed after {killed_s} s: {error}"),
    };
    let given = given(raw, seed, killed_s);
    let kept = &recording.hand;
    assert!(kept.len() <= given.len(), "{} {}", kept.len(), given.len());
    assert_eq!(
        kept[..],
        given[..kept.len()],
        "what is kept is what was given"
    );
    for warning in &recording.warnings {
        assert!(warning.contains("missing"), "{warning}");
    }
    let output = carpotempo(&["replay", "--json", folder.to_str().unwrap()]);
    assert!(output.status.success(), "{}", stderr(&output));
    match (kept.last(), given.last()) {
        (Some(kept), Some(given)) => given.t_s - kept.t_s,
        (None, Some(given)) => given.t_s - given.t_s.min(CONNECTED_S),
        _ => 0.0,
    }
}

#[test]
fn killed_at_any_moment_a_recording_opens_and_lacks_at_most_half_a_second() {
    let missing_s: Vec<f64> = std::thread::scope(|scope| {
        let runs: Vec<_> = (0..25)
            .map(|seed| scope.spawn(move || killed(seed)))
            .collect();
        runs.into_iter().map(|run| run.join().unwrap()).collect()
    });
    let most_s = missing_s.iter().copied().fold(0.0, f64::max);
    println!("killed 25 times: at most {most_s:.3} s missing");
    assert!(most_s < MISSING_S, "{missing_s:?}");
}

#[test]
fn a_sensor_that_falls_silent_leaves_nothing_in_memory() {
    let (_root, folder) = new_folder();
    // Silent from then on: nothing but the clock can hand over what came before.
    let more = ["--seed", "3", "--raw", "--lose", "2.13:1000"];
    let began = Instant::now();
    let child = command(&simulated(&folder, &more)).spawn().unwrap();
    sleep(Duration::from_secs(4).saturating_sub(began.elapsed()));
    kill(child);
    let kept = open(&folder).unwrap().hand;
    let whole: Vec<Sample> = given(true, 3, 2.12);
    let missing = whole.len().saturating_sub(kept.len());
    assert!(
        missing <= 5,
        "{missing} samples of before the silence are missing"
    );
    assert_eq!(
        kept[..whole.len().min(kept.len())],
        whole[..whole.len().min(kept.len())]
    );
}

/// Some file systems keep the length of a file through a power cut and not all that was in it.
/// Source: from memory, check.
#[test]
fn zero_bytes_that_a_power_cut_leaves_at_the_end_are_left_out_and_named() {
    let (_root, folder) = new_folder();
    let output = carpotempo(&simulated(&folder, &["--for", "1", "--raw"]));
    assert!(output.status.success(), "{}", stderr(&output));
    let whole = open(&folder).unwrap();
    for name in ["samples.csv", "events.csv"] {
        let path = folder.join(name);
        let text = std::fs::read(&path).unwrap();
        for cut in [text.len(), text.len() - 7] {
            let mut left = text[..cut].to_vec();
            left.resize(cut + 700, 0);
            std::fs::write(&path, &left).unwrap();
            let found = open(&folder).unwrap();
            let [samples, events] = [
                usize::from(name == "samples.csv"),
                usize::from(name == "events.csv"),
            ]
            .map(|own| own * usize::from(cut < text.len()));
            assert_eq!(found.hand[..], whole.hand[..whole.hand.len() - samples]);
            assert_eq!(
                found.events[..],
                whole.events[..whole.events.len() - events]
            );
            let named = found.warnings.iter().any(|warning| warning.contains(name));
            assert!(named, "{name}: {:?}", found.warnings);
        }
        std::fs::write(&path, &text).unwrap();
    }
}
