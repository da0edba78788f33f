//! Simulated sets for tests.

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::Recording;
use carpotempo::sample::Sample;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::truth::{TrueRepetition, true_repetitions};
use carpotempo::source::simulator::unit::UnitErrors;

/// The counted movements of a wrist and forearm.
pub const MOVEMENTS: [Movement; 6] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
    Movement::Supination,
    Movement::Pronation,
];

/// One simulated set, as a plain recording without calibration, and the truth about it.
pub struct Simulated {
    pub seed: u64,
    pub difficulties: Vec<Difficulty>,
    pub rate_hz: f64,
    pub recording: Recording,
    pub truth: Vec<TrueRepetition>,
}

/// A set of at most `longest` repetitions drawn from a seed: any movement, hand, mounting, range
/// (15 to 160 degrees) and speed, 25 to 200 Hz, with the errors of a consumer part.
pub fn simulate(seed: u64, longest: usize, difficulties: &[Difficulty]) -> Simulated {
    let mut random = Random::new(seed);
    let has = |difficulty| difficulties.contains(&difficulty);
    let movement = MOVEMENTS[random.whole(0, MOVEMENTS.len() - 1)];
    let side = if random.chance(0.5) {
        Side::Left
    } else {
        Side::Right
    };
    let travel_deg = random.between(15.0, 160.0);
    let mut manner = SetManner::drawn(&mut random, difficulties, travel_deg);
    manner.repetitions = manner.repetitions.min(longest);
    let timeline = manner.timeline(&mut random);
    let body = body(movement, side, &mut random);
    let rate_hz = 25.0 * 8f64.powf(random.unit());
    let mut unit = UnitErrors::consumer(rate_hz, &mut random);
    if has(Difficulty::Lost) {
        unit.lost_ratio = 0.06;
    }
    if has(Difficulty::Jitter) {
        unit.jitter_s = 0.001;
    }
    if has(Difficulty::Gap) {
        let latest_s = (timeline.duration_s - 3.0).max(3.1);
        unit.gaps_s = vec![[random.between(3.0, latest_s), 2.5]];
    }
    Simulated {
        seed,
        difficulties: difficulties.to_vec(),
        rate_hz,
        recording: recording(unit.sample(&body, &timeline, &mut random)),
        truth: true_repetitions(&timeline),
    }
}

/// An arm in the movement's usual posture with the sensor at any angle.
pub fn body(movement: Movement, side: Side, random: &mut Random) -> Body {
    Body {
        movement,
        side,
        posture: movement.usual_posture(),
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    }
}

/// Samples as a plain recording.
pub fn recording(hand: Vec<Sample>) -> Recording {
    Recording {
        name: "simulated".to_owned(),
        head: None,
        hand,
        forearm: Vec::new(),
        forearm_after: Vec::new(),
        events: Vec::new(),
        warnings: Vec::new(),
    }
}

/// The value below which this share of all values lies; NaN of none.
pub fn quantile(values: &[f64], share: f64) -> f64 {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    let last = values.len().saturating_sub(1) as f64;
    let nearest = (last * share).round() as usize;
    values.get(nearest).copied().unwrap_or(f64::NAN)
}
