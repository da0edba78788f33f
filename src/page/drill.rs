//! Judging by eye: a drawn hand does one invented set at its own speed, a person says what they saw,
//! and is told what was so.
//!
//! Ours. Nothing is kept: a set is made from its seed, and made again where it is judged. What was said
//! so far is counted in the browser alone, for as long as its window is open.
//!
//! - `GET /drill`: the page.
//! - `GET /drill/set.json`: `{"seed", "movement", "title", "side", "step_s", "angles_deg"}`, a fresh set;
//!   how many repetitions it has and how it is done is not said.
//! - `GET /drill/answer.json?seed=1&count=3&lower_s=4&end_deg=40`: what was said (any of the three may be
//!   missing), what was so, and the difference.

use axum::Json;
use axum::extract::Query;
use axum::http::{StatusCode, Uri};
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};

use super::PageError;
use super::app::{App, Asked, file, not_so};
use super::assets;
use super::server::Server;
use crate::movement::{Movement, Side};
use crate::source::simulator::by_eye::{Manner, SeenSet};

/// The page's address beside a recording.
pub const PAGE: &str = "/drill";
const SET: &str = "/drill/set.json";
const ANSWER: &str = "/drill/answer.json";

/// Time between two angles that are sent, seconds.
const STEP_S: f64 = 0.02;
/// More than this is no answer: repetitions, seconds, degrees either way.
const COUNT_MOST: u32 = 99;
const LOWER_MOST_S: f64 = 99.0;
const END_MOST_DEG: f64 = 180.0;

/// The drill's page without a recording, served for as long as this lives.
#[derive(Debug)]
pub struct DrillPage(Server);

impl DrillPage {
    /// Serves the drill on 127.0.0.1; port 0 is any free one.
    ///
    /// # Errors
    /// The port is taken; the system gives no thread or no randomness.
    pub fn serve(port: u16) -> Result<DrillPage, PageError> {
        Server::serve(port, App::Drill).map(DrillPage)
    }

    /// Where it listens.
    pub fn address(&self) -> std::net::SocketAddr {
        self.0.address()
    }

    /// The address to be opened; it holds the key.
    pub fn url(&self) -> String {
        self.0.url()
    }
}

/// A set that is shown.
#[derive(Serialize)]
struct Shown {
    seed: u32,
    movement: Movement,
    /// The movement's title.
    title: &'static str,
    side: Side,
    step_s: f64,
    angles_deg: Vec<f32>,
}

/// What was said.
#[derive(Deserialize)]
struct Said {
    seed: u32,
    count: Option<u32>,
    lower_s: Option<f64>,
    end_deg: Option<f64>,
}

/// What was so.
#[derive(Serialize)]
struct Judged {
    manner: Manner,
    count: Figure<u32>,
    /// Of the last repetition.
    lower_s: Figure<f64>,
    /// Of the last repetition.
    end_deg: Figure<f64>,
    reps: Vec<JudgedRep>,
}

/// What was said of something, what was so, and how much too much was said.
#[derive(Serialize)]
struct Figure<T> {
    said: Option<T>,
    was: T,
    too_much: Option<f64>,
}

#[derive(Serialize)]
struct JudgedRep {
    lift_s: f64,
    hold_s: f64,
    lower_s: f64,
    range_deg: f64,
}

impl Said {
    fn is_answer(&self) -> bool {
        let within = |value: Option<f64>, low: f64, high: f64| {
            value.is_none_or(|value| (low..=high).contains(&value))
        };
        self.count.is_none_or(|count| count <= COUNT_MOST)
            && within(self.lower_s, 0.0, LOWER_MOST_S)
            && within(self.end_deg, -END_MOST_DEG, END_MOST_DEG)
    }
}

/// Whether something is answered by GET at that path beside a recording.
pub fn knows(path: &str) -> bool {
    [PAGE, SET, ANSWER].contains(&path) || assets::drill(path).is_some()
}

/// Answers what is asked of the drill beside a recording; `None` where it is not the drill's.
pub fn answer(uri: &Uri) -> Option<Response> {
    match uri.path() {
        SET => Some(set()),
        ANSWER => Some(judged(uri)),
        path => assets::drill(path).map(|asset| file(uri, Some(asset))),
    }
}

/// Answers a request where there is no recording.
pub fn answer_alone(asked: &Asked) -> Response {
    let path = match asked.uri.path() {
        "/" => PAGE,
        path => path,
    };
    if !asked.get {
        return not_so(&asked.uri, knows(path));
    }
    match (path, assets::drill(path)) {
        (SET | ANSWER, _) => {
            answer(&asked.uri).unwrap_or_else(|| StatusCode::NOT_FOUND.into_response())
        }
        (_, asset) => file(&asked.uri, asset),
    }
}

fn set() -> Response {
    let mut bytes = [0_u8; 4];
    if getrandom::fill(&mut bytes).is_err() {
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    }
    let seed = u32::from_le_bytes(bytes);
    let set = SeenSet::of(seed);
    let steps = (set.duration_s() / STEP_S) as usize;
    let angle = |step: usize| (set.angle_deg(step as f64 * STEP_S) * 100.0).round() / 100.0;
    Json(Shown {
        seed,
        movement: set.movement,
        title: set.movement.title(),
        side: set.side,
        step_s: STEP_S,
        angles_deg: (0..=steps).map(|step| angle(step) as f32).collect(),
    })
    .into_response()
}

fn judged(uri: &Uri) -> Response {
    let Some(said) = Query::<Said>::try_from_uri(uri)
        .ok()
        .map(|Query(said)| said)
        .filter(Said::is_answer)
    else {
        return StatusCode::BAD_REQUEST.into_response();
    };
    let set = SeenSet::of(said.seed);
    let Some(truth) = set.truth() else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let count = u32::try_from(truth.reps.len()).unwrap_or(u32::MAX);
    let number = |said: Option<f64>, was: f64| Figure {
        said,
        was,
        too_much: said.map(|said| said - was),
    };
    let reps = truth.reps.iter().map(|rep| JudgedRep {
        lift_s: rep.lift_end_s - rep.lift_start_s,
        hold_s: rep.lower_start_s - rep.lift_end_s,
        lower_s: rep.lower_end_s - rep.lower_start_s,
        range_deg: rep.range_deg,
    });
    Json(Judged {
        manner: set.manner,
        count: Figure {
            said: said.count,
            was: count,
            too_much: said.count.map(|said| f64::from(said) - f64::from(count)),
        },
        lower_s: number(said.lower_s, truth.last_lower_s),
        end_deg: number(said.end_deg, truth.last_end_deg),
        reps: reps.collect(),
    })
    .into_response()
}
