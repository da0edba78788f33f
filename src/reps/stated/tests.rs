//! Sway is told from what is none.
#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::f64::consts::TAU;

use nalgebra::Vector3;

use super::super::curve::Grid;
use super::super::excursion::{CountParams, find};
use super::super::measure::repetition;
use super::super::smoothness::Smoothness;
use super::*;
use crate::joint::AnglePoint;

/// Seconds from one repetition to the next: up in 2, held for 1, down in 2, rest of 1.
const EVERY_S: f64 = 6.0;

/// Where a hand is that goes 50 degrees up and down, degrees.
fn ordered_deg(t_s: f64) -> f64 {
    let within_s = (t_s - 1.0).rem_euclid(EVERY_S);
    let up = (within_s / 2.0).min((5.0 - within_s) / 2.0).clamp(0.0, 1.0);
    25.0 * (1.0 - (0.5 * TAU * up).cos())
}

/// How an arm is unsteady, and which way its hand goes.
#[derive(Debug, Clone, Copy, Default)]
struct Manner {
    /// Sway of all three axes, degrees.
    sway_deg: f64,
    /// Tremor of 8 Hz across the measured axis, degrees.
    tremor_deg: f64,
    /// Turn across the measured axis for each degree about it.
    oblique_ratio: f64,
}

/// The set, what its repetitions show, and the range's stated error of the last of them.
fn stated(manner: Manner) -> (Sway, f64) {
    let mut grid = Grid::new();
    for step in 0..4300 {
        let t_s = step as f64 * STEP_S;
        let sway = |hertz: f64| manner.sway_deg * (TAU * hertz * t_s).sin();
        let tremor = manner.tremor_deg * (TAU * 8.0 * t_s).sin();
        let oblique_deg = manner.oblique_ratio * ordered_deg(t_s);
        grid.push(AnglePoint {
            t_s,
            measured_deg: ordered_deg(t_s) + sway(0.29),
            across_deg: [oblique_deg + sway(0.23) + tremor, sway(0.31) - tremor],
            up_in_sensor: Vector3::z(),
            isb: None,
        });
    }
    let curve = grid.curve();
    let mut unsteadiness = Unsteadiness::default();
    let found = find(&curve, &CountParams::default(), Some(0.0), 0);
    assert_eq!(found.repetitions.len(), 7);
    for excursion in &found.repetitions {
        unsteadiness.take(&curve, excursion);
    }
    let last = found.repetitions.last().unwrap();
    let mut rep = repetition(&curve, last, 0.0, &mut Smoothness::new());
    unsteadiness.state(&curve, last, [0, curve.len() - 1], &mut rep);
    (unsteadiness.sway(), rep.range_error_deg.unwrap())
}

fn sway_of(sway_deg: f64, tremor_deg: f64) -> Sway {
    let manner = Manner {
        sway_deg,
        tremor_deg,
        ..Manner::default()
    };
    stated(manner).0
}

/// A fitted axis is known to 0.03 radians: of a hand that goes 25 degrees to the side while it goes
/// 50 up, 0.75 degrees may be read as up, twice that at the edge of the interval.
#[test]
fn what_a_hand_does_to_the_side_makes_its_range_less_certain() {
    let oblique = |oblique_ratio| {
        stated(Manner {
            oblique_ratio,
            ..Manner::default()
        })
    };
    let ((steady, straight_deg), (aslant, oblique_deg)) = (oblique(0.0), oblique(0.5));
    assert!(straight_deg < 0.5, "{straight_deg}");
    assert!((1.4..1.6).contains(&oblique_deg), "{oblique_deg}");
    // It is no sway.
    assert!(aslant.wander_deg < steady.wander_deg + 0.1, "{aslant:?}");
}

#[test]
fn a_tremor_across_the_axis_makes_sway_neither_more_nor_less() {
    let (without, with) = (sway_of(1.0, 0.0), sway_of(1.0, 0.11));
    let ratio = with.wander_deg / without.wander_deg;
    assert!((0.9..1.1).contains(&ratio), "{without:?} {with:?}");
}

/// A sway of 1 degree at 0.29 Hz: its speed is 1.29 deg/s (root mean square) and two moments of it
/// lie one degree apart (root mean square of random moments).
#[test]
fn a_sway_is_read_as_large_as_it_is() {
    let sway = sway_of(1.0, 0.0);
    assert!((0.5..2.6).contains(&sway.speed_deg_s), "{sway:?}");
    assert!((0.5..2.0).contains(&sway.wander_deg), "{sway:?}");
    let steady = sway_of(0.0, 0.11);
    assert!(steady.wander_deg < 0.2 * sway.wander_deg, "{steady:?}");
}
