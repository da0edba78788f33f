//! How much of a movement the forearm does, by one sensor on the hand.
//!
//! A hand that turns about the wrist and one that turns about the elbow look alike to an
//! orientation filter, but not to the accelerometer: the unit is 7 cm from the one and over 30 cm
//! from the other.
//!
//! Ours, upon Seel, Schauer and Raisch 2012 (see `columns`). The specific force of a set, turned
//! into the frame of its start by the gyroscope alone, is explained by the lever about the wrist, by
//! a forearm that turns with the hand (in proportion, earlier or later, early or late in the
//! travel), and by what scale, misalignment, bias and delay of the unit do to it. Each has a
//! stated size beforehand. The forearm's turn is an angle and not small, so that the linear model is
//! laid anew around what it found, from three starts, and the best fit is kept. What remains is
//! noise: sway makes it large, and the answer uncertain.

mod band;
mod bayes;
mod blocks;
mod columns;
mod follow;
mod model;
#[cfg(test)]
mod tests;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use crate::orientation::Oriented;
use blocks::blocks;
pub use follow::ElbowFollow;
use model::block_of;

/// Settings of the elbow's share: sizes known beforehand, and what is called.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ElbowParams {
    /// Elbow to wrist, metres. 0.2 to 0.3, default 0.26.
    pub forearm_m: f64,
    /// Spread of that among people, as a share. 0.05 to 0.15, default 0.08.
    pub forearm_spread_ratio: f64,
    /// Wrist to unit along the hand, metres. 0.05 to 0.09, default 0.07.
    pub lever_m: f64,
    /// Height of the unit over the middle of the hand, metres. 0.01 to 0.03, default 0.02.
    pub height_m: f64,
    /// Standard deviation of both, metres. Small values take a strange place of the unit for the
    /// elbow, large ones hide a small share. 0.005 to 0.03, default 0.012.
    pub lever_spread_m: f64,
    /// Standard deviation of each entry of the gyroscope's scale and misalignment. 0.002 to 0.01,
    /// default 0.004.
    pub gyro_scale_ratio: f64,
    /// Standard deviation of what is left of the gyroscope's bias, rad/s. Default 0.001.
    pub gyro_bias_rad_s: f64,
    /// Standard deviation of the accelerometer's bias, m/s². 0.02 to 0.1, default 0.05.
    pub accel_bias_m_s2: f64,
    /// Standard deviation of each entry of the accelerometer's scale and misalignment. Default
    /// 0.003.
    pub accel_scale_ratio: f64,
    /// Standard deviation of the delay between the two, seconds. Default 0.002.
    pub late_s: f64,
    /// Least noise of one point of the grid, m/s²: joints are no hinges, skin gives way. Small
    /// values believe in the model, large ones ask for more repetitions. 0.005 to 0.03.
    pub floor_m_s2: f64,
    /// Acceleration that looks like a lift's and is none of it, m/s²: what the model does not hold.
    /// It sets the error of slow lifts. 0.002 to 0.01.
    pub unseen_m_s2: f64,
    /// The same as a share of what the model leaves, which sway makes large. 0.2 to 1.
    pub unseen_ratio: f64,
    /// A share is told only where its standard error is at most this.
    pub most_error_ratio: f64,
    /// The forearm is said to have moved from this share on.
    pub marked_ratio: f64,
    /// Repetitions needed at least. 3 to 6, default 3.
    pub least_count: usize,
}

impl Default for ElbowParams {
    fn default() -> Self {
        ElbowParams {
            forearm_m: 0.26,
            forearm_spread_ratio: 0.08,
            lever_m: 0.07,
            height_m: 0.02,
            lever_spread_m: 0.012,
            gyro_scale_ratio: 0.004,
            gyro_bias_rad_s: 0.001,
            accel_bias_m_s2: 0.05,
            accel_scale_ratio: 0.003,
            late_s: 0.002,
            floor_m_s2: 0.03,
            unseen_m_s2: 0.004,
            unseen_ratio: 0.5,
            most_error_ratio: 0.12,
            marked_ratio: 0.28,
            least_count: 3,
        }
    }
}

/// Why a share cannot be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CannotTell {
    /// Too few repetitions without a hole in them.
    TooFew,
    /// The acceleration is too small against what else moves the unit: slow or small lifts, sway.
    TooFaint,
    /// Nothing that is thought of explains the motion: no fit, or one with a share that cannot be.
    NoFit,
}

impl CannotTell {
    /// The reason in words.
    pub fn words(self) -> &'static str {
        match self {
            CannotTell::TooFew => "too few repetitions",
            CannotTell::TooFaint => "too slow or too unsteady to tell",
            CannotTell::NoFit => "the motion fits neither wrist nor elbow",
        }
    }
}

/// The share of a movement's travel that came from the forearm turning about the elbow or the
/// shoulder, over a set; 0 is the wrist alone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ElbowShare {
    /// The share; `None` where it cannot be told.
    pub share_ratio: Option<f64>,
    /// Lower end of its 95 % interval.
    pub low_ratio: Option<f64>,
    /// Upper end of its 95 % interval.
    pub high_ratio: Option<f64>,
    /// Whether the forearm did a large share.
    pub forearm_moved: bool,
    /// Why it cannot be told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cannot_tell: Option<CannotTell>,
}

impl ElbowShare {
    /// "48 % (95 % interval 40 to 55 %)", or that it cannot be told and why.
    pub fn words(&self) -> String {
        let told = self.share_ratio.zip(self.low_ratio.zip(self.high_ratio));
        let Some((share, (low, high))) = told else {
            let why = self.cannot_tell.map_or("unknown", CannotTell::words);
            return format!("cannot tell ({why})");
        };
        let [share, low, high] = [share, low, high].map(|ratio| 100.0 * ratio.clamp(0.0, 1.0));
        format!("{share:.0} % (95 % interval {low:.0} to {high:.0} %)")
    }
}

/// A repetition, as far as the elbow's share needs it. Seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift {
    /// Start of the lift.
    pub lift_start_s: f64,
    /// End of the lift.
    pub lift_end_s: f64,
    /// End of the lowering.
    pub lower_end_s: f64,
}

/// Directions of the hand in the sensor's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandInSensor {
    /// Along the hand towards the fingers.
    pub distal: Vector3<f64>,
    /// Towards the palm; `None` where it is not known.
    pub volar: Option<Vector3<f64>>,
}

/// A share with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The share.
    pub share_ratio: f64,
    /// Its standard error.
    pub error_ratio: f64,
}

/// What is found of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct ElbowReading {
    /// Over the set.
    pub share: ElbowShare,
    /// The set's estimate, also where it is too uncertain to be told.
    pub estimate: Option<Estimate>,
    /// Of each repetition that was given, in order; `None` where a hole or the block's end took it.
    pub each: Vec<Option<Estimate>>,
    /// Whether the forearm did a large share of each repetition.
    pub moved: Vec<bool>,
}

/// So far beyond 0 and 1 an error may carry a share.
const BEYOND_RATIO: f64 = 0.2;

/// The elbow's share of the repetitions of a set. `hand` is known by a calibration; without one the
/// unit's direction from the wrist is taken from the motion.
pub fn elbow_share(
    oriented: &[Oriented],
    lifts: &[Lift],
    hand: Option<&HandInSensor>,
    params: &ElbowParams,
) -> ElbowReading {
    let mut each = vec![None; lifts.len()];
    let mut estimates = Vec::new();
    let blocks = blocks(oriented, lifts, params.least_count);
    let looked = !blocks.is_empty();
    for block in blocks {
        let own = lifts.get(block.clone()).unwrap_or(&[]);
        let Some(fit) = block_of(oriented, own, hand, params) else {
            continue;
        };
        estimates.push((fit.set, own.len() as f64));
        for (slot, estimate) in each.iter_mut().skip(block.start).zip(fit.each) {
            *slot = Some(estimate);
        }
    }
    reading_of(each, looked, &estimates, params)
}

/// What is told of the estimates of blocks and single repetitions, where blocks were looked at.
fn reading_of(
    each: Vec<Option<Estimate>>,
    looked: bool,
    blocks: &[(Estimate, f64)],
    params: &ElbowParams,
) -> ElbowReading {
    let estimate = together(blocks);
    // A share far outside of 0 to 1 is a fit that went elsewhere.
    let can_be = |one: &Estimate| (-BEYOND_RATIO..=1.0 + BEYOND_RATIO).contains(&one.share_ratio);
    let sure = |one: &Estimate| one.error_ratio <= params.most_error_ratio && can_be(one);
    let told = estimate.filter(sure);
    let large = |one: &Estimate| one.share_ratio >= params.marked_ratio;
    let end = |errors| told.map(|e: Estimate| e.share_ratio + errors * e.error_ratio);
    let share = ElbowShare {
        share_ratio: told.map(|e| e.share_ratio),
        low_ratio: end(-1.96),
        high_ratio: end(1.96),
        forearm_moved: told.as_ref().is_some_and(large),
        cannot_tell: match (estimate, told) {
            (None, _) if looked => Some(CannotTell::NoFit),
            (None, _) => Some(CannotTell::TooFew),
            (Some(one), None) if !can_be(&one) => Some(CannotTell::NoFit),
            (Some(_), None) => Some(CannotTell::TooFaint),
            _ => None,
        },
    };
    let moved = |one: &Option<Estimate>| {
        told.is_some() && one.as_ref().is_some_and(|one| sure(one) && large(one))
    };
    ElbowReading {
        share,
        estimate,
        moved: each.iter().map(moved).collect(),
        each,
    }
}

/// Blocks together: means by their repetitions. What one block's unit and arm are like, the other's
/// are too, so that the errors do not shrink.
fn together(estimates: &[(Estimate, f64)]) -> Option<Estimate> {
    let total: f64 = estimates.iter().map(|(_, count)| count).sum();
    let mean = |value: &dyn Fn(&Estimate) -> f64| -> f64 {
        estimates
            .iter()
            .map(|(one, count)| value(one) * count)
            .sum::<f64>()
            / total
    };
    (total > 0.0).then(|| Estimate {
        share_ratio: mean(&|one| one.share_ratio),
        error_ratio: mean(&|one| one.error_ratio),
    })
}
