//! Where an invented session is acted out: each call adds the next leg to the way.

use nalgebra::{UnitQuaternion, Vector3};

use super::body::{ArmPose, Body, SensorPose, Worn};
use super::random::Random;
use super::timeline::{Timeline, Wave};
use super::way::{Anchor, Leg, Stand, Unrest, Way};
use super::wear::Wear;
use crate::joint::{IsbAngles, world_from_forearm};
use crate::movement::{Movement, Posture, Side};

/// A person moves an arm about at most this fast on the whole, deg/s.
const BRISK_DEG_S: f64 = 110.0;

/// The stage: the way so far, and where the sensor is now.
#[derive(Debug)]
pub struct Stage {
    way: Way,
    at: Anchor,
}

impl Stage {
    /// An empty stage: the sensor lies somewhere on the table.
    pub fn new(random: &mut Random) -> Stage {
        let lying = SensorPose {
            world_from_sensor: UnitQuaternion::from_axis_angle(
                &Vector3::z_axis(),
                random.between(-3.0, 3.0),
            ),
            position_m: Vector3::new(0.35, random.between(-0.1, 0.1), 0.0),
        };
        Stage {
            way: Way {
                unrest: unrest(random),
                ..Way::default()
            },
            at: Anchor::Free(lying),
        }
    }

    /// Seconds acted so far.
    pub fn now_s(&self) -> f64 {
        self.way.duration_s
    }

    /// The way so far.
    pub fn way(&self) -> &Way {
        &self.way
    }

    /// The whole way.
    pub fn finish(self) -> Way {
        self.way
    }

    fn leg(&mut self, lasting_s: f64, leg: Leg) {
        let start_s = self.way.duration_s;
        self.way.duration_s += lasting_s;
        self.way.legs.push((start_s, self.way.duration_s, leg));
    }

    fn go(&mut self, to: Anchor, lasting_s: f64) {
        let from = std::mem::replace(&mut self.at, to);
        self.leg(lasting_s, Leg::Move { from, to });
    }

    /// From the beginning on, the sensor is worn so.
    pub fn worn(&mut self, wear: Wear) {
        self.way.wear = wear;
    }

    /// From the beginning on, the arm trembles and sways so.
    pub fn trembles(&mut self, unrest: Unrest) {
        self.way.unrest = unrest;
    }

    /// The sensor is taken off and laid down on the table, its upper side up.
    pub fn lay_down(&mut self, random: &mut Random) {
        let lying = SensorPose {
            world_from_sensor: UnitQuaternion::from_axis_angle(
                &Vector3::z_axis(),
                random.between(-3.0, 3.0),
            ),
            position_m: Vector3::new(0.3, random.between(-0.1, 0.1), 0.0),
        };
        self.go(Anchor::Free(lying), 1.8);
    }

    /// Stays where it is.
    pub fn stay(&mut self, lasting_s: f64) {
        if lasting_s > 0.0 {
            self.go(self.at, lasting_s);
        }
    }

    /// The sensor is taken off, handled, and strapped to a hand, which then rests on the table.
    pub fn strap(&mut self, worn: Worn, random: &mut Random) {
        let middle = Vector3::new(0.3, 0.0, 0.12);
        for _ in 0..3 {
            let pose = SensorPose {
                world_from_sensor: random.rotation(),
                position_m: middle + random.normal_vector(0.05),
            };
            let lasting_s = random.between(1.2, 2.2);
            self.go(Anchor::Free(pose), lasting_s);
            let fumble_s = random.between(0.2, 0.8);
            self.stay(fumble_s);
        }
        let arm = resting(worn.side, random);
        self.go(Anchor::Arm { arm, worn }, 2.0);
        let settle_s = random.between(1.0, 2.0);
        self.stay(settle_s);
    }

    /// The sensor sits on a hand already, which rests on the table.
    pub fn wear(&mut self, worn: Worn, random: &mut Random) {
        let arm = resting(worn.side, random);
        self.at = Anchor::Arm { arm, worn };
        self.stay(0.5);
    }

    /// The arm goes through that many other poses, as in putting a weight down or taking it up.
    pub fn wander(&mut self, poses: usize, random: &mut Random) {
        let Anchor::Arm { worn, .. } = self.at else {
            return;
        };
        for _ in 0..poses {
            let arm = somewhere(worn.side, random);
            self.reach(arm, worn, random);
            if random.chance(0.5) {
                let pause_s = random.between(0.1, 0.6);
                self.stay(pause_s);
            }
        }
    }

    /// The arm comes to rest on the table.
    pub fn rest(&mut self, random: &mut Random) {
        if let Anchor::Arm { worn, .. } = self.at {
            let arm = resting(worn.side, random);
            self.reach(arm, worn, random);
        }
    }

    /// Does an exercise: the arm first goes to where it begins. Returns when it begins.
    pub fn exercise(
        &mut self,
        body: Body,
        timeline: Timeline,
        stand: Stand,
        random: &mut Random,
    ) -> f64 {
        let worn = body.worn();
        let first = stand.arm(&body.arm(&timeline, 0.0));
        self.reach(first, worn, random);
        let last = stand.arm(&body.arm(&timeline, timeline.duration_s));
        let start_s = self.now_s();
        let lasting_s = timeline.duration_s;
        self.at = Anchor::Arm { arm: last, worn };
        let body = Box::new(body);
        self.leg(
            lasting_s,
            Leg::Exercise {
                body,
                timeline,
                stand,
            },
        );
        start_s
    }

    /// Goes to a pose of the arm, in the time that this takes.
    fn reach(&mut self, arm: ArmPose, worn: Worn, random: &mut Random) {
        let to = Anchor::Arm { arm, worn };
        let turn_deg = match &self.at {
            Anchor::Arm { arm: now, .. } => {
                let hand = |arm: &ArmPose| worn.sensor(arm).world_from_sensor;
                hand(now).angle_to(&hand(&arm)).to_degrees()
            }
            Anchor::Free(_) => 180.0,
        };
        let lasting_s = (0.5 + turn_deg / BRISK_DEG_S) * random.between(1.0, 1.4);
        self.go(to, lasting_s);
    }
}

/// Where somebody sits down to an exercise: never twice quite the same. Little of it is about the
/// forearm's own length, since table or thigh hold it.
pub fn stand(random: &mut Random) -> Stand {
    let heading = UnitQuaternion::from_axis_angle(
        &Vector3::z_axis(),
        6_f64.to_radians() * random.normal().clamp(-2.0, 2.0),
    );
    let tilt = random.normal_vector(2_f64.to_radians());
    Stand {
        turn: heading * UnitQuaternion::from_scaled_axis(Vector3::new(tilt.x, tilt.y, 0.0)),
        shift_m: random.normal_vector(0.03),
    }
}

/// A hand in the lap or on the table, loosely.
fn resting(side: Side, random: &mut Random) -> ArmPose {
    let palm_down = Movement::WristExtension.usual_posture();
    let roll_deg = random.between(-40.0, -10.0);
    turned_arm(side, &palm_down, [0.0, roll_deg, 0.0], random, 10.0)
}

/// Anywhere that an arm at a table goes.
fn somewhere(side: Side, random: &mut Random) -> ArmPose {
    let palm_down = Movement::WristExtension.usual_posture();
    let turn_deg = [
        random.between(-35.0, 35.0),
        random.between(-110.0, 10.0),
        random.between(-40.0, 30.0),
    ];
    let mut arm = turned_arm(side, &palm_down, turn_deg, random, 30.0);
    arm.elbow_m += Vector3::new(
        random.between(-0.1, 0.15),
        random.between(-0.12, 0.12),
        random.between(0.0, 0.12),
    );
    arm
}

/// An arm turned from a posture about the forearm's axes (as of a right arm), with a wrist bent
/// at random by about that much.
fn turned_arm(
    side: Side,
    posture: &Posture,
    turn_deg: [f64; 3],
    random: &mut Random,
    wrist_deg: f64,
) -> ArmPose {
    let [x, y, z] = turn_deg.map(f64::to_radians);
    // The left arm is the right one's mirror image: turns about X and Y change their sense.
    let mirror = if side == Side::Left { -1.0 } else { 1.0 };
    let turn = UnitQuaternion::from_scaled_axis(Vector3::new(mirror * x, mirror * y, z));
    ArmPose {
        elbow_m: Vector3::zeros(),
        world_from_forearm: world_from_forearm(posture, side) * turn,
        wrist: IsbAngles {
            flexion_deg: random.between(-1.0, 1.0) * wrist_deg,
            deviation_deg: random.between(-0.4, 0.6) * wrist_deg,
            rotation_deg: 0.0,
        },
    }
}

/// A quiet arm's sway of about a fifth of a degree, and a tremor that only a sensor sees: an
/// acceleration of about 0.1 m/s² at the knuckles (common practice, no source).
fn unrest(random: &mut Random) -> Unrest {
    let sway = std::array::from_fn(|_| {
        let wave = |random: &mut Random| Wave {
            amplitude_deg: random.between(0.05, 0.15),
            frequency_hz: random.between(0.08, 0.3),
            phase_rad: random.between(0.0, std::f64::consts::TAU),
        };
        vec![wave(random), wave(random)]
    });
    Unrest {
        sway,
        tremor: Some(Wave {
            amplitude_deg: 0.02,
            frequency_hz: random.between(8.0, 10.0),
            phase_rad: random.between(0.0, std::f64::consts::TAU),
        }),
    }
}
