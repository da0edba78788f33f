//! Sets of invented people with a living arm, calibrated or not, worn as they should be or strangely.

use carpotempo::joint::wear::WearKind;
use carpotempo::joint::{lift_axis_in_hand, up_in_hand};
use carpotempo::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, JointAxis, Movement, Posture, Side,
};
use carpotempo::recording::{
    Calibration, Event, EventKind, Recording, SensorInfo, SetEnd, SetEndReason, SetStart,
};
use carpotempo::sample::Place;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::stage::{Stage, stand};
use carpotempo::source::simulator::timeline::{ArmMove, ArmMoveKind, Timeline, Wave};
use carpotempo::source::simulator::unit::UnitErrors;
use carpotempo::source::simulator::way::Unrest;
use carpotempo::source::simulator::wear::Wear;
use nalgebra::{UnitQuaternion, Vector3};

/// How the sensor is worn, and what else happens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Story {
    /// As it should be.
    Ordinary,
    /// As it should be; the arm shifts by 10 to 30 degrees in mid-set and stays so.
    Shifted,
    /// Upper side to the skin from the beginning.
    FaceDown,
    /// Taken off after the calibration and put on turned by a half.
    Turned,
    /// On the other hand than announced, from the beginning.
    OtherHand,
    /// On the forearm.
    OnForearm,
    /// It slips by 15 to 40 degrees in mid-set.
    Slips,
    /// It lies on the table while the set is waited for.
    Lies,
    /// It is taken off in mid-set and laid on the table.
    LaidDown,
}

impl Story {
    /// What should be found.
    pub fn kind(self) -> Option<WearKind> {
        match self {
            Story::Ordinary | Story::Shifted => None,
            Story::FaceDown => Some(WearKind::FaceDown),
            Story::Turned => Some(WearKind::Turned),
            Story::OtherHand => Some(WearKind::OtherHand),
            Story::OnForearm => Some(WearKind::OnForearm),
            Story::Slips => Some(WearKind::Slipped),
            Story::Lies | Story::LaidDown => Some(WearKind::LeftLying),
        }
    }
}

/// One set, as a recording with its events.
pub struct Strange {
    pub seed: u64,
    pub story: Story,
    pub movement: Movement,
    pub posture: Posture,
    pub difficulties: Vec<Difficulty>,
    pub recording: Recording,
    pub rate_hz: f64,
    /// A calibration was made.
    pub calibrated: bool,
    /// Whether what one unit sees can tell it at all.
    pub decidable: bool,
    /// When the mishap happens, seconds.
    pub at_s: f64,
    /// By how much a slip turns the movement's axis in the sensor, degrees.
    pub slip_deg: f64,
    /// When the set begins, seconds.
    pub set_s: f64,
}

const MOVEMENTS: [Movement; 6] = [
    Movement::WristExtension,
    Movement::WristFlexion,
    Movement::RadialDeviation,
    Movement::UlnarDeviation,
    Movement::Supination,
    Movement::Pronation,
];

/// Difficulties that leave a set a set with a still start.
const WHOLE: [Difficulty; 12] = [
    Difficulty::LongHold,
    Difficulty::NoHold,
    Difficulty::Fatigue,
    Difficulty::SmallAfterLarge,
    Difficulty::Stutter,
    Difficulty::Tremor,
    Difficulty::Sway,
    Difficulty::Fidgets,
    Difficulty::LongRests,
    Difficulty::Decoys,
    Difficulty::Lost,
    Difficulty::Jitter,
];

/// A set of that story, drawn from a seed.
pub fn strange(seed: u64, story: Story) -> Strange {
    Scene::new(seed, story).act()
}

struct Scene {
    seed: u64,
    story: Story,
    random: Random,
    stage: Stage,
    body: Body,
    /// The hand that is announced.
    side: Side,
    events: Vec<Event>,
    calibrated: Option<(Movement, Posture)>,
    difficulties: Vec<Difficulty>,
    face_known: bool,
    /// Tip of a unit on the forearm at the end of a stroke, degrees.
    tip_deg: f64,
    /// The turn of the unit on the hand, seen from the hand, after the calibration.
    seat: UnitQuaternion<f64>,
}

impl Scene {
    fn new(seed: u64, story: Story) -> Scene {
        let mut random = Random::new(seed);
        let movement = MOVEMENTS[random.whole(0, 5)];
        let side = if random.chance(0.5) {
            Side::Left
        } else {
            Side::Right
        };
        let ordinary = story.kind().is_none();
        let pool: &[Difficulty] = if ordinary { &Difficulty::ALL } else { &WHOLE };
        let mut difficulties: Vec<Difficulty> = (0..random.whole(0, 2))
            .map(|_| pool[random.whole(0, pool.len() - 1)])
            .collect();
        difficulties.sort();
        difficulties.dedup();
        let posture = posture(movement, &mut random);
        let body = Body {
            movement,
            side: if story == Story::OtherHand {
                other(side)
            } else {
                side
            },
            posture,
            forearm_m: random.between(0.22, 0.30),
            lever_m: random.between(0.05, 0.09),
            height_m: 0.02,
            hand_from_sensor: strapped(&mut random, story == Story::FaceDown),
        };
        let mut stage = Stage::new(&mut random);
        stage.trembles(living(&mut random));
        let tip_ratio = random.between(0.02, 0.08);
        if story == Story::OnForearm {
            stage.worn(Wear::OnForearm { tip_ratio });
        }
        Scene {
            seed,
            story,
            stage,
            body,
            side,
            events: Vec::new(),
            calibrated: None,
            difficulties,
            face_known: random.chance(0.85),
            tip_deg: tip_ratio,
            seat: UnitQuaternion::identity(),
            random,
        }
    }

    fn say(&mut self, t_s: f64, kind: EventKind) {
        self.events.push(Event { t_s, kind });
    }

    fn act(mut self) -> Strange {
        if self.face_known {
            let sensor = SensorInfo {
                place: Some(Place::Hand),
                name: Some("Simulated unit".to_owned()),
                ..SensorInfo::default()
            };
            self.say(0.0, EventKind::Sensor(sensor));
        }
        self.stage.wear(self.body.worn(), &mut self.random);
        if self.random.chance(0.85) {
            self.calibrate();
        }
        if self.story == Story::Turned {
            self.put_on_anew();
        }
        let poses = self.random.whole(1, 3);
        self.stage.wander(poses, &mut self.random);
        if self.random.chance(0.4) {
            self.stage.rest(&mut self.random);
            let pause_s = self.random.between(0.5, 6.0);
            self.stage.stay(pause_s);
        }
        self.supinate();
        let (set_s, at_s, slip_deg) = self.set();
        let mut random = self.random.clone();
        let rate_hz = 50.0 * 4f64.powf(random.unit());
        let mut unit = UnitErrors::consumer(rate_hz, &mut random);
        if self.difficulties.contains(&Difficulty::Lost) {
            unit.lost_ratio = 0.06;
        }
        if self.difficulties.contains(&Difficulty::Jitter) {
            unit.jitter_s = 0.001;
        }
        if self.difficulties.contains(&Difficulty::Gap) {
            unit.gaps_s = vec![[set_s + random.between(3.0, 12.0), 2.5]];
        }
        let decidable = self.decidable(slip_deg);
        let way = self.stage.finish();
        let hand = unit.sample_way(way.duration_s, |t_s| way.read(t_s), &mut random);
        Strange {
            seed: self.seed,
            story: self.story,
            movement: self.body.movement,
            posture: self.body.posture,
            difficulties: self.difficulties,
            recording: Recording {
                name: "simulated".to_owned(),
                head: None,
                hand,
                forearm: Vec::new(),
                forearm_after: Vec::new(),
                events: self.events,
                warnings: Vec::new(),
            },
            rate_hz,
            calibrated: self.calibrated.is_some(),
            decidable,
            at_s,
            slip_deg,
            set_s,
        }
    }

    /// As a guided session fits it, or, as a quick set does, with the set's own movement.
    fn calibrate(&mut self) {
        let own = self.random.chance(0.3)
            && self.body.movement.joint_axis().is_some()
            && self.body.posture == self.body.movement.usual_posture();
        let movement = if own {
            self.body.movement
        } else {
            Movement::WristExtension
        };
        let posture = movement.usual_posture();
        let body = Body {
            movement,
            posture,
            ..self.body.clone()
        };
        let travel_deg = match movement.joint_axis() {
            Some(JointAxis::Deviation) => self.random.between(18.0, 30.0),
            _ => self.random.between(30.0, 45.0),
        };
        let manner = SetManner {
            lift_s: 1.5,
            hold_s: 0.3,
            lower_s: 1.5,
            still_start_s: 2.3,
            ..SetManner::ordinary(1, travel_deg)
        };
        let timeline = manner.timeline(&mut self.random);
        let lasting_s = timeline.duration_s;
        let place = stand(&mut self.random);
        let start_s = self.stage.exercise(body, timeline, place, &mut self.random);
        self.stage.stay(0.3);
        let windows = Calibration {
            place: Some(Place::Hand),
            side: Some(self.side),
            movement: Some(movement),
            posture: Some(posture),
            still_start_s: Some(start_s + 0.2),
            still_end_s: Some(start_s + 2.2),
            move_start_s: Some(start_s + 2.2),
            move_end_s: Some(start_s + lasting_s),
        };
        self.say(start_s + lasting_s + 0.2, EventKind::Calibration(windows));
        self.calibrated = Some((movement, posture));
    }

    /// A forearm comes to palm up by thumb up; the stage itself goes the shortest way.
    fn supinate(&mut self) {
        if self.body.posture.rotation != ForearmRotation::PalmUp {
            return;
        }
        let posture = Posture {
            rotation: ForearmRotation::ThumbUp,
            ..self.body.posture
        };
        let body = Body {
            posture,
            ..self.body.clone()
        };
        let passing = Timeline {
            duration_s: 0.1,
            ..Timeline::default()
        };
        let place = stand(&mut self.random);
        self.stage.exercise(body, passing, place, &mut self.random);
    }

    /// Taken off, turned by a half about one of the hand's axes, and put on again.
    fn put_on_anew(&mut self) {
        let axis = [Vector3::x(), Vector3::y(), Vector3::z()][self.random.whole(0, 2)];
        let loose = self.random.normal_vector(6_f64.to_radians());
        self.seat = UnitQuaternion::from_scaled_axis(loose)
            * UnitQuaternion::from_scaled_axis(axis * std::f64::consts::PI);
        self.body.hand_from_sensor = self.seat * self.body.hand_from_sensor;
        self.stage.strap(self.body.worn(), &mut self.random);
    }

    /// The set; when it begins and when the mishap happens, seconds, and the turn of the axis in the
    /// sensor by a slip, degrees.
    fn set(&mut self) -> (f64, f64, f64) {
        let movement = self.body.movement;
        let travel_deg = travel_deg(movement, &mut self.random);
        let mut manner = SetManner::drawn(&mut self.random, &self.difficulties, travel_deg);
        manner.start_deg = self.random.between(-6.0, 6.0);
        manner.repetitions = manner.repetitions.min(10);
        self.tip_deg *= manner.travel_deg;
        let mut timeline = manner.timeline(&mut self.random);
        let place = stand(&mut self.random);
        let start = SetStart {
            movement: Some(movement),
            side: Some(self.side),
            posture: Some(self.body.posture),
            target_reps: Some(manner.repetitions.max(1) as u32),
            ..SetStart::default()
        };
        let count = timeline.intended.len();
        let (mut at_s, mut slip_deg) = (0.0, 0.0);
        match self.story {
            Story::Lies => {
                self.stage.lay_down(&mut self.random);
                let waits_s = self.random.between(1.0, 4.0);
                self.stage.stay(waits_s);
                let set_s = self.stage.now_s();
                let lies_s = self.random.between(15.0, 40.0);
                self.stage.stay(lies_s);
                self.announce(set_s, start);
                return (set_s, set_s, 0.0);
            }
            Story::LaidDown => {
                let done = self.random.whole(1, 3).min(count);
                timeline.intended.truncate(done);
                let end_s = timeline.intended[done - 1].lower_to_s;
                timeline.pieces.retain(|piece| piece.start_s < end_s - 1e-9);
                timeline.arm_moves.clear();
                timeline.shakes.clear();
                timeline.duration_s = end_s;
            }
            Story::Slips => {
                let before = self.random.whole(2, count - 3);
                at_s = timeline.intended[before].lift_from_s + self.random.between(-0.5, 3.0);
            }
            Story::Shifted => {
                let before = self.random.whole(1, count.max(2) - 1).min(count);
                let from_s = timeline
                    .intended
                    .get(before)
                    .map_or(5.0, |next| next.lift_from_s - 0.3);
                timeline.arm_moves.push(ArmMove {
                    start_s: from_s,
                    stroke_s: self.random.between(0.4, 1.5),
                    stay_s: 0.0,
                    turn_rad: self.random.direction()
                        * self.random.between(10.0, 30.0_f64).to_radians(),
                    kind: ArmMoveKind::Leaving,
                });
            }
            _ => {}
        }
        let body = self.body.clone();
        let set_s = self.stage.exercise(body, timeline, place, &mut self.random);
        if self.story == Story::Slips {
            let turn_rad =
                self.random.direction() * self.random.between(15.0, 40.0_f64).to_radians();
            at_s += set_s;
            self.stage.worn(Wear::Slips {
                at_s,
                lasting_s: self.random.between(0.2, 1.0),
                turn_rad,
            });
            let axis = lift_axis_in_hand(movement, self.body.side).unwrap();
            let slipped = UnitQuaternion::from_scaled_axis(turn_rad) * axis;
            slip_deg = slipped.angle(&axis).to_degrees();
        }
        if self.story == Story::LaidDown {
            at_s = self.stage.now_s();
            self.stage.lay_down(&mut self.random);
            let lies_s = self.random.between(22.0, 40.0);
            self.stage.stay(lies_s);
        }
        self.announce(set_s, start);
        (set_s, at_s, slip_deg)
    }

    fn announce(&mut self, set_s: f64, start: SetStart) {
        self.say(set_s, EventKind::SetStart(start));
        let end_s = self.stage.now_s();
        let end = SetEnd {
            reason: Some(SetEndReason::Reached),
            ..SetEnd::default()
        };
        self.say(end_s, EventKind::SetEnd(end));
        self.stage.stay(1.0);
    }

    fn decidable(&self, slip_deg: f64) -> bool {
        let movement = self.body.movement;
        let posture = self.body.posture;
        let far = |a: Vector3<f64>, b: Vector3<f64>| a.angle(&b).to_degrees() > 90.0;
        let axis = |side| lift_axis_in_hand(movement, side).unwrap();
        match self.story {
            Story::Ordinary | Story::Shifted | Story::Lies | Story::LaidDown => true,
            Story::FaceDown => self.calibrated.is_some() && self.face_known,
            Story::Turned => {
                let (axis, up) = (axis(self.side), up_in_hand(&posture, self.side));
                let (turned_axis, turned_up) =
                    (self.seat.inverse() * axis, self.seat.inverse() * up);
                self.calibrated.is_some() && (far(axis, turned_axis) || far(up, turned_up))
            }
            Story::OtherHand => {
                // Seen from a frame that was made for the announced hand.
                let Some((fitted_by, _)) = self.calibrated else {
                    return false;
                };
                let flexion = fitted_by.joint_axis() == Some(JointAxis::Flexion);
                let [own, other] = [self.side, other(self.side)];
                let told = far(axis(own), axis(other))
                    || far(up_in_hand(&posture, own), up_in_hand(&posture, other));
                let by_way = movement.joint_axis() == Some(JointAxis::Flexion)
                    && posture.rotation == ForearmRotation::PalmUp;
                flexion && (told || by_way)
            }
            // A sway of two degrees hides what the muscles do, and a tip of less than one is sway.
            Story::OnForearm => {
                movement.joint_axis() != Some(JointAxis::Rotation)
                    && self.tip_deg >= 1.0
                    && !self.difficulties.contains(&Difficulty::Sway)
            }
            Story::Slips => slip_deg >= 10.0,
        }
    }
}

fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
    }
}

fn posture(movement: Movement, random: &mut Random) -> Posture {
    let usual = movement.usual_posture();
    if random.chance(0.7) {
        return usual;
    }
    let flexion = movement.joint_axis() == Some(JointAxis::Flexion);
    let rotation = if flexion {
        [ForearmRotation::PalmDown, ForearmRotation::PalmUp][random.whole(0, 1)]
    } else {
        ForearmRotation::ThumbUp
    };
    Posture {
        elbow_deg: Some(90.0),
        forearm: ForearmSupport::Rested,
        direction: ForearmDirection::Level,
        rotation,
    }
}

fn travel_deg(movement: Movement, random: &mut Random) -> f64 {
    let [low, high] = match movement {
        Movement::RadialDeviation => [14.0, 35.0],
        Movement::UlnarDeviation => [16.0, 40.0],
        Movement::Supination | Movement::Pronation => [30.0, 85.0],
        _ => [20.0, 85.0],
    };
    random.between(low, high)
}

/// A living arm: a peak of 0.0015 to 0.035 g at 6 to 12 Hz where the unit sits, 7 cm from the wrist
/// (Wade, Gresty & Findley, Arch Neurol 39:358-362, 1982), and a sway of a fifth of a degree or less
/// (common practice, no source).
fn living(random: &mut Random) -> Unrest {
    let frequency_hz = random.between(6.0, 12.0);
    let peak_m_s2 = 0.0015 * 9.81 * (0.035_f64 / 0.0015).powf(random.unit());
    let omega = std::f64::consts::TAU * frequency_hz;
    let wave = |random: &mut Random, most_deg: f64| Wave {
        amplitude_deg: random.between(0.2, 1.0) * most_deg,
        frequency_hz: random.between(0.08, 0.3),
        phase_rad: random.between(0.0, std::f64::consts::TAU),
    };
    let most_deg = random.between(0.05, 0.2);
    Unrest {
        sway: std::array::from_fn(|_| vec![wave(random, most_deg), wave(random, most_deg)]),
        tremor: Some(Wave {
            amplitude_deg: (peak_m_s2 / (0.07 * omega * omega)).to_degrees(),
            frequency_hz,
            phase_rad: random.between(0.0, std::f64::consts::TAU),
        }),
    }
}

/// Flat on the back of the hand, any way round, and a few degrees more.
fn strapped(random: &mut Random, face_down: bool) -> UnitQuaternion<f64> {
    let half = std::f64::consts::FRAC_PI_2;
    let flat =
        UnitQuaternion::from_axis_angle(&Vector3::y_axis(), if face_down { half } else { -half });
    let turn = UnitQuaternion::from_axis_angle(
        &Vector3::z_axis(),
        random.between(-std::f64::consts::PI, std::f64::consts::PI),
    );
    flat * turn * UnitQuaternion::from_scaled_axis(random.normal_vector(8_f64.to_radians()))
}
