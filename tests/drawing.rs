//! The drawings of the patient's page: well formed, within their frame, left the mirror of right,
//! thumb and arrows on the side they belong to. Writes a gallery to look at, `drawings.html` in the
//! target's folder for tests.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops at the first surprise"
)]

#[path = "drawing/svg.rs"]
mod svg;

use carpotempo::drawing::{
    Care, Glide, HandView, STYLE, care_drawing, glide_drawing, movement_drawing, sensor_drawing,
    stretch_drawing,
};
use carpotempo::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, LoadShape, Movement, Posture, Side, Stretch,
};
use std::sync::LazyLock;
use svg::{Extent, Svg};

const SIDES: [Side; 2] = [Side::Right, Side::Left];
const LOADS: [Option<LoadShape>; 3] = [None, Some(LoadShape::Centred), Some(LoadShape::OneSided)];
const ROTATIONS: [ForearmRotation; 4] = [
    ForearmRotation::PalmDown,
    ForearmRotation::ThumbUp,
    ForearmRotation::PalmUp,
    ForearmRotation::LittleFingerUp,
];

fn postures() -> Vec<Posture> {
    let mut postures = Vec::new();
    for direction in [
        ForearmDirection::Level,
        ForearmDirection::Hanging,
        ForearmDirection::Upright,
    ] {
        for forearm in [ForearmSupport::Rested, ForearmSupport::Free] {
            for rotation in ROTATIONS {
                for elbow_deg in [None, Some(0.0), Some(45.0)] {
                    postures.push(Posture {
                        elbow_deg,
                        forearm,
                        direction,
                        rotation,
                    });
                }
            }
        }
    }
    postures
}

/// Every movement in every posture with every load, by a name.
fn movements(side: Side) -> Vec<(String, String)> {
    let mut drawn = Vec::new();
    for movement in Movement::ALL {
        for posture in postures() {
            for load in LOADS {
                let name = format!("{} {posture:?} {load:?}", movement.name());
                drawn.push((name, movement_drawing(movement, side, &posture, load)));
            }
        }
    }
    drawn
}

/// Everything else, by a name.
fn others(side: Side) -> Vec<(String, String)> {
    let mut drawn = Vec::new();
    for view in [HandView::Back, HandView::Palm, HandView::Forearm] {
        drawn.push((format!("sensor {view:?}"), sensor_drawing(side, view)));
    }
    for stretch in Stretch::ALL {
        drawn.push((stretch.name().to_owned(), stretch_drawing(stretch, side)));
    }
    for care in Care::ALL {
        drawn.push((care.name().to_owned(), care_drawing(care, side)));
    }
    for glides in [&Glide::ORDER[..], &Glide::SHORT[..], &[Glide::Hook], &[]] {
        let name = format!("glides {}", glides.len());
        drawn.push((name, glide_drawing(glides, side)));
    }
    drawn
}

fn drawn(side: Side) -> Vec<(String, String)> {
    let mut drawn = movements(side);
    drawn.extend(others(side));
    drawn
}

/// Right hands, then left ones.
static EVERYTHING: LazyLock<[Vec<(String, String)>; 2]> = LazyLock::new(|| SIDES.map(drawn));

fn everything() -> impl Iterator<Item = &'static (String, String)> {
    EVERYTHING.iter().flatten()
}

#[test]
fn every_drawing_is_well_formed_and_says_what_it_is() {
    for (name, text) in everything() {
        let svg = Svg::read(text).unwrap_or_else(|wrong| panic!("{name}: {wrong}\n{text}"));
        assert!(text.starts_with("<svg "), "{name}");
        assert!(text.contains("role=\"img\""), "{name}");
        assert!(svg.title.len() > 8, "{name}: {}", svg.title);
        assert!(svg.description.len() > 30, "{name}: {}", svg.description);
        assert!(svg.width > 0.0 && svg.height > 0.0, "{name}");
    }
}

/// A page's content policy may forbid inline style and scripts, and the same drawing may stand on a
/// page twice.
#[test]
fn a_drawing_carries_no_style_no_script_no_identifier_and_fetches_nothing() {
    for (name, text) in everything() {
        let text = text.replace("http://www.w3.org/2000/svg", "");
        for word in [
            "style=", "<style", "<script", " id=", "href", "http", "url(", "<image",
        ] {
            assert!(!text.contains(word), "{name} has {word}");
        }
    }
    assert!(!STYLE.contains("url("));
}

#[test]
fn everything_lies_within_the_frame() {
    for (name, text) in everything() {
        assert!(!text.contains("NaN") && !text.contains("inf "), "{name}");
        let svg = Svg::read(text).unwrap();
        for part in svg.parts {
            let Extent { low, high } = part.extent;
            assert!(
                low.0 >= 0.0 && low.1 >= 0.0 && high.0 <= svg.width && high.1 <= svg.height,
                "{name}: {} reaches {low:?} {high:?} of {} x {}",
                part.class,
                svg.width,
                svg.height
            );
        }
    }
}

#[test]
fn unlikely_elbows_are_drawn_too() {
    for elbow_deg in [f64::NAN, f64::INFINITY, -1e9, 1e300] {
        let posture = Posture {
            elbow_deg: Some(elbow_deg),
            ..Movement::WristFlexion.usual_posture()
        };
        let text = movement_drawing(Movement::WristFlexion, Side::Left, &posture, None);
        let svg = Svg::read(&text).unwrap();
        assert!(!svg.parts.is_empty());
        assert!(!text.contains("NaN"), "{text}");
    }
}

#[test]
fn a_drawing_is_the_same_each_time() {
    assert!(EVERYTHING[0] == drawn(Side::Right));
}

/// Part by part; the finger positions are read from left to right on either hand and are mirrored
/// each in its own cell.
#[test]
fn the_left_hand_is_the_right_one_mirrored() {
    let [right, left] = &*EVERYTHING;
    assert_eq!(right.len(), left.len());
    for ((name, right), (_, left)) in right.iter().zip(left) {
        if name == "glides 5" || name == "glides 3" {
            continue;
        }
        let (right, left) = (Svg::read(right).unwrap(), Svg::read(left).unwrap());
        assert_eq!(right.parts.len(), left.parts.len(), "{name}");
        for (own, other) in right.parts.iter().zip(&left.parts) {
            assert_eq!(
                (&own.class, &own.words),
                (&other.class, &other.words),
                "{name}"
            );
            let mirrored = Extent {
                low: (right.width - own.extent.high.0, own.extent.low.1),
                high: (right.width - own.extent.low.0, own.extent.high.1),
            };
            assert!(
                mirrored.differs_by(&other.extent) < 0.45,
                "{name}: {}: {mirrored:?} {:?}",
                own.class,
                other.extent
            );
        }
    }
}

#[test]
fn finger_positions_are_read_from_left_to_right_on_either_hand() {
    for side in SIDES {
        let svg = Svg::read(&glide_drawing(&Glide::SHORT, side)).unwrap();
        let at = |word: &str| svg.words(word).middle().0;
        assert!(at("1") < at("2") && at("2") < at("3"));
        assert!(at("straight") < at("wide open") && at("wide open") < at("loose fist"));
    }
}

/// Anatomy: with the fingers up, the thumb of a right hand points left when its back is seen and
/// right when its palm is.
#[test]
fn the_thumb_is_on_its_side_from_back_and_palm() {
    for (side, view, to_the_right) in [
        (Side::Right, HandView::Back, false),
        (Side::Right, HandView::Palm, true),
        (Side::Right, HandView::Forearm, false),
        (Side::Left, HandView::Back, true),
        (Side::Left, HandView::Palm, false),
        (Side::Left, HandView::Forearm, true),
    ] {
        let svg = Svg::read(&sensor_drawing(side, view)).unwrap();
        let thumb = svg.words("thumb").middle().0;
        assert_eq!(thumb > svg.width / 2.0, to_the_right, "{side:?} {view:?}");
    }
}

/// The strap lies between the hatched heel of the palm and the fingers, clear of the hatching.
#[test]
fn the_strap_is_clear_of_wrist_and_heel_of_the_palm() {
    let svg = Svg::read(&sensor_drawing(Side::Right, HandView::Palm)).unwrap();
    let strap = svg.of("drawing-strap").next().unwrap();
    let forbidden: Vec<_> = svg.of("drawing-forbidden").collect();
    assert!(forbidden.len() > 5);
    for stroke in forbidden {
        assert!(stroke.extent.low.1 > strap.extent.high.1 + 5.0);
    }
    svg.words("not here");
    svg.words("one finger");
    let back = Svg::read(&sensor_drawing(Side::Right, HandView::Back)).unwrap();
    let unit = back.of("drawing-sensor").next().unwrap().extent.middle().1;
    let strap = back.of("drawing-strap").next().unwrap().extent;
    assert!((strap.low.1..strap.high.1).contains(&unit));
    assert!(unit < back.words("wrist").middle().1);
}

/// The second unit lies above the wrist, clear of it, as far as its words say, and the hand's as it
/// does alone.
#[test]
fn the_second_sensor_is_on_the_forearm_clear_of_the_wrist() {
    for side in SIDES {
        let svg = Svg::read(&sensor_drawing(side, HandView::Forearm)).unwrap();
        let [hand, forearm] = svg.of("drawing-sensor").collect::<Vec<_>>()[..] else {
            panic!("two units");
        };
        let wrist = svg.words("wrist").middle().1;
        assert!(hand.extent.high.1 < wrist && forearm.extent.low.1 > wrist);
        // The units are 12 cm apart, the hand's 7 cm beyond the wrist; two fingers are about 3.5 cm.
        let (over, under) = (hand.extent, forearm.extent);
        let cm = (under.middle().1 - over.middle().1) / 12.1;
        let clear_cm = (under.low.1 - over.middle().1) / cm - 6.9;
        assert!((3.0..4.0).contains(&clear_cm), "{clear_cm} cm");
        svg.words("second sensor");
        svg.words("two fingers");
    }
}

fn lift(movement: Movement, side: Side, posture: &Posture, load: Option<LoadShape>) -> (f64, f64) {
    let svg = Svg::read(&movement_drawing(movement, side, posture, load)).unwrap();
    let arrow = svg.of("drawing-lift").next().unwrap();
    let (start, end) = (arrow.points[0], *arrow.points.last().unwrap());
    (end.0 - start.0, end.1 - start.1)
}

/// Gravity: in its usual posture each curl lifts the weight, so the thick arrow goes up the page.
#[test]
fn the_curls_lift_in_their_usual_postures() {
    for movement in [
        Movement::WristExtension,
        Movement::WristFlexion,
        Movement::RadialDeviation,
        Movement::UlnarDeviation,
    ] {
        for side in SIDES {
            let (_, down) = lift(
                movement,
                side,
                &movement.usual_posture(),
                Some(LoadShape::OneSided),
            );
            assert!(down < -15.0, "{} {side:?}: {down}", movement.name());
        }
    }
}

/// Anatomy: seen as the own arm, palm up turns a right hand's thumb to the right, palm down to the
/// left; a left hand's the other way.
#[test]
fn rotation_goes_outward_for_palm_up() {
    for (movement, side, to_the_right) in [
        (Movement::Supination, Side::Right, true),
        (Movement::Supination, Side::Left, false),
        (Movement::Pronation, Side::Right, false),
        (Movement::Pronation, Side::Left, true),
    ] {
        for load in LOADS {
            let (right, _) = lift(movement, side, &movement.usual_posture(), load);
            assert_eq!(
                right > 0.0,
                to_the_right,
                "{} {side:?} {load:?}",
                movement.name()
            );
        }
    }
}

/// Hanging, the heavy end lies behind and the thumb in front; the right arm faces left.
#[test]
fn a_hanging_weight_for_the_little_finger_side_is_heavy_behind() {
    let posture = Movement::UlnarDeviation.usual_posture();
    let load = Some(LoadShape::OneSided);
    let text = movement_drawing(Movement::UlnarDeviation, Side::Right, &posture, load);
    let svg = Svg::read(&text).unwrap();
    assert!(svg.words("thumb").middle().0 < svg.words("heavy end").middle().0);
}

/// The weight stays over the table: nothing of it, at the start or the end, lies below the table's
/// lower edge or beyond its ends on the page.
#[test]
fn a_rested_weight_stays_over_the_table() {
    for movement in Movement::ALL {
        let posture = movement.usual_posture();
        if posture.forearm == ForearmSupport::Free {
            continue;
        }
        for load in [Some(LoadShape::Centred), Some(LoadShape::OneSided)] {
            let text = movement_drawing(movement, Side::Right, &posture, load);
            let svg = Svg::read(&text).unwrap();
            let table = svg.of("drawing-table").next().unwrap().extent;
            for weight in svg.of("drawing-weight") {
                let at = weight.extent.middle();
                assert!(
                    weight.extent.high.1 < table.high.1
                        && at.0 > table.low.0 - 12.0
                        && at.0 < table.high.0,
                    "{} {load:?}: {:?} {table:?}",
                    movement.name(),
                    weight.extent
                );
            }
        }
    }
}

/// Start and end differ without colour: only what is ahead is dashed.
#[test]
fn the_end_is_dashed_and_the_start_is_not() {
    for movement in Movement::ALL {
        if movement == Movement::ArmCircles {
            continue;
        }
        let text = movement_drawing(movement, Side::Right, &movement.usual_posture(), None);
        let svg = Svg::read(&text).unwrap();
        assert!(svg.parts.iter().any(|part| part.dashed));
        for part in &svg.parts {
            assert_eq!(
                part.dashed,
                part.class.contains("drawing-ghost"),
                "{}",
                part.class
            );
        }
    }
}

#[test]
fn names_read_back() {
    for stretch in Stretch::ALL {
        assert_eq!(Stretch::from_name(stretch.name()), Some(stretch));
    }
    for care in Care::ALL {
        assert_eq!(Care::from_name(care.name()), Some(care));
    }
    assert_eq!(Stretch::from_name("twist"), None);
    assert_eq!(Care::from_name("twist"), None);
}

#[test]
fn a_gallery_is_written_to_look_at() {
    let mut page = format!(
        "<!doctype html><meta charset=\"utf-8\"><title>Drawings</title><style>{STYLE}\
         body {{ font-family: sans-serif; margin: 4px }}\
         figure {{ display: inline-block; width: 300px; margin: 4px; vertical-align: top }}\
         figcaption {{ font-size: 11px }}</style>"
    );
    let mut show = |name: &str, text: &str| {
        page += &format!("<figure>{text}<figcaption>{name}</figcaption></figure>");
    };
    for movement in Movement::ALL {
        for side in SIDES {
            for load in LOADS {
                let text = movement_drawing(movement, side, &movement.usual_posture(), load);
                show(&format!("{} {side:?} {load:?}", movement.name()), &text);
            }
        }
    }
    for side in SIDES {
        for (name, text) in others(side) {
            show(&format!("{name} {side:?}"), &text);
        }
    }
    let file = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("drawings.html");
    std::fs::write(file, page).unwrap();
}
