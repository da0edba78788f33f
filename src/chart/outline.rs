//! Shapes as closed contours to be filled: lines of some width, discs, letters.

use super::font::Piece;
use super::pen::Point;

/// Turns a polygon so that all pieces of one stroke wind the same way.
fn wound(mut polygon: Vec<Point>) -> Vec<Point> {
    let next = polygon.iter().cycle().skip(1);
    let area: f64 = polygon
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - b.0 * a.1)
        .sum();
    if area < 0.0 {
        polygon.reverse();
    }
    polygon
}

/// A filled circle as a polygon.
pub(super) fn disc(center: Point, radius: f64) -> Vec<Point> {
    let sides = (radius * 6.0).clamp(12.0, 64.0) as u32;
    (0..sides)
        .map(|side| {
            let turn = f64::from(side) / f64::from(sides) * std::f64::consts::TAU;
            (
                center.0 + radius * turn.cos(),
                center.1 + radius * turn.sin(),
            )
        })
        .collect()
}

/// The outer side of a bend at `a` between two segments' left normals, as a slice of a disc.
fn wedge(a: Point, before: Point, after: Point) -> Vec<Point> {
    let cross = before.0 * after.1 - before.1 * after.0;
    let side = if cross > 0.0 { -1.0 } else { 1.0 };
    let radius = before.0.hypot(before.1);
    let from = (side * before.1).atan2(side * before.0);
    let turn = cross.atan2(before.0 * after.0 + before.1 * after.1);
    let steps = (turn.abs() * radius).clamp(2.0, 32.0) as u32;
    let arc = (0..=steps).map(|step| {
        let angle = from + turn * f64::from(step) / f64::from(steps);
        (a.0 + radius * angle.cos(), a.1 + radius * angle.sin())
    });
    std::iter::once(a).chain(arc).collect()
}

/// A line of some width as polygons: one for each segment, and a wedge at each bend.
pub(super) fn stroke(points: &[Point], width: f64) -> Vec<Vec<Point>> {
    let half = width / 2.0;
    let mut pieces = Vec::new();
    let mut before: Option<Point> = None;
    for (a, b) in points.iter().zip(points.iter().skip(1)) {
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length = dx.hypot(dy);
        if length == 0.0 {
            continue;
        }
        let (nx, ny) = (-dy / length * half, dx / length * half);
        if let Some(before) = before {
            pieces.push(wound(wedge(*a, before, (nx, ny))));
        }
        before = Some((nx, ny));
        pieces.push(wound(vec![
            (a.0 + nx, a.1 + ny),
            (b.0 + nx, b.1 + ny),
            (b.0 - nx, b.1 - ny),
            (a.0 - nx, a.1 - ny),
        ]));
    }
    pieces
}

/// Outlines as polygons, each curve in eight steps.
pub(super) fn flatten(pieces: &[Piece]) -> Vec<Vec<Point>> {
    const STEPS: u32 = 8;
    let mut contours: Vec<Vec<Point>> = Vec::new();
    for piece in pieces {
        if let Piece::Move(to) = piece {
            contours.push(vec![*to]);
            continue;
        }
        let Some(contour) = contours.last_mut() else {
            continue;
        };
        let from = contour.last().copied().unwrap_or_default();
        match *piece {
            Piece::Move(_) => {}
            Piece::Line(to) => contour.push(to),
            Piece::Cubic(a, b, to) => contour.extend((1..=STEPS).map(|step| {
                let t = f64::from(step) / f64::from(STEPS);
                let s = 1.0 - t;
                let mix = |p0: f64, p1: f64, p2: f64, p3: f64| {
                    s * s * s * p0 + 3.0 * s * s * t * p1 + 3.0 * s * t * t * p2 + t * t * t * p3
                };
                (mix(from.0, a.0, b.0, to.0), mix(from.1, a.1, b.1, to.1))
            })),
        }
    }
    contours
}
