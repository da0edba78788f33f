//! Simulated sets in which the elbow helps, or does not.

use carpotempo::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, Movement, Posture, Side,
};
use carpotempo::orientation::FilterKind;
use carpotempo::pipeline::live::{Live, LiveParams};
use carpotempo::pipeline::{Analysis, Expectation};
use carpotempo::recording::{Calibration, Event, EventKind, Recording, SetEnd, SetStart};
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::timeline::{ElbowHelp, Timeline};
use carpotempo::source::simulator::unit::UnitErrors;
use carpotempo::source::simulator::way::{Anchor, Leg, Stand, Unrest, Way};
use nalgebra::{UnitQuaternion, Vector3};

/// The movements that an elbow can help.
const HELPED: [Movement; 4] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
];

/// How the helping elbow moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Help {
    /// In step and in proportion.
    Steady,
    /// It lags or leads by up to 0.15 of the lift.
    Shifted,
    /// It comes in late in the lift.
    Late,
}

/// What a set is drawn by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    pub seed: u64,
    pub share_ratio: f64,
    /// Lift of the first repetition; the lowering takes 1 to 2 times as long.
    pub lift_s: f64,
    pub help: Help,
    /// Sway of 2 degrees and tremor.
    pub unrest: bool,
    /// Whether the record holds a calibration.
    pub calibrated: bool,
}

/// A set, with the true share of each repetition.
pub struct Helped {
    pub recording: Recording,
    pub body: Body,
    pub true_ratios: Vec<f64>,
    pub rate_hz: f64,
}

/// An arm with the sensor at any angle, in any posture in which the forearm can help.
fn drawn_body(random: &mut Random, movement: Movement) -> Body {
    let direction = [
        ForearmDirection::Level,
        ForearmDirection::Hanging,
        ForearmDirection::Upright,
    ][random.whole(0, 2)];
    let rotation = [
        ForearmRotation::PalmDown,
        ForearmRotation::ThumbUp,
        ForearmRotation::PalmUp,
    ][random.whole(0, 2)];
    let forearm = if random.chance(0.5) {
        ForearmSupport::Rested
    } else {
        ForearmSupport::Free
    };
    Body {
        movement,
        side: if random.chance(0.5) {
            Side::Left
        } else {
            Side::Right
        },
        posture: Posture {
            elbow_deg: None,
            forearm,
            direction,
            rotation,
        },
        // People differ: forearm and hand of small and large adults.
        forearm_m: random.between(0.23, 0.29),
        lever_m: random.between(0.06, 0.08),
        height_m: random.between(0.015, 0.025),
        hand_from_sensor: random.rotation(),
    }
}

/// Travel as people have it, degrees.
fn travel_deg(movement: Movement, random: &mut Random) -> f64 {
    match movement {
        Movement::WristExtension | Movement::WristFlexion => random.between(30.0, 90.0),
        _ => random.between(25.0, 50.0),
    }
}

/// Draws a set.
pub fn helped(asked: &Asked) -> Helped {
    let mut random = Random::new(asked.seed);
    let movement = HELPED[random.whole(0, HELPED.len() - 1)];
    let body = drawn_body(&mut random, movement);
    let travel = travel_deg(movement, &mut random);
    let difficulties: &[Difficulty] = if asked.unrest {
        &[Difficulty::Sway, Difficulty::Tremor]
    } else {
        &[]
    };
    let mut manner = SetManner::drawn(&mut random, difficulties, travel);
    manner.lift_s = asked.lift_s;
    manner.lower_s = asked.lift_s * random.between(1.0, 2.0);
    manner.hold_s = random.between(0.0, 1.5);
    let [shift_ratio, onset_count] = [random.between(-0.15, 0.15), random.between(1.5, 3.0)];
    manner.elbow = (asked.share_ratio > 0.0).then(|| ElbowHelp {
        share_ratios: vec![asked.share_ratio],
        lag_s: match asked.help {
            Help::Shifted => shift_ratio * asked.lift_s,
            Help::Steady | Help::Late => 0.0,
        },
        onset_count: match asked.help {
            Help::Late => onset_count,
            Help::Steady | Help::Shifted => 1.0,
        },
    });
    let mut timeline = manner.timeline(&mut random);
    // A living arm sways and trembles before the set, too.
    let unrest = Unrest {
        sway: std::mem::take(&mut timeline.sway),
        tremor: timeline.tremor.take(),
    };
    recorded(body, timeline, unrest, asked.calibrated, &mut random)
}

/// Records what an arm does, after a calibration if it is asked for.
pub fn recorded(
    body: Body,
    timeline: Timeline,
    unrest: Unrest,
    calibrated: bool,
    random: &mut Random,
) -> Helped {
    let rate_hz = 50.0 * 4_f64.powf(random.unit());
    let unit = UnitErrors::consumer(rate_hz, random);
    let (mut way, before_s) = if calibrated {
        calibration_way(&body, random)
    } else {
        (Way::default(), 0.0)
    };
    let true_ratios = timeline
        .intended
        .iter()
        .map(|i| {
            let elbow_deg = timeline.elbow_deg(i.lift_to_s + lag_s(&timeline))
                - timeline.elbow_deg(i.lift_from_s + lag_s(&timeline));
            elbow_deg / (timeline.angle_deg(i.lift_to_s) - timeline.angle_deg(i.lift_from_s))
        })
        .collect();
    way.unrest = unrest;
    way.duration_s = before_s + timeline.duration_s;
    way.legs.push((
        before_s,
        way.duration_s,
        Leg::Exercise {
            body: Box::new(body.clone()),
            timeline,
            stand: still_stand(),
        },
    ));
    let hand = unit.sample_way(way.duration_s, |t_s| way.read(t_s), random);
    let mut recording = Recording {
        name: "simulated".to_owned(),
        head: None,
        hand,
        forearm: Vec::new(),
        forearm_after: Vec::new(),
        events: Vec::new(),
        warnings: Vec::new(),
    };
    if calibrated {
        recording.events = calibration_events(&body, before_s, way.duration_s);
    }
    Helped {
        recording,
        body,
        true_ratios,
        rate_hz,
    }
}

/// The analysis of a recording that is read as it comes.
pub fn read_online(recording: &Recording, expected: &Expectation) -> Analysis {
    let params = LiveParams::of_recording(recording, expected, FilterKind::Vqf);
    let mut live = Live::new(params.unwrap());
    for event in &recording.events {
        live.event(event.clone());
    }
    for sample in &recording.hand {
        live.sample(sample);
    }
    live.finish()
}

fn lag_s(timeline: &Timeline) -> f64 {
    timeline.elbow.as_ref().map_or(0.0, |elbow| elbow.lag_s)
}

fn still_stand() -> Stand {
    Stand {
        turn: UnitQuaternion::identity(),
        shift_m: Vector3::zeros(),
    }
}

const STILL_S: f64 = 2.0;
const STROKE_S: f64 = 1.5;
const GO_S: f64 = 2.0;

/// A calibration by extension with the forearm level, and the way to the set's posture.
fn calibration_way(body: &Body, random: &mut Random) -> (Way, f64) {
    let calibrating = Body {
        movement: Movement::WristExtension,
        posture: Movement::WristExtension.usual_posture(),
        ..body.clone()
    };
    let manner = SetManner {
        lift_s: STROKE_S,
        hold_s: 0.3,
        lower_s: STROKE_S,
        still_start_s: STILL_S,
        spread_ratio: 0.0,
        ..SetManner::ordinary(1, 40.0)
    };
    let timeline = manner.timeline(random);
    let set_body = Timeline::default();
    let from_s = timeline.duration_s;
    let arm = |body: &Body, timeline: &Timeline, t_s| Anchor::Arm {
        arm: body.arm(timeline, t_s),
        worn: body.worn(),
    };
    let go = Leg::Move {
        from: arm(&calibrating, &timeline, from_s),
        to: arm(body, &set_body, 0.0),
    };
    let way = Way {
        duration_s: from_s + GO_S,
        legs: vec![
            (
                0.0,
                from_s,
                Leg::Exercise {
                    body: Box::new(calibrating),
                    timeline,
                    stand: still_stand(),
                },
            ),
            (from_s, from_s + GO_S, go),
        ],
        ..Way::default()
    };
    (way, from_s + GO_S)
}

fn calibration_events(body: &Body, set_start_s: f64, set_end_s: f64) -> Vec<Event> {
    let calibration = Calibration {
        place: None,
        side: Some(body.side),
        movement: Some(Movement::WristExtension),
        posture: Some(Movement::WristExtension.usual_posture()),
        still_start_s: Some(0.3),
        still_end_s: Some(STILL_S - 0.2),
        move_start_s: Some(STILL_S - 0.1),
        move_end_s: Some(STILL_S + 2.0 * STROKE_S + 0.5),
    };
    let start = SetStart {
        movement: Some(body.movement),
        side: Some(body.side),
        posture: Some(body.posture),
        ..SetStart::default()
    };
    let event = |t_s, kind| Event { t_s, kind };
    vec![
        event(
            STILL_S + 2.0 * STROKE_S + 0.6,
            EventKind::Calibration(calibration),
        ),
        event(set_start_s, EventKind::SetStart(start)),
        event(set_end_s, EventKind::SetEnd(SetEnd::default())),
    ]
}
