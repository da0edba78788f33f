//! The head of a lane of the tempo drawing: its name and its counts.

use super::palette::{Color, HURRIED, IN_BAND, NEUTRAL, QUIET};
use super::pen::{Anchor, Pen, Type};
use super::tempo::{TempoChart, TempoRepetition, TempoSet, TempoVerdict};
use super::tempo_lane::{COUNT_PX, Lane, tail};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

/// A count in a lane's head: its swatch and its words.
pub(super) struct Count {
    pub(super) color: Color,
    pub(super) hollow: bool,
    pub(super) words: String,
    pub(super) look: Type,
}

impl TempoSet {
    pub(super) fn counts(&self) -> Vec<Count> {
        let number = |verdict| {
            let same = |r: &&TempoRepetition| r.verdict == verdict;
            self.repetitions.iter().filter(same).count()
        };
        let mut counts = Vec::new();
        let mut add = |count: usize, words: &str, color, hollow, look| {
            if count > 0 {
                counts.push(Count {
                    color,
                    hollow,
                    words: format!("{count} {words}"),
                    look,
                });
            }
        };
        let hurried = Type::STRONG.colored(HURRIED);
        add(
            number(Some(TempoVerdict::Hurried)),
            "hurried",
            HURRIED,
            false,
            hurried,
        );
        add(
            number(Some(TempoVerdict::InBand)),
            "in band",
            IN_BAND,
            false,
            Type::LABEL,
        );
        add(
            number(Some(TempoVerdict::Slower)),
            "slower",
            IN_BAND,
            false,
            Type::LABEL,
        );
        let unknown = number(None);
        add(unknown, "not compared", NEUTRAL, false, Type::LABEL);
        let doubtful = self.repetitions.iter().filter(|r| r.doubtful).count();
        add(doubtful, "in doubt", QUIET, true, Type::QUIET);
        counts
    }
}

impl TempoChart {
    /// Lines that the counts take in lanes of a width.
    pub(super) fn flow<DB: DrawingBackend>(
        pen: &Pen<'_, DB>,
        counts: &[Count],
        width: f64,
    ) -> Vec<usize> {
        let mut lines = Vec::new();
        let mut used = 0.0;
        let mut line = 0;
        for count in counts {
            let need = 14.0 + pen.width(&count.words, count.look) + 12.0;
            if used > 0.0 && used + need - 12.0 > width {
                line += 1;
                used = 0.0;
            }
            used += need;
            lines.push(line);
        }
        lines
    }

    /// Writes the name of a set and its counts.
    pub(super) fn head<DB: DrawingBackend>(
        pen: &mut Pen<'_, DB>,
        set: &TempoSet,
        at: &Lane,
    ) -> Result<(), ChartError> {
        let title = Type::STRONG.sized(14.0);
        let width = at.right - at.left;
        let label = pen.shorten(&set.label, title, width);
        pen.text((at.left, at.top + 12.0), Anchor::Left, &label, title)?;
        let counts = set.counts();
        let mut x = at.left;
        let mut line = 0;
        for (count, row) in counts.iter().zip(TempoChart::flow(pen, &counts, width)) {
            if row != line {
                (x, line) = (at.left, row);
            }
            let y = at.top + 20.0 + COUNT_PX * row as f64;
            let swatch = Area {
                left_px: x,
                top_px: y + 1.0,
                right_px: x + 9.0,
                bottom_px: y + 10.0,
            };
            if count.hollow {
                pen.box_line(swatch, count.color, 1.3)?;
            } else if count.words.ends_with("slower") {
                tail(pen, (x, x + 9.0), y + 5.5, count.color)?;
            } else {
                pen.bar(swatch, count.color)?;
            }
            pen.text((x + 14.0, y + 10.0), Anchor::Left, &count.words, count.look)?;
            x += 14.0 + pen.width(&count.words, count.look) + 12.0;
        }
        Ok(())
    }
}
