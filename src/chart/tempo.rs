//! The time of each repetition's timed phase, as bars that do or do not reach the time asked for.

use super::axis::{Scale, median};
use super::frame::{EDGE_PX, heading, nothing, remarks, remarks_px};
use super::pen::Pen;
use super::tempo_lane::{COUNT_PX, LEGIBLE_PX, Lane, value};
use super::{Chart, ChartError, Size, checked};
use crate::movement::MovingPhase;
use plotters_backend::DrawingBackend;

/// How a time compares with the time asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TempoVerdict {
    /// Within the band.
    InBand,
    /// Below the band.
    Hurried,
    /// Above the band; not a fault.
    Slower,
}

/// The time asked for, in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TempoBand {
    /// Shortest time that is not hurried, in seconds.
    pub low_s: f64,
    /// Longest time that is not slower, in seconds; not below the shortest.
    pub high_s: f64,
    /// The time as prescribed, in seconds.
    pub prescribed_s: f64,
}

/// One repetition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TempoRepetition {
    /// Seconds of the timed phase; `None` is unknown.
    pub duration_s: Option<f64>,
    /// How that compares; `None` where nothing was asked or nothing is known.
    pub verdict: Option<TempoVerdict>,
    /// Whether the repetition is in doubt.
    pub doubtful: bool,
}

/// The repetitions of one set.
#[derive(Debug, Clone, PartialEq)]
pub struct TempoSet {
    /// Its name, as "Set 1".
    pub label: String,
    /// The time asked for; `None` draws no band.
    pub band: Option<TempoBand>,
    /// The repetitions in order.
    pub repetitions: Vec<TempoRepetition>,
}

/// The times of one moving phase, several sets side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct TempoChart {
    /// The heading.
    pub title: String,
    /// A line under it.
    pub subtitle: String,
    /// The phase that was timed.
    pub phase: MovingPhase,
    /// The sets in order.
    pub sets: Vec<TempoSet>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

/// Room between two lanes.
const APART_PX: f64 = 30.0;
/// Narrowest lane.
const LANE_PX: f64 = 150.0;
/// Height of a repetition where there is room.
const ROW_PX: f64 = 18.0;
/// Room under a lane for its axis.
const FOOT_PX: f64 = 32.0;

impl TempoChart {
    fn check(&self) -> Result<(), ChartError> {
        for set in &self.sets {
            for (index, repetition) in set.repetitions.iter().enumerate() {
                if checked(repetition.duration_s.unwrap_or(0.0), "duration", index)? < 0.0 {
                    return Err(ChartError::Order {
                        what: "duration",
                        index,
                    });
                }
            }
            if let Some(band) = set.band {
                let low = checked(band.low_s, "tempo band", 0)?;
                let high = checked(band.high_s, "tempo band", 0)?;
                checked(band.prescribed_s, "tempo band", 0)?;
                if low < 0.0 || high < low {
                    return Err(ChartError::Order {
                        what: "tempo band",
                        index: 0,
                    });
                }
            }
        }
        Ok(())
    }

    pub(super) fn word(&self) -> &'static str {
        match self.phase {
            MovingPhase::Lift => "lift",
            MovingPhase::Lower => "lowering",
        }
    }

    /// The longest time shown: one repetition far beyond the rest does not flatten them.
    fn longest_s(&self) -> f64 {
        let times: Vec<f64> = self
            .sets
            .iter()
            .flat_map(|set| &set.repetitions)
            .filter_map(|r| r.duration_s)
            .collect();
        let asked = self
            .sets
            .iter()
            .filter_map(|set| set.band)
            .map(|band| band.high_s)
            .fold(0.0, f64::max);
        let usual = median(&times).unwrap_or(1.0).max(asked).max(0.2);
        let longest = times.iter().copied().fold(asked, f64::max);
        longest.min(2.2 * usual).max(0.2) * 1.04
    }

    fn most_repetitions(sets: &[TempoSet]) -> usize {
        sets.iter()
            .map(|set| set.repetitions.len())
            .max()
            .unwrap_or(0)
            .max(1)
    }

    fn columns(&self, width: f64) -> usize {
        let most = ((width - 2.0 * EDGE_PX + APART_PX) / (LANE_PX + APART_PX)).floor();
        let count = self.sets.len().max(1);
        let rows = count.div_ceil((most.max(1.0) as usize).min(4));
        count.div_ceil(rows)
    }
}

impl Chart for TempoChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        let mut words = format!("Seconds of each {}.", self.word());
        if self.sets.is_empty() {
            words.push_str(" No repetitions.");
        }
        for set in &self.sets {
            let times: Vec<String> = set
                .repetitions
                .iter()
                .map(|r| {
                    r.duration_s
                        .map_or("unknown".to_owned(), |s| format!("{s:.1}"))
                })
                .collect();
            let counts: Vec<String> = set.counts().into_iter().map(|c| c.words).collect();
            if times.is_empty() {
                words.push_str(&format!(" {}: no repetitions.", set.label));
            } else {
                words.push_str(&format!(
                    " {}: {} ({}).",
                    set.label,
                    times.join(", "),
                    counts.join(", ")
                ));
            }
        }
        words
    }

    fn size(&self) -> Size {
        let width = 880.0;
        let columns = self.columns(width);
        let rows = self.sets.len().max(1).div_ceil(columns) as f64;
        let most = TempoChart::most_repetitions(&self.sets) as f64;
        let lane = 78.0 + (most * ROW_PX).min(400.0) + FOOT_PX;
        let height = (130.0 + rows * lane).clamp(360.0, 4000.0);
        Size {
            width_px: 880,
            height_px: height as u32,
        }
    }

    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.check()?;
        let above = heading(pen, &self.title, &self.subtitle)? + 8.0;
        let mut notes = self.notes.clone();
        let any = |verdict| {
            let mut all = self.sets.iter().flat_map(|set| &set.repetitions);
            all.any(|r| r.verdict == Some(verdict))
        };
        if any(TempoVerdict::Hurried) {
            notes.insert(0, "Dots: what is missing up to the band.".to_owned());
        }
        let (width, height) = pen.extent();
        if self.sets.iter().all(|set| set.repetitions.is_empty()) {
            let below = remarks(pen, &notes)?;
            return nothing(pen, above, below, "no repetitions");
        }
        let columns = self.columns(width);
        let lane_px = (width - 2.0 * EDGE_PX - APART_PX * (columns as f64 - 1.0)) / columns as f64;
        let lines = |set: &TempoSet| {
            let flow = TempoChart::flow(pen, &set.counts(), lane_px);
            flow.last().map_or(1, |line| line + 1)
        };
        let lines = self.sets.iter().map(lines).max().unwrap_or(1);
        let head = 24.0 + COUNT_PX * lines as f64 + 22.0;
        let least = head + FOOT_PX + 24.0;
        let fitting = |notes: &[String], pen: &Pen<'_, DB>| {
            let room = height - remarks_px(pen, notes) - above;
            (room / least).floor().max(1.0) as usize * columns
        };
        let mut shown = self.sets.len().min(fitting(&notes, pen));
        if shown < self.sets.len() {
            notes.insert(0, "No room here for all sets.".to_owned());
            shown = shown.min(fitting(&notes, pen));
            let hidden = self.sets.len() - shown;
            if let Some(note) = notes.first_mut() {
                *note = format!(
                    "No room here for the first {hidden} of {} sets.",
                    self.sets.len()
                );
            }
        }
        let below = remarks(pen, &notes)?;
        let rows = shown.div_ceil(columns).max(1);
        let lane_height = (below - above) / rows as f64;
        let most = TempoChart::most_repetitions(&self.sets) as f64;
        let row_px = ((lane_height - head - FOOT_PX) / most).clamp(0.4, ROW_PX + 2.0);
        let words = lane_px >= 240.0 && row_px >= LEGIBLE_PX;
        let values = self.sets.iter().flat_map(|set| {
            let of = move |r| value(r, set.band.as_ref(), words);
            set.repetitions.iter().filter_map(of)
        });
        let value_px = values
            .filter(|_| row_px >= LEGIBLE_PX)
            .map(|(words, look)| pen.width(&words, look) + 10.0)
            .fold(0.0, f64::max);
        let skipped = self.sets.len() - shown;
        for (place, set) in self.sets.iter().skip(skipped).enumerate() {
            let left = EDGE_PX + (place % columns) as f64 * (lane_px + APART_PX);
            let top = above + (place / columns) as f64 * lane_height;
            let right = left + lane_px;
            let x = Scale::new((0.0, self.longest_s()), (left + 26.0, right - value_px));
            let lane = Lane {
                left,
                right,
                top,
                rows: top + head,
                row_px,
                bottom: top + head + row_px * most,
                x,
                values: right,
                words,
            };
            self.lane(pen, set, &lane)?;
        }
        Ok(())
    }
}
