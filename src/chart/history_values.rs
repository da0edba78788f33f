//! Values across dates: what is known, what is asked, and the frame they are drawn in.

use super::axis::{Scale, plain, ticks};
use super::dates::TimeLine;
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::history_marks::Layout;
use super::margin::{self, MarginLabel};
use super::palette::{BAND_EDGE, Color, HATCH, INK, LEFT, LEFT_SPREAD, RIGHT, RIGHT_SPREAD};
use super::pen::{Pen, Type};
use super::{ChartError, checked};
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

    pub(super) fn tick(self, value: f64) -> String {
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

impl Track {
    pub(super) fn color(&self) -> Color {
        match self.side {
            Some(Side::Left) => LEFT,
            Some(Side::Right) => RIGHT,
            None => INK,
        }
    }

    pub(super) fn spread_color(&self) -> Color {
        match self.side {
            Some(Side::Left) => LEFT_SPREAD,
            Some(Side::Right) => RIGHT_SPREAD,
            None => HATCH,
        }
    }

    /// −1 for the left hand, 1 for the right, 0 where it does not matter.
    pub(super) fn facing(&self) -> f64 {
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
    pub(super) fn places(&self, time: &TimeLine) -> Result<Vec<f64>, ChartError> {
        let dates: Vec<Date> = self.sessions.iter().map(|s| s.date).collect();
        dates
            .iter()
            .zip(TimeLine::shares(&dates))
            .map(|(date, share)| time.at(*date, share))
            .collect()
    }

    pub(super) fn first(&self) -> Option<(usize, f64)> {
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

    pub(super) fn dates(&self) -> Vec<Date> {
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
        let label = |level: f64, words: &[(String, Type)], tie, rank| {
            MarginLabel::new(pen, y.held(level), words, tie, rank)
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
                labels.push(label(value, &lines, color, 5).marked(track.facing()));
            }
            if let (Some((half, words)), Some((_, first))) = (&track.error, track.first()) {
                labels.push(label(
                    first + half.abs(),
                    &[(words.clone(), Type::QUIET.sized(11.0))],
                    color,
                    2,
                ));
            }
        }
        if let Some(target) = self.target {
            let words = format!("target {}", self.unit.write(target));
            labels.push(label(target, &[(words, Type::STRONG)], INK, 4));
        }
        if let Some(asked) = &self.asked {
            let words = match self.unit {
                Unit::Degrees => format!("asked {}–{}°", plain(asked.low, 0), plain(asked.high, 0)),
                Unit::Seconds => {
                    format!("asked {}–{} s", plain(asked.low, 2), plain(asked.high, 2))
                }
            };
            labels.push(label(
                (asked.low + asked.high) / 2.0,
                &[(words, Type::QUIET)],
                BAND_EDGE,
                3,
            ));
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
