//! Day by day: sessions, repetitions, answers and nights over one time line, as one drawing.

use std::fmt::Write as _;

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};
use maud::{Markup, PreEscaped, html};

use crate::movement::Side;
use crate::pipeline::summary::SymptomKind;
use crate::review::{Review, SessionRow, SymptomRow, date_words};

/// The longest stretch drawn, days: twelve weeks. Earlier sessions stand in the tables.
const MOST_DAYS: i64 = 84;
/// The shortest, so that a few days are no poster.
const LEAST_DAYS: i64 = 14;
const WIDTH: f64 = 960.0;
const LEFT: f64 = 132.0;
const DATES: f64 = 16.0;
const ROW: f64 = 15.0;
const LANE: f64 = 20.0;
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
}

/// The drawing with its legend; nothing without sessions.
pub(super) fn days(review: &Review) -> Markup {
    let dates = || review.sessions.iter().map(|row| row.date);
    let (Some(first), Some(last)) = (dates().min(), dates().max()) else {
        return html! {};
    };
    let last = review.on.filter(|on| *on > last).unwrap_or(last);
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
            @if whole > count { " The last twelve weeks; earlier sessions stand in the tables." }
        }
    }
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

    fn sessions(&mut self) {
        self.label("sessions", ROW);
        let y = self.y;
        let outline = format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1\"");
        for (x, width, row) in self
            .rows()
            .into_iter()
            .map(|(x, width, row)| (x, width, row.clone()))
            .collect::<Vec<_>>()
        {
            let side = (width - 2.0).clamp(2.0, ROW - 5.0);
            let (left, top) = (x + (width - side) / 2.0, y + (ROW - side) / 2.0);
            let middle = (x + width / 2.0, y + ROW / 2.0);
            if row.visit_count > 0 {
                let (cx, half) = (middle.0, (ROW - 5.0) / 2.0);
                let points = format!(
                    "M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z",
                    cx - half,
                    middle.1 - half,
                    cx + half,
                    middle.1 - half,
                    cx,
                    middle.1 + half
                );
                self.path(&points, &format!("fill=\"{INK}\""));
            } else if row.set_count > 0 {
                self.box_at((left, top), (side, side), &outline);
                let share = match row.prescribed_count {
                    Some(asked) if asked > 0 => {
                        (f64::from(row.done_count) / f64::from(asked)).clamp(0.0, 1.0)
                    }
                    _ => 0.5,
                };
                let full = side * share;
                let ink = format!("fill=\"{INK}\"");
                self.box_at((left, top + side - full), (side, full), &ink);
                if !row.stops.is_empty() {
                    let notch = format!("fill=\"#fff\" stroke=\"{WARN}\" stroke-width=\"1.5\"");
                    self.dot(middle, side / 4.0, &notch);
                }
            } else if !row.skipped.is_empty() || !row.declined.is_empty() {
                self.box_at((left, top), (side, side), &outline);
                let points = format!("M{left:.1} {:.1}L{:.1} {top:.1}", top + side, left + side);
                self.path(&points, &format!("stroke=\"{INK}\" stroke-width=\"1\""));
            } else {
                self.dot(middle, 1.8, &format!("fill=\"{INK}\""));
            }
        }
        self.y += ROW;
    }

    fn repetitions(&mut self) {
        let rows = self.review.sessions.iter();
        let most = rows
            .map(|row| row.done_count.max(row.prescribed_count.unwrap_or(0)))
            .max()
            .unwrap_or(0);
        if most == 0 {
            return;
        }
        self.label(&format!("repetitions, most {most}"), LANE);
        let height = |count: u32| (LANE - 5.0) * f64::from(count) / f64::from(most);
        let base = self.y + LANE - 2.0;
        let bars: Vec<(f64, f64, u32, Option<u32>)> = self
            .rows()
            .into_iter()
            .filter(|(_, _, row)| row.set_count > 0)
            .map(|(x, width, row)| (x, width, row.done_count, row.prescribed_count))
            .collect();
        for (x, width, done, asked) in bars {
            let bar = (width * 0.6).clamp(1.0, 9.0);
            let left = x + (width - bar) / 2.0;
            if let Some(asked) = asked {
                let look = format!("fill=\"none\" stroke=\"{QUIET}\" stroke-width=\"0.7\"");
                self.box_at((left, base - height(asked)), (bar, height(asked)), &look);
            }
            let fill = format!("fill=\"{}\"", if asked.is_some() { INK } else { QUIET });
            self.box_at((left, base - height(done)), (bar, height(done)), &fill);
        }
        self.base_line(base);
        self.y += LANE;
    }

    fn base_line(&mut self, y: f64) {
        let look = format!("fill=\"{RULE}\"");
        self.box_at((LEFT, y), (WIDTH - LEFT, 0.7), &look);
    }

    /// Lanes of the questions that had an answer above 0; the rest in words.
    fn symptoms(&mut self) -> String {
        let (mut zero, mut silent) = (Vec::new(), Vec::new());
        for side in [Some(Side::Left), Some(Side::Right), None] {
            for kind in SymptomKind::ALL {
                let name = format!("{} {}", kind.name(), side.map_or("", Side::name));
                let answers: Vec<(f64, f64, SymptomRow)> = self
                    .rows()
                    .into_iter()
                    .flat_map(|(x, width, row)| {
                        let of = |s: &&SymptomRow| s.kind == kind && s.side == side;
                        let found = row.symptoms.iter().filter(of);
                        found.map(move |symptom| (x, width, symptom.clone()))
                    })
                    .collect();
                let worst = answers.iter().filter_map(|(.., s)| s.worst()).max();
                match worst {
                    None if side.is_some() => silent.push(name),
                    None => {}
                    Some(0) => zero.push(name),
                    Some(worst) => self.lane(&name, worst, &answers),
                }
            }
        }
        let said = |lead: &str, names: &[String]| {
            if names.is_empty() {
                String::new()
            } else {
                format!("{lead}: {}. ", names.join(", "))
            }
        };
        format!("{}{}", said("Always 0", &zero), said("No answers", &silent))
    }

    fn lane(&mut self, name: &str, worst: u8, answers: &[(f64, f64, SymptomRow)]) {
        self.label(&format!("{name}, worst {worst}"), LANE);
        let base = self.y + LANE - 2.0;
        let height = |value: u8| (LANE - 5.0) * f64::from(value) / 10.0;
        for (x, width, symptom) in answers {
            let bar = (width * 0.34).clamp(1.0, 5.0);
            let middle = x + width / 2.0;
            if let Some(before) = symptom.before {
                let tall = height(before).max(0.8);
                let look = format!("fill=\"{PALE}\"");
                self.box_at((middle - bar, base - tall), (bar, tall), &look);
            }
            let later = [symptom.during, symptom.after, symptom.time_unknown];
            if let Some(later) = later.into_iter().flatten().max() {
                let tall = height(later).max(0.8);
                let look = format!("fill=\"{INK}\"");
                self.box_at((middle, base - tall), (bar, tall), &look);
            }
            if let Some(morning) = symptom.next_morning {
                let look = format!("fill=\"{WARN}\"");
                let at = (middle + bar + 2.0, base - height(morning));
                self.dot(at, 2.0, &look);
            }
        }
        self.base_line(base);
        self.y += LANE;
    }

    fn nights(&mut self) {
        let nights: Vec<(f64, bool)> = self
            .rows()
            .into_iter()
            .flat_map(|(x, width, row)| {
                let woke = row.nights.iter().filter_map(|night| night.woke);
                woke.map(move |woke| (x + width / 2.0, woke))
            })
            .collect();
        self.label(
            if nights.is_empty() {
                "nights, no answers"
            } else {
                "nights woken"
            },
            ROW,
        );
        let y = self.y + ROW / 2.0;
        for (x, woke) in nights {
            let look = if woke {
                format!("fill=\"{WARN}\"")
            } else {
                format!("fill=\"none\" stroke=\"{QUIET}\" stroke-width=\"1\"")
            };
            self.dot((x, y), 3.0, &look);
        }
        self.y += ROW;
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
