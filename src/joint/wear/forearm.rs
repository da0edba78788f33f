//! Whether the unit sits on the forearm while the wrist moves.
//!
//! Ours. On the forearm the bellies and tendons of the muscles tip the unit a little with each
//! stroke of the wrist: a few degrees, about one line, there and back with stays between, and never
//! more. An arm that only sways goes round or wanders and hardly ever stays. (No published size of
//! that tip was found; a share of 2 to 8 % of the wrist's angle is assumed.)

use nalgebra::{Matrix3, SymmetricEigen, Vector3};

use super::pose::{Poses, quantile, rises};
use super::{WearFinding, WearKind};

/// When small turns are strokes seen from the forearm.
#[derive(Debug, Clone, PartialEq)]
pub struct ForearmParams {
    /// Least size of the strokes, degrees (0.6): less is sway.
    pub least_deg: f64,
    /// Greatest size, degrees (8): more is a small movement of the wrist itself.
    pub most_deg: f64,
    /// Least share of the turning about one line (0.85).
    pub share_ratio: f64,
    /// Strokes after which it is told (3).
    pub least_count: usize,
    /// Least share of the time that the unit stays where it is (0.15).
    pub stays_ratio: f64,
    /// Longest time between two strokes on the average, seconds (20): fewer are fidgets.
    pub most_apart_s: f64,
}

impl Default for ForearmParams {
    fn default() -> Self {
        ForearmParams {
            least_deg: 0.6,
            most_deg: 8.0,
            share_ratio: 0.85,
            least_count: 3,
            stays_ratio: 0.15,
            most_apart_s: 20.0,
        }
    }
}

/// A quarter of a second: turns are that far apart.
const STEP_S: f64 = 0.25;

/// Whether the turns of a set are those of a unit on the forearm.
pub fn on_forearm(poses: &Poses, start_s: f64, params: &ForearmParams) -> Option<WearFinding> {
    let turns_deg = poses.turns_deg();
    let count = turns_deg.len() as f64;
    let farthest_deg = turns_deg.iter().map(Vector3::norm).fold(0.0, f64::max);
    if turns_deg.is_empty() || farthest_deg > 1.5 * params.most_deg {
        return None;
    }
    let mean_deg: Vector3<f64> = turns_deg.iter().sum::<Vector3<f64>>() / count;
    let away = || turns_deg.iter().map(|turn_deg| turn_deg - mean_deg);
    let scatter: Matrix3<f64> = away().map(|turn| turn * turn.transpose()).sum();
    let eigen = SymmetricEigen::new(scatter);
    let share_ratio = eigen.eigenvalues.max() / eigen.eigenvalues.sum();
    let line = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
    let along_deg: Vec<f64> = away().map(|turn| turn.dot(&line)).collect();
    let low_deg = quantile(&along_deg, 0.05)?;
    let size_deg = quantile(&along_deg, 0.95)? - low_deg;
    let strokes = rises(
        along_deg.iter().copied(),
        low_deg + 0.35 * size_deg,
        low_deg + 0.65 * size_deg,
    );
    let steps_deg: Vec<f64> = along_deg
        .iter()
        .zip(along_deg.iter().skip(1))
        .map(|(from, to)| (to - from).abs())
        .collect();
    let fast_deg = quantile(&steps_deg, 0.95)?;
    let stays = steps_deg.iter().filter(|step| **step < 0.12 * fast_deg).count() as f64;
    let found = share_ratio >= params.share_ratio
        && (params.least_deg..=params.most_deg).contains(&size_deg)
        && strokes >= params.least_count
        && stays >= params.stays_ratio * count
        && STEP_S * count <= params.most_apart_s * strokes as f64;
    found.then_some(WearFinding {
        kind: WearKind::OnForearm,
        or: None,
        since_s: start_s,
        evidence_deg: Some(size_deg),
        evidence_s: None,
    })
}
