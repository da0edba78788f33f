//! The machinery of values across dates: half-moons for the hands, fine bars for the spread, a
//! line that stops where nothing was done, and a strip of ticks that counts the sessions.

use super::axis::{Scale, plain, ticks};
use super::dates::{TimeLine, days_between};
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::margin::{self, MarginLabel};
use super::palette::{
    AXIS, BAND, BAND_EDGE, Color, HATCH, INK, LEFT, LEFT_SPREAD, QUIET, RIGHT, RIGHT_SPREAD, RULE,
    WHITE,
};
use super::pen::{Anchor, Pen, Point, Type};
use super::{Area, ChartError, checked};
use crate::movement::Side;
use jiff::civil::Date;
use plotters_backend::DrawingBackend;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    Degrees,
    Seconds,
}

impl Unit {
    fn write(self, value: f64) -> String {
        match self {
            Unit::Degrees => format!("{}°", plain(value, 0)),
            Unit::Seconds => format!("{value:.1} s"),
        }
    }

    fn tick(self, value: f64) -> String {
        match self {
            Unit::Degrees => format!("{}°", plain(value, 1)),
            Unit::Seconds => plain(value, 1),
        }
    }
}

pub(crate) struct Session {
    pub(crate) date: Date,
    pub(crate) middle: Option<f64>,
    pub(crate) low: Option<f64>,
    pub(crate) high: Option<f64>,
}

pub(crate) struct Track {
    pub(crate) label: String,
    pub(crate) side: Option<Side>,
    pub(crate) sessions: Vec<Session>,
    pub(crate) error: Option<(f64, String)>,
}

pub(crate) struct Asked {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

pub(crate) struct History<'a> {
    pub(crate) title: &'a str,
    pub(crate) subtitle: &'a str,
    pub(crate) what: String,
    pub(crate) unit: Unit,
    pub(crate) tracks: Vec<Track>,
    pub(crate) target: Option<f64>,
    pub(crate) asked: Option<Asked>,
    pub(crate) gap_days: u32,
    pub(crate) spread_note: Option<&'a str>,
    pub(crate) notes: &'a [String],
}

struct Layout {
    time: TimeLine,
    y: Scale,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    strip: f64,
    axis: f64,
    radius: f64,
    spread: f64,
}

impl Track {
    fn color(&self) -> Color {
        match self.side {
            Some(Side::Left) => LEFT,
            Some(Side::Right) => RIGHT,
            None => INK,
        }
    }

    fn spread_color(&self) -> Color {
        match self.side {
            Some(Side::Left) => LEFT_SPREAD,
            Some(Side::Right) => RIGHT_SPREAD,
            None => HATCH,
        }
    }

    /// −1 for the left hand, 1 for the right, 0 where it does not matter.
    fn facing(&self) -> f64 {
        match self.side {
            Some(Side::Left) => -1.0,
            Some(Side::Right) => 1.0,
            None => 0.0,
        }
    }

    fn name(&self) -> &str {
        self.side.map_or("value", Side::name)
    }

    /// Places of the sessions on the time line.
    fn places(&self, time: &TimeLine) -> Result<Vec<f64>, ChartError> {
        let dates: Vec<Date> = self.sessions.iter().map(|s| s.date).collect();
        dates
            .iter()
            .zip(TimeLine::shares(&dates))
            .map(|(date, share)| time.at(*date, share))
            .collect()
    }

    fn first(&self) -> Option<(usize, f64)> {
        let mut all = self.sessions.iter().enumerate();
        all.find_map(|(index, s)| Some((index, s.middle?)))
    }

    fn last(&self) -> Option<(&Session, f64)> {
        self.sessions
            .iter()
            .rev()
            .find_map(|s| Some((s, s.middle?)))
    }
}

/// A moon that faces a hand's side, or a whole disc.
fn moon<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    (x, y): Point,
    radius: f64,
    facing: f64,
    color: Color,
) -> Result<(), ChartError> {
    if facing == 0.0 {
        return pen.dot((x, y), radius * 0.85, color);
    }
    let arc = |r: f64, from: f64| -> Vec<Point> {
        let mut points: Vec<Point> = (0..=20)
            .map(|step| {
                let turn = (f64::from(step) / 20.0 - 0.5) * std::f64::consts::PI;
                (x + from + facing * r * turn.cos(), y + r * turn.sin())
            })
            .collect();
        points.extend(points.first().copied());
        points
    };
    pen.fill(&arc(radius, 0.0), color)?;
    if facing < 0.0 && radius > 2.5 {
        pen.fill(&arc(radius - 1.7, facing * 1.3), WHITE)?;
    }
    Ok(())
}

impl History<'_> {
    fn check(&self) -> Result<(), ChartError> {
        let known = |value: Option<f64>, index| checked(value.unwrap_or(0.0), "value", index);
        for track in &self.tracks {
            let mut before: Option<Date> = None;
            for (index, session) in track.sessions.iter().enumerate() {
                known(session.middle, index)?;
                known(session.low, index)?;
                known(session.high, index)?;
                if before.is_some_and(|date| session.date < date) {
                    return Err(ChartError::Order {
                        what: "date",
                        index,
                    });
                }
                before = Some(session.date);
            }
            if let Some((half, _)) = &track.error {
                checked(*half, "error band", 0)?;
            }
        }
        known(self.target, 0)?;
        if let Some(asked) = &self.asked {
            checked(asked.low, "band", 0)?;
            if checked(asked.high, "band", 0)? < asked.low {
                return Err(ChartError::Order {
                    what: "band",
                    index: 0,
                });
            }
        }
        Ok(())
    }

    fn dates(&self) -> Vec<Date> {
        let all = self.tracks.iter().flat_map(|t| &t.sessions);
        let mut dates: Vec<Date> = all.map(|s| s.date).collect();
        dates.sort();
        dates
    }

    fn values(&self) -> Vec<f64> {
        let mut values = Vec::new();
        for track in &self.tracks {
            for session in &track.sessions {
                values.extend(
                    [session.middle, session.low, session.high]
                        .into_iter()
                        .flatten(),
                );
            }
            if let (Some((half, _)), Some((_, first))) = (&track.error, track.first()) {
                values.extend([first - half.abs(), first + half.abs()]);
            }
        }
        values.extend(self.target);
        values.extend(self.asked.iter().flat_map(|a| [a.low, a.high]));
        values
    }

    pub(crate) fn description(&self) -> String {
        let mut words = format!("{} across sessions.", self.what);
        if self.dates().is_empty() {
            words.push_str(" No sessions.");
        }
        for track in &self.tracks {
            let count = track.sessions.len();
            let known = track.sessions.iter().filter(|s| s.middle.is_some()).count();
            words.push_str(&format!(
                " {}: {count} sessions, {known} with a value",
                [track.name(), &track.label].join(" ").trim_end()
            ));
            if let (Some((index, first)), Some((last, value))) = (track.first(), track.last()) {
                let first_date = track.sessions.get(index).map_or(last.date, |s| s.date);
                words.push_str(&format!(
                    ", {} on {first_date} to {} on {}",
                    self.unit.write(first),
                    self.unit.write(value),
                    last.date
                ));
            }
            words.push('.');
        }
        words
    }

    fn labels<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, y: &Scale) -> Vec<MarginLabel> {
        let mut labels = Vec::new();
        let dates = self.dates();
        let year = |date: Option<&Date>| date.map(|date| date.year());
        let one_year = year(dates.first()) == year(dates.last());
        let form = if one_year { "%-d %b" } else { "%-d %b %Y" };
        let mut add = |level: f64, words: Vec<(String, Type)>, tie, rank| {
            labels.push(MarginLabel::new(pen, y.held(level), &words, tie, rank));
        };
        for track in &self.tracks {
            let color = track.color();
            if let Some((session, value)) = track.last() {
                let words = format!("{} {}", track.name(), self.unit.write(value));
                let when = session.date.strftime(form).to_string();
                let detail = if track.label.is_empty() {
                    when
                } else {
                    format!("{}, {when}", track.label)
                };
                let lines = vec![
                    (words, Type::STRONG.sized(13.0).colored(color)),
                    (detail, Type::QUIET.sized(11.0)),
                ];
                add(value, lines, color, 5);
            }
            if let (Some((half, label)), Some((_, first))) = (&track.error, track.first()) {
                add(
                    first + half.abs(),
                    vec![(label.clone(), Type::QUIET.sized(11.0))],
                    color,
                    2,
                );
            }
        }
        if let Some(target) = self.target {
            let words = format!("target {}", self.unit.write(target));
            add(target, vec![(words, Type::STRONG)], INK, 4);
        }
        if let Some(asked) = &self.asked {
            let words = match self.unit {
                Unit::Degrees => format!("asked {}–{}°", plain(asked.low, 0), plain(asked.high, 0)),
                Unit::Seconds => {
                    format!("asked {}–{} s", plain(asked.low, 2), plain(asked.high, 2))
                }
            };
            add(
                (asked.low + asked.high) / 2.0,
                vec![(words, Type::QUIET)],
                BAND_EDGE,
                3,
            );
        }
        labels
    }

    fn layout<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        (above, below): (f64, f64),
    ) -> Result<Option<Layout>, ChartError> {
        let values = self.values();
        let low = values.iter().copied().reduce(f64::min).unwrap_or(0.0);
        let high = values.iter().copied().reduce(f64::max).unwrap_or(1.0);
        let from_zero = self.unit == Unit::Seconds || low < 0.45 * high;
        let least = match self.unit {
            Unit::Degrees => 10.0,
            Unit::Seconds => 2.0,
        };
        let room = (0.06 * (high - low)).max(0.05 * least);
        let low = if from_zero { low.min(0.0) } else { low - room };
        let high = (high + room).max(low + least);
        let (width, _) = pen.extent();
        let (top, axis) = (above + 30.0, below - 22.0);
        let strip = axis - 20.0;
        let bottom = strip - 6.0;
        let y = Scale::new((low, high), (bottom, top));
        let widest = ticks((low, high), 6.0)
            .iter()
            .map(|t| pen.width(&self.unit.tick(*t), Type::QUIET))
            .fold(0.0, f64::max);
        let left = EDGE_PX + widest + 8.0;
        let sessions = pen.width("sessions", Type::QUIET) + margin::TIE_PX;
        let right = width - EDGE_PX - margin::room(pen, &self.labels(pen, &y)).max(sessions);
        let Some(time) = TimeLine::new(self.dates().into_iter(), (left, right))? else {
            return Ok(None);
        };
        let mut apart = f64::MAX;
        for track in &self.tracks {
            let places = track.places(&time)?;
            let span = places
                .last()
                .zip(places.first())
                .map_or(0.0, |(b, a)| b - a);
            if places.len() > 1 {
                apart = apart.min(span / (places.len() as f64 - 1.0));
            }
        }
        Ok(Some(Layout {
            time,
            y,
            left,
            right,
            top,
            bottom,
            strip,
            axis,
            radius: (apart * 0.42).clamp(0.0, 6.2),
            spread: (apart * 0.3).clamp(0.8, 3.0),
        }))
    }

    fn ground<DB: DrawingBackend>(
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
            pen.text(
                (at.left - 8.0, y + 4.0),
                Anchor::Right,
                &self.unit.tick(tick),
                Type::QUIET,
            )?;
        }
        if let Some(asked) = &self.asked {
            pen.line(&span(at.y.at(asked.high)), BAND_EDGE, 1.0)?;
            pen.line(&span(at.y.at(asked.low)), BAND_EDGE, 1.0)?;
        }
        if let Some(target) = self.target {
            pen.dashes(&span(at.y.at(target)), INK, 1.4, (10.0, 4.0))?;
        }
        pen.text(
            (EDGE_PX, at.top - 14.0),
            Anchor::Left,
            &self.what,
            Type::QUIET,
        )
    }

    fn track<DB: DrawingBackend>(
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
            for level in [first - half.abs(), first + half.abs()] {
                let y = at.y.at(level);
                pen.dashes(&[(from, y), (at.right, y)], color, 1.0, (1.5, 4.0))?;
            }
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
    fn strip<DB: DrawingBackend>(
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

    pub(crate) fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.check()?;
        let above = heading(pen, self.title, self.subtitle)?;
        let mut notes = Vec::new();
        let all = || self.tracks.iter().flat_map(|t| &t.sessions);
        if all().any(|s| s.middle.is_none()) {
            notes.push("Open diamond: a session without a value.".to_owned());
        }
        if let Some(note) = self.spread_note
            && all().any(|s| s.low.is_some())
        {
            notes.push(format!("Fine bars: {note}."));
        }
        notes.extend(self.notes.iter().cloned());
        let below = remarks(pen, &notes)?;
        let Some(at) = self.layout(pen, (above, below))? else {
            return nothing(pen, above, below, "no sessions");
        };
        self.ground(pen, &at)?;
        let mut seen = Vec::new();
        for track in &self.tracks {
            self.track(pen, &at, track, seen.contains(&track.side))?;
            seen.push(track.side);
        }
        self.strip(pen, &at)?;
        margin::draw(
            pen,
            self.labels(pen, &at.y),
            at.right,
            (at.top - 12.0, at.bottom),
        )
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
