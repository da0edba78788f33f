//! A drawing as PNG: shapes are filled with their exact share of each pixel across, and sixteen
//! samples down.
//!
//! Ours: a scan-line fill by the nonzero rule. It works at the size of the output, so a picture
//! costs no memory for a larger canvas behind it.

use super::font::Faces;
use super::ink::{Mark, Picture};
use super::outline::{disc, flatten, stroke};
use super::palette::Color;
use super::pen::Point;
use super::{ChartError, GRID};

/// Device pixels to one CSS pixel.
pub(crate) const DENSITY: u32 = 2;
/// Samples down within one pixel.
const ROWS: u32 = 16;

struct Edge {
    top: f64,
    bottom: f64,
    x_at_top: f64,
    slope: f64,
    turn: i32,
}

/// The picture being painted, three bytes a pixel.
struct Canvas {
    width: usize,
    height: usize,
    rgb: Vec<u8>,
    cover: Vec<f64>,
    step: Vec<f64>,
}

impl Canvas {
    fn new(width: u32, height: u32) -> Canvas {
        let (width, height) = (width as usize, height as usize);
        Canvas {
            width,
            height,
            rgb: vec![255; width * height * 3],
            cover: vec![0.0; width + 2],
            step: vec![0.0; width + 2],
        }
    }

    /// Fills closed contours.
    fn fill(&mut self, contours: &[Vec<Point>], color: Color) {
        let mut edges = Vec::new();
        for contour in contours {
            let next = contour.iter().cycle().skip(1);
            for (&(x0, y0), &(x1, y1)) in contour.iter().zip(next) {
                if y0 == y1 {
                    continue;
                }
                let slope = (x1 - x0) / (y1 - y0);
                let (top, bottom, x_at_top, turn) = if y0 < y1 {
                    (y0, y1, x0, 1)
                } else {
                    (y1, y0, x1, -1)
                };
                edges.push(Edge {
                    top,
                    bottom,
                    x_at_top,
                    slope,
                    turn,
                });
            }
        }
        edges.sort_by(|a, b| a.top.total_cmp(&b.top));
        let lowest = edges.iter().map(|e| e.bottom).fold(0.0, f64::max);
        let first = edges.first().map_or(0.0, |e| e.top.floor().max(0.0)) as usize;
        let last = (lowest.ceil().max(0.0) as usize).min(self.height);
        let mut waiting = edges.into_iter().peekable();
        let mut active: Vec<Edge> = Vec::new();
        let mut crossings: Vec<(f64, i32)> = Vec::new();
        for row in first..last {
            let row_top = row as f64;
            active.retain(|edge| edge.bottom > row_top);
            while let Some(edge) = waiting.next_if(|edge| edge.top < row_top + 1.0) {
                active.push(edge);
            }
            let mut reach = (self.width, 0);
            for sample in 0..ROWS {
                let y = row_top + (f64::from(sample) + 0.5) / f64::from(ROWS);
                crossings.clear();
                crossings.extend(
                    active
                        .iter()
                        .filter(|edge| edge.top <= y && y < edge.bottom)
                        .map(|edge| (edge.x_at_top + (y - edge.top) * edge.slope, edge.turn)),
                );
                crossings.sort_by(|a, b| a.0.total_cmp(&b.0));
                let mut winding = 0;
                let mut start = 0.0;
                for &(x, turn) in &crossings {
                    if winding == 0 {
                        start = x;
                    }
                    winding += turn;
                    if winding == 0 {
                        self.span(start, x, &mut reach);
                    }
                }
            }
            self.blend(row, reach, color);
        }
    }

    /// Adds one sample row's span to the row's shares.
    fn span(&mut self, from: f64, to: f64, reach: &mut (usize, usize)) {
        let limit = self.width as f64;
        let (from, to) = (from.clamp(0.0, limit), to.clamp(0.0, limit));
        if to <= from {
            return;
        }
        let weight = 1.0 / f64::from(ROWS);
        let (first, last) = (from.floor() as usize, to.floor() as usize);
        let mut add = |index: usize, share: f64| {
            if let Some(cell) = self.cover.get_mut(index) {
                *cell += share * weight;
            }
        };
        if first == last {
            add(first, to - from);
        } else {
            add(first, first as f64 + 1.0 - from);
            add(last, to - last as f64);
            let mut change = |index: usize, by: f64| {
                if let Some(cell) = self.step.get_mut(index) {
                    *cell += by * weight;
                }
            };
            change(first + 1, 1.0);
            change(last, -1.0);
        }
        *reach = (reach.0.min(first), reach.1.max(last + 1));
    }

    /// Lays the colour over one row by its shares, and clears them.
    fn blend(&mut self, row: usize, (from, to): (usize, usize), color: Color) {
        if from >= to {
            return;
        }
        let (red, green, blue) = color.rgb;
        let mut running = 0.0;
        let start = (row * self.width + from) * 3;
        let mut pixels = self
            .rgb
            .get_mut(start..)
            .unwrap_or_default()
            .chunks_exact_mut(3);
        let cells = self.cover.iter_mut().zip(self.step.iter_mut());
        for (index, (cover, step)) in cells.enumerate().skip(from).take(to + 1 - from) {
            running += std::mem::take(step);
            let share = (running + std::mem::take(cover)).clamp(0.0, 1.0);
            if index >= self.width {
                continue;
            }
            if let Some([r, g, b]) = pixels.next() {
                for (old, new) in [(r, red), (g, green), (b, blue)] {
                    let mixed = f64::from(*old) + (f64::from(new) - f64::from(*old)) * share;
                    *old = mixed.round() as u8;
                }
            }
        }
    }
}

/// Paints the drawing and encodes it.
pub(crate) fn write(picture: &Picture, faces: &Faces) -> Result<Vec<u8>, ChartError> {
    let (width, height) = (
        picture.size.width_px * DENSITY,
        picture.size.height_px * DENSITY,
    );
    let scale = f64::from(DENSITY) / f64::from(GRID);
    let place = |&(x, y): &(i32, i32)| (f64::from(x) * scale, f64::from(y) * scale);
    let mut canvas = Canvas::new(width, height);
    for mark in &picture.marks {
        match mark {
            Mark::Fill { points, color } => {
                canvas.fill(&[points.iter().map(place).collect()], *color);
            }
            Mark::Stroke {
                points,
                width,
                color,
            } => {
                let points: Vec<Point> = points.iter().map(place).collect();
                canvas.fill(&stroke(&points, f64::from(*width) * scale), *color);
            }
            Mark::Disc {
                center,
                radius,
                color,
            } => canvas.fill(&[disc(place(center), f64::from(*radius) * scale)], *color),
            Mark::Text {
                text,
                origin,
                size,
                weight,
                color,
            } => {
                let outline = faces.outline(text, *weight, *size * scale, place(origin));
                canvas.fill(&flatten(&outline), *color);
            }
        }
    }
    encode(&canvas.rgb, width, height)
}

fn encode(rgb: &[u8], width: u32, height: u32) -> Result<Vec<u8>, ChartError> {
    let mut out = Vec::new();
    let failed = |error: png::EncodingError| ChartError::Png {
        message: error.to_string(),
    };
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // A third larger than the best, and in a fraction of the time.
    encoder.set_compression(png::Compression::Fast);
    // 96 CSS pixels to the inch: a word processor then places it at the size of the SVG.
    let per_metre = (f64::from(DENSITY) * 96.0 / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(rgb).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(out)
}
