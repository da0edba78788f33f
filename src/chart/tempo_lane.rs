//! One set of the tempo drawing: a lane of bars under its counts.

use super::axis::{Scale, median, plain, second_ticks};
use super::font::Weight;
use super::palette::{AXIS, BAND, BAND_EDGE, Color, HURRIED, IN_BAND, INK, NEUTRAL, RULE, WHITE};
use super::pen::{Anchor, Pen, Type};
use super::tempo::{TempoBand, TempoChart, TempoRepetition, TempoSet, TempoVerdict};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

/// Height of a repetition from which on its value is written.
pub(super) const LEGIBLE_PX: f64 = 12.0;
/// Line height of the counts in a lane's head.
pub(super) const COUNT_PX: f64 = 17.0;

pub(super) struct Lane {
    pub(super) left: f64,
    pub(super) right: f64,
    /// Top of the lane.
    pub(super) top: f64,
    /// Top of the first repetition.
    pub(super) rows: f64,
    pub(super) row_px: f64,
    /// Bottom of the last repetition.
    pub(super) bottom: f64,
    pub(super) x: Scale,
    /// Where values are written, at their right end.
    pub(super) values: f64,
    pub(super) words: bool,
}

impl TempoChart {
    pub(super) fn lane<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        set: &TempoSet,
        at: &Lane,
    ) -> Result<(), ChartError> {
        TempoChart::head(pen, set, at)?;
        let asked = set.band.map(|band| Area {
            left_px: at.x.at(band.low_s),
            top_px: at.rows - 5.0,
            right_px: at.x.at(band.high_s),
            bottom_px: at.bottom + 3.0,
        });
        if let Some(stripe) = asked {
            pen.bar(stripe, BAND)?;
        }
        let most = ((at.x.at(at.x.range().1) - at.x.at(0.0)) / 34.0).clamp(1.0, 8.0);
        let ticks = second_ticks(at.x.range(), most);
        for (index, tick) in ticks.iter().enumerate() {
            let x = at.x.at(*tick);
            pen.line(&[(x, at.rows - 3.0), (x, at.bottom + 3.0)], RULE, 1.0)?;
            let unit = if index + 1 == ticks.len() { " s" } else { "" };
            let words = format!("{}{unit}", plain(*tick, 1));
            pen.text_if_free((x, at.bottom + 17.0), Anchor::Middle, &words, Type::QUIET)?;
        }
        if let (Some(band), Some(stripe)) = (set.band, asked) {
            self.band(pen, &band, stripe, at)?;
        }
        let zero = at.x.at(0.0);
        pen.line(&[(zero, at.rows - 3.0), (zero, at.bottom + 3.0)], AXIS, 1.2)?;
        let unit = format!("{}, s", self.word());
        pen.text_if_free(
            (at.right, at.bottom + 17.0),
            Anchor::Right,
            &unit,
            Type::QUIET,
        )?;
        for (index, repetition) in set.repetitions.iter().enumerate() {
            let y = at.rows + at.row_px * (index as f64 + 0.5);
            self.row(pen, set.band.as_ref(), (index + 1, repetition), at, y)?;
        }
        if set.band.is_none() {
            usual(pen, set, at)?;
        }
        Ok(())
    }

    fn band<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        band: &TempoBand,
        stripe: Area,
        at: &Lane,
    ) -> Result<(), ChartError> {
        let (low, high) = (stripe.left_px, stripe.right_px);
        let (top, bottom) = (stripe.top_px, stripe.bottom_px);
        for x in [low, high] {
            pen.line(&[(x, top), (x, bottom)], BAND_EDGE, 1.0)?;
        }
        let asked = at.x.at(band.prescribed_s);
        pen.dashes(&[(asked, top), (asked, bottom)], BAND_EDGE, 1.0, (2.0, 3.0))?;
        let range = format!("{}–{} s", plain(band.low_s, 2), plain(band.high_s, 2));
        let long = format!("asked {} s, band {range}", plain(band.prescribed_s, 2));
        for words in [long, range] {
            let half = pen.width(&words, Type::QUIET) / 2.0;
            if 2.0 * half <= at.right - at.left {
                let middle = ((low + high) / 2.0).clamp(at.left + half, at.right - half);
                pen.text((middle, top - 4.0), Anchor::Middle, &words, Type::QUIET)?;
                break;
            }
        }
        Ok(())
    }

    fn row<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        band: Option<&TempoBand>,
        (number, repetition): (usize, &TempoRepetition),
        at: &Lane,
        y: f64,
    ) -> Result<(), ChartError> {
        let size = (at.row_px - 4.0).clamp(9.0, 12.0);
        let legible = at.row_px >= LEGIBLE_PX;
        if legible || number == 1 || number.is_multiple_of(5) {
            let words = format!("{number}{}", if repetition.doubtful { "?" } else { "" });
            let look = Type::QUIET.sized(if legible { size } else { 10.0 });
            let look = if repetition.doubtful {
                Type {
                    weight: Weight::SemiBold,
                    ..look
                }
            } else {
                look
            };
            let end = (at.x.at(0.0) - 6.0, y + look.size_px * 0.36);
            pen.text_if_free(end, Anchor::Right, &words, look)?;
        }
        let Some(time_s) = repetition.duration_s else {
            if legible {
                let from = (at.x.at(0.0) + 5.0, y + size * 0.36);
                pen.text(from, Anchor::Left, "not known", Type::QUIET.sized(size))?;
            }
            return Ok(());
        };
        let color = match repetition.verdict {
            Some(TempoVerdict::Hurried) => HURRIED,
            Some(_) => IN_BAND,
            None => NEUTRAL,
        };
        let from = at.x.at(0.0) + 0.6;
        let to = at.x.held(time_s).max(from + 1.0);
        let half = (at.row_px * 0.3).clamp(1.0, 5.5);
        let thick_to = match (repetition.verdict, band) {
            (Some(TempoVerdict::Slower), Some(band)) => at.x.held(band.high_s).min(to),
            _ => to,
        };
        let bar = Area {
            left_px: from,
            top_px: y - half,
            right_px: thick_to,
            bottom_px: y + half,
        };
        if repetition.doubtful {
            pen.bar(bar, WHITE)?;
            pen.box_line(bar, color, 1.4)?;
        } else {
            pen.bar(bar, color)?;
        }
        if thick_to < to {
            tail(pen, (thick_to, to), y, color)?;
        }
        if let (Some(TempoVerdict::Hurried), Some(band)) = (repetition.verdict, band) {
            // What is missing up to the band.
            let missing = [(to, y), (at.x.held(band.low_s) + 0.1, y)];
            pen.dots(&missing, HURRIED, if legible { 1.3 } else { 0.8 }, 5.0)?;
        }
        if time_s > at.x.range().1 {
            let cut = to - 12.0;
            let slash = |x: f64| [(x, y + half + 2.0), (x + 4.0, y - half - 2.0)];
            pen.line(&slash(cut), WHITE, 2.0)?;
            pen.line(&slash(cut + 5.0), WHITE, 2.0)?;
        }
        if legible && let Some((words, look)) = value(repetition, band, at.words) {
            let end = (at.values, y + size * 0.36);
            pen.text(end, Anchor::Right, &words, look.sized(size))?;
        }
        Ok(())
    }
}

/// A time as it is written, with its verdict in words where there is room. One decimal, and more
/// where one would round the time to the other side of the band's edge.
pub(super) fn value(
    repetition: &TempoRepetition,
    band: Option<&TempoBand>,
    words: bool,
) -> Option<(String, Type)> {
    let time_s = repetition.duration_s?;
    let verdict = repetition.verdict;
    let true_to_verdict = |text: &String| match (verdict, band, text.parse::<f64>()) {
        (Some(TempoVerdict::Hurried), Some(band), Ok(shown_s)) => shown_s < band.low_s,
        (Some(TempoVerdict::Slower), Some(band), Ok(shown_s)) => shown_s > band.high_s,
        _ => true,
    };
    let value = (1..=3)
        .map(|decimals| format!("{time_s:.decimals$}"))
        .find(true_to_verdict)
        .unwrap_or_else(|| format!("{time_s:.1}"));
    Some(match verdict {
        Some(TempoVerdict::Hurried) if words => {
            (format!("hurried {value}"), Type::STRONG.colored(HURRIED))
        }
        Some(TempoVerdict::Hurried) => (value, Type::STRONG.colored(HURRIED)),
        Some(TempoVerdict::Slower) if words => (format!("slower {value}"), Type::QUIET),
        _ => (value, Type::LABEL),
    })
}

/// Where nothing is asked: the median of the times that are not in doubt, to hold them against.
fn usual<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    set: &TempoSet,
    at: &Lane,
) -> Result<(), ChartError> {
    let sure = set.repetitions.iter().filter(|r| !r.doubtful);
    let times: Vec<f64> = sure.filter_map(|r| r.duration_s).collect();
    let Some(median_s) = median(&times).filter(|_| times.len() >= 3) else {
        return Ok(());
    };
    let (x, top) = (at.x.held(median_s), at.rows - 5.0);
    pen.line(&[(x, top), (x, at.bottom + 3.0)], INK, 1.0)?;
    let words = format!("median {median_s:.1} s");
    let half = pen.width(&words, Type::QUIET) / 2.0;
    let middle = x.clamp(at.left + half, (at.right - half).max(at.left + half));
    pen.text_if_free((middle, top - 4.0), Anchor::Middle, &words, Type::QUIET)?;
    Ok(())
}

/// The part of a time beyond the band: a fine line with an end stroke.
pub(super) fn tail<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (from, to): (f64, f64),
    y: f64,
    color: Color,
) -> Result<(), ChartError> {
    pen.line(&[(from, y), (to, y)], color, 2.0)?;
    pen.line(&[(to - 0.8, y - 3.5), (to - 0.8, y + 3.5)], color, 1.6)
}
