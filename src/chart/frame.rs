//! What stands around a plot: heading above, remarks below.

use super::ChartError;
use super::font::Weight;
use super::palette::{INK, QUIET};
use super::pen::{Anchor, Pen, Type};
use plotters_backend::DrawingBackend;

/// Room at every edge of a drawing.
pub(crate) const EDGE_PX: f64 = 20.0;
/// Lines of remarks for each pixel of height: they take at most about a seventh of the drawing.
const NOTE_LINES_PER_PX: f64 = 0.0095;

const TITLE: Type = Type {
    size_px: 19.0,
    weight: Weight::SemiBold,
    color: INK,
};
const SUBTITLE: Type = Type {
    size_px: 13.0,
    weight: Weight::Regular,
    color: QUIET,
};

/// Writes title and subtitle, and returns the height used. A long title wraps, then shrinks, and
/// is cut only after that.
pub(crate) fn heading<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    title: &str,
    subtitle: &str,
) -> Result<f64, ChartError> {
    let width = pen.extent().0 - 2.0 * EDGE_PX;
    let mut look = TITLE;
    let mut lines = pen.wrap(title, look, width, usize::MAX);
    while lines.len() > 2 && look.size_px > 13.0 {
        look = look.sized(look.size_px - 1.0);
        lines = pen.wrap(title, look, width, usize::MAX);
    }
    let lines = pen.wrap(title, look, width, 2);
    let mut y = EDGE_PX - 4.0;
    for line in &lines {
        y += look.line_px();
        pen.text((EDGE_PX, y - 4.0), Anchor::Left, line, look)?;
    }
    for line in pen.wrap(subtitle, SUBTITLE, width, 2) {
        y += SUBTITLE.line_px();
        pen.text((EDGE_PX, y - 1.0), Anchor::Left, &line, SUBTITLE)?;
    }
    Ok(y + 6.0)
}

const NOTE: Type = Type {
    size_px: 11.5,
    weight: Weight::Regular,
    color: QUIET,
};

fn note_lines<DB: DrawingBackend>(pen: &Pen<'_, DB>, notes: &[String]) -> Vec<String> {
    let (width, height) = pen.extent();
    let most = (height * NOTE_LINES_PER_PX).floor().max(1.0) as usize;
    let mut lines = Vec::new();
    for note in notes {
        let left = most.saturating_sub(lines.len());
        if left > 0 {
            lines.extend(pen.wrap(note, NOTE, width - 2.0 * EDGE_PX, left.min(2)));
        }
    }
    lines
}

/// Height that remarks take at the foot of the drawing, the edge included.
pub(crate) fn remarks_px<DB: DrawingBackend>(pen: &Pen<'_, DB>, notes: &[String]) -> f64 {
    let lines = note_lines(pen, notes).len() as f64;
    let apart = if lines > 0.0 { 4.0 } else { 0.0 };
    EDGE_PX - 6.0 + NOTE.line_px() * lines + apart
}

/// Writes remarks at the foot of the drawing, and returns where they start.
pub(crate) fn remarks<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    notes: &[String],
) -> Result<f64, ChartError> {
    let top = pen.extent().1 - remarks_px(pen, notes);
    let mut baseline = top + 1.0;
    for line in note_lines(pen, notes) {
        baseline += NOTE.line_px();
        pen.text((EDGE_PX, baseline), Anchor::Left, &line, NOTE)?;
    }
    Ok(top)
}

/// A sentence in place of a plot.
pub(crate) fn nothing<DB: DrawingBackend>(
    pen: &mut Pen<'_, DB>,
    top: f64,
    bottom: f64,
    words: &str,
) -> Result<(), ChartError> {
    let middle = pen.extent().0 / 2.0;
    let look = Type::QUIET.sized(15.0);
    pen.text(
        (middle, (top + bottom) / 2.0 + 5.0),
        Anchor::Middle,
        words,
        look,
    )
}
