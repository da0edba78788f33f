//! What the invented hand does, second by second: the measured angle as a chain of strokes and
//! pauses, and what the arm does besides.
//!
//! Ours: strokes are minimum-jerk (Flash & Hogan, J Neurosci 5:1688-1703, 1985) or steady with
//! soft ends; stuttering ones are chains of short minimum-jerk strokes with stops between.

use nalgebra::Vector3;

/// How the angle goes from one value to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Minimum jerk: smooth from rest to rest.
    MinimumJerk,
    /// Constant speed with soft ends, each this share of the time (0 to 0.5).
    Steady {
        /// Share of the time spent speeding up, and again slowing down.
        ramp_ratio: f64,
    },
}

impl Shape {
    /// Share of the travel done at this share of the time.
    pub(super) fn progress(self, u: f64) -> f64 {
        let u = u.clamp(0.0, 1.0);
        match self {
            Shape::MinimumJerk => u * u * u * (10.0 + u * (6.0 * u - 15.0)),
            Shape::Steady { ramp_ratio: r } => {
                // Speed ramps as a raised cosine, so that acceleration stays continuous.
                let full = 1.0 / (1.0 - r);
                let ramp = |x: f64| {
                    // Integral of (1 - cos(pi x / r)) / 2 from 0 to x.
                    0.5 * (x - r / std::f64::consts::PI * (std::f64::consts::PI * x / r).sin())
                };
                if u < r {
                    full * ramp(u)
                } else if u > 1.0 - r {
                    1.0 - full * ramp(1.0 - u)
                } else {
                    full * (u - 0.5 * r)
                }
            }
        }
    }
}

/// One piece of the angle's path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// When it starts, seconds.
    pub start_s: f64,
    /// When it ends, seconds.
    pub end_s: f64,
    /// Angle at its start, degrees, positive in the direction of the lift.
    pub from_deg: f64,
    /// Angle at its end, degrees.
    pub to_deg: f64,
    /// How it gets there.
    pub shape: Shape,
}

/// One intended repetition: windows within which its strokes lie, and the levels between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Intended {
    /// Start of the lift's first piece.
    pub lift_from_s: f64,
    /// End of the lift's last piece.
    pub lift_to_s: f64,
    /// Start of the lowering's first piece.
    pub lower_from_s: f64,
    /// End of the lowering's last piece.
    pub lower_to_s: f64,
}

/// A move of the whole arm about a fixed direction: out, a stay, and back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmMove {
    /// When it starts, seconds.
    pub start_s: f64,
    /// Time to go out, and again to come back, seconds.
    pub stroke_s: f64,
    /// Time spent away, seconds.
    pub stay_s: f64,
    /// Rotation of the forearm, radians: about the measured axis, then about two axes across it.
    pub turn_rad: Vector3<f64>,
    /// Whether it comes back; the one that does not stays there to the end, or, before the
    /// set, begins away and comes home.
    pub kind: ArmMoveKind,
}

/// Where an arm move begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArmMoveKind {
    /// Out and back.
    OutAndBack,
    /// From elsewhere into the working pose.
    Arriving,
    /// From the working pose to elsewhere.
    Leaving,
}

impl ArmMove {
    fn amount(&self, t_s: f64) -> f64 {
        let rise = Shape::MinimumJerk.progress((t_s - self.start_s) / self.stroke_s);
        match self.kind {
            ArmMoveKind::Arriving => 1.0 - rise,
            ArmMoveKind::Leaving => rise,
            ArmMoveKind::OutAndBack => {
                let back_s = self.start_s + self.stroke_s + self.stay_s;
                rise - Shape::MinimumJerk.progress((t_s - back_s) / self.stroke_s)
            }
        }
    }
}

/// A slow or fast oscillation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Amplitude, degrees.
    pub amplitude_deg: f64,
    /// Frequency, hertz.
    pub frequency_hz: f64,
    /// Phase at time zero, radians.
    pub phase_rad: f64,
}

impl Wave {
    /// Its value at a time, degrees.
    pub(super) fn value_deg(&self, t_s: f64) -> f64 {
        let turns = self.frequency_hz * t_s;
        self.amplitude_deg * (std::f64::consts::TAU * turns + self.phase_rad).sin()
    }
}

/// A burst of oscillation of the measured angle, as in shaking out a hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shake {
    /// When it starts, seconds.
    pub start_s: f64,
    /// How long it lasts, seconds.
    pub duration_s: f64,
    /// The oscillation.
    pub wave: Wave,
}

impl Shake {
    fn value_deg(&self, t_s: f64) -> f64 {
        let u = (t_s - self.start_s) / self.duration_s;
        if !(0.0..=1.0).contains(&u) {
            return 0.0;
        }
        let window = 0.5 * (1.0 - (std::f64::consts::TAU * u).cos());
        window * self.wave.value_deg(t_s)
    }
}

/// Everything the invented hand does in one recording.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Timeline {
    /// Length of the recording, seconds.
    pub duration_s: f64,
    /// The measured angle's path, in order, without holes.
    pub pieces: Vec<Piece>,
    /// The repetitions meant by it.
    pub intended: Vec<Intended>,
    /// Moves of the whole arm.
    pub arm_moves: Vec<ArmMove>,
    /// Shakes of the hand.
    pub shakes: Vec<Shake>,
    /// Tremor on the measured angle.
    pub tremor: Option<Wave>,
    /// Sway of the forearm about the measured axis and the two axes across it.
    pub sway: [Vec<Wave>; 3],
    /// Ulnar deviation that goes along with flexion, and radial with extension, as a share of it: 0 is
    /// a turn about the flexion axis alone.
    pub oblique_ratio: f64,
    /// Half the opening of the cone of arm circles, degrees; the measured angle is then the phase
    /// of the circle. `None` is an ordinary one.
    pub circle_half_angle_deg: Option<f64>,
    /// How the elbow helps; `None` where the wrist does it alone.
    pub elbow: Option<ElbowHelp>,
}

/// An elbow that does part of the movement: the forearm turns about it along the measured axis.
#[derive(Debug, Clone, PartialEq)]
pub struct ElbowHelp {
    /// Share of the measured angle's travel, 0 to 1, for each repetition in order; the last one
    /// goes on.
    pub share_ratios: Vec<f64>,
    /// How much later than the hand the forearm moves, seconds; negative is earlier.
    pub lag_s: f64,
    /// How late within a stroke's travel the forearm comes in: its travel goes as the stroke's
    /// travel to this power. 1 is in proportion, 3 hardly before the last third of a lift.
    pub onset_count: f64,
}

impl ElbowHelp {
    /// The same share in every repetition, in step and in proportion.
    pub fn steady(share_ratio: f64) -> ElbowHelp {
        ElbowHelp {
            share_ratios: vec![share_ratio],
            lag_s: 0.0,
            onset_count: 1.0,
        }
    }

    /// Share of a repetition, by its number from 0.
    pub fn share_ratio(&self, repetition: usize) -> f64 {
        let last = self.share_ratios.last();
        let share = self.share_ratios.get(repetition).or(last);
        share.copied().unwrap_or(0.0)
    }
}

impl Timeline {
    /// The intended angle at a time, degrees: without tremor, shakes and sway.
    pub fn angle_deg(&self, t_s: f64) -> f64 {
        let after = self.pieces.partition_point(|piece| piece.start_s <= t_s);
        let Some(piece) = self.pieces.get(after.saturating_sub(1)) else {
            return 0.0;
        };
        let u = (t_s - piece.start_s) / (piece.end_s - piece.start_s).max(1e-9);
        piece.from_deg + (piece.to_deg - piece.from_deg) * piece.shape.progress(u)
    }

    /// How far the elbow has turned the forearm in the direction of the lift, degrees.
    pub fn elbow_deg(&self, t_s: f64) -> f64 {
        let Some(elbow) = &self.elbow else {
            return 0.0;
        };
        let t_s = t_s - elbow.lag_s;
        let mut turned_deg = 0.0;
        for piece in self.pieces.iter().take_while(|piece| piece.start_s <= t_s) {
            let begun = |intended: &Intended| intended.lift_from_s <= piece.start_s + 1e-9;
            let repetition = self.intended.partition_point(begun).saturating_sub(1);
            let u = (t_s - piece.start_s) / (piece.end_s - piece.start_s).max(1e-9);
            let done_ratio = piece.shape.progress(u);
            let power = elbow.onset_count;
            // The way back is the way out reversed.
            let done_ratio = if piece.to_deg >= piece.from_deg {
                done_ratio.powf(power)
            } else {
                1.0 - (1.0 - done_ratio).max(0.0).powf(power)
            };
            turned_deg +=
                elbow.share_ratio(repetition) * (piece.to_deg - piece.from_deg) * done_ratio;
        }
        turned_deg
    }

    /// The angle the hand really takes, degrees: with tremor and shakes.
    pub fn moved_angle_deg(&self, t_s: f64) -> f64 {
        let tremor = self.tremor.map_or(0.0, |wave| wave.value_deg(t_s));
        let shakes: f64 = self.shakes.iter().map(|shake| shake.value_deg(t_s)).sum();
        self.angle_deg(t_s) + tremor + shakes
    }

    /// The rotation of the forearm away from its posture, radians: about the measured axis, then
    /// about two axes across it.
    pub fn forearm_turn_rad(&self, t_s: f64) -> Vector3<f64> {
        let sum_rad = |waves: &Vec<Wave>| -> f64 {
            waves
                .iter()
                .map(|wave| wave.value_deg(t_s).to_radians())
                .sum()
        };
        let mut turn_rad = Vector3::from(self.sway.each_ref().map(sum_rad));
        for arm_move in &self.arm_moves {
            turn_rad += arm_move.turn_rad * arm_move.amount(t_s);
        }
        turn_rad
    }
}
