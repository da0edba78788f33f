//! Values across dates: what is known, what is asked, and both in words.

use super::axis::plain;
use super::dates::TimeLine;
use super::palette::{
    Color, HATCH, INK, LEFT, LEFT_SPREAD, LEFT_STATED, RIGHT, RIGHT_SPREAD, RIGHT_STATED, RULE,
};
use super::{ChartError, checked};
use crate::movement::Side;
use jiff::civil::Date;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    Degrees,
    Seconds,
}

impl Unit {
    pub(super) fn write(self, value: f64) -> String {
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
    /// Half-width of the middle's stated 95 % interval.
    pub(crate) stated: Option<f64>,
}

pub(crate) struct Track {
    pub(crate) label: String,
    pub(crate) side: Option<Side>,
    pub(crate) sessions: Vec<Session>,
    pub(crate) error: Option<(f64, String)>,
    pub(crate) target: Option<f64>,
}

/// A goal, of one hand or of all.
pub(super) struct Goal {
    pub(super) value: f64,
    pub(super) words: String,
    pub(super) color: Color,
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

    pub(super) fn stated_color(&self) -> Color {
        match self.side {
            Some(Side::Left) => LEFT_STATED,
            Some(Side::Right) => RIGHT_STATED,
            None => RULE,
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

    pub(super) fn name(&self) -> &str {
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

    pub(super) fn last(&self) -> Option<(&Session, f64)> {
        self.sessions
            .iter()
            .rev()
            .find_map(|s| Some((s, s.middle?)))
    }
}

impl History<'_> {
    pub(super) fn check(&self) -> Result<(), ChartError> {
        let known = |value: Option<f64>, index| checked(value.unwrap_or(0.0), "value", index);
        for track in &self.tracks {
            let mut before: Option<Date> = None;
            for (index, session) in track.sessions.iter().enumerate() {
                known(session.middle, index)?;
                known(session.low, index)?;
                known(session.high, index)?;
                known(session.stated, index)?;
                if before.is_some_and(|date| session.date < date) {
                    return Err(ChartError::Order {
                        what: "date",
                        index,
                    });
                }
                before = Some(session.date);
            }
            known(track.target, 0)?;
            if let Some((half, _)) = &track.error {
                checked(*half, "error band", 0)?;
            }
        }
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

    /// The goals to draw: one where all share it, else one a hand.
    pub(super) fn goals(&self) -> Vec<Goal> {
        let mut targets = self.tracks.iter().map(|track| track.target);
        let first = targets.next().flatten();
        let goal = |value: f64, whose: String, color| Goal {
            value,
            words: format!("target{whose} {}", self.unit.write(value)),
            color,
        };
        if let Some(value) = first.filter(|value| targets.all(|other| other == Some(*value))) {
            return vec![goal(value, String::new(), INK)];
        }
        self.tracks
            .iter()
            .filter_map(|track| {
                let whose = track
                    .side
                    .map_or(String::new(), |s| format!(" {}", s.name()));
                Some(goal(track.target?, whose, track.color()))
            })
            .collect()
    }

    /// Whether any value has a stated error.
    pub(super) fn states_errors(&self) -> bool {
        let mut sessions = self.tracks.iter().flat_map(|track| &track.sessions);
        sessions.any(|session| session.middle.is_some() && session.stated.is_some())
    }

    pub(super) fn dates(&self) -> Vec<Date> {
        let all = self.tracks.iter().flat_map(|t| &t.sessions);
        let mut dates: Vec<Date> = all.map(|s| s.date).collect();
        dates.sort();
        dates
    }

    pub(super) fn values(&self) -> Vec<f64> {
        let mut values = Vec::new();
        for track in &self.tracks {
            for session in &track.sessions {
                values.extend(
                    [session.middle, session.low, session.high]
                        .into_iter()
                        .flatten(),
                );
                if let (Some(middle), Some(stated)) = (session.middle, session.stated) {
                    values.extend([middle - stated, middle + stated]);
                }
            }
            if let (Some((half, _)), Some((_, first))) = (&track.error, track.first()) {
                values.extend([first - half.abs(), first + half.abs()]);
            }
        }
        values.extend(self.tracks.iter().filter_map(|track| track.target));
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
}
