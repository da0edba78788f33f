//! Lifts about another axis than the set's that are of the set all the same.
//!
//! Ours: see [`wandered`].

use nalgebra::Vector3;

use super::curve::Curve;
use super::excursion::{CountParams, Found};

/// Axes of neighbouring lifts this near each other are one axis that wanders, degrees.
const WANDER_DEG: f64 = 15.0;

/// Peaks of those candidates whose axis is not the set's but that of a neighbour which is of the
/// set: an arm that settles into a movement turns its axis from one repetition to the next, while
/// another movement has quite another axis at once.
pub fn wandered(curve: &Curve, params: &CountParams, candidates: &Found) -> Vec<usize> {
    let turns: Vec<(usize, Vector3<f64>)> = candidates
        .repetitions
        .iter()
        .map(|r| (r.peak, curve.turn_between_deg(r.lift.start, r.peak)))
        .collect();
    let mut of_the_set: Vec<bool> = turns
        .iter()
        .map(|(_, turn)| turn.yz().norm() <= params.most_across_ratio * turn.x)
        .collect();
    let mut wandered = Vec::new();
    let neighbours = (1..turns.len()).map(|later| (later - 1, later));
    for (from, to) in neighbours
        .clone()
        .chain(neighbours.rev().map(|(a, b)| (b, a)))
    {
        let (Some((_, sure)), Some((peak, turn))) = (turns.get(from), turns.get(to)) else {
            continue;
        };
        let near = sure.angle(turn).to_degrees() <= WANDER_DEG;
        if of_the_set.get(from) == Some(&true)
            && near
            && let Some(own) = of_the_set.get_mut(to)
            && !*own
        {
            *own = true;
            wandered.push(*peak);
        }
    }
    wandered
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

    use super::*;
    use crate::joint::AnglePoint;
    use crate::reps::curve::Grid;
    use crate::reps::excursion::find_all;

    /// Ten lifts of 60 degrees in three seconds each, the axis of each turned out by so much.
    fn counted(off_deg: impl Fn(usize) -> f64) -> usize {
        let mut grid = Grid::new();
        for step in 0..1500_u32 {
            let t_s = f64::from(step) / 50.0;
            let (sine, cosine) = off_deg((t_s / 3.0) as usize).to_radians().sin_cos();
            let turned_deg = 30.0 * (1.0 - (std::f64::consts::TAU * t_s / 3.0).cos());
            grid.push(AnglePoint {
                t_s,
                measured_deg: turned_deg * cosine,
                across_deg: [turned_deg * sine, 0.0],
                up_in_sensor: Vector3::z(),
                isb: None,
            });
        }
        find_all(&grid.curve(), &CountParams::default(), 0)
            .repetitions
            .len()
    }

    #[test]
    fn an_axis_that_settles_over_some_repetitions_is_the_sets_own() {
        assert_eq!(counted(|index| 52.0 - 10.0 * index.min(5) as f64), 10);
    }

    #[test]
    fn one_lift_about_quite_another_axis_is_not_counted() {
        assert_eq!(counted(|index| if index == 5 { 52.0 } else { 0.0 }), 9);
    }
}
