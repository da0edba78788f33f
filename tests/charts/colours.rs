//! Contrast and lightness.

use super::*;

/// Source of the formula and of 4.5:1 for text, 3:1 for marks: Web Content Accessibility
/// Guidelines 2.2, W3C 2023, success criteria 1.4.3 and 1.4.11.
#[test]
fn texts_and_marks_stand_out_from_the_paper() {
    let white = palette::WHITE;
    let black = Color { rgb: (0, 0, 0) };
    assert!((white.contrast_ratio(black) - 21.0).abs() < 1e-9);
    // The lightest grey that passes 4.5:1 on white is #767676 (same source, technique G18).
    let grey = Color {
        rgb: (0x76, 0x76, 0x76),
    };
    assert!(grey.contrast_ratio(white) >= 4.5);
    let lighter = Color {
        rgb: (0x77, 0x77, 0x77),
    };
    assert!(lighter.contrast_ratio(white) < 4.5);
    for text in [
        palette::INK,
        palette::QUIET,
        palette::HURRIED,
        palette::LOWER,
        palette::LEFT,
        palette::RIGHT,
    ] {
        assert!(text.contrast_ratio(white) >= 4.5, "{text:?}");
    }
    for mark in [palette::LIFT, palette::REST, palette::AXIS] {
        assert!(
            mark.contrast_ratio(white) >= 3.0,
            "{mark:?} {}",
            mark.contrast_ratio(white)
        );
    }
}

/// What must be told apart differs in lightness, so that a grey print keeps it (common practice,
/// no source for the figure of 1.6).
#[test]
fn what_must_be_told_apart_differs_in_lightness() {
    for (a, b) in [
        (palette::LIFT, palette::LOWER),
        (palette::HOLD, palette::LIFT),
        (palette::HOLD, palette::LOWER),
        (palette::IN_BAND, palette::HURRIED),
        (palette::LEFT, palette::RIGHT),
        (palette::REST, palette::LOWER),
    ] {
        let apart = a.contrast_ratio(b);
        assert!(apart >= 1.6, "{a:?} and {b:?}: {apart}");
    }
}
