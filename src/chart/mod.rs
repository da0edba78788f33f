//! Drawings: one drawing function gives SVG and PNG.
//!
//! A chart is a plain struct of numbers with a [`Chart::draw`] that is generic over a plotters
//! backend. [`picture`] runs it once on a backend that remembers the marks; [`svg()`] and
//! [`png()`] write that memory, so both show the same. Nothing here reads a font, a file or a clock.
//!
//! The marks are the project's own. A repetition is read like a bar of music: numbered brackets
//! over the curve, dotted rests, thin lifts, holds on a pale bed, heavy lowerings, and under it
//! the lowerings once more as bars on the same time line. What moves outside the repetitions is
//! a thin grey line. The left hand is a hollow half-moon that faces left, the right hand a full
//! one that faces right.

mod agreement;
mod agreement_marks;
mod angle;
mod angle_bars;
mod angle_marks;
mod angle_words;
mod axis;
mod dates;
mod done;
mod done_marks;
mod font;
mod frame;
mod history;
mod history_frame;
mod history_marks;
mod history_values;
mod ink;
mod margin;
mod moon;
mod outline;
pub mod palette;
mod pen;
mod pen_text;
mod raster;
mod rest;
mod svg;
mod tempo;
mod tempo_head;
mod tempo_lane;
mod trace;

pub use agreement::{AgreementChart, AgreementRecording};
pub use angle::{AngleChart, RangeBand, RepetitionMark, Stretch, TracePoint};
pub use done::{DoneChart, DoneSession};
pub use font::Weight;
pub use history::{
    ErrorBand, LoweringHistoryChart, LoweringSeries, LoweringSession, RangeHistoryChart, RangeKind,
    RangeSeries, RangeSession,
};
pub use ink::Picture;
pub use pen::Pen;
pub use tempo::{TempoBand, TempoChart, TempoRepetition, TempoSet, TempoVerdict};

use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters_backend::DrawingBackend;

/// Steps of the drawing grid to one CSS pixel: plotters counts in whole numbers, so it is given
/// tenths.
pub const GRID: i32 = 10;

/// Size of a drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Width in CSS pixels (1/96 inch), 480 to 4000.
    pub width_px: u32,
    /// Height in CSS pixels (1/96 inch), 360 to 4000.
    pub height_px: u32,
}

/// A rectangle on a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge in CSS pixels from the left of the drawing.
    pub left_px: f64,
    /// Top edge in CSS pixels from the top of the drawing.
    pub top_px: f64,
    /// Right edge in CSS pixels.
    pub right_px: f64,
    /// Bottom edge in CSS pixels.
    pub bottom_px: f64,
}

impl Area {
    /// Whether two rectangles share more than an edge.
    pub fn overlaps(&self, other: &Area) -> bool {
        self.left_px < other.right_px
            && other.left_px < self.right_px
            && self.top_px < other.bottom_px
            && other.top_px < self.bottom_px
    }
}

/// A line of text on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct TextBox {
    /// The words.
    pub text: String,
    /// Where they stand, from the top of the ascenders to the foot of the descenders.
    pub area: Area,
    /// Their colour; the ground is white.
    pub color: palette::Color,
}

/// Why a chart could not be drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChartError {
    /// A number that is not one.
    #[error(
        "chart: {what} of entry {index} is not a finite number; leave it out or mark it unknown"
    )]
    NotFinite {
        /// Which field.
        what: &'static str,
        /// Which entry, counted from 0.
        index: usize,
    },
    /// A number beyond anything that can be shown.
    #[error("chart: {what} of entry {index} is {value}, beyond the {limit} that can be shown")]
    OutOfReach {
        /// Which field.
        what: &'static str,
        /// Which entry, counted from 0.
        index: usize,
        /// The value found.
        value: f64,
        /// The largest magnitude that is drawn.
        limit: f64,
    },
    /// Times or limits in the wrong order.
    #[error("chart: {what} of entry {index} comes before the one it must follow; sort the input")]
    Order {
        /// Which field.
        what: &'static str,
        /// Which entry, counted from 0.
        index: usize,
    },
    /// A size nothing can be read at.
    #[error("chart: {width_px} by {height_px} pixels; ask for 480 to 4000 by 300 to 4000")]
    Size {
        /// Width asked for, in CSS pixels.
        width_px: u32,
        /// Height asked for, in CSS pixels.
        height_px: u32,
    },
    /// A date the calendar does not reach.
    #[error("chart: a date out of the calendar's reach: {message}")]
    Date {
        /// What the date library said.
        message: String,
    },
    /// The embedded font cannot be read.
    #[error("chart: the embedded font cannot be read; the program file is damaged")]
    Font,
    /// The plotters backend refused a mark.
    #[error("chart: the drawing backend failed: {message}")]
    Backend {
        /// What the backend said.
        message: String,
    },
    /// The picture cannot be encoded.
    #[error("chart: the PNG cannot be encoded: {message}")]
    Png {
        /// What the encoder said.
        message: String,
    },
}

/// A drawing made from plain numbers.
pub trait Chart {
    /// The heading, also the accessible name.
    fn title(&self) -> &str;
    /// What the drawing shows in words, for those who cannot see it.
    fn description(&self) -> String;
    /// The size at which everything has room.
    fn size(&self) -> Size;
    /// Draws on any plotters backend.
    ///
    /// # Errors
    /// [`ChartError`] where a number cannot be shown or the backend fails.
    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError>;
}

/// Draws a chart on a plotters drawing area of [`GRID`] steps to the pixel, and returns its texts.
///
/// # Errors
/// [`ChartError`] where a number cannot be shown or the backend fails.
pub fn draw<C: Chart, DB: DrawingBackend>(
    chart: &C,
    area: &DrawingArea<DB, Shift>,
) -> Result<Vec<TextBox>, ChartError> {
    let faces = font::Faces::load()?;
    let mut pen = Pen::new(area, &faces);
    chart.draw(&mut pen)?;
    Ok(pen.texts)
}

/// Draws a chart once, for any output.
///
/// # Errors
/// [`ChartError`] where a number cannot be shown or the size is out of range.
pub fn picture<C: Chart>(chart: &C, size: Size) -> Result<Picture, ChartError> {
    let Size {
        width_px,
        height_px,
    } = size;
    if !(480..=4000).contains(&width_px) || !(300..=4000).contains(&height_px) {
        return Err(ChartError::Size {
            width_px,
            height_px,
        });
    }
    let faces = font::Faces::load()?;
    let mut marks = Vec::new();
    let ink = ink::Ink {
        size,
        faces: &faces,
        marks: &mut marks,
    };
    let area = ink.into_drawing_area();
    let mut pen = Pen::new(&area, &faces);
    chart.draw(&mut pen)?;
    let (texts, claimed) = (pen.texts, pen.claimed);
    drop(area);
    Ok(Picture {
        size,
        title: chart.title().to_owned(),
        description: chart.description(),
        marks,
        texts,
        claimed,
    })
}

impl Picture {
    /// The drawing as SVG, fit to stand in a page beside others.
    ///
    /// # Errors
    /// [`ChartError::Font`].
    pub fn svg(&self) -> Result<String, ChartError> {
        Ok(svg::write(self, &font::Faces::load()?))
    }

    /// The drawing as PNG, two device pixels to the CSS pixel.
    ///
    /// # Errors
    /// [`ChartError::Font`], [`ChartError::Png`].
    pub fn png(&self) -> Result<Vec<u8>, ChartError> {
        raster::write(self, &font::Faces::load()?)
    }
}

/// A chart as SVG at its own size.
///
/// # Errors
/// [`ChartError`] where a number cannot be shown.
pub fn svg<C: Chart>(chart: &C) -> Result<String, ChartError> {
    picture(chart, chart.size())?.svg()
}

/// A chart as PNG at its own size, two device pixels to the CSS pixel.
///
/// # Errors
/// [`ChartError`] where a number cannot be shown.
pub fn png<C: Chart>(chart: &C) -> Result<Vec<u8>, ChartError> {
    picture(chart, chart.size())?.png()
}

/// Largest magnitude of an angle, a time or a load that is drawn.
const REACH: f64 = 1e6;

/// Refuses what cannot be placed on an axis.
fn checked(value: f64, what: &'static str, index: usize) -> Result<f64, ChartError> {
    if !value.is_finite() {
        return Err(ChartError::NotFinite { what, index });
    }
    if value.abs() > REACH {
        return Err(ChartError::OutOfReach {
            what,
            index,
            value,
            limit: REACH,
        });
    }
    Ok(value)
}
