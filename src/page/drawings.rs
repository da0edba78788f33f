//! Drawings for the page, by the words of its query.

use axum::extract::Query;
use axum::http::Uri;
use serde::Deserialize;

use crate::drawing::{
    Care, Glide, HandView, care_drawing, glide_drawing, movement_drawing, sensor_drawing,
    stretch_drawing, turning_drawing,
};
use crate::movement::{
    ForearmDirection, ForearmRotation, ForearmSupport, LoadShape, Movement, Plane, Posture, Side,
    Stretch,
};

/// The elbow bends this far, degrees.
const ELBOW_MOST_DEG: f64 = 150.0;

/// A movement in its posture; what is left out is as usual for it.
#[derive(Debug, Deserialize)]
struct MovementAsked {
    movement: Option<Movement>,
    /// In place of a movement: of a range test, whose first direction is drawn.
    plane: Option<Plane>,
    side: Side,
    elbow_deg: Option<f64>,
    #[serde(alias = "support")]
    forearm: Option<ForearmSupport>,
    direction: Option<ForearmDirection>,
    rotation: Option<ForearmRotation>,
    /// Kilograms; a weight is drawn where it is more than nothing.
    load: Option<f64>,
    load_shape: Option<LoadShape>,
}

#[derive(Debug, Deserialize)]
struct SensorAsked {
    side: Side,
    #[serde(default)]
    view: ViewAsked,
}

#[derive(Debug, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum ViewAsked {
    #[default]
    Back,
    Palm,
    Forearm,
}

#[derive(Debug, Deserialize)]
struct StretchAsked {
    stretch: String,
    side: Side,
}

#[derive(Debug, Deserialize)]
struct GlidesAsked {
    side: Side,
}

#[derive(Debug, Deserialize)]
struct TurningAsked {
    movement: Option<Movement>,
    side: Side,
    #[serde(default)]
    loaded: bool,
}

#[derive(Debug, Deserialize)]
struct CareAsked {
    what: String,
    side: Side,
}

/// What became of a request for a drawing.
#[derive(Debug)]
pub enum Drawn {
    /// SVG text.
    Svg(String),
    /// There is no such drawing.
    None,
    /// The query does not fit it.
    Unclear,
}

/// The drawing at that path, exactly.
pub fn drawing(uri: &Uri) -> Drawn {
    let svg = match uri.path() {
        "/drawing/movement.svg" => asked(uri).and_then(movement),
        "/drawing/sensor.svg" => asked(uri).map(|SensorAsked { side, view }| {
            let view = match view {
                ViewAsked::Back => HandView::Back,
                ViewAsked::Palm => HandView::Palm,
                ViewAsked::Forearm => HandView::Forearm,
            };
            sensor_drawing(side, view)
        }),
        "/drawing/stretch.svg" => asked(uri).and_then(|StretchAsked { stretch, side }| {
            Some(stretch_drawing(Stretch::from_name(&stretch)?, side))
        }),
        "/drawing/glides.svg" => {
            asked(uri).map(|GlidesAsked { side }| glide_drawing(&Glide::SHORT, side))
        }
        "/drawing/turning.svg" => {
            asked(uri).map(|own: TurningAsked| turning_drawing(own.movement, own.side, own.loaded))
        }
        "/drawing/care.svg" => asked(uri).and_then(|CareAsked { what, side }| {
            let care = match what.as_str() {
                "shaking" => Care::ShakeOut,
                other => Care::from_name(other)?,
            };
            Some(care_drawing(care, side))
        }),
        _ => return Drawn::None,
    };
    svg.map_or(Drawn::Unclear, Drawn::Svg)
}

fn asked<T: serde::de::DeserializeOwned>(uri: &Uri) -> Option<T> {
    Query::try_from_uri(uri).ok().map(|Query(asked)| asked)
}

fn movement(asked: MovementAsked) -> Option<String> {
    let (movement, usual) = match (asked.movement, asked.plane) {
        (Some(movement), _) => (movement, movement.usual_posture()),
        (None, Some(plane)) => {
            let [first, _] = plane.directions();
            (first, plane.usual_posture())
        }
        (None, None) => return None,
    };
    let posture = Posture {
        elbow_deg: asked
            .elbow_deg
            .filter(|elbow_deg| elbow_deg.is_finite())
            .map(|elbow_deg| elbow_deg.clamp(0.0, ELBOW_MOST_DEG))
            .or(usual.elbow_deg),
        forearm: asked.forearm.unwrap_or(usual.forearm),
        direction: asked.direction.unwrap_or(usual.direction),
        rotation: asked.rotation.unwrap_or(usual.rotation),
    };
    let load = asked
        .load
        .is_some_and(|load_kg| load_kg > 0.0)
        .then(|| asked.load_shape.unwrap_or(LoadShape::Centred));
    Some(movement_drawing(movement, asked.side, &posture, load))
}
