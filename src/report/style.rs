//! The page's look: style sheet, paper, and its letters, which travel within it.

use crate::review::Review;

const STYLE: &str = include_str!("style.css");
const REGULAR: &[u8] = include_bytes!("../chart/font/inter-regular-subset.otf");
const STRONG: &[u8] = include_bytes!("../chart/font/inter-semibold-subset.otf");

/// The letters of a page, within it.
pub(super) fn faces() -> String {
    let face = |weight: u32, bytes: &[u8]| {
        format!(
            "@font-face {{ font-family: \"Report Letters\"; font-weight: {weight}; src: url(data:font/otf;base64,{}) format(\"opentype\"); }}\n",
            base64(bytes)
        )
    };
    format!("{}{}", face(400, REGULAR), face(600, STRONG))
}

/// The style sheet. The patient's code holds no character that means anything here.
pub(super) fn style(review: &Review) -> String {
    // The size is the printer's own, A4 or Letter.
    let paper = format!(
        "@page {{ margin: 10mm 12mm 13mm; \
         @bottom-left {{ content: \"Patient {}\"; font: 8pt \"Report Letters\", sans-serif; color: #5d5568; }} \
         @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8pt \"Report Letters\", sans-serif; color: #5d5568; }} }}\n",
        review.patient
    );
    format!("{}{paper}{STYLE}", faces())
}

/// Base64 with padding.
///
/// Source: RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let mut bits = 0_u32;
        for place in 0..3 {
            bits = bits << 8 | three.get(place).map_or(0, |byte| u32::from(*byte));
        }
        for place in 0..4 {
            let letter = LETTERS.get((bits >> (18 - 6 * place) & 63) as usize);
            text.push(if place <= three.len() {
                letter.map_or('=', |letter| char::from(*letter))
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_standard() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
