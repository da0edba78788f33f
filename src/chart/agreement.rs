//! How far two ways of timing agree: the difference of each pair against the mean of both.
//!
//! Source of the plot: Bland & Altman, Lancet 1986;1:307-310; of limits with several pairs a recording
//! those of `review::agreement`. Ours: the pairs of a recording hang on a short bar at their mean, so
//! that one sees how far they belong together.

use super::agreement_marks::Layout;
use super::axis::{Scale, second_ticks};
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

/// Smallest half of the axis of differences, seconds.
const LEAST_S: f64 = 0.1;
/// Intervals are drawn whole up to so many times the farthest pair or limit.
const WIDEST_RATIO: f64 = 1.6;

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
            for value in [limits.bias, limits.lower, limits.upper] {
                checked(value, "limit", 0)?;
            }
        }
        Ok(())
    }

    fn pairs_s(&self) -> impl Iterator<Item = (f64, f64)> {
        self.recordings
            .iter()
            .flat_map(|own| own.pairs_s.iter().copied())
    }

    /// Half of the axis of differences: zero is its middle, so that both sides weigh alike.
    fn half_s(&self) -> f64 {
        let pairs = self.pairs_s().map(|pair| pair.1.abs());
        let limits = self.limits.iter();
        let near = limits
            .clone()
            .flat_map(|own| [own.lower.abs(), own.upper.abs()])
            .chain(pairs)
            .fold(LEAST_S, f64::max);
        let far = limits
            .flat_map(|own| [own.lower_between.low.abs(), own.upper_between.high.abs()])
            .filter(|far| far.is_finite())
            .fold(near, f64::max);
        far.min(WIDEST_RATIO * near) * 1.06
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
        let half_s = self.half_s();
        let (top, bottom) = (above + 30.0, below - 44.0);
        let y = Scale::new((-half_s, half_s), (bottom, top));
        let widest = second_ticks((0.0, half_s), 4.0)
            .iter()
            .map(|tick| pen.width(&super::axis::plain(*tick, 2), Type::QUIET))
            .fold(pen.width("0.05", Type::QUIET), f64::max);
        let left = EDGE_PX + widest + 8.0;
        let right = pen.extent().0 - EDGE_PX - margin::room(pen, &self.labels(pen, &y)).max(16.0);
        Some(Layout {
            x: Scale::new((low_s.max(0.0), high_s + room_s), (left, right)),
            y,
            left,
            right,
            top,
            bottom,
            half_s,
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
