//! A simulated session: calibration, then two announced sets of the right hand.

use carpotempo::movement::{Movement, Side};
use carpotempo::recording::{Event, EventKind, Recording, SensorInfo, SessionHead, SetEndReason};
use carpotempo::recording::{SetStart, Symptom};
use carpotempo::sample::Place;
use carpotempo::source::simulator::patient::SetManner;
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::session::{Manner, Person, Played, SetPlan, Step, play};
use carpotempo::source::simulator::unit::UnitErrors;

/// Repetitions of the first set and of the second.
pub const REPETITIONS: [usize; 2] = [5, 4];

fn set(movement: Movement, repetitions: usize, travel_deg: f64) -> Step {
    let mut manner = SetManner::ordinary(repetitions, travel_deg);
    manner.lower_s = 2.5;
    manner.lift_s = 1.4;
    Step::Set(Box::new(SetPlan {
        start: SetStart {
            movement: Some(movement),
            side: Some(Side::Right),
            load_kg: Some(1.0),
            tempo: Some("3-0-2-1".parse().unwrap()),
            target_reps: Some(5),
            ..SetStart::default()
        },
        manner: Manner::Strokes(manner),
        end: SetEndReason::Reached,
        lost_s: None,
    }))
}

/// Wrist extension, calibrated, at 52 Hz: set, rest, set.
pub fn session(seed: u64) -> Played {
    let mut random = Random::new(seed);
    let movement = Movement::WristExtension;
    let person = Person {
        forearm_m: 0.26,
        lever_m: 0.07,
        unit: UnitErrors::consumer(52.0, &mut random),
    };
    let steps = [
        Step::Wear(Side::Right),
        Step::Calibrate {
            movement,
            posture: movement.usual_posture(),
        },
        set(movement, REPETITIONS[0], 50.0),
        Step::Say(EventKind::Pain(Symptom::default())),
        Step::Rest(4.0),
        set(movement, REPETITIONS[1], 40.0),
    ];
    play(&person, &steps, &mut random)
}

/// What a session begins with: an invented patient's code.
pub fn head() -> SessionHead {
    SessionHead {
        started_at: "2026-03-02T18:30:00+01:00[+01:00]".parse().unwrap(),
        patient: "P-0001".parse().unwrap(),
        routine: None,
    }
}

/// The session as a recording that was read.
pub fn recording(played: &Played) -> Recording {
    let mut events: Vec<Event> = played.events.clone();
    events.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
    Recording {
        name: "session".to_owned(),
        head: Some(head()),
        hand: played.samples.clone(),
        forearm: Vec::new(),
        forearm_after: Vec::new(),
        events,
        warnings: Vec::new(),
    }
}

/// The nominal rate that the session's sensor announced, Hz.
pub fn rate_hz(recording: &Recording) -> f64 {
    let rate = |info: &SensorInfo| info.rate_hz.filter(|_| info.place != Some(Place::Forearm));
    recording
        .events
        .iter()
        .find_map(|event| match &event.kind {
            EventKind::Sensor(info) => rate(info),
            _ => None,
        })
        .expect("the sensor is announced")
}
