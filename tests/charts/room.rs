//! The check that words have room.

use super::*;

/// Every text lies on the drawing, off every other text and off the marks.
pub fn assert_room(picture: &Picture, size: Size, what: &str) {
    let texts = picture.texts();
    for (index, text) in texts.iter().enumerate() {
        let a = text.area;
        assert!(
            a.left_px >= 0.0
                && a.top_px >= 0.0
                && a.right_px <= f64::from(size.width_px)
                && a.bottom_px <= f64::from(size.height_px),
            "{what}: {:?} leaves the drawing: {a:?}",
            text.text
        );
        for other in &texts[index + 1..] {
            assert!(
                !a.overlaps(&other.area),
                "{what}: {:?} {a:?} overlaps {:?} {:?}",
                text.text,
                other.text,
                other.area
            );
        }
        for mark in picture.claimed() {
            assert!(!a.overlaps(mark), "{what}: {:?} covers a mark", text.text);
        }
        let contrast = text.color.contrast_ratio(palette::WHITE);
        assert!(
            contrast >= 4.5,
            "{what}: {:?} has contrast {contrast}",
            text.text
        );
        assert!(
            !text.text.contains(['-', '−']) || text.text.contains(' '),
            "{what}: {:?} looks negative",
            text.text
        );
    }
}

pub fn assert_good<C: Chart>(chart: &C, what: &str) -> Picture {
    let own = picture(chart, chart.size()).unwrap_or_else(|e| panic!("{what}: {e}"));
    assert_room(&own, chart.size(), what);
    for (width_px, height_px) in [(480, 300), (480, 360), (700, 420), (1600, 900)] {
        let size = Size {
            width_px,
            height_px,
        };
        let drawn = picture(chart, size).unwrap();
        assert_room(&drawn, size, &format!("{what} at {width_px} x {height_px}"));
    }
    own
}
