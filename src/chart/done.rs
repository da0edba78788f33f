//! Repetitions done of those prescribed, session by session, with the load beneath.

use super::axis::{Scale, count_ticks, plain};
use super::dates::TimeLine;
use super::frame::{EDGE_PX, heading, nothing, remarks};
use super::history_marks::date_axis;
use super::margin::{self, MarginLabel};
use super::palette::{AXIS, QUIET};
use super::pen::{Anchor, Pen, Type};
use super::{Chart, ChartError, Size, checked};
use jiff::civil::Date;
use plotters_backend::DrawingBackend;

/// What was done in one session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoneSession {
    /// The day, on the patient's calendar.
    pub date: Date,
    /// Repetitions done.
    pub done_count: u32,
    /// Repetitions prescribed; `None` where nothing was.
    pub prescribed_count: Option<u32>,
    /// Load in kilograms; `None` is unknown.
    pub load_kg: Option<f64>,
}

/// Repetitions done of prescribed across sessions.
#[derive(Debug, Clone, PartialEq)]
pub struct DoneChart {
    /// The heading.
    pub title: String,
    /// A line under it.
    pub subtitle: String,
    /// The sessions in order of date; several may share a day.
    pub sessions: Vec<DoneSession>,
    /// Remarks at the foot.
    pub notes: Vec<String>,
}

pub(super) struct Layout {
    pub(super) time: TimeLine,
    pub(super) places: Vec<f64>,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) counts: Scale,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) load: Option<(Scale, f64, f64)>,
    pub(super) column: f64,
}

impl DoneChart {
    fn check(&self) -> Result<(), ChartError> {
        let mut before: Option<Date> = None;
        for (index, session) in self.sessions.iter().enumerate() {
            checked(f64::from(session.done_count), "repetitions", index)?;
            checked(
                session.prescribed_count.map_or(0.0, f64::from),
                "prescribed",
                index,
            )?;
            if checked(session.load_kg.unwrap_or(0.0), "load", index)? < 0.0 {
                return Err(ChartError::Order {
                    what: "load",
                    index,
                });
            }
            if before.is_some_and(|date| session.date < date) {
                return Err(ChartError::Order {
                    what: "date",
                    index,
                });
            }
            before = Some(session.date);
        }
        Ok(())
    }

    /// Done and prescribed where something was prescribed.
    fn totals(&self) -> Option<(u64, u64)> {
        let asked = self
            .sessions
            .iter()
            .filter_map(|s| Some((u64::from(s.done_count), u64::from(s.prescribed_count?))));
        asked.reduce(|a, b| (a.0 + b.0, a.1 + b.1))
    }

    fn labels<DB: DrawingBackend>(&self, pen: &Pen<'_, DB>, counts: &Scale) -> Vec<MarginLabel> {
        let Some(last) = self.sessions.last() else {
            return Vec::new();
        };
        let words = match last.prescribed_count {
            Some(asked) => format!("{} of {asked}", last.done_count),
            None => format!("{} done", last.done_count),
        };
        let lines = [
            (words, Type::STRONG.sized(13.0)),
            ("last session".to_owned(), Type::QUIET.sized(11.0)),
        ];
        let y = counts.at(f64::from(last.done_count));
        vec![MarginLabel::new(pen, y, &lines, AXIS, 1)]
    }

    fn layout<DB: DrawingBackend>(
        &self,
        pen: &Pen<'_, DB>,
        (above, below): (f64, f64),
    ) -> Result<Option<Layout>, ChartError> {
        let most = self
            .sessions
            .iter()
            .map(|s| s.done_count.max(s.prescribed_count.unwrap_or(0)))
            .max();
        let high = f64::from(most.unwrap_or(0).max(1)) * 1.08;
        let heaviest = self
            .sessions
            .iter()
            .filter_map(|s| s.load_kg)
            .reduce(f64::max);
        let axis = below - 22.0;
        let (load_top, load_bottom) = (axis - (0.26 * (below - above)).max(48.0), axis - 4.0);
        let top = above + 28.0;
        let bottom = if heaviest.is_some() {
            load_top - 34.0
        } else {
            axis - 4.0
        };
        let counts = Scale::new((0.0, high), (bottom, top));
        let widest = count_ticks(high, 6.0)
            .iter()
            .map(|t| pen.width(&plain(*t, 0), Type::QUIET))
            .fold(pen.width("00.0", Type::QUIET), f64::max);
        let left = EDGE_PX + widest + 8.0;
        let room = margin::room(pen, &self.labels(pen, &counts)).max(60.0);
        let right = pen.extent().0 - EDGE_PX - room;
        let dates: Vec<Date> = self.sessions.iter().map(|s| s.date).collect();
        let Some(time) = TimeLine::new(dates.iter().copied(), (left, right))? else {
            return Ok(None);
        };
        let mut places = Vec::new();
        for (date, share) in dates.iter().zip(TimeLine::shares(&dates)) {
            places.push(time.at(*date, share)?);
        }
        let apart = places
            .iter()
            .zip(places.iter().skip(1))
            .map(|(a, b)| b - a)
            .fold(24.0, f64::min);
        Ok(Some(Layout {
            time,
            places,
            left,
            right,
            counts,
            top,
            bottom,
            load: heaviest.map(|kg| {
                let scale = Scale::new((0.0, (kg * 1.3).max(0.5)), (load_bottom, load_top));
                (scale, load_top, load_bottom)
            }),
            column: (apart * 0.72).clamp(0.8, 13.0),
        }))
    }
}

impl Chart for DoneChart {
    fn title(&self) -> &str {
        &self.title
    }

    fn description(&self) -> String {
        let count = self.sessions.len();
        let mut words = format!("Repetitions done of prescribed in {count} sessions");
        if let Some((done, asked)) = self.totals() {
            words.push_str(&format!(", {done} of {asked} in all"));
        }
        words.push('.');
        let mut loads = self.sessions.iter().filter_map(|s| s.load_kg);
        let ends = (loads.clone().next(), loads.next_back());
        if let (Some(first), Some(last)) = ends {
            words.push_str(&format!(
                " Load from {} kg to {} kg.",
                plain(first, 2),
                plain(last, 2)
            ));
        }
        words
    }

    fn size(&self) -> Size {
        Size {
            width_px: 880,
            height_px: 420,
        }
    }

    fn draw<DB: DrawingBackend>(&self, pen: &mut Pen<'_, DB>) -> Result<(), ChartError> {
        self.check()?;
        let above = heading(pen, &self.title, &self.subtitle)?;
        let mut notes = Vec::new();
        let beyond = |s: &DoneSession| s.prescribed_count.is_some_and(|asked| s.done_count > asked);
        if self.sessions.iter().any(beyond) {
            notes.push("Pale, above a slot: repetitions beyond those prescribed.".to_owned());
        }
        if self.sessions.iter().any(|s| s.prescribed_count.is_none()) {
            notes.push("Grey: nothing was prescribed.".to_owned());
        }
        notes.extend(self.notes.iter().cloned());
        let below = remarks(pen, &notes)?;
        let Some(at) = self.layout(pen, (above, below))? else {
            return nothing(pen, above, below, "no sessions");
        };
        self.columns(pen, &at)?;
        self.loads(pen, &at)?;
        if let Some((done, asked)) = self.totals() {
            let words = format!("{done} of {asked} in all");
            let look = Type::STRONG.colored(QUIET);
            pen.text_if_free((at.right, at.top - 12.0), Anchor::Right, &words, look)?;
        }
        date_axis(pen, &at.time, (at.left, at.right), below - 22.0)?;
        margin::draw(
            pen,
            self.labels(pen, &at.counts),
            at.right,
            (at.top - 8.0, at.bottom),
        )
    }
}
