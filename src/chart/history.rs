//! Values across sessions: range, and lowering time.

use super::history_values::{Asked, History, Session, Track, Unit};
use super::pen::Pen;
use super::{Chart, ChartError, RangeBand, Size, TempoBand};
use crate::movement::{Movement, MovingPhase, Side};
use jiff::civil::Date;
use plotters_backend::DrawingBackend;

/// The range of one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RangeSession {
    /// The day, on the patient's calendar.
    pub date: Date,
    /// The session's value in degrees, as the median of its repetitions; `None` is unknown.
    pub median_deg: Option<f64>,
    /// Lower end of the spread in degrees, as the lower quartile.
    pub low_deg: Option<f64>,
    /// Upper end of the spread in degrees, as the upper quartile.
    pub high_deg: Option<f64>,
    /// Half-width of the median's stated 95 % interval, degrees; `None` is unknown.
    pub error_deg: Option<f64>,
}

/// How far a value must move before it says anything.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorBand {
    /// Half the width in degrees, around the first known value.
    pub half_width_deg: f64,
    /// What it is and where it comes from, in words.
    pub label: String,
}

/// The range of one side, in order of date.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeSeries {
    /// What is measured, where the side does not say it all; may be empty.
    pub label: String,
    /// The side; `None` where it does not matter.
    pub side: Option<Side>,
    /// The sessions in order of date; several may share a day.
    pub sessions: Vec<RangeSession>,
    /// The error around the first value, where it is known or borrowed.
    pub error: Option<ErrorBand>,
    /// The goal in degrees.
    pub target_deg: Option<f64>,
}

/// Which angle stands for a session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeKind {
    /// The range, from the start of a repetition to its farthest angle.
    Range,
    /// The farthest angle, from the neutral pose.
    Reach,
}

/// Range or reach across sessions of one movement.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeHistoryChart {
    /// The heading.
    pub title: String,
    /// A line under it.
    pub subtitle: String,
    /// The movement.
    pub movement: Movement,
    /// Which angle it shows.
    pub kind: RangeKind,
    /// One to four series.
    pub series: Vec<RangeSeries>,
    /// The range asked for, in degrees of range.
    pub band: Option<RangeBand>,
    /// A pause of more days than this interrupts the line.
    pub gap_days: u32,
    /// What the spread is, in words, as "quartiles of the session's repetitions".
    pub spread_note: Option<String>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

/// The timed phase of one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoweringSession {
    /// The day, on the patient's calendar.
    pub date: Date,
    /// Median time in seconds; `None` is unknown.
    pub median_s: Option<f64>,
    /// Lower end of the spread in seconds, as the lower quartile.
    pub low_s: Option<f64>,
    /// Upper end of the spread in seconds, as the upper quartile.
    pub high_s: Option<f64>,
    /// Half-width of the median's stated 95 % interval, seconds; `None` is unknown.
    pub error_s: Option<f64>,
}

/// The times of one side, in order of date.
#[derive(Debug, Clone, PartialEq)]
pub struct LoweringSeries {
    /// What is timed, where the side does not say it all; may be empty.
    pub label: String,
    /// The side; `None` where it does not matter.
    pub side: Option<Side>,
    /// The sessions in order of date; several may share a day.
    pub sessions: Vec<LoweringSession>,
}

/// Lowering time across sessions, against the time asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct LoweringHistoryChart {
    /// The heading.
    pub title: String,
    /// A line under it.
    pub subtitle: String,
    /// The phase that was timed.
    pub phase: MovingPhase,
    /// One to four series.
    pub series: Vec<LoweringSeries>,
    /// The time asked for.
    pub band: Option<TempoBand>,
    /// A pause of more days than this interrupts the line.
    pub gap_days: u32,
    /// What the spread is, in words.
    pub spread_note: Option<String>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

const SIZE: Size = Size {
    width_px: 880,
    height_px: 440,
};

impl RangeHistoryChart {
    fn history(&self) -> History<'_> {
        let track = |series: &RangeSeries| Track {
            label: series.label.clone(),
            side: series.side,
            sessions: series
                .sessions
                .iter()
                .map(|s| Session {
                    date: s.date,
                    middle: s.median_deg,
                    low: s.low_deg,
                    high: s.high_deg,
                    stated: s.error_deg,
                })
                .collect(),
            error: series
                .error
                .as_ref()
                .map(|e| (e.half_width_deg, e.label.clone())),
            target: series.target_deg,
        };
        History {
            title: &self.title,
            subtitle: &self.subtitle,
            what: match self.kind {
                RangeKind::Range => {
                    format!("range of {}, degrees", self.movement.title().to_lowercase())
                }
                RangeKind::Reach => {
                    let direction = self.movement.direction_word();
                    format!("{direction} reached, degrees from neutral")
                }
            },
            unit: Unit::Degrees,
            tracks: self.series.iter().map(track).collect(),
            asked: self.band.map(|band| Asked {
                low: band.low_deg,
                high: band.high_deg,
            }),
            gap_days: self.gap_days,
            spread_note: self.spread_note.as_deref(),
            notes: &self.notes,
        }
    }
}

impl LoweringHistoryChart {
    fn history(&self) -> History<'_> {
        let track = |series: &LoweringSeries| Track {
            label: series.label.clone(),
            side: series.side,
            sessions: series
                .sessions
                .iter()
                .map(|s| Session {
                    date: s.date,
                    middle: s.median_s,
                    low: s.low_s,
                    high: s.high_s,
                    stated: s.error_s,
                })
                .collect(),
            error: None,
            target: None,
        };
        let phase = match self.phase {
            MovingPhase::Lift => "lift",
            MovingPhase::Lower => "lowering",
        };
        History {
            title: &self.title,
            subtitle: &self.subtitle,
            what: format!("{phase} time, median of the session, seconds"),
            unit: Unit::Seconds,
            tracks: self.series.iter().map(track).collect(),
            asked: self.band.map(|band| Asked {
                low: band.low_s,
                high: band.high_s,
            }),
            gap_days: self.gap_days,
            spread_note: self.spread_note.as_deref(),
            notes: &self.notes,
        }
    }
}

impl Chart for RangeHistoryChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        self.history().description()
    }

    fn size(&self) -> Size {
        SIZE
    }

    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.history().draw(pen)
    }
}

impl Chart for LoweringHistoryChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        self.history().description()
    }

    fn size(&self) -> Size {
        SIZE
    }

    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.history().draw(pen)
    }
}
