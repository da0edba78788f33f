//! Sets of a guided session, acted by invented people: the sensor is fitted, the weight taken up, a
//! set done as the tempo asks; and sets that truly stop, or have something else before them.
//!
//! Each person acts on their own account: nobody waits for the machine.

use carpotempo::joint::{lift_axis_in_hand, world_from_forearm, wrist_rotation};
use carpotempo::movement::{Movement, MovingPhase};
use carpotempo::routine::{CountedItem, Item, Routine};
use carpotempo::sample::Sample;
use carpotempo::source::simulator::body::Body;
use carpotempo::source::simulator::patient::{Difficulty, SetManner};
use carpotempo::source::simulator::random::Random;
use carpotempo::source::simulator::stage::{Stage, stand};
use carpotempo::source::simulator::timeline::{
    ArmMove, ArmMoveKind, Piece, Shake, Shape, Timeline, Wave,
};
use carpotempo::source::simulator::truth::{TrueRepetition, true_repetitions};
use carpotempo::source::simulator::unit::UnitErrors;
use carpotempo::source::simulator::way::Stand;
use nalgebra::{UnitQuaternion, Vector3};

/// What becomes of a set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Story {
    /// All of the dose, in an ordinary way.
    Ordinary,
    /// After some repetitions the hand stays at the start.
    StaysStill,
    /// The hand stops in the middle of a stroke, and stays there.
    Freezes,
    /// The weight is put down, and the hand rests.
    PutsDown,
    /// The arm goes elsewhere, and is never still.
    Leaves,
    /// The hand is shaken out before the set.
    Shakes,
    /// The hand scratches somewhere before the set.
    Scratches,
    /// The hand takes a drink before the set.
    Drinks,
}

impl Story {
    /// Every story in which a set truly stops.
    pub const STOPS: [Story; 4] = [
        Story::StaysStill,
        Story::Freezes,
        Story::PutsDown,
        Story::Leaves,
    ];
    /// Every story with something before the set.
    pub const DECOYS: [Story; 3] = [Story::Shakes, Story::Scratches, Story::Drinks];
}

/// A set as it was acted.
pub struct Acted {
    /// What it was drawn from.
    pub seed: u64,
    /// What becomes of it.
    pub story: Story,
    /// The prescription.
    pub routine: Routine,
    /// What makes it hard.
    pub difficulties: Vec<Difficulty>,
    /// Samples a second.
    pub rate_hz: f64,
    /// What the unit delivered.
    pub samples: Vec<Sample>,
    /// The true repetitions.
    pub truth: Vec<TrueRepetition>,
    /// When the person truly stopped: came to a stand, or began to put down or to leave, seconds.
    pub stopped_s: Option<f64>,
    /// What else was done before the set: from when to when, seconds.
    pub decoy_s: Option<[f64; 2]>,
}

impl Acted {
    /// The one item.
    pub fn item(&self) -> &CountedItem {
        self.routine.items[0].counted().unwrap()
    }

    /// Plays a story, drawn from a seed.
    pub fn play(seed: u64, story: Story) -> Acted {
        let mut random = Random::new(seed);
        let (routine, travel_deg) = prescription(&mut random);
        let Item::Counted(item) = &routine.items[0] else {
            unreachable!("the prescription is of a counted item");
        };
        let mut scene = Scene::new(item, random);
        let (timeline, difficulties) = scene.set(item, travel_deg, story);
        let set_s = scene.act(&timeline, story);
        let rate_hz = scene.random.between(50.0, 200.0);
        let mut truth = true_repetitions(&timeline);
        for t in &mut truth {
            t.lift_start_s += set_s;
            t.lift_end_s += set_s;
            t.lower_start_s += set_s;
            t.lower_end_s += set_s;
        }
        let stopped_s = Story::STOPS
            .contains(&story)
            .then(|| set_s + last_moves_s(&timeline));
        Acted {
            seed,
            story,
            difficulties: difficulties.clone(),
            rate_hz,
            truth,
            stopped_s,
            decoy_s: scene.decoy_s,
            samples: scene.sample(rate_hz, &difficulties),
            routine,
        }
    }
}

/// When the angle comes to its last stand.
fn last_moves_s(timeline: &Timeline) -> f64 {
    let moves = |piece: &&Piece| piece.to_deg != piece.from_deg;
    let last = timeline.pieces.iter().rev().find(moves);
    last.map_or(0.0, |piece| piece.end_s)
}

/// A dose of one exercise, for one hand, and how far this person goes.
fn prescription(random: &mut Random) -> (Routine, f64) {
    let movement = crate::sets::MOVEMENTS[random.whole(0, 5)];
    let side = ["left", "right"][random.whole(0, 1)];
    let travel_deg = travel_deg(movement, random);
    let repetitions = random.whole(4, 12);
    let load = ["0", "0.5", "1"][random.whole(0, 2)];
    // Some are without tempo; the others lower in 2 to 8 s and hold for up to 5 s.
    let tempo = if random.chance(0.15) {
        String::new()
    } else {
        let lower = [2, 3, 4, 4, 4, 5, 6, 8][random.whole(0, 7)];
        // A short way in 8 s is slower than what the phase definition calls moving at its ends: it
        // would be read as hurried.
        let lower = if travel_deg < 45.0 {
            lower.min(6)
        } else {
            lower
        };
        let rest = [0, 0, 0, 1, 2][random.whole(0, 4)];
        let lift = [1, 2, 2, 3, 4][random.whole(0, 4)];
        let hold = [0, 1, 1, 2, 3, 5][random.whole(0, 5)];
        format!("tempo = \"{lower}-{rest}-{lift}-{hold}\"")
    };
    let name = movement.name();
    let routine = Routine::from_toml(&format!(
        r#"
title = "An invented routine"
sessions_a_week = 3
screened_on = 2026-03-01
contact = "the practice, by telephone"
review_by = 2026-04-01

[[items]]
kind = "counted"
movement = "{name}"
side = "{side}"
repetitions = {repetitions}
load_kg = {load}
{tempo}

[[items]]
kind = "timed"
what = "breathing"
seconds = 20
"#
    ));
    (routine.unwrap(), travel_deg)
}

/// Travel that a wrist with a weight in the hand has, degrees.
fn travel_deg(movement: Movement, random: &mut Random) -> f64 {
    let [low, high] = match movement {
        Movement::RadialDeviation => [14.0, 35.0],
        Movement::UlnarDeviation => [16.0, 40.0],
        Movement::Supination | Movement::Pronation => [30.0, 80.0],
        _ => [20.0, 85.0],
    };
    random.between(low, high)
}

/// The person, and what was acted so far.
struct Scene {
    random: Random,
    stage: Stage,
    body: Body,
    place: Stand,
    decoy_s: Option<[f64; 2]>,
}

impl Scene {
    fn new(item: &CountedItem, mut random: Random) -> Scene {
        let side = item.side.sides()[0];
        let body = Body {
            movement: item.movement,
            side,
            posture: item.posture(),
            forearm_m: random.between(0.22, 0.30),
            lever_m: random.between(0.05, 0.09),
            height_m: 0.02,
            hand_from_sensor: strapped(&mut random),
        };
        let place = stand(&mut random);
        let mut stage = Stage::new(&mut random);
        stage.wear(body.worn(), &mut random);
        let mut scene = Scene {
            random,
            stage,
            body,
            place,
            decoy_s: None,
        };
        scene.fit();
        scene
    }

    /// The sensor is fitted: palm down, still, one movement.
    fn fit(&mut self) {
        let movement = Movement::WristExtension;
        let body = Body {
            movement,
            posture: movement.usual_posture(),
            ..self.body.clone()
        };
        let manner = SetManner {
            lift_s: 1.5,
            hold_s: 0.3,
            lower_s: 1.5,
            still_start_s: 2.5,
            ..SetManner::ordinary(1, self.random.between(32.0, 42.0))
        };
        let timeline = manner.timeline(&mut self.random);
        let place = stand(&mut self.random);
        self.stage.exercise(body, timeline, place, &mut self.random);
        self.stage.stay(1.5);
    }

    /// How the set goes, and what makes it hard.
    fn set(
        &mut self,
        item: &CountedItem,
        travel_deg: f64,
        story: Story,
    ) -> (Timeline, Vec<Difficulty>) {
        let random = &mut self.random;
        let mut difficulties = Vec::new();
        let habits = [
            (Difficulty::Stutter, 0.15),
            (Difficulty::Tremor, 0.12),
            (Difficulty::Fidgets, 0.1),
            (Difficulty::Sway, 0.1),
            (Difficulty::LongHold, 0.5),
            (Difficulty::Lost, 0.1),
            (Difficulty::Jitter, 0.1),
        ];
        for (difficulty, share) in habits {
            if random.chance(share) {
                difficulties.push(difficulty);
            }
        }
        let pauses_s = item.pauses_s();
        let [out_s, back_s] = moving_s(item);
        let own = random.between(1.05, 1.35);
        let mut manner = SetManner {
            repetitions: item.repetitions as usize,
            travel_deg,
            lift_s: out_s.unwrap_or(random.between(1.0, 3.0)) * own,
            lower_s: back_s.unwrap_or(random.between(1.5, 6.0)) * own,
            hold_s: pauses_s.map_or(random.between(0.0, 1.5), |(out_s, _)| {
                out_s * random.between(0.85, 1.25) + random.between(0.0, 0.4)
            }),
            rest_s: pauses_s.map_or(0.0, |(_, back_s)| back_s) + random.between(0.2, 2.0),
            still_start_s: random.between(1.6, 3.5),
            start_deg: random.between(-6.0, 6.0),
            spread_ratio: random.between(0.02, 0.1),
            // Within the form rule: under 60 % three times in a row ends a set, and so does hurry.
            last_travel_ratio: random.between(0.78, 1.05),
            last_time_ratio: random.between(0.95, 1.1),
            elbow: None,
            difficulties: difficulties.clone(),
        };
        let stops = Story::STOPS.contains(&story);
        let mut timeline = manner.timeline(random);
        while !goes_on(&timeline, pauses_s.unwrap_or_default()) {
            manner.rest_s *= 0.85;
            manner.hold_s *= 0.95;
            // Fidgets make a rest longer.
            difficulties.retain(|difficulty| *difficulty != Difficulty::Fidgets);
            manner.difficulties.clone_from(&difficulties);
            timeline = manner.timeline(random);
        }
        if stops {
            self.cut(&mut timeline, story);
        }
        (timeline, difficulties)
    }

    /// Ends a set early: after a repetition that is not the last, or in the middle of a stroke.
    fn cut(&mut self, timeline: &mut Timeline, story: Story) {
        let all = timeline.intended.len();
        let done = self.random.whole(1, all - 2);
        let freezes = story == Story::Freezes;
        timeline.intended.truncate(done);
        if !freezes {
            let end_s = timeline.intended[done - 1].lower_to_s;
            timeline.pieces.retain(|piece| piece.start_s < end_s - 1e-9);
            timeline.duration_s = end_s;
        } else {
            // The next stroke out or back, or a step of it, ends half-way.
            let end_s = timeline.intended[done - 1].lower_to_s;
            let strokes: Vec<usize> = (0..timeline.pieces.len())
                .filter(|&index| {
                    let piece = &timeline.pieces[index];
                    piece.start_s > end_s - 1e-9 && (piece.to_deg - piece.from_deg).abs() > 8.0
                })
                .take(2)
                .collect();
            let chosen = strokes[self.random.whole(0, strokes.len() - 1)];
            timeline.pieces.truncate(chosen + 1);
            let share = self.random.between(0.3, 0.8);
            let last = &mut timeline.pieces[chosen];
            last.to_deg = last.from_deg + share * (last.to_deg - last.from_deg);
            last.end_s = last.start_s + share * (last.end_s - last.start_s);
            last.shape = Shape::MinimumJerk;
            timeline.duration_s = last.end_s;
        }
        timeline.arm_moves.clear();
        timeline.shakes.clear();
        match story {
            Story::StaysStill | Story::Freezes => timeline.duration_s += STILL_S,
            Story::Leaves => self.leave(timeline),
            _ => {}
        }
    }

    /// The arm leaves, so that the movement's axis tilts by 60 degrees or more, and goes on moving.
    fn leave(&mut self, timeline: &mut Timeline) {
        let start_s = timeline.duration_s;
        let stroke_s = self.random.between(0.5, 1.5);
        timeline.duration_s += stroke_s + STILL_S;
        let end_s = timeline.duration_s;
        loop {
            let leaves = ArmMove {
                start_s,
                stroke_s,
                stay_s: 0.0,
                turn_rad: self.random.direction() * self.random.between(1.1, 2.0),
                kind: ArmMoveKind::Leaving,
            };
            timeline.arm_moves = vec![leaves];
            if (self.axis_up_deg(timeline, end_s) - self.axis_up_deg(timeline, 0.0)).abs() > 60.0 {
                break;
            }
        }
        timeline.shakes.push(Shake {
            start_s: start_s + stroke_s,
            duration_s: STILL_S,
            wave: Wave {
                amplitude_deg: 8.0,
                frequency_hz: 0.8,
                phase_rad: 0.0,
            },
        });
    }

    /// How far the movement's axis points up, degrees.
    fn axis_up_deg(&self, timeline: &Timeline, t_s: f64) -> f64 {
        let body = &self.body;
        let arm = body.arm(timeline, t_s);
        let hand = arm.world_from_forearm * wrist_rotation(&arm.wrist, body.side);
        let axis = lift_axis_in_hand(body.movement, body.side).unwrap();
        (hand * axis).z.clamp(-1.0, 1.0).asin().to_degrees()
    }

    /// Acts it all; returns when the set's timeline begins.
    fn act(&mut self, timeline: &Timeline, story: Story) -> f64 {
        // The weight is taken up; some rest for a moment on the way.
        self.stage.wander(2, &mut self.random);
        if self.random.chance(0.3) {
            self.stage.rest(&mut self.random);
            let pause_s = self.random.between(0.5, 2.5);
            self.stage.stay(pause_s);
            self.stage.wander(1, &mut self.random);
        }
        if Story::DECOYS.contains(&story) {
            self.decoy(story, timeline.angle_deg(0.0));
        }
        let set_s = self.stage.exercise(
            self.body.clone(),
            timeline.clone(),
            self.place,
            &mut self.random,
        );
        if matches!(story, Story::StaysStill | Story::Freezes | Story::Leaves) {
            return set_s;
        }
        self.stage.wander(1, &mut self.random);
        self.stage.rest(&mut self.random);
        self.stage.stay(STILL_S);
        set_s
    }

    /// The hand is still in the start posture, then does something else and comes back.
    fn decoy(&mut self, story: Story, level_deg: f64) {
        let random = &mut self.random;
        let still_s = random.between(1.8, 3.0);
        let mut timeline = Timeline::default();
        let shake = |start_s: f64, duration_s: f64, most_deg: f64, random: &mut Random| Shake {
            start_s,
            duration_s,
            wave: Wave {
                amplitude_deg: random.between(0.3, 1.0) * most_deg,
                frequency_hz: random.between(2.5, 5.0),
                phase_rad: 0.0,
            },
        };
        let lasting_s = if story == Story::Shakes {
            let lasting_s = random.between(1.0, 3.0);
            let most_deg = match self.body.movement {
                Movement::RadialDeviation | Movement::UlnarDeviation => 15.0,
                _ => 28.0,
            };
            let shake = shake(still_s, lasting_s, most_deg, random);
            timeline.shakes.push(shake);
            lasting_s
        } else {
            let stroke_s = random.between(0.6, 1.3);
            let stay_s = random.between(1.2, 3.0);
            let bend_rad = if story == Story::Drinks {
                random.between(1.2, 1.9)
            } else {
                random.between(0.9, 2.1)
            };
            let roll_rad = random.between(0.0, 1.2);
            timeline.arm_moves.push(ArmMove {
                start_s: still_s,
                stroke_s,
                stay_s,
                turn_rad: elbow(&self.body, bend_rad, roll_rad),
                kind: ArmMoveKind::OutAndBack,
            });
            if story == Story::Drinks {
                // The glass is tilted and set upright again.
                timeline.arm_moves.push(ArmMove {
                    start_s: still_s + stroke_s,
                    stroke_s: 0.35 * stay_s,
                    stay_s: 0.3 * stay_s,
                    turn_rad: elbow(&self.body, 0.0, 0.6),
                    kind: ArmMoveKind::OutAndBack,
                });
            } else {
                let scratch = shake(still_s + stroke_s, stay_s, 12.0, random);
                timeline.shakes.push(scratch);
            }
            2.0 * stroke_s + stay_s
        };
        timeline.duration_s = still_s + lasting_s + random.between(0.3, 1.5);
        timeline.pieces.push(Piece {
            start_s: 0.0,
            end_s: timeline.duration_s,
            from_deg: level_deg,
            to_deg: level_deg,
            shape: Shape::MinimumJerk,
        });
        let from_s = self
            .stage
            .exercise(self.body.clone(), timeline, self.place, &mut self.random);
        self.decoy_s = Some([from_s + still_s, from_s + still_s + lasting_s]);
    }

    fn sample(mut self, rate_hz: f64, difficulties: &[Difficulty]) -> Vec<Sample> {
        let mut unit = UnitErrors::consumer(rate_hz, &mut self.random);
        if difficulties.contains(&Difficulty::Lost) {
            unit.lost_ratio = 0.06;
        }
        if difficulties.contains(&Difficulty::Jitter) {
            unit.jitter_s = 0.001;
        }
        let way = self.stage.finish();
        unit.sample_way(way.duration_s, |t_s| way.read(t_s), &mut self.random)
    }
}

/// Whether a set never stands for nearly 3 s beyond what is prescribed, by the phase definition: that
/// would be a true stop.
fn goes_on(timeline: &Timeline, (hold_s, rest_s): (f64, f64)) -> bool {
    let truth = true_repetitions(timeline);
    let holds = truth
        .iter()
        .map(|t| t.lower_start_s - t.lift_end_s - hold_s);
    let rests = truth
        .windows(2)
        .map(|two| two[1].lift_start_s - two[0].lower_end_s - rest_s);
    holds.chain(rests).all(|beyond_s| beyond_s < 2.9)
}

/// A person who has stopped stays so for so long, seconds.
const STILL_S: f64 = 14.0;

/// The tempo's lift and lowering, seconds: the eccentric one is the first number of the code.
fn moving_s(item: &CountedItem) -> [Option<f64>; 2] {
    [MovingPhase::Lift, MovingPhase::Lower]
        .map(|phase| item.tempo?.prescribed(phase, item.eccentric()).seconds())
}

/// The elbow bends and the forearm rolls, as a turn that a timeline takes.
fn elbow(body: &Body, bend_rad: f64, roll_rad: f64) -> Vector3<f64> {
    let forearm = world_from_forearm(&body.posture, body.side);
    // Bending lifts the hand: about the axis that points left, against the right-hand rule.
    let bend = forearm.inverse() * Vector3::y() * -bend_rad;
    let turn = bend + Vector3::y() * roll_rad;
    // A timeline's first component is about the movement's own axis.
    match body.movement {
        Movement::WristExtension | Movement::WristFlexion => Vector3::new(turn.z, turn.x, turn.y),
        Movement::RadialDeviation | Movement::UlnarDeviation => turn,
        _ => Vector3::new(turn.y, turn.z, turn.x),
    }
}

/// Flat on the back of the hand, any way round, and a few degrees more.
fn strapped(random: &mut Random) -> UnitQuaternion<f64> {
    let flat = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), -std::f64::consts::FRAC_PI_2);
    let turn = UnitQuaternion::from_axis_angle(
        &Vector3::z_axis(),
        random.between(-std::f64::consts::PI, std::f64::consts::PI),
    );
    flat * turn * UnitQuaternion::from_scaled_axis(random.normal_vector(8_f64.to_radians()))
}
