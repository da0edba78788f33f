//! Invented sets that a person judges by eye: one manner each, and the truth about it.
//!
//! Ours. The manners are those that one learns to see: too fast, too slow, ever smaller, a hold that
//! sags, a lowering with stops. A set is drawn wholly from its seed, so that nothing needs to be kept
//! between showing it and judging what was said of it. The truth is that of [`true_repetitions`].

use serde::Serialize;

use super::patient::{Difficulty, SetManner};
use super::random::Random;
use super::timeline::Timeline;
use super::truth::{TrueRepetition, true_repetitions};
use crate::movement::{Movement, Side};

/// Movements whose turn is seen from their side, and rotation from the front.
const MOVEMENTS: [Movement; 4] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::Supination,
];

/// How a set is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Manner {
    /// Lift, hold and lowering as they are usually asked for.
    Ordinary,
    /// Lowered in a second or so.
    Hurried,
    /// Lowered more slowly than is usual.
    Slow,
    /// The range shrinks by half within the set.
    Shrinking,
    /// A long hold that sags.
    SaggingHold,
    /// The lowering has stops within it.
    Stops,
}

impl Manner {
    /// Every manner.
    pub const ALL: [Manner; 6] = [
        Manner::Ordinary,
        Manner::Hurried,
        Manner::Slow,
        Manner::Shrinking,
        Manner::SaggingHold,
        Manner::Stops,
    ];
}

/// A set to be judged by eye.
#[derive(Debug, Clone)]
pub struct SeenSet {
    /// What is done.
    pub movement: Movement,
    /// With which hand.
    pub side: Side,
    /// How.
    pub manner: Manner,
    timeline: Timeline,
}

/// What is true of a set that was judged by eye.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenTruth {
    /// Every repetition.
    pub reps: Vec<TrueRepetition>,
    /// Time of the last repetition's lowering, seconds.
    pub last_lower_s: f64,
    /// Farthest angle of the last repetition, degrees against the forearm's line (rotation: against
    /// thumb up), positive in the direction of the lift.
    pub last_end_deg: f64,
}

impl SeenSet {
    /// The set of that seed.
    pub fn of(seed: u32) -> SeenSet {
        let mut random = Random::new(u64::from(seed));
        let pick = |random: &mut Random, count: usize| random.whole(0, count - 1);
        let at = pick(&mut random, Manner::ALL.len());
        let manner = Manner::ALL.get(at).copied().unwrap_or(Manner::Ordinary);
        let at = pick(&mut random, MOVEMENTS.len());
        let movement = MOVEMENTS
            .get(at)
            .copied()
            .unwrap_or(Movement::WristExtension);
        let side = if random.chance(0.5) {
            Side::Left
        } else {
            Side::Right
        };
        let timeline = done(manner, movement, &mut random).timeline(&mut random);
        SeenSet {
            movement,
            side,
            manner,
            timeline,
        }
    }

    /// How long it lasts, seconds.
    pub fn duration_s(&self) -> f64 {
        self.timeline.duration_s
    }

    /// The angle at a time, degrees; see [`SeenTruth::last_end_deg`].
    pub fn angle_deg(&self, t_s: f64) -> f64 {
        self.timeline.angle_deg(t_s)
    }

    /// What is true of it; `None` of a set without repetitions, which is never made.
    pub fn truth(&self) -> Option<SeenTruth> {
        let reps = true_repetitions(&self.timeline);
        let last = reps.last()?;
        let lowest_deg = self
            .angle_deg(last.lift_start_s)
            .min(self.angle_deg(last.lower_end_s));
        Some(SeenTruth {
            last_lower_s: last.lower_end_s - last.lower_start_s,
            last_end_deg: lowest_deg + last.range_deg,
            reps,
        })
    }
}

/// The set that a person in this manner does, at most about half a minute of it.
fn done(manner: Manner, movement: Movement, random: &mut Random) -> SetManner {
    let (start_deg, end_deg) = match movement {
        Movement::RadialDeviation => (random.between(-16.0, 0.0), random.between(12.0, 24.0)),
        Movement::Supination => (random.between(-60.0, 0.0), random.between(35.0, 75.0)),
        _ => (random.between(-35.0, 0.0), random.between(20.0, 65.0)),
    };
    let mut set = SetManner {
        start_deg,
        lift_s: random.between(1.2, 2.2),
        hold_s: random.between(0.4, 1.2),
        lower_s: random.between(2.8, 4.4),
        rest_s: random.between(0.5, 1.2),
        still_start_s: 1.2,
        // Twice as much either way stays within what a joint can.
        spread_ratio: 0.05,
        ..SetManner::ordinary(random.whole(3, 5), end_deg - start_deg)
    };
    match manner {
        Manner::Ordinary => {}
        Manner::Hurried => {
            set.lower_s = random.between(0.9, 1.9);
            set.repetitions = random.whole(4, 8);
        }
        Manner::Slow => {
            set.lower_s = random.between(5.0, 7.0);
            set.repetitions = random.whole(2, 4);
        }
        Manner::Shrinking => {
            // The smallest still goes beyond the forearm's line: an angle is asked for, not a side.
            set.start_deg = set.start_deg.max(-0.3 * end_deg);
            set.travel_deg = end_deg - set.start_deg;
            set.last_travel_ratio = random.between(0.45, 0.65);
            set.last_time_ratio = random.between(0.6, 1.0);
            set.repetitions = random.whole(4, 6);
        }
        Manner::SaggingHold => {
            set.hold_s = random.between(3.0, 4.5);
            set.difficulties = vec![Difficulty::LongHold];
            set.repetitions = random.whole(2, 4);
        }
        Manner::Stops => set.difficulties = vec![Difficulty::Stutter],
    }
    set
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    /// Closed form: between the strokes the hand stands at the levels of the plan.
    #[test]
    fn every_set_can_be_judged_and_its_truth_is_the_angle_that_is_shown() {
        let mut manners = Vec::new();
        for seed in 0..400 {
            let set = SeenSet::of(seed);
            let truth = set.truth().unwrap();
            assert!((2..=8).contains(&truth.reps.len()), "{seed}");
            assert_eq!(truth.reps.len(), set.timeline.intended.len(), "{seed}");
            assert!(set.duration_s() < 60.0, "{seed}: {} s", set.duration_s());
            let last = set.timeline.intended.last().unwrap();
            let top_deg = set.angle_deg(last.lift_to_s);
            assert!((truth.last_end_deg - top_deg).abs() < 0.01, "{seed}");
            assert!(
                (0.0..95.0).contains(&truth.last_end_deg),
                "{seed}: {:?} {:?}, {} degrees",
                set.movement,
                set.manner,
                truth.last_end_deg
            );
            let planned_s = last.lower_to_s - last.lower_from_s;
            assert!(truth.last_lower_s <= planned_s + 1e-9, "{seed}");
            assert!(truth.last_lower_s > 0.6 * planned_s, "{seed}");
            manners.push(set.manner);
        }
        for manner in Manner::ALL {
            assert!(manners.contains(&manner), "{manner:?}");
        }
    }

    #[test]
    fn the_manners_are_what_they_are_called() {
        for seed in 0..400 {
            let set = SeenSet::of(seed);
            let truth = set.truth().unwrap();
            let first = truth.reps.first().unwrap();
            let last = truth.reps.last().unwrap();
            let shrink_ratio = last.range_deg / first.range_deg;
            match set.manner {
                Manner::Hurried => assert!(truth.last_lower_s < 2.4, "{seed}"),
                Manner::Slow => assert!(truth.last_lower_s > 3.2, "{seed}"),
                Manner::Shrinking => assert!(shrink_ratio < 0.85, "{seed}: {shrink_ratio}"),
                Manner::SaggingHold => {
                    let held_s = last.lower_start_s - last.lift_end_s;
                    assert!(held_s > 2.0, "{seed}: {held_s}");
                    let sag_deg =
                        set.angle_deg(last.lift_end_s) - set.angle_deg(last.lower_start_s);
                    assert!(sag_deg > 0.2, "{seed}: {sag_deg}");
                }
                Manner::Ordinary | Manner::Stops => {}
            }
        }
    }
}
