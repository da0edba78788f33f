//! What the parts of a drawing look like: classes for the page's own style, and presentation
//! attributes with custom properties, so that a drawing needs no style sheet and breaks no content
//! policy that forbids inline style.

/// The material of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// Skin of the hand and forearm that is meant.
    Skin,
    /// The same without an outline, over the seam between two parts.
    Seam,
    /// Skin of the helping hand.
    OtherSkin,
    /// Sleeve and other clothes.
    Cloth,
    /// The table.
    Table,
    /// The folded towel.
    Towel,
    /// The weight.
    Weight,
    /// The sensor.
    Sensor,
    /// Its strap.
    Strap,
    /// Creases, knuckles and nails.
    Fine,
    /// Where something must not be.
    Forbidden,
    /// The cross over it.
    Cross,
    /// The person of the small picture.
    Person,
    /// The arm meant, in the small picture.
    PersonArm,
}

/// How sure a part is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Firmness {
    /// Solid: as it is at the start, or as it stays.
    Solid,
    /// Dashed and unfilled: where it goes.
    Ghost,
}

/// Stroke of outlines, in units of the page.
pub(super) const STROKE: f64 = 2.2;

impl Ink {
    /// Class and presentation attributes of a closed shape or, `open`, of a line.
    pub fn attributes(self, firmness: Firmness, open: bool) -> String {
        let (class, fill, stroke, width) = match self {
            Ink::Skin => (
                "skin",
                "var(--drawing-skin, #f6dcc6)",
                "currentColor",
                STROKE,
            ),
            Ink::Seam => ("skin", "var(--drawing-skin, #f6dcc6)", "none", 0.0),
            Ink::OtherSkin => (
                "other-skin",
                "var(--drawing-other-skin, #e4e0dc)",
                "currentColor",
                STROKE * 0.8,
            ),
            Ink::Cloth => (
                "cloth",
                "var(--drawing-cloth, #b9cfe0)",
                "currentColor",
                STROKE,
            ),
            Ink::Table => (
                "table",
                "var(--drawing-table, #efe6d8)",
                "currentColor",
                STROKE * 0.6,
            ),
            Ink::Towel => (
                "towel",
                "var(--drawing-towel, #d5e8df)",
                "currentColor",
                STROKE * 0.7,
            ),
            Ink::Weight => (
                "weight",
                "var(--drawing-weight, #5a6472)",
                "currentColor",
                STROKE * 0.8,
            ),
            Ink::Sensor => (
                "sensor",
                "var(--drawing-sensor, #2f6fb0)",
                "currentColor",
                STROKE * 0.8,
            ),
            Ink::Strap => (
                "strap",
                "var(--drawing-strap, #8fb8dc)",
                "currentColor",
                STROKE * 0.7,
            ),
            Ink::Fine => ("fine", "none", "currentColor", STROKE * 0.55),
            Ink::Forbidden => (
                "forbidden",
                "none",
                "var(--drawing-forbidden, #b3261e)",
                STROKE * 0.8,
            ),
            Ink::Cross => (
                "forbidden",
                "none",
                "var(--drawing-forbidden, #b3261e)",
                STROKE * 1.6,
            ),
            Ink::Person => (
                "person",
                "var(--drawing-person, #e4e0dc)",
                "currentColor",
                STROKE * 0.5,
            ),
            Ink::PersonArm => (
                "person-arm",
                "var(--drawing-arrow, #0b6b4f)",
                "currentColor",
                STROKE * 0.4,
            ),
        };
        // The stroke of a closed outline is drawn under the fill: half of it is seen.
        let (fill, width) = if open {
            ("none", width)
        } else {
            (fill, width * 2.0)
        };
        match firmness {
            Firmness::Solid => format!(
                "class=\"drawing-{class}\" fill=\"{fill}\" stroke=\"{stroke}\" stroke-width=\"{:.2}\"",
                width
            ),
            Firmness::Ghost => {
                let ghost = if open {
                    "none"
                } else {
                    "var(--drawing-ghost, #fbf7f2)"
                };
                format!(
                    "class=\"drawing-{class} drawing-ghost\" fill=\"{ghost}\" stroke=\"var(--drawing-ghost-line, #6a645e)\" stroke-width=\"{:.2}\" stroke-dasharray=\"4 3\"",
                    width * 0.8
                )
            }
        }
    }
}

/// A style sheet that a page may serve beside its own: the drawings' colours in light, in dark and
/// in high contrast. Without it the drawings have the light colours.
pub const STYLE: &str = include_str!("drawing.css");
