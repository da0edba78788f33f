//! The angle over one set, read like a bar of music.

use super::axis::median;
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::margin;
use super::pen::{Anchor, Pen, Type};
use super::trace::{KEY_PX, cut, key};
use super::{Chart, ChartError, Size, checked};
use crate::movement::{Movement, MovingPhase};
use crate::pipeline::motion::Zero;
use plotters_backend::DrawingBackend;

/// One point of the angle curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TracePoint {
    /// Seconds on the recording's time line; never decreasing.
    pub t_s: f64,
    /// Degrees from the chart's zero, positive in the direction of the lift.
    pub angle_deg: f64,
    /// Half the width of the uncertainty around it, in degrees; `None` is unknown.
    pub uncertainty_deg: Option<f64>,
}

/// A stretch of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Its start in seconds on the recording's time line.
    pub start_s: f64,
    /// Its end, not before its start.
    pub end_s: f64,
}

/// The four times of a repetition, in order, in seconds on the recording's time line.
#[derive(Debug, Clone, PartialEq)]
pub struct RepetitionMark {
    /// Where the lift starts.
    pub lift_start_s: f64,
    /// Where the lift ends and the hold starts.
    pub lift_end_s: f64,
    /// Where the hold ends and the lowering starts.
    pub lower_start_s: f64,
    /// Where the lowering ends.
    pub lower_end_s: f64,
    /// Why it is in doubt, in words; empty where it is not.
    pub doubts: Vec<String>,
}

/// The range asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeBand {
    /// Least angle in degrees, on the same axis as the values it stands beside.
    pub low_deg: f64,
    /// Greatest angle in degrees, not below the least.
    pub high_deg: f64,
}

/// The angle against time over one set.
#[derive(Debug, Clone, PartialEq)]
pub struct AngleChart {
    /// The heading.
    pub title: String,
    /// A line under it: side, load, set; that the data are invented, where they are.
    pub subtitle: String,
    /// The movement, for the words of the directions; `None` where nobody named it: then no word
    /// of the body appears.
    pub movement: Option<Movement>,
    /// What zero is; `None` leaves it unsaid. Only a calibrated zero is called the own neutral, and
    /// only against it is an angle written as a pose ("extension 42°").
    pub zero: Option<Zero>,
    /// The phase whose seconds are written: the eccentric one, or the lowering. `None` is a
    /// movement that goes round: each repetition is a whole turn, timed whole, and has no phases.
    pub timed: Option<MovingPhase>,
    /// The curve, in order of time; empty draws the frame alone.
    pub trace: Vec<TracePoint>,
    /// The repetitions, in order of time.
    pub repetitions: Vec<RepetitionMark>,
    /// Where there are no data; the curve is interrupted.
    pub gaps: Vec<Stretch>,
    /// The range that a repetition's top should reach, on the axis of the trace.
    pub band: Option<RangeBand>,
    /// The angle in degrees not to be passed, on the axis of the trace.
    pub ceiling_deg: Option<f64>,
    /// What the uncertainty of the points is, in words.
    pub uncertainty_note: Option<String>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

impl RepetitionMark {
    pub(super) fn times(&self) -> [f64; 4] {
        [
            self.lift_start_s,
            self.lift_end_s,
            self.lower_start_s,
            self.lower_end_s,
        ]
    }

    /// Start and end of what is timed; the whole where there are no phases.
    pub(super) fn timed(&self, phase: Option<MovingPhase>) -> (f64, f64) {
        match phase {
            Some(MovingPhase::Lift) => (self.lift_start_s, self.lift_end_s),
            Some(MovingPhase::Lower) => (self.lower_start_s, self.lower_end_s),
            None => (self.lift_start_s, self.lower_end_s),
        }
    }
}

impl AngleChart {
    fn check(&self) -> Result<(), ChartError> {
        let mut before = f64::MIN;
        for (index, point) in self.trace.iter().enumerate() {
            checked(point.t_s, "time", index)?;
            checked(point.angle_deg, "angle", index)?;
            checked(point.uncertainty_deg.unwrap_or(0.0), "uncertainty", index)?;
            if point.t_s < before {
                return Err(ChartError::Order {
                    what: "time",
                    index,
                });
            }
            before = point.t_s;
        }
        let mut before = f64::MIN;
        for (index, repetition) in self.repetitions.iter().enumerate() {
            for t_s in repetition.times() {
                checked(t_s, "repetition time", index)?;
                if t_s < before {
                    return Err(ChartError::Order {
                        what: "repetition time",
                        index,
                    });
                }
                before = t_s;
            }
        }
        for (index, gap) in self.gaps.iter().enumerate() {
            checked(gap.start_s, "gap", index)?;
            if checked(gap.end_s, "gap", index)? < gap.start_s {
                return Err(ChartError::Order { what: "gap", index });
            }
        }
        if let Some(band) = self.band {
            checked(band.low_deg, "range band", 0)?;
            if checked(band.high_deg, "range band", 0)? < band.low_deg {
                return Err(ChartError::Order {
                    what: "range band",
                    index: 0,
                });
            }
        }
        checked(self.ceiling_deg.unwrap_or(0.0), "ceiling", 0)?;
        Ok(())
    }

    /// Highest angle of each repetition, and the angle it starts from.
    pub(super) fn levels(&self) -> (Vec<f64>, Vec<f64>) {
        let mut tops = Vec::new();
        let mut starts = Vec::new();
        for repetition in &self.repetitions {
            let part = cut(&self.trace, repetition.lift_start_s, repetition.lower_end_s);
            starts.extend(part.first().map(|p| p.1));
            tops.extend(part.iter().map(|p| p.1).reduce(f64::max));
        }
        (tops, starts)
    }
}

/// Seconds with one decimal, always shown.
pub(super) fn plain_tenths(value_s: f64) -> String {
    format!("{:.1}", value_s.max(0.0))
}

impl Chart for AngleChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        let (tops, _) = self.levels();
        let count = self.repetitions.len();
        let what = self.movement.map_or("Movement not named", Movement::title);
        if count == 0 {
            return format!("{what}. Angle against time; no repetitions.");
        }
        let times: Vec<String> = self
            .repetitions
            .iter()
            .map(|r| {
                let (start_s, end_s) = r.timed(self.timed);
                plain_tenths(end_s - start_s)
            })
            .collect();
        let top = median(&tops).map_or("unknown".to_owned(), |deg| self.level(deg));
        format!(
            "{what}. Angle against time over {count} repetitions; median top {top}; {} in seconds: {}.",
            self.timed_word(),
            times.join(", ")
        )
    }

    fn size(&self) -> Size {
        Size {
            width_px: 880,
            height_px: 480,
        }
    }

    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.check()?;
        let above = heading(pen, &self.title, &self.subtitle)?;
        let below = remarks(pen, &self.remarks())?;
        let (Some(first), Some(last)) = (self.trace.first(), self.trace.last()) else {
            return nothing(pen, above, below, "no repetitions: nothing was recorded");
        };
        let at = self.layout(pen, (above, below), (first, last));
        let keyed = self.timed.is_some() && !self.repetitions.is_empty();
        let key_px = if keyed { KEY_PX + 12.0 } else { 0.0 };
        let room = pen.extent().0 - 2.0 * EDGE_PX - key_px;
        let words = self.upward_words();
        let fitting = words
            .iter()
            .find(|words| pen.width(words, Type::QUIET) <= room);
        if let Some(words) = fitting {
            pen.text((EDGE_PX, above + 30.0), Anchor::Left, words, Type::QUIET)?;
        }
        self.ground(pen, &at)?;
        self.curve(pen, &at)?;
        self.bars(pen, &at)?;
        self.axes(pen, &at)?;
        if at.words - at.bottom > 10.0
            && let Some(words) = self.downward_words()
        {
            pen.text((EDGE_PX, at.words), Anchor::Left, &words, Type::QUIET)?;
        }
        if self.repetitions.is_empty() {
            let middle = ((at.left + at.right) / 2.0, at.bracket - 1.0);
            pen.text(middle, Anchor::Middle, "no repetitions", Type::STRONG)?;
        }
        if keyed {
            key(pen, pen.extent().0 - EDGE_PX, above + 36.0)?;
        }
        margin::draw(
            pen,
            self.labels(pen, &at.y),
            at.right,
            (at.top - 6.0, at.bars),
        )
    }
}
