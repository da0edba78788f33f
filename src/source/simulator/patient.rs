//! The invented patient: what somebody does with a prescription at home, with the habits that
//! make counting and timing hard.

use super::random::Random;
use super::timeline::{
    ArmMove, ArmMoveKind, ElbowHelp, Intended, Piece, Shake, Shape, Timeline, Wave,
};

/// A habit or a trouble that makes a set hard to read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Difficulty {
    /// Holds of 5 s at the top that sag slowly.
    LongHold,
    /// No hold and no rest: each stroke turns straight into the next.
    NoHold,
    /// Travel shrinks by half and speed doubles within the set.
    Fatigue,
    /// Small repetitions after large ones.
    SmallAfterLarge,
    /// The lowering goes in steps with stops between.
    Stutter,
    /// Tremor of 0.6 degrees at 7 to 11 Hz.
    Tremor,
    /// The forearm sways by 2 degrees.
    Sway,
    /// Fidgets in the rests, too small to count.
    Fidgets,
    /// Rests of 12 s between repetitions.
    LongRests,
    /// Arm turns and shakes in a pause, which are no repetitions.
    Decoys,
    /// Moves of the whole arm before the still start and after the set.
    MovesAround,
    /// The record begins in motion.
    StartsMoving,
    /// The record ends in motion.
    EndsMoving,
    /// Six samples in a hundred are lost.
    Lost,
    /// Time stamps jitter by 1 ms.
    Jitter,
    /// Nothing arrives for 2.5 s.
    Gap,
    /// No repetition at all.
    Nothing,
}

impl Difficulty {
    /// Every difficulty.
    pub const ALL: [Difficulty; 17] = [
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
        Difficulty::MovesAround,
        Difficulty::StartsMoving,
        Difficulty::EndsMoving,
        Difficulty::Lost,
        Difficulty::Jitter,
        Difficulty::Gap,
        Difficulty::Nothing,
    ];
}

/// How one set is done.
#[derive(Debug, Clone, PartialEq)]
pub struct SetManner {
    /// Repetitions.
    pub repetitions: usize,
    /// Travel of the first repetition, degrees.
    pub travel_deg: f64,
    /// Lift of the first repetition, seconds.
    pub lift_s: f64,
    /// Hold at the top, seconds.
    pub hold_s: f64,
    /// Lowering of the first repetition, seconds.
    pub lower_s: f64,
    /// Rest between repetitions, seconds.
    pub rest_s: f64,
    /// Stillness before the first repetition, seconds.
    pub still_start_s: f64,
    /// Angle at the start, degrees against the calibration pose.
    pub start_deg: f64,
    /// Spread of travel and times from one repetition to the next, as a share.
    pub spread_ratio: f64,
    /// Travel of the last repetition over that of the first.
    pub last_travel_ratio: f64,
    /// Time of the last repetition's strokes over that of the first.
    pub last_time_ratio: f64,
    /// What makes it hard.
    pub difficulties: Vec<Difficulty>,
    /// How the elbow helps; `None` where the wrist does it alone.
    pub elbow: Option<ElbowHelp>,
}

impl SetManner {
    /// An ordinary careful set.
    pub fn ordinary(repetitions: usize, travel_deg: f64) -> SetManner {
        SetManner {
            repetitions,
            travel_deg,
            lift_s: 2.0,
            hold_s: 1.0,
            lower_s: 4.0,
            rest_s: 1.0,
            still_start_s: 2.0,
            start_deg: 0.0,
            spread_ratio: 0.05,
            last_travel_ratio: 1.0,
            last_time_ratio: 1.0,
            difficulties: Vec::new(),
            elbow: None,
        }
    }

    /// Manner and strokes drawn at random over the promised span: moving phases of 0.7 to 8 s,
    /// ranges of 15 to 160 degrees.
    pub fn drawn(random: &mut Random, difficulties: &[Difficulty], travel_deg: f64) -> SetManner {
        let has = |difficulty| difficulties.contains(&difficulty);
        let slow = |random: &mut Random| 0.9 * (8.0_f64 / 1.0).powf(random.unit());
        let mut manner = SetManner {
            repetitions: random.whole(6, 15),
            travel_deg,
            lift_s: slow(random).min(4.0),
            hold_s: random.between(0.0, 2.0),
            lower_s: slow(random),
            rest_s: random.between(0.3, 2.5),
            still_start_s: random.between(1.5, 3.0),
            start_deg: 0.0,
            spread_ratio: 0.08,
            last_travel_ratio: random.between(0.85, 1.05),
            last_time_ratio: random.between(0.85, 1.15),
            difficulties: difficulties.to_vec(),
            elbow: None,
        };
        if has(Difficulty::LongHold) {
            manner.hold_s = 5.0;
        }
        if has(Difficulty::NoHold) {
            manner.hold_s = 0.0;
            manner.rest_s = 0.0;
        }
        if has(Difficulty::Fatigue) {
            manner.last_travel_ratio = 0.5;
            manner.last_time_ratio = 0.5;
            manner.lift_s = manner.lift_s.max(1.6);
            manner.lower_s = manner.lower_s.max(1.6);
            // Half the travel must still be a movement, not a fidget.
            manner.travel_deg = manner.travel_deg.max(26.0);
        }
        if has(Difficulty::SmallAfterLarge) {
            manner.travel_deg = manner.travel_deg.max(28.0);
        }
        if has(Difficulty::LongRests) {
            manner.rest_s = 12.0;
            manner.repetitions = manner.repetitions.min(8);
        }
        if has(Difficulty::Nothing) {
            manner.repetitions = 0;
        }
        if has(Difficulty::StartsMoving) && has(Difficulty::EndsMoving) {
            // No stillness on either side: only longer pauses can tell the start level.
            manner.hold_s = manner.hold_s.min(0.5 * manner.rest_s - 0.2).max(0.0);
        }
        manner
    }

    /// The set as it is done, second by second.
    pub fn timeline(&self, random: &mut Random) -> Timeline {
        Performance::new(self, random).perform()
    }

    fn has(&self, difficulty: Difficulty) -> bool {
        // A lone turn out and back is a repetition to any rule: without repetitions there are no
        // arm moves that come back.
        let moves = [Difficulty::MovesAround, Difficulty::Decoys];
        if self.repetitions == 0 && moves.contains(&difficulty) {
            return false;
        }
        self.difficulties.contains(&difficulty)
    }
}

/// A set in the making: a pen that draws pieces one after the other.
struct Performance<'a> {
    manner: &'a SetManner,
    random: &'a mut Random,
    timeline: Timeline,
    now_s: f64,
    angle_deg: f64,
}

impl<'a> Performance<'a> {
    fn new(manner: &'a SetManner, random: &'a mut Random) -> Self {
        Performance {
            manner,
            random,
            timeline: Timeline {
                elbow: manner.elbow.clone(),
                ..Timeline::default()
            },
            now_s: 0.0,
            angle_deg: manner.start_deg,
        }
    }

    fn go(&mut self, to_deg: f64, lasting_s: f64, shape: Shape) {
        if lasting_s <= 0.0 {
            return;
        }
        self.timeline.pieces.push(Piece {
            start_s: self.now_s,
            end_s: self.now_s + lasting_s,
            from_deg: self.angle_deg,
            to_deg,
            shape,
        });
        self.now_s += lasting_s;
        self.angle_deg = to_deg;
    }

    fn stay(&mut self, lasting_s: f64) {
        self.go(self.angle_deg, lasting_s, Shape::MinimumJerk);
    }

    fn spread(&mut self) -> f64 {
        1.0 + self.manner.spread_ratio * self.random.normal().clamp(-2.0, 2.0)
    }

    fn perform(mut self) -> Timeline {
        self.before();
        for index in 0..self.manner.repetitions {
            self.repetition(index);
        }
        if self.manner.repetitions == 0 {
            let lasting_s = self.random.between(8.0, 25.0);
            self.pause(lasting_s);
        }
        self.after();
        self.habits();
        self.timeline.duration_s = self.now_s;
        self.cut();
        self.timeline
    }

    fn before(&mut self) {
        if self.manner.has(Difficulty::MovesAround) {
            for _ in 0..self.random.whole(1, 2) {
                self.arm_move(ArmMoveKind::OutAndBack);
                self.stay(0.3);
            }
            self.arm_move(ArmMoveKind::Arriving);
        }
        self.stay(self.manner.still_start_s);
    }

    fn after(&mut self) {
        let still_s = self.random.between(1.0, 2.0);
        self.stay(still_s);
        if self.manner.has(Difficulty::MovesAround) {
            self.arm_move(ArmMoveKind::OutAndBack);
            self.stay(0.4);
            self.arm_move(ArmMoveKind::Leaving);
            self.stay(0.5);
        }
    }

    /// A move of the whole arm by 30 to 80 degrees about any direction, with the time it takes.
    fn arm_move(&mut self, kind: ArmMoveKind) {
        let stroke_s = self.random.between(0.5, 1.2);
        let stay_s = match kind {
            ArmMoveKind::OutAndBack => self.random.between(0.0, 0.8),
            ArmMoveKind::Arriving | ArmMoveKind::Leaving => 0.0,
        };
        let mut direction = self.random.direction();
        // An arm that turns about the measured axis and back would be a repetition: a decoy turns
        // at least 50 degrees away from it.
        while kind == ArmMoveKind::OutAndBack && direction.x.abs() > 0.64 {
            direction = self.random.direction();
        }
        let turn_rad = direction * self.random.between(0.5, 1.4);
        self.timeline.arm_moves.push(ArmMove {
            start_s: self.now_s,
            stroke_s,
            stay_s,
            turn_rad,
            kind,
        });
        let strokes_count = if kind == ArmMoveKind::OutAndBack {
            2.0
        } else {
            1.0
        };
        self.stay(strokes_count * stroke_s + stay_s);
    }

    fn repetition(&mut self, index: usize) {
        let last = (self.manner.repetitions.max(2) - 1) as f64;
        let through_ratio = index as f64 / last;
        let fade = |end_ratio: f64| 1.0 + (end_ratio - 1.0) * through_ratio;
        let mut travel_deg = self.manner.travel_deg * fade(self.manner.last_travel_ratio);
        if self.manner.has(Difficulty::SmallAfterLarge) && index * 2 >= self.manner.repetitions {
            travel_deg *= self.random.between(0.5, 0.6);
        }
        travel_deg *= self.spread();
        // Fatigue and small repetitions together stay repetitions by the counting rule.
        travel_deg = travel_deg.max(0.45 * self.manner.travel_deg);
        let time_ratio = fade(self.manner.last_time_ratio);
        let lift_s = (self.manner.lift_s * time_ratio * self.spread()).clamp(0.7, 8.0);
        let lower_s = (self.manner.lower_s * time_ratio * self.spread()).clamp(0.7, 8.0);
        let top_deg = self.manner.start_deg + travel_deg;

        let lift_from_s = self.now_s;
        let shape = self.stroke_shape();
        self.go(top_deg, lift_s, shape);
        let lift_to_s = self.now_s;
        self.hold(travel_deg);
        let lower_from_s = self.now_s;
        let back_deg =
            self.manner.start_deg + 0.03 * travel_deg * self.random.normal().clamp(-2.0, 2.0);
        self.lower(back_deg, lower_s);
        self.timeline.intended.push(Intended {
            lift_from_s,
            lift_to_s,
            lower_from_s,
            lower_to_s: self.now_s,
        });
        if index + 1 < self.manner.repetitions {
            let rest_s = self.manner.rest_s * self.spread();
            self.pause(rest_s);
        }
    }

    fn stroke_shape(&mut self) -> Shape {
        if self.random.chance(0.5) {
            Shape::MinimumJerk
        } else {
            Shape::Steady {
                ramp_ratio: self.random.between(0.15, 0.35),
            }
        }
    }

    fn hold(&mut self, travel_deg: f64) {
        let hold_s = self.manner.hold_s;
        if self.manner.has(Difficulty::LongHold) {
            // Sag below 1.2 deg/s at its fastest, and at most a sixth of the travel.
            let sag_deg = self.random.between(0.3, 0.8) * (hold_s).min(travel_deg / 6.0);
            let shape = Shape::Steady { ramp_ratio: 0.1 };
            self.go(self.angle_deg - sag_deg, hold_s, shape);
        } else {
            self.stay(hold_s);
        }
    }

    fn lower(&mut self, back_deg: f64, lower_s: f64) {
        if !self.manner.has(Difficulty::Stutter) {
            let shape = self.stroke_shape();
            return self.go(back_deg, lower_s, shape);
        }
        // Three or four steps with stops between, the stops well inside the travel.
        let lower_s = lower_s.max(2.5);
        let from_deg = self.angle_deg;
        let steps = self.random.whole(3, 4);
        let stop_s = 0.25 * lower_s / steps as f64;
        let step_s = (lower_s - stop_s * (steps - 1) as f64) / steps as f64;
        for step in 1..=steps {
            let share = step as f64 / steps as f64;
            let to_deg = from_deg + (back_deg - from_deg) * share;
            self.go(to_deg, step_s, Shape::MinimumJerk);
            if step < steps {
                self.stay(stop_s);
            }
        }
    }

    /// A rest, with whatever the hand does in it.
    fn pause(&mut self, lasting_s: f64) {
        let until_s = self.now_s + lasting_s;
        if self.manner.has(Difficulty::Fidgets) {
            let small_deg = (0.2 * self.manner.travel_deg * self.manner.last_travel_ratio.min(1.0))
                .clamp(2.0, 12.0);
            // Where nothing is usual, only the absolute limit keeps a fidget from counting.
            let small_deg = if self.manner.repetitions == 0 {
                small_deg.min(4.5)
            } else {
                small_deg
            };
            for _ in 0..self.random.whole(0, 2) {
                let size_deg = small_deg * self.random.between(0.3, 1.0);
                let stroke_s = self.random.between(0.25, 0.6);
                let level_deg = self.angle_deg;
                self.stay(0.35);
                self.go(level_deg + size_deg, stroke_s, Shape::MinimumJerk);
                self.go(level_deg, stroke_s, Shape::MinimumJerk);
                self.stay(0.35);
            }
        }
        if self.manner.has(Difficulty::Decoys) && self.random.chance(0.35) {
            self.stay(0.4);
            if self.random.chance(0.5) {
                self.arm_move(ArmMoveKind::OutAndBack);
            } else {
                let duration_s = self.random.between(1.0, 2.0);
                self.timeline.shakes.push(Shake {
                    start_s: self.now_s,
                    duration_s,
                    wave: Wave {
                        amplitude_deg: self.random.between(8.0, 25.0),
                        frequency_hz: self.random.between(3.0, 5.0),
                        phase_rad: 0.0,
                    },
                });
                self.stay(duration_s);
            }
            self.stay(0.4);
        }
        self.stay(until_s - self.now_s);
    }

    /// Tremor and sway last from beginning to end.
    fn habits(&mut self) {
        if self.manner.has(Difficulty::Tremor) {
            self.timeline.tremor = Some(Wave {
                amplitude_deg: 0.6,
                frequency_hz: self.random.between(7.0, 11.0),
                phase_rad: self.random.between(0.0, std::f64::consts::TAU),
            });
        }
        if self.manner.has(Difficulty::Sway) {
            let direction: [f64; 3] = self.random.direction().into();
            for (component, waves) in direction.iter().zip(self.timeline.sway.iter_mut()) {
                for _ in 0..2 {
                    waves.push(Wave {
                        amplitude_deg: 2.0 * component.abs() / std::f64::consts::SQRT_2,
                        frequency_hz: self.random.between(0.08, 0.35),
                        phase_rad: self.random.between(0.0, std::f64::consts::TAU),
                    });
                }
            }
        }
    }

    /// Cuts the record so that it begins or ends in the middle of a movement. A repetition whose
    /// lift is cut early enough to leave most of it still counts; one cut later does not, and the
    /// plan keeps clear of the cases between.
    fn cut(&mut self) {
        if self.manner.has(Difficulty::EndsMoving)
            && let Some(last) = self.timeline.intended.pop()
        {
            let share = self.random.between(0.3, 0.9);
            let [from_s, to_s] = if self.random.chance(0.5) {
                [last.lift_from_s, last.lift_to_s]
            } else {
                // Early in the lowering, so that less than 70 % has come back.
                [
                    last.lower_from_s,
                    last.lower_from_s + 0.4 * (last.lower_to_s - last.lower_from_s),
                ]
            };
            let end_s = from_s + share * (to_s - from_s);
            self.timeline.duration_s = end_s;
        }
        if self.manner.has(Difficulty::StartsMoving)
            && let Some(first) = self.timeline.intended.first().copied()
        {
            self.timeline.intended.remove(0);
            let share = self.random.between(0.1, 0.9);
            let start_s = first.lower_from_s + share * (first.lower_to_s - first.lower_from_s);
            self.timeline.begin_at(start_s);
        }
    }
}

impl Timeline {
    /// Drops what lies before a time, which becomes zero.
    fn begin_at(&mut self, start_s: f64) {
        self.duration_s -= start_s;
        for piece in &mut self.pieces {
            piece.start_s -= start_s;
            piece.end_s -= start_s;
        }
        for intended in &mut self.intended {
            intended.lift_from_s -= start_s;
            intended.lift_to_s -= start_s;
            intended.lower_from_s -= start_s;
            intended.lower_to_s -= start_s;
        }
        for arm_move in &mut self.arm_moves {
            arm_move.start_s -= start_s;
        }
        for shake in &mut self.shakes {
            shake.start_s -= start_s;
        }
    }
}
