//! The frame that values across dates are drawn in: scales, labels and the order of drawing.

use super::ChartError;
use super::axis::{Scale, plain, ticks};
use super::dates::TimeLine;
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::history_marks::Layout;
use super::history_values::{History, Unit};
use super::margin::{self, MarginLabel};
use super::palette::BAND_EDGE;
use super::pen::{Pen, Type};
use jiff::civil::Date;
use plotters_backend::DrawingBackend;

impl History<'_> {
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
            if let (Some((half, words)), Some((_, first))) = (&track.error, track.first())
                && !words.is_empty()
            {
                labels.push(label(
                    first + half.abs(),
                    &[(words.clone(), Type::QUIET.sized(11.0))],
                    color,
                    2,
                ));
            }
        }
        for goal in self.goals() {
            let words = [(goal.words, Type::STRONG.colored(goal.color))];
            labels.push(label(goal.value, &words, goal.color, 4));
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
        // What is last is dropped first on a small drawing: never the meaning of the angle.
        notes.extend(self.notes.iter().cloned());
        let spread = self.spread_note.filter(|_| all().any(|s| s.low.is_some()));
        let shaded = "the sensor\u{2019}s stated 95 % error";
        match (spread, self.states_errors()) {
            (Some(spread), true) => notes.push(format!("Fine bars: {spread}; shaded: {shaded}.")),
            (Some(spread), false) => notes.push(format!("Fine bars: {spread}.")),
            (None, true) => notes.push(format!("Shaded: {shaded}.")),
            (None, false) => {}
        }
        let below = remarks(pen, &notes)?;
        let Some(at) = self.layout(pen, (above, below))? else {
            return nothing(pen, above, below, "no sessions");
        };
        self.ground(pen, &at)?;
        for track in &self.tracks {
            self.stated(pen, &at, track)?;
        }
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
