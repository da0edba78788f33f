//! Plays a whole guided session by an invented person: strap, calibration, sets, pauses, answers.
//! Gives the samples and events that a recorder would have written, and the truth beside them.

use std::path::Path;

use nalgebra::UnitQuaternion;

use super::body::{Body, Worn};
use super::circles::CircleManner;
use super::patient::SetManner;
use super::random::Random;
use super::stage::{Stage, stand};
use super::timeline::Timeline;
use super::truth::{TrueRepetition, true_repetitions, true_turns};
use super::unit::UnitErrors;
use crate::movement::{Movement, Posture, Side};
use crate::recording::{
    Battery, Calibration, ClockInfo, Event, EventKind, Gap, PlaceMark, RecordingError, SensorInfo,
    SessionHead, SetEnd, SetEndReason, SetStart, Writer,
};
use crate::sample::{Place, Sample};

/// Ranges of the simulated unit, as its `sensor` event says.
const ACCEL_RANGE_G: f64 = 8.0;
/// Likewise, deg/s.
const GYRO_RANGE_DEG_S: f64 = 2000.0;

/// How far the wrist's own axis of flexion lies from the anatomical one, degrees: flexion comes with ulnar
/// deviation.
///
/// Source: Crisco et al., J Bone Joint Surg Am 93:169-177, 2011: 26.6 +- 4.4.
pub const OBLIQUE_DEG: f64 = 26.6;

/// The word of the event by which a played session says that it was played.
pub const SIMULATED: &str = "simulated";

/// The event by which a played session says so: whose data these are not, and what plays it.
pub fn simulated(what: &str) -> EventKind {
    EventKind::Unknown {
        name: SIMULATED.to_owned(),
        detail: serde_json::json!({
            "what": what,
            "note": "Invented data: played by the simulator. No person did this exercise.",
        }),
    }
}

/// Who wears the sensor: what stays the same from one session to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// Elbow to wrist, metres.
    pub forearm_m: f64,
    /// Wrist to sensor, metres.
    pub lever_m: f64,
    /// The unit.
    pub unit: UnitErrors,
}

/// What happens in a session, in order.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// The sensor is strapped to that hand.
    Strap(Side),
    /// The sensor sits on that hand already; only before anything else.
    Wear(Side),
    /// A neutral still pose, then the movement, lift first.
    Calibrate {
        /// The known movement.
        movement: Movement,
        /// How the arm is held.
        posture: Posture,
    },
    /// A set.
    Set(Box<SetPlan>),
    /// An answer, a mark or a note; the person sits still for a moment.
    Say(EventKind),
    /// The arm puts the weight down, rests so long, and takes it up again, seconds.
    Rest(f64),
}

/// How a set is done.
#[derive(Debug, Clone, PartialEq)]
pub enum Manner {
    /// There and back, again and again.
    Strokes(SetManner),
    /// The same about the wrist's own oblique axis: deviation goes along with flexion.
    Oblique(SetManner),
    /// Round and round.
    Circles(CircleManner),
}

/// A set to be played.
#[derive(Debug, Clone, PartialEq)]
pub struct SetPlan {
    /// What is announced; movement and side must be given, the posture is the movement's usual
    /// one where none is.
    pub start: SetStart,
    /// How it is done.
    pub manner: Manner,
    /// Why it ends.
    pub end: SetEndReason,
    /// The link is lost in the middle of the set for so long, seconds.
    pub lost_s: Option<f64>,
}

/// The truth of one set.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueSet {
    /// When it was announced, seconds.
    pub start_s: f64,
    /// When its end was announced, seconds.
    pub end_s: f64,
    /// What was done.
    pub movement: Movement,
    /// With which hand.
    pub side: Side,
    /// Its repetitions; times on the session's own clock.
    pub reps: Vec<TrueRepetition>,
}

/// A session that was played.
#[derive(Debug, Clone, PartialEq)]
pub struct Played {
    /// What the hand sensor delivered.
    pub samples: Vec<Sample>,
    /// What was said, in order of time.
    pub events: Vec<Event>,
    /// What was truly done.
    pub truth: Vec<TrueSet>,
}

/// Plays a session. The same person, steps and random source give the same session. Steps without
/// a strap give events alone.
pub fn play(person: &Person, steps: &[Step], random: &mut Random) -> Played {
    let mut play = Play {
        person,
        stage: Stage::new(random),
        random,
        worn: None,
        events: Vec::new(),
        truth: Vec::new(),
        gaps_s: Vec::new(),
    };
    let sensed = steps
        .iter()
        .any(|step| matches!(step, Step::Strap(_) | Step::Wear(_)));
    if sensed {
        play.connect();
    }
    for step in steps {
        play.step(step);
    }
    if sensed {
        play.stage.stay(1.0);
    }
    play.finish(sensed)
}

struct Play<'a> {
    person: &'a Person,
    random: &'a mut Random,
    stage: Stage,
    worn: Option<Worn>,
    events: Vec<Event>,
    truth: Vec<TrueSet>,
    gaps_s: Vec<[f64; 2]>,
}

impl Play<'_> {
    fn say_at(&mut self, t_s: f64, kind: EventKind) {
        self.events.push(Event {
            // A computer's clock to the millisecond.
            t_s: rounded(t_s, 1e3),
            kind,
        });
    }

    fn say(&mut self, kind: EventKind) {
        self.say_at(self.stage.now_s(), kind);
    }

    fn connect(&mut self) {
        let unit = &self.person.unit;
        let sensor = SensorInfo {
            place: Some(Place::Hand),
            name: Some("Simulated unit".to_owned()),
            rate_hz: Some(unit.rate_hz),
            accel_range_g: Some(ACCEL_RANGE_G),
            gyro_range_deg_s: Some(GYRO_RANGE_DEG_S),
            firmware: Some("simulated 1".to_owned()),
        };
        self.say(EventKind::Sensor(sensor));
        // The unit has been awake for a while when the recording begins.
        let awake_s = self.random.between(5.0, 90.0);
        self.say(EventKind::Clock(ClockInfo {
            place: Some(Place::Hand),
            offset_s: Some(-rounded(awake_s, 1e3)),
            drift_ppm: None,
        }));
        let percent = self.random.whole(55, 95) as u8;
        self.say(EventKind::Battery(Battery {
            place: Some(Place::Hand),
            percent: Some(percent),
        }));
    }

    /// The strap never sits twice alike.
    fn worn(&mut self, side: Side) -> Worn {
        let worn = Worn {
            side,
            forearm_m: self.person.forearm_m,
            lever_m: self.person.lever_m + 0.004 * self.random.normal(),
            height_m: 0.02,
            hand_from_sensor: strapped(self.random),
        };
        self.worn = Some(worn);
        worn
    }

    fn step(&mut self, step: &Step) {
        match step {
            Step::Strap(side) => {
                let worn = self.worn(*side);
                self.stage.stay(1.0);
                self.stage.strap(worn, self.random);
            }
            Step::Wear(side) => {
                let worn = self.worn(*side);
                self.stage.wear(worn, self.random);
            }
            Step::Calibrate { movement, posture } => self.calibrate(*movement, *posture),
            Step::Set(plan) => self.set(plan),
            Step::Say(kind) => {
                self.stage.stay(1.5);
                self.say(kind.clone());
            }
            Step::Rest(lasting_s) => self.rest(*lasting_s),
        }
    }

    fn body(&self, movement: Movement, posture: Posture) -> Option<Body> {
        let worn = self.worn?;
        Some(Body {
            movement,
            side: worn.side,
            posture,
            forearm_m: worn.forearm_m,
            lever_m: worn.lever_m,
            height_m: worn.height_m,
            hand_from_sensor: worn.hand_from_sensor,
        })
    }

    fn calibrate(&mut self, movement: Movement, posture: Posture) {
        let Some(body) = self.body(movement, posture) else {
            return;
        };
        let manner = SetManner {
            lift_s: 1.5,
            hold_s: 0.3,
            lower_s: 1.5,
            still_start_s: 2.2,
            ..SetManner::ordinary(1, self.random.between(32.0, 42.0))
        };
        let timeline = manner.timeline(self.random);
        let duration_s = timeline.duration_s;
        let side = body.side;
        let place = stand(self.random);
        let start_s = self.stage.exercise(body, timeline, place, self.random);
        let at = |t_s: f64| Some(rounded(t_s, 1e3));
        self.say(EventKind::Calibration(Calibration {
            place: Some(Place::Hand),
            side: Some(side),
            movement: Some(movement),
            posture: Some(posture),
            still_start_s: at(start_s + 0.1),
            still_end_s: at(start_s + manner.still_start_s),
            move_start_s: at(start_s + manner.still_start_s),
            move_end_s: at(start_s + duration_s),
        }));
    }

    fn rest(&mut self, lasting_s: f64) {
        let until_s = self.stage.now_s() + lasting_s;
        self.stage.wander(2, self.random);
        self.stage.rest(self.random);
        // What is left, less what taking up the weight will need.
        let left_s = until_s - self.stage.now_s() - 4.0;
        self.stage.stay(left_s);
        self.stage.wander(2, self.random);
    }

    fn set(&mut self, plan: &SetPlan) {
        let Some(movement) = plan.start.movement else {
            return;
        };
        let posture = plan.start.posture.unwrap_or(movement.usual_posture());
        let Some(body) = self.body(movement, posture) else {
            return;
        };
        let timeline = match &plan.manner {
            Manner::Strokes(manner) => manner.timeline(self.random),
            Manner::Oblique(manner) => Timeline {
                oblique_ratio: OBLIQUE_DEG.to_radians().tan(),
                ..manner.timeline(self.random)
            },
            Manner::Circles(manner) => manner.timeline(),
        };
        let mut reps = match &plan.manner {
            Manner::Strokes(_) | Manner::Oblique(_) => true_repetitions(&timeline),
            Manner::Circles(_) => true_turns(&timeline),
        };
        let middle_s = middle(&timeline);
        let place = stand(self.random);
        let side = body.side;
        let start_s = self.stage.exercise(body, timeline, place, self.random);
        self.say_at(start_s, EventKind::SetStart(plan.start.clone()));
        if let Some(lost_s) = plan.lost_s {
            self.lose(start_s + middle_s, lost_s);
        }
        self.say(EventKind::SetEnd(SetEnd {
            reason: Some(plan.end),
            ..SetEnd::default()
        }));
        for repetition in &mut reps {
            repetition.lift_start_s += start_s;
            repetition.lift_end_s += start_s;
            repetition.lower_start_s += start_s;
            repetition.lower_end_s += start_s;
        }
        self.truth.push(TrueSet {
            start_s,
            end_s: self.stage.now_s(),
            movement,
            side,
            reps,
        });
    }

    fn lose(&mut self, from_s: f64, lost_s: f64) {
        let place = Some(Place::Hand);
        let to_s = from_s + lost_s;
        self.gaps_s.push([from_s, lost_s]);
        self.say_at(from_s + 1.0, EventKind::SensorLost(PlaceMark { place }));
        self.say_at(to_s, EventKind::SensorBack(PlaceMark { place }));
        let gap = Gap {
            place,
            start_s: Some(rounded(from_s, 1e3)),
            end_s: Some(rounded(to_s, 1e3)),
            lost_count: Some((lost_s * self.person.unit.rate_hz) as u64),
        };
        self.say_at(to_s, EventKind::Gap(gap));
    }

    fn finish(self, sensed: bool) -> Played {
        let mut samples = Vec::new();
        if sensed {
            let unit = UnitErrors {
                gaps_s: self.gaps_s,
                ..self.person.unit.clone()
            };
            let way = self.stage.finish();
            samples = unit.sample_way(way.duration_s, |t_s| way.read(t_s), self.random);
            for sample in &mut samples {
                // As far as a unit's own steps reach, and no further: shorter files.
                sample.accel_m_s2 = sample.accel_m_s2.map(|value| rounded(value, 1e5));
                sample.gyro_rad_s = sample.gyro_rad_s.map(|value| rounded(value, 1e6));
            }
        }
        Played {
            samples,
            events: self.events,
            truth: self.truth,
        }
    }
}

/// A number to so many parts of one.
fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts
}

/// The middle of a set's second repetition, else of the set, seconds from its start.
fn middle(timeline: &Timeline) -> f64 {
    timeline
        .intended
        .get(1)
        .map_or(0.5 * timeline.duration_s, |second| {
            0.5 * (second.lift_from_s + second.lower_to_s)
        })
}

/// Flat on the back of the hand, turned by any quarter and a
/// few degrees more.
pub(super) fn strapped(random: &mut Random) -> UnitQuaternion<f64> {
    use nalgebra::Vector3;
    // The unit's z points out of the back of the hand, against the volar X axis.
    let flat = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), -std::f64::consts::FRAC_PI_2);
    let quarter = std::f64::consts::FRAC_PI_2 * random.whole(0, 3) as f64;
    let turn = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), quarter);
    let loose = UnitQuaternion::from_scaled_axis(random.normal_vector(6_f64.to_radians()));
    flat * turn * loose
}

impl Played {
    /// Records the session as a folder, as a live session does: samples and events as they come.
    ///
    /// # Errors
    /// Those of [`Writer`].
    pub fn record(&self, folder: &Path, head: &SessionHead) -> Result<(), RecordingError> {
        let mut writer = Writer::create(folder, head)?;
        let mut events = self.events.clone();
        events.sort_by(|a, b| a.t_s.total_cmp(&b.t_s));
        let mut events = events.iter().peekable();
        for sample in &self.samples {
            while let Some(event) = events.next_if(|event| event.t_s <= sample.t_s) {
                writer.event(event)?;
            }
            writer.sample(Place::Hand, sample)?;
        }
        for event in events {
            writer.event(event)?;
        }
        writer.finish()
    }

    /// The truth as CSV: times on the session's clock, sets and repetitions counted from 1.
    pub fn truth_csv(&self) -> String {
        let mut text = String::from(
            "set,movement,side,rep,lift_start_s,lift_end_s,lower_start_s,lower_end_s,range_deg\n",
        );
        for (index, set) in self.truth.iter().enumerate() {
            for (rep, r) in set.reps.iter().enumerate() {
                text.push_str(&format!(
                    "{},{},{},{},{:.3},{:.3},{:.3},{:.3},{:.2}\n",
                    index + 1,
                    set.movement.name(),
                    set.side.name(),
                    rep + 1,
                    r.lift_start_s,
                    r.lift_end_s,
                    r.lower_start_s,
                    r.lower_end_s,
                    r.range_deg
                ));
            }
        }
        text
    }
}
