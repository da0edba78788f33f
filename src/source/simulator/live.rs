//! An invented person with a simulated unit, live: calibrates and repeats in real time, told
//! through the packets of our own profile, so that what a radio delivers and this go the same way.
//!
//! Ours. The person listens to no prompt: still, one movement, still, then repetitions until
//! nobody listens any more. The same plan gives the same bytes at the same times.

use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use super::acted::{GOES_ON_S, acted};
use super::body::Reading;
use super::live_unit::LiveUnit;
use super::random::Random;
use super::timeline::Timeline;
use super::truth::{TrueRepetition, true_repetitions, true_turns};
use super::units::{ForearmPlan, Units};
use super::way::Way;
use crate::recording::SetStart;
use crate::source::signal::{Signal, Told};

/// The unit is connected so long after the recording began, seconds.
const CONNECTS_S: f64 = 0.3;

/// What the person does, and what goes wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct LivePlan {
    /// What is exercised: movement (wrist extension where none is named), side (right), tempo.
    pub set: SetStart,
    /// Whether a calibration's movement comes first.
    pub calibrates: bool,
    /// Repetitions; `None` goes on for half an hour.
    pub repetitions: Option<usize>,
    /// Share of packets that never arrive.
    pub lost_ratio: f64,
    /// Lost links: from when, and for how long, seconds of the recording.
    pub losses_s: Vec<[f64; 2]>,
    /// A second unit, on the forearm; the hand's tells the same with it and without.
    pub forearm: Option<ForearmPlan>,
    /// Seed.
    pub seed: u64,
}

/// The person, the units and their links, as a stream of signals.
#[derive(Debug)]
pub struct LivePerson {
    way: Way,
    units: Units,
    /// What is exercised, and when it begins, seconds.
    exercise: (Timeline, f64),
}

impl LivePerson {
    /// A person who is about to begin.
    pub fn new(plan: LivePlan) -> LivePerson {
        let mut random = Random::new(plan.seed);
        let (way, exercise) = acted(&plan, &mut random);
        let hand = LiveUnit::new(CONNECTS_S, plan.lost_ratio, plan.losses_s, random);
        let forearm = plan.forearm.as_ref();
        LivePerson {
            way,
            units: Units::new(hand, forearm, CONNECTS_S, plan.seed),
            exercise,
        }
    }

    /// What is truly done; times by the recording's start, on the computer's clock.
    pub fn truth(&self) -> Vec<TrueRepetition> {
        let (timeline, start_s) = &self.exercise;
        let mut truth = if timeline.circle_half_angle_deg.is_some() {
            true_turns(timeline)
        } else {
            true_repetitions(timeline)
        };
        for repetition in &mut truth {
            repetition.lift_start_s += start_s;
            repetition.lift_end_s += start_s;
            repetition.lower_start_s += start_s;
            repetition.lower_end_s += start_s;
        }
        truth
    }

    /// What an ideal sensor on this person's hand reads at a time by the recording's start, seconds.
    pub fn ideal(&self, t_s: f64) -> Reading {
        self.way.read(t_s)
    }
}

impl Iterator for LivePerson {
    type Item = Signal;

    fn next(&mut self) -> Option<Signal> {
        loop {
            if let Some(signal) = self.units.take() {
                return Some(signal);
            }
            if self.units.next_s() > self.way.duration_s + GOES_ON_S {
                return None;
            }
            self.units.packet(&self.way, 0.0);
        }
    }
}

/// Plays a person from now on, `pace_ratio` times as fast as life; 1 is in real time. The thread
/// ends soon after nobody listens any more.
///
/// # Errors
/// Where the system gives no thread.
pub fn play(plan: LivePlan, origin: Instant, pace_ratio: f64) -> std::io::Result<Receiver<Signal>> {
    let (signals, heard) = channel();
    std::thread::Builder::new()
        .name("simulator".to_owned())
        .spawn(move || {
            for signal in LivePerson::new(plan) {
                wait_for(&signal, origin, pace_ratio);
                if signals.send(signal).is_err() {
                    return;
                }
            }
            let words = "the simulated person has gone home".to_owned();
            let at_s = origin.elapsed().as_secs_f64() * pace_ratio;
            let _nobody_listens = signals.send(Signal {
                at_s,
                told: Told::Ended(words),
            });
        })?;
    Ok(heard)
}

/// Waits until a signal is due.
pub(super) fn wait_for(signal: &Signal, origin: Instant, pace_ratio: f64) {
    let due = Duration::try_from_secs_f64(signal.at_s / pace_ratio);
    let ahead = due.unwrap_or_default().saturating_sub(origin.elapsed());
    if !ahead.is_zero() {
        std::thread::sleep(ahead);
    }
}
