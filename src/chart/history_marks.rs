//! The parts of the history drawing: ground, half-moons, spread, lines, the strip of sessions.

use super::axis::{Scale, plain, ticks};
use super::dates::{TimeLine, days_between};
use super::frame::EDGE_PX;
use super::history_values::{History, Track};
use super::margin;
use super::moon::moon;
use super::palette::{AXIS, BAND, BAND_EDGE, QUIET, RULE, WHITE};
use super::pen::{Anchor, Pen, Point, Type};
use super::{Area, ChartError};
use crate::movement::Side;
use jiff::civil::Date;
use plotters_backend::DrawingBackend;

pub(super) struct Layout {
    pub(super) time: TimeLine,
    pub(super) y: Scale,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) strip: f64,
    pub(super) axis: f64,
    pub(super) radius: f64,
    pub(super) spread: f64,
}

impl History<'_> {
    pub(super) fn ground<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let span = |y: f64| [(at.left, y), (at.right, y)];
        if let Some(asked) = &self.asked {
            let area = Area {
                left_px: at.left,
                top_px: at.y.at(asked.high),
                right_px: at.right,
                bottom_px: at.y.at(asked.low),
            };
            pen.bar(area, BAND)?;
        }
        for tick in ticks(at.y.range(), ((at.bottom - at.top) / 45.0).clamp(2.0, 8.0)) {
            let y = at.y.at(tick);
            pen.line(&span(y), RULE, 1.0)?;
            let (place, words) = ((at.left - 8.0, y + 4.0), self.unit.tick(tick));
            pen.text_if_free(place, Anchor::Right, &words, Type::QUIET)?;
        }
        if let Some(asked) = &self.asked {
            pen.line(&span(at.y.at(asked.high)), BAND_EDGE, 1.0)?;
            pen.line(&span(at.y.at(asked.low)), BAND_EDGE, 1.0)?;
        }
        for goal in self.goals() {
            pen.dashes(&span(at.y.at(goal.value)), goal.color, 1.4, (10.0, 4.0))?;
        }
        pen.text(
            (EDGE_PX, at.top - 14.0),
            Anchor::Left,
            &self.what,
            Type::QUIET,
        )
    }

    /// The band of a track's stated errors; a value that stands alone has a bar as wide as its mark.
    pub(super) fn stated<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
        track: &Track,
    ) -> Result<(), ChartError> {
        let mut runs: Vec<Vec<[f64; 3]>> = vec![Vec::new()];
        let mut before: Option<Date> = None;
        for (session, x) in track.sessions.iter().zip(track.places(&at.time)?) {
            let paused = match before {
                Some(date) => days_between(date, session.date)? > f64::from(self.gap_days),
                None => false,
            };
            let known = session.middle.zip(session.stated);
            if paused || known.is_none() {
                runs.push(Vec::new());
            }
            if let (Some((middle, stated)), Some(run)) = (known, runs.last_mut()) {
                run.push([x, at.y.at(middle + stated), at.y.at(middle - stated)]);
            }
            before = Some(session.date);
        }
        for mut run in runs {
            if let [[x, top, foot]] = run[..] {
                let half = at.radius.max(2.4);
                run = vec![[x - half, top, foot], [x + half, top, foot]];
            }
            let upper = run.iter().map(|[x, top, _]| (*x, *top));
            let lower = run.iter().rev().map(|[x, _, foot]| (*x, *foot));
            let outline: Vec<Point> = upper.chain(lower).collect();
            if outline.len() > 2 {
                pen.fill(&outline, track.stated_color())?;
            }
        }
        Ok(())
    }

    pub(super) fn track<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
        track: &Track,
        again: bool,
    ) -> Result<(), ChartError> {
        let color = track.color();
        let places = track.places(&at.time)?;
        let aside = track.facing() * (at.radius * 0.5).max(0.4);
        for (session, x) in track.sessions.iter().zip(&places) {
            if let (Some(low), Some(high)) = (session.low, session.high) {
                let bar = [(x + aside, at.y.at(low)), (x + aside, at.y.at(high))];
                pen.line(&bar, track.spread_color(), at.spread)?;
            }
        }
        if let (Some((half, _)), Some((index, first))) = (&track.error, track.first()) {
            let from = places.get(index).copied().unwrap_or(at.left);
            if self.tracks.len() == 1 {
                for level in [first - half.abs(), first + half.abs()] {
                    let y = at.y.at(level);
                    pen.dashes(&[(from, y), (at.right, y)], color, 1.0, (1.5, 4.0))?;
                }
            }
            // Two hands that begin on one day: the brackets stand beside each other.
            let from = from
                + if self.tracks.len() == 1 {
                    0.0
                } else {
                    4.0 * track.facing()
                };
            let ends = [first - half.abs(), first + half.abs()].map(|v| at.y.at(v));
            let [foot, head] = ends;
            pen.line(&[(from - 3.0, foot), (from + 3.0, foot)], color, 1.0)?;
            pen.line(&[(from, foot), (from, head)], color, 1.0)?;
            pen.line(&[(from - 3.0, head), (from + 3.0, head)], color, 1.0)?;
        }
        let heavy = if track.side == Some(Side::Left) {
            1.4
        } else {
            2.2
        };
        let width = if at.radius < 2.5 { 0.75 * heavy } else { heavy };
        let mut piece: Vec<Point> = Vec::new();
        let mut before: Option<Date> = None;
        let mut pieces: Vec<Vec<Point>> = Vec::new();
        for (session, x) in track.sessions.iter().zip(&places) {
            let paused = match before {
                Some(date) => days_between(date, session.date)? > f64::from(self.gap_days),
                None => false,
            };
            if paused || session.middle.is_none() {
                pieces.push(std::mem::take(&mut piece));
            }
            piece.extend(session.middle.map(|value| (*x, at.y.at(value))));
            before = Some(session.date);
        }
        pieces.push(piece);
        for piece in &pieces {
            if again {
                pen.dashes(piece, color, width, (6.0, 3.0))?;
            } else {
                pen.line(piece, color, width)?;
            }
            // A value that stands alone is seen even where the sessions crowd.
            let radius = if piece.len() == 1 {
                at.radius.max(2.4)
            } else {
                at.radius
            };
            if radius > 1.6 {
                for point in piece {
                    moon(pen, *point, radius, track.facing(), color)?;
                }
            }
        }
        Ok(())
    }

    /// The strip that counts sessions, and the dates.
    pub(super) fn strip<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<bool, ChartError> {
        let mut missing = false;
        let rows = self.tracks.len().clamp(1, 4) as f64;
        let row_px = 14.0 / rows;
        for (row, track) in self.tracks.iter().enumerate() {
            let top = at.strip + row_px * (row as f64).min(3.0);
            for (session, x) in track.sessions.iter().zip(track.places(&at.time)?) {
                if session.middle.is_some() {
                    let tick = [(x, top), (x, top + row_px - 2.0)];
                    pen.line(&tick, track.color(), at.radius.clamp(0.7, 1.6))?;
                    continue;
                }
                missing = true;
                let y = top + row_px / 2.0 - 1.0;
                let r = (row_px / 2.0).min(3.6);
                let diamond = [
                    (x - r, y),
                    (x, y - r),
                    (x + r, y),
                    (x, y + r),
                    (x - r, y),
                    (x, y - r),
                ];
                pen.fill(&diamond, WHITE)?;
                pen.line(&diamond, track.color(), 1.2)?;
            }
        }
        let dates = self.dates();
        for (a, b) in dates.iter().zip(dates.iter().skip(1)) {
            let days = days_between(*a, *b)?;
            if days > f64::from(self.gap_days) {
                let (from, to) = (at.time.at(*a, 0.5)?, at.time.at(*b, 0.5)?);
                let words = format!("{} days apart", plain(days, 0));
                let look = Type::QUIET.sized(11.0);
                let middle = (from + to) / 2.0;
                if pen.width(&words, look) + 12.0 < to - from {
                    pen.text((middle, at.strip + 11.0), Anchor::Middle, &words, look)?;
                }
            }
        }
        let beside = at.right + margin::TIE_PX;
        pen.text(
            (beside, at.strip + 11.0),
            Anchor::Left,
            "sessions",
            Type::QUIET,
        )?;
        date_axis(pen, &at.time, (at.left, at.right), at.axis)?;
        Ok(missing)
    }
}

/// Draws an axis of dates.
pub(crate) fn date_axis<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    time: &TimeLine,
    (left, right): (f64, f64),
    y: f64,
) -> Result<(), ChartError> {
    pen.line(&[(left, y), (right, y)], AXIS, 1.2)?;
    for tick in time.ticks()? {
        pen.line(&[(tick.x_px, y), (tick.x_px, y + 4.0)], AXIS, 1.2)?;
        let look = Type::QUIET.colored(QUIET);
        pen.text_if_free((tick.x_px, y + 17.0), Anchor::Middle, &tick.label, look)?;
    }
    Ok(())
}
