//! The time of each repetition's timed phase, as bars that do or do not reach the time asked for.

use super::axis::{Scale, median, plain, second_ticks};
use super::font::Weight;
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::palette::{AXIS, BAND, BAND_EDGE, Color, HURRIED, IN_BAND, NEUTRAL, QUIET, RULE, WHITE};
use super::pen::{Anchor, Pen, Type};
use super::{Area, Chart, ChartError, Size, checked};
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
/// Line height of the counts in a lane's head.
const COUNT_PX: f64 = 17.0;

/// A count in a lane's head: its swatch and its words.
struct Count {
    color: Color,
    hollow: bool,
    words: String,
    look: Type,
}

struct Lane {
    left: f64,
    right: f64,
    /// Top of the lane.
    top: f64,
    /// Top of the first repetition.
    rows: f64,
    row_px: f64,
    /// Bottom of the last repetition.
    bottom: f64,
    x: Scale,
    /// Where values are written, at their right end.
    values: f64,
    words: bool,
}

impl TempoSet {
    fn counts(&self) -> Vec<Count> {
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

    fn word(&self) -> &'static str {
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

    /// Lines that the counts take in lanes of a width.
    fn flow<DB: DrawingBackend>(pen: &Pen<'_, DB>, counts: &[Count], width: f64) -> Vec<usize> {
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

    fn lane<DB: DrawingBackend>(
        &self,
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
        let legible = at.row_px >= 12.0;
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
        if legible {
            let value = format!("{time_s:.1}");
            let (words, look) = match repetition.verdict {
                Some(TempoVerdict::Hurried) if at.words => {
                    (format!("hurried {value}"), Type::STRONG.colored(HURRIED))
                }
                Some(TempoVerdict::Hurried) => (value, Type::STRONG.colored(HURRIED)),
                Some(TempoVerdict::Slower) if at.words => (format!("slower {value}"), Type::QUIET),
                _ => (value, Type::LABEL),
            };
            let end = (at.values, y + size * 0.36);
            pen.text(end, Anchor::Right, &words, look.sized(size))?;
        }
        Ok(())
    }
}

/// The part of a time beyond the band: a fine line with an end stroke.
fn tail<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (from, to): (f64, f64),
    y: f64,
    color: Color,
) -> Result<(), ChartError> {
    pen.line(&[(from, y), (to, y)], color, 2.0)?;
    pen.line(&[(to - 0.8, y - 3.5), (to - 0.8, y + 3.5)], color, 1.6)
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
        let below = remarks(pen, &notes)?;
        if self.sets.iter().all(|set| set.repetitions.is_empty()) {
            return nothing(pen, above, below, "no repetitions");
        }
        let (width, _) = pen.extent();
        let columns = self.columns(width);
        let lane_px = (width - 2.0 * EDGE_PX - APART_PX * (columns as f64 - 1.0)) / columns as f64;
        let lines = |set: &TempoSet| {
            let flow = TempoChart::flow(pen, &set.counts(), lane_px);
            flow.last().map_or(1, |line| line + 1)
        };
        let lines = self.sets.iter().map(lines).max().unwrap_or(1);
        let head = 24.0 + COUNT_PX * lines as f64 + 22.0;
        let least = head + FOOT_PX + 24.0;
        let fitting = ((below - above) / least).floor().max(1.0) as usize;
        let shown = self.sets.len().min(fitting * columns);
        let rows = shown.div_ceil(columns).max(1);
        let lane_height = (below - above) / rows as f64;
        let most = TempoChart::most_repetitions(&self.sets) as f64;
        let row_px = ((lane_height - head - FOOT_PX) / most).clamp(0.4, ROW_PX + 2.0);
        let words = lane_px >= 240.0 && row_px >= 12.0;
        let value_px = match (words, row_px >= 12.0) {
            (true, _) => pen.width("hurried 00.0", Type::STRONG) + 8.0,
            (false, true) => pen.width("00.0", Type::STRONG) + 8.0,
            _ => 0.0,
        };
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
