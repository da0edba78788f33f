//! Simulated sets with a unit on the hand and one on the forearm, which moves.

use carpotempo::joint::AngleTracker;
use carpotempo::movement::{JointAxis, Movement, Side};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::Detail;
use carpotempo::pipeline::live::{Live, LiveParams, Step};
use carpotempo::pipeline::{Analysis, Expectation};
use carpotempo::recording::{Calibration, Event, EventKind, Recording, SetStart};
use carpotempo::reps::{Doubt, Repetition};
use carpotempo::sample::{Place, Sample};
use carpotempo::source::simulator::body::{Body, Reading, read};
use carpotempo::source::simulator::moving::{ForearmWorn, Play, moving_forearm};
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::{Timeline, Wave};
use carpotempo::source::simulator::truth::{TrueRepetition, true_repetitions};
use carpotempo::source::simulator::unit::UnitErrors;
use nalgebra::UnitQuaternion;

/// What a set is like.
#[derive(Clone, Copy)]
pub struct Kind {
    /// Its first repetition is the calibration's movement.
    pub calibrated: bool,
    /// The wrist is no hinge.
    pub plays: bool,
    /// The clocks differ by up to half a second, else by some 10 ms.
    pub clocks_apart: bool,
    /// The forearm never keeps still.
    pub restless: bool,
    /// Perfect units on one clock.
    pub exact: bool,
    /// Rate of both units, Hz; `None` is any from 50 to 200 for each.
    pub rate_hz: Option<f64>,
    /// At least so long, seconds.
    pub lasting_s: f64,
    /// The forearm's travel, degrees.
    pub travel_deg: f64,
}

pub const ORDINARY: Kind = Kind {
    calibrated: true,
    plays: false,
    clocks_apart: false,
    restless: false,
    exact: false,
    rate_hz: None,
    lasting_s: 0.0,
    travel_deg: 30.0,
};

/// The wrist's own movements.
pub const WRIST: [Movement; 4] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
];

/// One set, and the truth about it.
pub struct TwoUnits {
    pub seed: u64,
    pub movement: Movement,
    pub side: Side,
    pub recording: Recording,
    pub truth: Vec<TrueRepetition>,
    pub timeline: Timeline,
    /// To be added to the forearm's stamps, seconds.
    pub offset_s: f64,
    /// How far apart the forearm's poses lie, degrees.
    pub travel_deg: f64,
    pub start_s: f64,
}

pub fn simulate(seed: u64, kind: Kind) -> TwoUnits {
    let mut random = Random::new(seed);
    let movement = WRIST[random.whole(0, 3)];
    let side = if random.chance(0.5) {
        Side::Left
    } else {
        Side::Right
    };
    let most_deg = match movement.joint_axis() {
        Some(JointAxis::Flexion) => 80.0,
        _ => 40.0,
    };
    let travel_deg = random.between(18.0, most_deg);
    let mut manner = SetManner::drawn(&mut random, &[], travel_deg);
    manner.still_start_s = 2.5;
    manner.rest_s = manner.rest_s.max(0.8);
    if kind.lasting_s > 0.0 {
        let one_s = manner.lift_s + manner.hold_s + manner.lower_s + manner.rest_s;
        manner.repetitions = (1.3 * kind.lasting_s / one_s).ceil() as usize;
        manner.last_time_ratio = 1.0;
    }
    let mut timeline = manner.timeline(&mut random);
    if kind.lasting_s > 0.0 {
        // It ends with a whole repetition, and the rest after it.
        let ends_s = timeline.intended.iter().map(|own| own.lower_to_s + 0.5);
        let ends_s = ends_s.filter(|end_s| *end_s <= kind.lasting_s);
        timeline.duration_s = ends_s.fold(0.0, f64::max).min(timeline.duration_s);
    }
    let first = timeline.intended[0];
    let start_s = if kind.calibrated {
        first.lower_to_s + 0.4
    } else {
        0.0
    };
    let moves_from_s = match (kind.restless, kind.calibrated) {
        (true, _) => -2.0,
        (false, true) => start_s,
        (false, false) => 2.5,
    };
    moving_forearm(&mut timeline, moves_from_s, kind.travel_deg, &mut random);
    let body = Body {
        movement,
        side,
        posture: movement.usual_posture(),
        forearm_m: 0.26,
        lever_m: 0.07,
        height_m: 0.02,
        hand_from_sensor: random.rotation(),
    };
    let worn = ForearmWorn::near_wrist(body.forearm_m, &mut random);
    let play = play(kind, start_s.max(2.5), &mut random);
    let offset_s = match (kind.exact, kind.clocks_apart) {
        (true, _) => 0.0,
        (false, true) => random.between(-0.5, 0.5),
        (false, false) => 0.01 * random.normal(),
    };
    let on_hand = body.worn();
    let hand_at = |t_s| read(|t_s| on_hand.sensor(&play.with(&body, &timeline, t_s)), t_s);
    let forearm_at = |t_s| read(|t_s| worn.sensor(&play.with(&body, &timeline, t_s)), t_s);
    let hand = sampled(kind, &timeline, hand_at, &mut random);
    let mut forearm = sampled(kind, &timeline, forearm_at, &mut random);
    // Both come as they are taken, whatever their clocks say.
    let forearm_after = forearm
        .iter()
        .map(|sample| hand.partition_point(|own| own.t_s < sample.t_s) as u32)
        .collect();
    for sample in &mut forearm {
        sample.t_s -= offset_s;
    }
    let poses: Vec<UnitQuaternion<f64>> = (0..200)
        .map(|n| start_s + f64::from(n) * (timeline.duration_s - start_s) / 200.0)
        .map(|t_s| body.arm(&timeline, t_s).world_from_forearm)
        .collect();
    let truth = true_repetitions(&timeline)
        .into_iter()
        .filter(|one| one.lift_start_s > start_s && one.lower_end_s < timeline.duration_s - 0.1)
        .collect();
    TwoUnits {
        seed,
        movement,
        side,
        recording: Recording {
            name: "two units".to_owned(),
            head: None,
            hand,
            forearm,
            forearm_after,
            events: events(kind, &body, first.lift_from_s, first.lower_to_s, start_s),
            warnings: Vec::new(),
        },
        truth,
        travel_deg: farthest_deg(&poses),
        timeline,
        offset_s,
        start_s,
    }
}

fn farthest_deg(poses: &[UnitQuaternion<f64>]) -> f64 {
    let mut farthest_deg: f64 = 0.0;
    for a in poses {
        for b in poses {
            farthest_deg = farthest_deg.max(a.angle_to(b).to_degrees());
        }
    }
    farthest_deg
}

fn sampled(
    kind: Kind,
    timeline: &Timeline,
    at: impl Fn(f64) -> Reading,
    random: &mut Random,
) -> Vec<Sample> {
    let any_hz = 50.0 * 4f64.powf(random.unit());
    let rate_hz = kind.rate_hz.unwrap_or(any_hz);
    let errors = if kind.exact {
        UnitErrors::none(rate_hz)
    } else {
        UnitErrors::consumer(rate_hz, random)
    };
    errors.sample_way(timeline.duration_s, at, random)
}

fn play(kind: Kind, from_s: f64, random: &mut Random) -> Play {
    if !kind.plays {
        return Play::default();
    }
    let mut wave = |most_deg: f64, low_hz: f64, high_hz: f64| Wave {
        amplitude_deg: most_deg * random.between(0.3, 1.0),
        frequency_hz: random.between(low_hz, high_hz),
        phase_rad: random.between(0.0, std::f64::consts::TAU),
    };
    Play {
        from_s,
        wandering: vec![wave(4.0, 0.05, 0.2), wave(3.0, 0.2, 0.6)],
        loose: vec![wave(1.5, 0.05, 0.3), wave(1.5, 0.3, 1.0)],
        oblique_ratio: random.between(-0.4, 0.4),
        bent_ratio: random.between(-0.15, 0.15),
    }
}

fn events(kind: Kind, body: &Body, lift_from_s: f64, lower_to_s: f64, start_s: f64) -> Vec<Event> {
    let start = EventKind::SetStart(SetStart {
        movement: Some(body.movement),
        side: Some(body.side),
        posture: Some(body.posture),
        ..SetStart::default()
    });
    let calibration = EventKind::Calibration(Calibration {
        place: Some(Place::Hand),
        side: Some(body.side),
        movement: Some(body.movement),
        posture: Some(body.posture),
        still_start_s: Some(0.3),
        still_end_s: Some(lift_from_s - 0.2),
        move_start_s: Some(lift_from_s - 0.1),
        move_end_s: Some(lower_to_s + 0.2),
    });
    let mut events = Vec::new();
    if kind.calibrated {
        events.push(Event {
            t_s: lower_to_s + 0.3,
            kind: calibration,
        });
    }
    events.push(Event {
        t_s: start_s,
        kind: start,
    });
    events
}

/// The same recording without the forearm's unit.
pub fn one_unit(recording: &Recording) -> Recording {
    Recording {
        forearm: Vec::new(),
        ..recording.clone()
    }
}

/// Played through the live pipeline, in the order the samples came.
pub fn online(recording: &Recording) -> (Vec<Step>, Analysis) {
    let params =
        LiveParams::of_recording(recording, &Expectation::default(), FilterKind::Vqf).unwrap();
    let mut live = Live::new(params);
    for event in &recording.events {
        live.event(event.clone());
    }
    let mut steps = Vec::new();
    for (place, sample) in recording.in_order() {
        match place {
            Place::Forearm => live.forearm_sample(sample),
            Place::Hand => steps.push(live.sample(sample)),
        }
    }
    (steps, live.finish())
}

impl TwoUnits {
    /// The repetition that a true one was read as.
    pub fn partner<'a>(
        &self,
        truth: &TrueRepetition,
        reps: &'a [Repetition],
    ) -> Option<&'a Repetition> {
        let overlap_s = |r: &Repetition| {
            r.lower_end_s.min(truth.lower_end_s) - r.lift_start_s.max(truth.lift_start_s)
        };
        reps.iter()
            .max_by(|a, b| overlap_s(a).total_cmp(&overlap_s(b)))
            .filter(|r| overlap_s(r) > 0.0 && !r.doubts.contains(&Doubt::Gap))
    }

    /// By how much each range is off, degrees.
    pub fn ranges_off_deg(&self, reps: &[Repetition]) -> Vec<f64> {
        self.truth
            .iter()
            .filter_map(|truth| {
                Some((self.partner(truth, reps)?.range_deg - truth.range_deg).abs())
            })
            .collect()
    }

    /// The angle of every sample of the set.
    pub fn angles(&self, detail: &Detail) -> Vec<(f64, f64)> {
        let set = &detail.sets[0];
        let Some(motion) = &set.motion else {
            return Vec::new();
        };
        let mut tracker = AngleTracker::new(motion.measure);
        set.span
            .clone()
            .map(|index| {
                let own = set.orientation(index, &detail.oriented[index]);
                let point = tracker.push(own);
                (point.t_s, point.measured_deg - motion.zero_deg)
            })
            .collect()
    }

    /// Root mean square of what angles are off, degrees.
    pub fn off_deg(&self, angles: &[(f64, f64)]) -> f64 {
        let squares = angles
            .iter()
            .map(|(t_s, deg)| (deg - self.timeline.moved_angle_deg(*t_s)).powi(2));
        (squares.sum::<f64>() / angles.len() as f64).sqrt()
    }
}
