//! How far two ways of timing agree: the difference of each pair against the mean of both.
//!
//! Source of the plot: Bland & Altman, Lancet 1986;1:307-310; of limits with several pairs a recording
//! those of `review::agreement`. Ours: the pairs of a recording hang on a short bar at their mean, so
//! that one sees how far they belong together.

use super::agreement_marks::{Layout, difference_ticks};
use super::axis::{Scale, plain};
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::margin::{self, MarginLabel};
use super::palette::{BAND_EDGE, LOWER, QUIET};
use super::pen::{Pen, Type};
use super::{Chart, ChartError, Size, checked};
use crate::review::agreement::{Between, Limits};
use plotters_backend::DrawingBackend;

/// The pairs of one recording.
#[derive(Debug, Clone, PartialEq)]
pub struct AgreementRecording {
    /// Its short name, such as a number.
    pub label: String,
    /// Mean of both and difference, the first less the second; seconds.
    pub pairs_s: Vec<(f64, f64)>,
}

/// The agreement of two about one phase.
#[derive(Debug, Clone, PartialEq)]
pub struct AgreementChart {
    /// The heading.
    pub title: String,
    /// A line under it.
    pub subtitle: String,
    /// What the first is called, as "yours".
    pub first: String,
    /// The phase, as "lowering".
    pub phase: String,
    /// The recordings.
    pub recordings: Vec<AgreementRecording>,
    /// Bias and limits, seconds; `None` where there are none.
    pub limits: Option<Limits>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

/// Shortest axis of differences, seconds.
const LEAST_S: f64 = 0.1;
/// Intervals are drawn as far as so much of the rest beyond it, on either side.
const WIDER_RATIO: f64 = 0.6;

/// A difference in words: never a sign.
pub(super) fn words(difference_s: f64) -> String {
    let text = format!("{:.2}", difference_s.abs());
    if text == "0.00" {
        "0.00 s".to_owned()
    } else if difference_s > 0.0 {
        format!("{text} s longer")
    } else {
        format!("{text} s shorter")
    }
}

/// An interval in words.
fn between_words(between: Between) -> String {
    if between.low >= 0.0 || between.high <= 0.0 {
        let (near, far) = if between.low >= 0.0 {
            (between.low, between.high)
        } else {
            (between.high.abs(), between.low.abs())
        };
        let side = if between.low >= 0.0 {
            "longer"
        } else {
            "shorter"
        };
        return format!("95 %: {near:.2} to {far:.2} s {side}");
    }
    format!(
        "95 %: {:.2} s shorter to {:.2} s longer",
        between.low.abs(),
        between.high
    )
}

impl AgreementChart {
    fn check(&self) -> Result<(), ChartError> {
        let pairs = self.recordings.iter().flat_map(|own| &own.pairs_s);
        for (index, (mean_s, difference_s)) in pairs.enumerate() {
            checked(*mean_s, "mean", index)?;
            checked(*difference_s, "difference", index)?;
        }
        if let Some(limits) = &self.limits {
            for (value, between) in [
                (limits.bias, limits.bias_between),
                (limits.lower, limits.lower_between),
                (limits.upper, limits.upper_between),
            ] {
                checked(value, "limit", 0)?;
                checked(between.low, "limit", 0)?;
                checked(between.high, "limit", 0)?;
            }
        }
        Ok(())
    }

    fn pairs_s(&self) -> impl Iterator<Item = (f64, f64)> {
        self.recordings
            .iter()
            .flat_map(|own| own.pairs_s.iter().copied())
    }

    /// The axis of differences: zero, every pair and every limit lie on it, and of the intervals what
    /// leaves those room.
    fn differences_s(&self) -> (f64, f64) {
        let mut low_s = -0.5 * LEAST_S;
        let mut high_s = 0.5 * LEAST_S;
        let limits = self.limits.iter().flat_map(|own| [own.lower, own.upper]);
        for value_s in self.pairs_s().map(|pair| pair.1).chain(limits) {
            low_s = low_s.min(value_s);
            high_s = high_s.max(value_s);
        }
        let room_s = WIDER_RATIO * (high_s - low_s);
        let (least_s, most_s) = (low_s - room_s, high_s + room_s);
        if let Some(own) = &self.limits {
            for between in [own.lower_between, own.bias_between, own.upper_between] {
                low_s = low_s.min(between.low).max(least_s);
                high_s = high_s.max(between.high).min(most_s);
            }
        }
        let edge_s = 0.05 * (high_s - low_s);
        (low_s - edge_s, high_s + edge_s)
    }

    /// Whether an interval reaches beyond the axis.
    fn goes_on(&self) -> bool {
        let (low_s, high_s) = self.differences_s();
        self.limits.iter().any(|own| {
            [own.lower_between, own.bias_between, own.upper_between]
                .iter()
                .any(|between| between.low < low_s || between.high > high_s)
        })
    }

    fn labels<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, y: &Scale) -> Vec<MarginLabel> {
        let Some(limits) = &self.limits else {
            return Vec::new();
        };
        let small = Type::QUIET.sized(11.0);
        let mut labels = Vec::new();
        for (name, value_s, between, tie, rank) in [
            (
                "upper limit",
                limits.upper,
                limits.upper_between,
                BAND_EDGE,
                1,
            ),
            ("bias", limits.bias, limits.bias_between, LOWER, 2),
            (
                "lower limit",
                limits.lower,
                limits.lower_between,
                BAND_EDGE,
                1,
            ),
        ] {
            let lines = [
                (words(value_s), Type::STRONG.sized(13.0)),
                (name.to_owned(), Type::QUIET.colored(QUIET)),
                (between_words(between), small),
            ];
            labels.push(MarginLabel::new(pen, y.held(value_s), &lines, tie, rank));
        }
        labels
    }

    fn layout<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        (above, below): (f64, f64),
    ) -> Option<Layout> {
        let means = || self.pairs_s().map(|pair| pair.0);
        let low_s = means().reduce(f64::min)?;
        let high_s = means().reduce(f64::max)?;
        // From zero where that costs little, and never narrower than half a second.
        let low_s = if low_s < 0.5 * high_s { 0.0 } else { low_s };
        let room_s = (0.05 * (high_s - low_s)).max(0.25);
        let low_s = if low_s > 0.0 { low_s - room_s } else { low_s };
        let (top, bottom) = (above + 30.0, below - 44.0);
        let y = Scale::new(self.differences_s(), (bottom, top));
        let widest = difference_ticks(y.range(), 9.0)
            .iter()
            .map(|tick| pen.width(&plain(*tick, 2), Type::QUIET))
            .fold(0.0, f64::max);
        let left = EDGE_PX + widest + 8.0;
        let right = pen.extent().0 - EDGE_PX - margin::room(pen, &self.labels(pen, &y)).max(16.0);
        Some(Layout {
            x: Scale::new((low_s.max(0.0), high_s + room_s), (left, right)),
            y,
            left,
            right,
            top,
            bottom,
        })
    }
}

impl Chart for AgreementChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        let count = self.pairs_s().count();
        let mut text = format!(
            "Difference against mean of the {} in {count} pairs of {} recordings.",
            self.phase,
            self.recordings.len()
        );
        match &self.limits {
            Some(limits) => text.push_str(&format!(
                " {} on average {}; limits of agreement {} and {}.",
                self.first,
                words(limits.bias),
                words(limits.lower),
                words(limits.upper)
            )),
            None => text.push_str(" No limits."),
        }
        text
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
        let mut notes = Vec::new();
        if self.recordings.len() > 1 {
            notes.push(
                "A bar is a recording at its mean, with its number; its pairs hang on it."
                    .to_owned(),
            );
        }
        if self.goes_on() {
            notes.push("A bed at the edge goes on beyond it; its figures say how far.".to_owned());
        }
        notes.extend(self.notes.iter().cloned());
        let below = remarks(pen, &notes)?;
        let Some(at) = self.layout(pen, (above, below)) else {
            return nothing(pen, above, below, "no pairs");
        };
        self.ground(pen, &at)?;
        self.pairs(pen, &at)?;
        margin::draw(
            pen,
            self.labels(pen, &at.y),
            at.right,
            (at.top - 8.0, at.bottom + 8.0),
        )
    }
}
