//! The marks of the repetitions done: a column a session, and the load as a staircase.

use super::axis::{count_ticks, plain, ticks};
use super::done::{DoneChart, Layout};
use super::frame::EDGE_PX;
use super::palette::{AXIS, HOLD, IN_BAND, INK, LOWER, NEUTRAL, RULE};
use super::pen::{Anchor, Pen, Type};
use super::{Area, ChartError};
use plotters_backend::DrawingBackend;

impl DoneChart {
    pub(super) fn columns<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        for tick in count_ticks(
            at.counts.range().1,
            ((at.bottom - at.top) / 36.0).clamp(2.0, 6.0),
        ) {
            let y = at.counts.at(tick);
            pen.line(&[(at.left, y), (at.right, y)], RULE, 1.0)?;
            pen.text(
                (at.left - 8.0, y + 4.0),
                Anchor::Right,
                &plain(tick, 0),
                Type::QUIET,
            )?;
        }
        pen.text(
            (EDGE_PX, at.top - 12.0),
            Anchor::Left,
            "repetitions: filled is done, the outline is prescribed",
            Type::QUIET,
        )?;
        for (session, x) in self.sessions.iter().zip(&at.places) {
            let column = |from: f64, to: f64| Area {
                left_px: x - at.column / 2.0,
                top_px: at.counts.at(to),
                right_px: x + at.column / 2.0,
                bottom_px: at.counts.at(from),
            };
            let done = f64::from(session.done_count);
            let Some(asked) = session.prescribed_count.map(f64::from) else {
                pen.bar(column(0.0, done), NEUTRAL)?;
                continue;
            };
            pen.bar(column(0.0, done.min(asked)), IN_BAND)?;
            if done > asked {
                pen.bar(column(asked, done), HOLD)?;
            }
            if at.column >= 5.0 {
                pen.box_line(column(0.0, asked), INK, 1.0)?;
            } else {
                let y = at.counts.at(asked);
                pen.line(
                    &[(x - at.column / 2.0, y), (x + at.column / 2.0, y)],
                    INK,
                    1.0,
                )?;
            }
        }
        pen.line(&[(at.left, at.bottom), (at.right, at.bottom)], AXIS, 1.2)
    }

    pub(super) fn loads<DB: DrawingBackend>(
        &self,
        pen: &mut Pen<'_, DB>,
        at: &Layout,
    ) -> Result<(), ChartError> {
        let Some((scale, top, bottom)) = at.load else {
            return Ok(());
        };
        pen.text((EDGE_PX, top - 10.0), Anchor::Left, "load, kg", Type::QUIET)?;
        for tick in ticks(scale.range(), ((bottom - top) / 20.0).clamp(1.0, 4.0)) {
            let y = scale.at(tick);
            pen.line(&[(at.left, y), (at.right, y)], RULE, 1.0)?;
            pen.text(
                (at.left - 8.0, y + 4.0),
                Anchor::Right,
                &plain(tick, 2),
                Type::QUIET,
            )?;
        }
        let half = at.column / 2.0;
        let mut steps = Vec::new();
        let mut before: Option<f64> = None;
        let mut named = Vec::new();
        for (session, x) in self.sessions.iter().zip(&at.places) {
            let Some(kg) = session.load_kg else {
                pen.line(&steps, LOWER, 2.4)?;
                steps.clear();
                before = None;
                continue;
            };
            let y = scale.at(kg);
            if let Some(old) = before {
                steps.push((x - half, scale.at(old)));
            }
            steps.extend([(x - half, y), (x + half, y)]);
            if before != Some(kg) {
                named.push((x - half, y, kg));
            }
            before = Some(kg);
        }
        pen.line(&steps, LOWER, 2.4)?;
        for (x, y, kg) in named {
            let words = format!("{} kg", plain(kg, 2));
            pen.text_if_free((x, y - 6.0), Anchor::Left, &words, Type::STRONG)?;
        }
        Ok(())
    }
}
