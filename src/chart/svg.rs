//! A drawing as SVG.
//!
//! Letters are paths, not text elements: the file prints crisp and lies the same on every
//! machine, with or without the font. Each path carries its words as `aria-label`, and the whole
//! a title and a description, so nothing is lost to a reader or a search. There are no ids, no
//! style sheet and no scripts: many drawings can stand in one page.

use super::GRID;
use super::font::{Faces, Piece};
use super::ink::{Mark, Picture};
use super::palette::Color;
use std::fmt::Write as _;

/// Text as XML character data or attribute value; what XML 1.0 does not allow becomes a space.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

fn paint(color: Color) -> String {
    let (red, green, blue) = color.rgb;
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// Appends a number with the least separator path data needs.
fn number(out: &mut String, value: i32) {
    if value >= 0 && out.ends_with(|last: char| last.is_ascii_digit()) {
        out.push(' ');
    }
    let _ = write!(out, "{value}");
}

/// Appends a straight step in the shortest form.
fn step(out: &mut String, dx: i32, dy: i32) {
    if dy == 0 {
        out.push('h');
        number(out, dx);
    } else if dx == 0 {
        out.push('v');
        number(out, dy);
    } else {
        out.push('l');
        number(out, dx);
        number(out, dy);
    }
}

fn polyline(points: &[(i32, i32)]) -> String {
    let mut out = String::new();
    let mut at = (0, 0);
    for (index, &(x, y)) in points.iter().enumerate() {
        if index == 0 {
            out.push('M');
            number(&mut out, x);
            number(&mut out, y);
        } else {
            step(&mut out, x - at.0, y - at.1);
        }
        at = (x, y);
    }
    out
}

fn letters(pieces: &[Piece]) -> String {
    let whole = |(x, y): (f64, f64)| (x.round() as i32, y.round() as i32);
    let mut out = String::new();
    let mut at = (0, 0);
    for (index, piece) in pieces.iter().enumerate() {
        at = match *piece {
            Piece::Move(to) => {
                let (x, y) = whole(to);
                out.push_str(if index > 0 { "zM" } else { "M" });
                number(&mut out, x);
                number(&mut out, y);
                (x, y)
            }
            Piece::Line(to) => {
                let (x, y) = whole(to);
                step(&mut out, x - at.0, y - at.1);
                (x, y)
            }
            Piece::Cubic(a, b, to) => {
                out.push('c');
                for (x, y) in [a, b, to].map(whole) {
                    number(&mut out, x - at.0);
                    number(&mut out, y - at.1);
                }
                whole(to)
            }
        };
    }
    out.push('z');
    out
}

/// Writes the drawing.
pub(crate) fn write(picture: &Picture, faces: &Faces) -> String {
    let (width, height) = (picture.size.width_px, picture.size.height_px);
    let (units_x, units_y) = (width * GRID.unsigned_abs(), height * GRID.unsigned_abs());
    let title = escape(&picture.title);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
         viewBox=\"0 0 {units_x} {units_y}\" role=\"img\" aria-label=\"{title}\">\n\
         <title>{title}</title>\n<desc>{}</desc>\n\
         <g fill=\"none\" stroke-linejoin=\"round\">\n",
        escape(&picture.description)
    );
    for mark in &picture.marks {
        let _ = match mark {
            Mark::Fill { points, color } => writeln!(
                out,
                "<path fill=\"{}\" d=\"{}z\"/>",
                paint(*color),
                polyline(points)
            ),
            Mark::Stroke {
                points,
                width,
                color,
            } => writeln!(
                out,
                "<path stroke=\"{}\" stroke-width=\"{width}\" d=\"{}\"/>",
                paint(*color),
                polyline(points)
            ),
            Mark::Disc {
                center,
                radius,
                color,
            } => writeln!(
                out,
                "<circle fill=\"{}\" cx=\"{}\" cy=\"{}\" r=\"{radius}\"/>",
                paint(*color),
                center.0,
                center.1
            ),
            Mark::Text {
                text,
                origin,
                size,
                weight,
                color,
            } => {
                let origin = (f64::from(origin.0), f64::from(origin.1));
                writeln!(
                    out,
                    "<path aria-label=\"{}\" fill=\"{}\" d=\"{}\"/>",
                    escape(text),
                    paint(*color),
                    letters(&faces.outline(text, *weight, *size, origin))
                )
            }
        };
    }
    out.push_str("</g>\n</svg>\n");
    out
}
