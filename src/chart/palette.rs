//! The colours, and the published formula they are held against.
//!
//! Ours: violet ink and a sea green that differ in lightness first and in hue second, so that a
//! grey print and eyes that mix up red and green keep every difference.

/// A colour of the sRGB space.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Color {
    /// Red, green and blue, 0 to 255.
    pub rgb: (u8, u8, u8),
}

impl Color {
    const fn hex(rgb: u32) -> Color {
        let [_, red, green, blue] = rgb.to_be_bytes();
        Color {
            rgb: (red, green, blue),
        }
    }

    /// Relative luminance: 0 is black, 1 is white.
    ///
    /// Source: Web Content Accessibility Guidelines 2.2, W3C 2023, "relative luminance".
    pub fn luminance_ratio(self) -> f64 {
        let linear = |channel: u8| {
            let share = f64::from(channel) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        let (red, green, blue) = self.rgb;
        0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    }

    /// Contrast of two colours, 1 to 21.
    ///
    /// Source: Web Content Accessibility Guidelines 2.2, W3C 2023, "contrast ratio".
    pub fn contrast_ratio(self, other: Color) -> f64 {
        let (a, b) = (self.luminance_ratio(), other.luminance_ratio());
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }
}

/// The paper.
pub const WHITE: Color = Color::hex(0xff_ffff);
/// Titles, numbers, values.
pub const INK: Color = Color::hex(0x24_1b2f);
/// Subtitles, units, tick labels, remarks.
pub const QUIET: Color = Color::hex(0x5d_5568);
/// Axes and brackets.
pub const AXIS: Color = Color::hex(0x8b_8494);
/// Grid lines.
pub const RULE: Color = Color::hex(0xe6_e2ea);
/// The fill of what was asked for.
pub const BAND: Color = Color::hex(0xef_ebf6);
/// The edges of what was asked for.
pub const BAND_EDGE: Color = Color::hex(0x96_88b2);
/// Travel away from the start.
pub const LIFT: Color = Color::hex(0x1f_8a7d);
/// The pale bed under a hold.
pub const HOLD: Color = Color::hex(0xc6_b6e3);
/// The way back.
pub const LOWER: Color = Color::hex(0x3a_1a5e);
/// Dots of a rest.
pub const REST: Color = Color::hex(0x7b_7484);
/// A time within the band.
pub const IN_BAND: Color = Color::hex(0x62_ab9f);
/// A time shorter than asked.
pub const HURRIED: Color = Color::hex(0x86_1336);
/// A value that is held against nothing.
pub const NEUTRAL: Color = Color::hex(0xa9_a2b2);
/// The left hand.
pub const LEFT: Color = Color::hex(0x17_7568);
/// The right hand.
pub const RIGHT: Color = Color::hex(0x42_2070);
/// The spread around a value of the left hand.
pub const LEFT_SPREAD: Color = Color::hex(0xc3_e0da);
/// The spread around a value of the right hand.
pub const RIGHT_SPREAD: Color = Color::hex(0xd3_c6ea);
/// The stated error of a value of the left hand.
pub const LEFT_STATED: Color = Color::hex(0xe6_f3f0);
/// The stated error of a value of the right hand.
pub const RIGHT_STATED: Color = Color::hex(0xef_eaf8);
/// Strokes over a stretch without data, and the bed under an uncertain line.
pub const HATCH: Color = Color::hex(0xcc_c6d4);
/// The bed under an uncertain value.
pub const UNSURE: Color = Color::hex(0xe2_dde9);
