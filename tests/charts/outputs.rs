//! SVG, PNG and foreign backends.

use super::*;

/// Pixels of a PNG, three bytes each, with its width and height.
fn decoded(bytes: &[u8]) -> (Vec<u8>, u32, u32) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (pixels, info.width, info.height)
}

#[test]
fn the_png_is_twice_the_size_and_white_at_its_edges() {
    let chart = rich_set();
    let (pixels, width, height) = decoded(&png(&chart).unwrap());
    assert_eq!(
        (width, height),
        (2 * chart.size().width_px, 2 * chart.size().height_px)
    );
    let at = |x: u32, y: u32| {
        let start = ((y * width + x) * 3) as usize;
        [pixels[start], pixels[start + 1], pixels[start + 2]]
    };
    for x in 0..width {
        assert_eq!(at(x, 0), [255; 3]);
        assert_eq!(at(x, height - 1), [255; 3]);
    }
    let inked = pixels.chunks(3).filter(|p| *p != [255; 3]).count();
    assert!(inked > 20_000, "{inked} pixels are inked");
}

#[test]
fn the_svg_holds_every_text_and_a_view_box_and_nothing_that_clashes() {
    let chart = rich_set();
    let drawn = picture(&chart, chart.size()).unwrap();
    let svg = drawn.svg().unwrap();
    assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"880\" height=\"480\" viewBox=\"0 0 8800 4800\" role=\"img\""));
    assert!(svg.contains(&format!("<title>{}</title>", chart.title)));
    assert!(svg.contains("<desc>Wrist extension. Angle against time over 8 repetitions"));
    for text in drawn.texts() {
        assert!(
            svg.contains(&format!("aria-label=\"{}\"", text.text)),
            "{:?}",
            text.text
        );
    }
    for absent in [
        " id=",
        "<style",
        "<script",
        "<text",
        "font-family",
        "href",
        "url(",
    ] {
        assert!(!svg.contains(absent), "{absent}");
    }
    assert_eq!(
        svg.matches("<path").count() + svg.matches("<circle").count(),
        svg.matches("/>").count()
    );
}

#[test]
fn one_drawing_gives_both_outputs_and_always_the_same() {
    let (a, b) = (rich_set(), rich_set());
    assert_eq!(svg(&a).unwrap(), svg(&b).unwrap());
    assert_eq!(png(&a).unwrap(), png(&b).unwrap());
    let drawn = picture(&a, a.size()).unwrap();
    assert_eq!(drawn.svg().unwrap(), svg(&a).unwrap());
    assert_eq!(drawn.png().unwrap(), png(&a).unwrap());
}

#[test]
fn the_drawing_function_takes_any_plotters_backend() {
    use plotters::prelude::{IntoDrawingArea, SVGBackend};
    let chart = three_sets();
    let mut foreign = String::new();
    let texts = {
        let step = GRID.unsigned_abs();
        let Size {
            width_px,
            height_px,
        } = chart.size();
        let backend = SVGBackend::with_string(&mut foreign, (width_px * step, height_px * step));
        let area = backend.into_drawing_area();
        let texts = draw(&chart, &area).unwrap();
        area.present().unwrap();
        texts
    };
    let own = picture(&chart, chart.size()).unwrap();
    assert_eq!(texts, own.texts());
    for text in &texts {
        assert!(foreign.contains(&text.text), "{:?}", text.text);
    }
}

#[test]
fn twenty_minutes_weigh_little() {
    let mut chart = invented_set(20, 1200.0, 0.0, 40.0);
    let step = 1.0 / 104.0;
    chart.trace = (0..124_800)
        .map(|n| TracePoint {
            t_s: f64::from(n) * step,
            angle_deg: 20.0 + 20.0 * (f64::from(n) * step).sin() + wobble(n as usize),
            uncertainty_deg: Some(2.0),
        })
        .collect();
    let bytes = svg(&chart).unwrap().len();
    assert!(bytes < 400_000, "{bytes} bytes");
}
