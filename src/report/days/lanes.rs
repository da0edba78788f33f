//! The lanes of the drawing: sessions, repetitions, answers, nights.

use super::{Days, INK, LANE, LEFT, PALE, QUIET, ROW, RULE, WARN, WIDTH};
use crate::movement::Side;
use crate::pipeline::summary::SymptomKind;
use crate::review::SymptomRow;

impl Days<'_> {
    pub(super) fn sessions(&mut self) {
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

    pub(super) fn repetitions(&mut self) {
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

    pub(super) fn base_line(&mut self, y: f64) {
        let look = format!("fill=\"{RULE}\"");
        self.box_at((LEFT, y), (WIDTH - LEFT, 0.7), &look);
    }

    /// Lanes of the questions that had an answer above 0; the rest in words.
    pub(super) fn symptoms(&mut self) -> String {
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

    pub(super) fn lane(&mut self, name: &str, worst: u8, answers: &[(f64, f64, SymptomRow)]) {
        self.label(&format!("{name}, worst {worst}"), self.lane);
        let base = self.y + self.lane - 2.0;
        let tallest = self.lane - 5.0;
        let height = |value: u8| tallest * f64::from(value) / 10.0;
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
        self.y += self.lane;
    }

    pub(super) fn nights(&mut self) {
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
}
