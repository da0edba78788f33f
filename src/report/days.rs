//! Day by day: sessions, repetitions, answers and nights over one time line, as one drawing.

mod lanes;

use std::fmt::Write as _;

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use maud::{Markup, PreEscaped, html};

use crate::review::{Review, SessionRow, date_words};

/// The longest stretch drawn, days: twelve weeks. Earlier sessions stand in the tables.
const MOST_DAYS: i64 = 84;
/// So many days of silence after the last session are drawn, so that they push no session out.
const SILENT_DAYS: i64 = 28;
/// The shortest, so that a few days are no poster.
const LEAST_DAYS: i64 = 14;
const WIDTH: f64 = 960.0;
const LEFT: f64 = 132.0;
const DATES: f64 = 16.0;
const ROW: f64 = 15.0;
/// Height of a lane of answers where there are several, and where there are one or two.
const LANE: f64 = 20.0;
const TALL_LANE: f64 = 28.0;
const INK: &str = "#241b2f";
const QUIET: &str = "#5d5568";
const RULE: &str = "#d9d3e0";
const PALE: &str = "#c6b6e3";
const WARN: &str = "#861336";

struct Days<'a> {
    review: &'a Review,
    first: Date,
    count: i64,
    out: String,
    y: f64,
    lane: f64,
}

/// The drawing with its legend; nothing without sessions.
pub(super) fn days(review: &Review) -> Markup {
    let dates = || review.sessions.iter().map(|row| row.date);
    let (Some(first), Some(last)) = (dates().min(), dates().max()) else {
        return html! {};
    };
    let until = review.on.filter(|on| *on > last).unwrap_or(last);
    let silent = last.checked_add(SILENT_DAYS.days()).unwrap_or(last);
    let last = until.min(silent);
    let whole = days_between(first, last) + 1;
    let count = whole.clamp(LEAST_DAYS, MOST_DAYS);
    let start = if whole > count {
        last.checked_sub((count - 1).days()).unwrap_or(first)
    } else {
        first
    };
    let mut drawing = Days {
        review,
        first: start,
        count,
        out: String::new(),
        y: DATES,
        lane: if lanes(review) > 2 { LANE } else { TALL_LANE },
    };
    drawing.sessions();
    drawing.repetitions();
    let told = drawing.symptoms();
    drawing.nights();
    let height = drawing.y + 2.0;
    let weeks = drawing.weeks(height);
    let svg = format!(
        "<svg viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" aria-label=\"Day by day from {} to {}: sessions, repetitions, answers, nights\" font-size=\"10.5\" fill=\"{INK}\">{weeks}{}</svg>",
        date_words(start),
        date_words(last),
        drawing.out
    );
    html! {
        h3 { "Day by day" }
        div.days { (PreEscaped(svg)) }
        p.small.quiet {
            "Square: session, filled by its share of what was asked, ringed where stopped; barred: skipped; dot: answers alone; triangle: visit. "
            "Answers 0 to 10: pale before, dark worst after, dot next morning. Nights: filled woken, open not. "
            (told)
            @if whole > count { " Twelve weeks at most; earlier sessions stand in the tables." }
            @if until > last { " No session since; the days after " (date_words(last)) " are not drawn." }
        }
    }
}

/// Questions of a hand that had an answer above 0.
fn lanes(review: &Review) -> usize {
    let mut found = std::collections::BTreeSet::new();
    for symptom in review.sessions.iter().flat_map(|row| &row.symptoms) {
        if symptom.worst() > Some(0) {
            found.insert((symptom.kind, symptom.side));
        }
    }
    found.len()
}

fn days_between(first: Date, last: Date) -> i64 {
    last.duration_since(first).as_hours() / 24
}

impl Days<'_> {
    fn step(&self) -> f64 {
        (WIDTH - LEFT) / self.count as f64
    }

    /// Left edge of a day; `None` of a day before the first one drawn.
    fn x(&self, date: Date) -> Option<f64> {
        let day = days_between(self.first, date);
        (0..self.count)
            .contains(&day)
            .then(|| LEFT + day as f64 * self.step())
    }

    /// The rows that are drawn, each with its left edge and width; several of a day share it.
    fn rows(&self) -> Vec<(f64, f64, &SessionRow)> {
        let all = &self.review.sessions;
        let mut placed = Vec::new();
        for row in all {
            let Some(x) = self.x(row.date) else { continue };
            let same = all.iter().filter(|other| other.date == row.date).count();
            let nth = placed
                .iter()
                .filter(|(_, _, other): &&(f64, f64, &SessionRow)| other.date == row.date)
                .count();
            let width = self.step() / same.max(1) as f64;
            placed.push((x + nth as f64 * width, width, row));
        }
        placed
    }

    fn label(&mut self, words: &str, height: f64) {
        let middle = self.y + height / 2.0 + 3.6;
        let _ = write!(
            self.out,
            "<text x=\"0\" y=\"{middle:.1}\" fill=\"{QUIET}\">{words}</text>"
        );
    }

    fn box_at(&mut self, (x, y): (f64, f64), (width, height): (f64, f64), look: &str) {
        let _ = write!(
            self.out,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" {look}/>"
        );
    }

    fn dot(&mut self, (x, y): (f64, f64), radius: f64, look: &str) {
        let _ = write!(
            self.out,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" {look}/>"
        );
    }

    fn path(&mut self, points: &str, look: &str) {
        let _ = write!(self.out, "<path d=\"{points}\" {look}/>");
    }

    /// The Mondays, behind everything.
    fn weeks(&self, height: f64) -> String {
        let mut out = String::new();
        let mondays: Vec<(f64, Date)> = (0..self.count)
            .filter_map(|day| self.first.checked_add(day.days()).ok())
            .filter(|date| date.weekday() == Weekday::Monday)
            .filter_map(|date| Some((self.x(date)?, date)))
            .collect();
        let every = if mondays.len() > 9 { 2 } else { 1 };
        for (nth, (x, date)) in mondays.iter().enumerate() {
            let _ = write!(
                out,
                "<rect x=\"{x:.1}\" y=\"{DATES}\" width=\"0.7\" height=\"{:.1}\" fill=\"{RULE}\"/>",
                height - DATES
            );
            if nth % every == 0 && WIDTH - x > 40.0 {
                let day = date.strftime("%-d %b");
                let _ = write!(
                    out,
                    "<text x=\"{x:.1}\" y=\"11\" fill=\"{QUIET}\">{day}</text>"
                );
            }
        }
        out
    }
}
