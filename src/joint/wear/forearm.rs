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
    /// Least size of the strokes, degrees (0.9): less is sway.
    pub least_deg: f64,
    /// Greatest size, degrees (8): more is a small movement of the wrist itself.
    pub most_deg: f64,
    /// Least share of the turning about one line (0.85).
    pub share_ratio: f64,
    /// Strokes after which it is told (3).
    pub least_count: usize,
    /// Least share of the time that the unit stays where it is (0.15).
    pub stays_ratio: f64,
    /// Or, of twice as many strokes, greatest spread of their tops as a share of their size (0.2).
    pub alike_ratio: f64,
    /// Least share of the time in which the arm is where it was (0.9): it may go elsewhere and back.
    pub near_ratio: f64,
    /// Longest time between two strokes on the average, seconds (20): fewer are fidgets.
    pub most_apart_s: f64,
}

impl Default for ForearmParams {
    fn default() -> Self {
        ForearmParams {
            least_deg: 0.9,
            most_deg: 8.0,
            share_ratio: 0.85,
            least_count: 3,
            stays_ratio: 0.15,
            alike_ratio: 0.2,
            near_ratio: 0.9,
            most_apart_s: 20.0,
        }
    }
}

/// A quarter of a second: tilts are that far apart.
const STEP_S: f64 = 0.25;

/// Whether the tilts of a set are those of a unit on the forearm.
pub fn on_forearm(poses: &Poses, start_s: f64, params: &ForearmParams) -> Option<WearFinding> {
    let tilts_deg = near(poses.tilts_deg(), params)?;
    let count = tilts_deg.len() as f64;
    let mean_deg: Vector3<f64> = tilts_deg.iter().sum::<Vector3<f64>>() / count;
    let away = || tilts_deg.iter().map(|tilt_deg| tilt_deg - mean_deg);
    let scatter: Matrix3<f64> = away().map(|tilt| tilt * tilt.transpose()).sum();
    let eigen = SymmetricEigen::new(scatter);
    let share_ratio = eigen.eigenvalues.max() / eigen.eigenvalues.sum();
    let line = eigen
        .eigenvectors
        .column(eigen.eigenvalues.imax())
        .into_owned();
    let along_deg: Vec<f64> = away().map(|tilt| tilt.dot(&line)).collect();
    let low_deg = quantile(&along_deg, 0.05)?;
    let size_deg = quantile(&along_deg, 0.95)? - low_deg;
    let [low_deg, high_deg] = [0.35, 0.65].map(|share| low_deg + share * size_deg);
    let strokes = rises(along_deg.iter().copied(), low_deg, high_deg);
    let stroke_like =
        stays(&along_deg, params) || alike(&along_deg, [low_deg, high_deg], size_deg, params);
    let found = share_ratio >= params.share_ratio
        && (params.least_deg..=params.most_deg).contains(&size_deg)
        && strokes >= params.least_count
        && stroke_like
        && STEP_S * count <= params.most_apart_s * strokes as f64;
    found.then_some(WearFinding {
        kind: WearKind::OnForearm,
        or: None,
        since_s: start_s,
        evidence_deg: Some(size_deg),
        evidence_s: None,
    })
}

/// The tilts without the few moments in which the arm went elsewhere; `None` where these are many.
fn near(tilts_deg: &[Vector3<f64>], params: &ForearmParams) -> Option<Vec<Vector3<f64>>> {
    let most_deg = 1.5 * params.most_deg;
    let near: Vec<Vector3<f64>> = tilts_deg
        .iter()
        .copied()
        .filter(|tilt_deg| tilt_deg.norm() <= most_deg)
        .collect();
    let few = near.len() as f64 >= params.near_ratio * tilts_deg.len() as f64;
    (few && !near.is_empty()).then_some(near)
}

/// Whether the unit stays where it is for some of the time, as between strokes.
fn stays(along_deg: &[f64], params: &ForearmParams) -> bool {
    let steps_deg: Vec<f64> = along_deg
        .iter()
        .zip(along_deg.iter().skip(1))
        .map(|(from, to)| (to - from).abs())
        .collect();
    let fast_deg = quantile(&steps_deg, 0.95).unwrap_or(0.0);
    let slow = steps_deg.iter().filter(|step| **step < 0.12 * fast_deg);
    slow.count() as f64 >= params.stays_ratio * along_deg.len() as f64
}

/// Whether the strokes are many and their tops alike, as of somebody who never stays.
fn alike(
    along_deg: &[f64],
    [low_deg, high_deg]: [f64; 2],
    size_deg: f64,
    params: &ForearmParams,
) -> bool {
    let mut tops_deg: Vec<f64> = Vec::new();
    let mut is_low = true;
    for deg in along_deg.iter().copied() {
        if deg < low_deg {
            is_low = true;
        } else if deg > high_deg && is_low {
            is_low = false;
            tops_deg.push(deg);
        } else if let Some(top_deg) = tops_deg.last_mut().filter(|_| !is_low) {
            *top_deg = top_deg.max(deg);
        }
    }
    let spread_deg = quantile(&tops_deg, 0.9)
        .zip(quantile(&tops_deg, 0.1))
        .map_or(f64::INFINITY, |(high_deg, low_deg)| high_deg - low_deg);
    tops_deg.len() >= 2 * params.least_count && spread_deg <= params.alike_ratio * size_deg
}
