//! How a set of arm circles is done.

use super::timeline::{Piece, Shape, Timeline};

/// A set of arm circles with the arm stretched out sideways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CircleManner {
    /// Whole turns.
    pub turns: usize,
    /// Time of one turn, seconds.
    pub turn_s: f64,
    /// Half the opening of the cone that the arm draws, degrees.
    pub half_angle_deg: f64,
    /// Stillness before, and again after, seconds.
    pub still_s: f64,
}

impl CircleManner {
    /// The set, second by second: the measured angle is the phase of the circle.
    pub fn timeline(&self) -> Timeline {
        let turning_s = self.turn_s * self.turns as f64;
        let whole_deg = 360.0 * self.turns as f64;
        // Getting going and stopping take a quarter of a turn each.
        let ramp_ratio = (0.25 / self.turns.max(1) as f64).min(0.3);
        let begin_s = self.still_s;
        let end_s = begin_s + turning_s;
        let piece = |start_s, end_s, from_deg, to_deg| Piece {
            start_s,
            end_s,
            from_deg,
            to_deg,
            shape: Shape::Steady { ramp_ratio },
        };
        Timeline {
            duration_s: end_s + self.still_s,
            pieces: vec![
                piece(0.0, begin_s, 0.0, 0.0),
                piece(begin_s, end_s, 0.0, whole_deg),
                piece(end_s, end_s + self.still_s, whole_deg, whole_deg),
            ],
            circle_half_angle_deg: Some(self.half_angle_deg),
            ..Timeline::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::simulator::truth::true_turns;

    #[test]
    fn every_turn_is_true_once_and_they_join() {
        let manner = CircleManner {
            turns: 5,
            turn_s: 2.0,
            half_angle_deg: 30.0,
            still_s: 1.5,
        };
        let turns = true_turns(&manner.timeline());
        assert_eq!(turns.len(), 5);
        for (before, after) in turns.iter().zip(turns.iter().skip(1)) {
            assert_eq!(before.lower_end_s, after.lift_start_s);
            assert!(after.lift_end_s > after.lift_start_s);
        }
        let whole_s = turns.iter().map(|t| t.lower_end_s).fold(0.0, f64::max);
        assert!((whole_s - 11.5).abs() < 0.1, "{whole_s}");
    }
}
