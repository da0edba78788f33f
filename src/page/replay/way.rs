//! The curve of a set as the page gets it: thinned, without its gaps, in parts.

use serde::Serialize;

use super::outline::{Outline, outline};
use crate::pipeline::SetDetail;
use crate::reps::Curve;
use crate::reps::curve::STEP_S;

/// Every so many points of the grid of 100 Hz are sent.
const EVERY_POINTS: usize = 2;
/// Time between two points that are sent, seconds.
pub const SENT_STEP_S: f64 = EVERY_POINTS as f64 * STEP_S;
/// Length of a part, seconds.
pub const PART_S: f64 = 60.0;

/// A curve.
#[derive(Debug)]
pub struct Way {
    /// Time of its first point, seconds.
    pub start_s: f64,
    /// Time of its last point, seconds.
    pub end_s: f64,
    /// First and last time of each gap, seconds.
    pub gaps_s: Vec<[f64; 2]>,
    /// The whole curve in few columns.
    pub outline: Outline,
    runs: Vec<Run>,
}

/// Points between which nothing is missing.
#[derive(Debug)]
struct Run {
    start_s: f64,
    angles_deg: Vec<f32>,
}

/// A minute of a curve.
#[derive(Debug, Serialize)]
pub struct Part<'a> {
    step_s: f64,
    runs: Vec<PartRun<'a>>,
}

#[derive(Debug, Serialize)]
struct PartRun<'a> {
    start_s: f64,
    angles_deg: &'a [f32],
}

impl Way {
    /// The curve of a set against its zero; `None` where there is none.
    pub fn of(detail: &SetDetail) -> Option<Way> {
        let motion = detail.motion.as_ref()?;
        let curve = &motion.curve;
        if curve.is_empty() {
            return None;
        }
        let (start_s, end_s) = (curve.time_s(0), curve.time_s(curve.len() - 1));
        let gaps_s = curve
            .gaps()
            .iter()
            .map(|gap| gap.map(|index| curve.time_s(index).min(end_s)))
            .collect();
        let runs: Vec<Run> = sampled(curve)
            .into_iter()
            .map(|[from, to]| Run {
                start_s: curve.time_s(from),
                angles_deg: (from..to)
                    .step_by(EVERY_POINTS)
                    .map(|index| short(curve.angle(index) - motion.zero_deg))
                    .collect(),
            })
            .collect();
        let points = runs.iter().flat_map(|run| {
            run.angles_deg
                .iter()
                .enumerate()
                .map(|(place, angle_deg)| (run.start_s + place as f64 * SENT_STEP_S, *angle_deg))
        });
        let outline = outline(start_s, end_s, points);
        Some(Way {
            start_s,
            end_s,
            gaps_s,
            outline,
            runs,
        })
    }

    /// A part, counted from 0, with the point before it and the one after; `None` past the end.
    pub fn part(&self, number: u64) -> Option<Part<'_>> {
        let from_s = self.start_s + number as f64 * PART_S;
        if from_s > self.end_s {
            return None;
        }
        let to_s = from_s + PART_S;
        let first = self
            .runs
            .partition_point(|run| run.end_s() < from_s - SENT_STEP_S);
        let runs = self
            .runs
            .get(first..)?
            .iter()
            .take_while(|run| run.start_s <= to_s)
            .filter_map(|run| {
                // Negative times become 0, as they should.
                let steps = |t_s: f64| ((t_s - run.start_s) / SENT_STEP_S).floor();
                let from = steps(from_s) as usize;
                let to = (steps(to_s) as usize + 2).min(run.angles_deg.len());
                Some(PartRun {
                    start_s: run.start_s + from as f64 * SENT_STEP_S,
                    angles_deg: run.angles_deg.get(from..to).filter(|own| !own.is_empty())?,
                })
            })
            .collect();
        Some(Part {
            step_s: SENT_STEP_S,
            runs,
        })
    }
}

impl Run {
    fn end_s(&self) -> f64 {
        self.start_s + self.angles_deg.len() as f64 * SENT_STEP_S
    }
}

/// First and one past the last of the points between gaps.
fn sampled(curve: &Curve) -> Vec<[usize; 2]> {
    let mut runs: Vec<[usize; 2]> = Vec::new();
    for index in (0..curve.len()).filter(|index| !curve.is_gap(*index)) {
        match runs.last_mut() {
            Some([_, to]) if *to == index => *to = index + 1,
            _ => runs.push([index, index + 1]),
        }
    }
    runs
}

/// An angle with two decimals, which is more than is drawn.
fn short(angle_deg: f64) -> f32 {
    ((angle_deg * 100.0).round() / 100.0) as f32
}
