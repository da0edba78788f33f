//! Visits to the clinic, as they were written down. What the goniometer said stands beside what the
//! sensor said and is never merged with it.

mod kept;

use jiff::civil::Date;
use serde::Serialize;
use serde_json::Value;

use super::series::{HandLoad, Series};
use crate::movement::{Movement, Side};
use crate::pipeline::summary::Summarised;
use crate::recording;

/// A visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Visit {
    /// Its day.
    pub date: Date,
    /// The session that holds it.
    pub name: String,
    /// Which of the review's sessions.
    #[serde(skip)]
    pub session: usize,
    /// Ranges by goniometer.
    pub goniometer: Vec<Goniometer>,
    /// Everything else that was noted, each with its words.
    pub noted: Vec<Noted>,
}

/// A range by goniometer, and the sensor's nearest one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Goniometer {
    /// The movement.
    pub movement: Movement,
    /// The hand; `None` where it was not named.
    pub side: Option<Side>,
    /// What the goniometer said, degrees.
    pub goniometer_deg: f64,
    /// What the sensor said in the session nearest to the visit, at most a week away; `None` where
    /// there is none.
    pub sensor: Option<SensorRange>,
}

/// The sensor's range beside a goniometer's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SensorRange {
    /// Median of the session, degrees: the arc.
    pub median_deg: f64,
    /// How far it went from the own neutral, degrees in the movement's direction, which is what a
    /// goniometer measures; `None` without a calibration.
    pub reached_deg: Option<f64>,
    /// Its day.
    pub date: Date,
    /// Its folder.
    pub name: String,
    /// Which of the review's sessions.
    #[serde(skip)]
    pub session: usize,
    /// Empty or loaded hand.
    pub load: HandLoad,
}

/// Something noted at a visit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Noted {
    /// What.
    pub about: String,
    /// How it was written.
    pub words: String,
}

/// Days within which a session of the sensor stands beside a visit (ours).
const NEAR_DAYS: i64 = 7;
/// The part of a visit that holds the goniometer's ranges.
const GONIOMETER: &str = "goniometer";

pub(super) fn visits(sessions: &[&Summarised], series: &[Series]) -> Vec<Visit> {
    let mut visits = Vec::new();
    for (index, session) in sessions.iter().enumerate() {
        for visit in &session.summary.visits {
            let date = session.summary.day();
            let (ranges, noted) = match recording::Visit::from_detail(visit) {
                Some(kept) => (kept::ranges(&kept), kept::noted(&kept)),
                // Another writer's.
                None => (
                    visit.get(GONIOMETER).map_or_else(Vec::new, ranges),
                    noted(visit),
                ),
            };
            visits.push(Visit {
                date,
                name: session.name.clone(),
                session: index,
                goniometer: ranges
                    .into_iter()
                    .map(|(movement, side, goniometer_deg)| Goniometer {
                        movement,
                        side,
                        goniometer_deg,
                        sensor: beside(series, movement, side, date),
                    })
                    .collect(),
                noted,
            });
        }
    }
    visits
}

/// The ranges of a list of objects with movement, side and a number in degrees.
fn ranges(list: &Value) -> Vec<(Movement, Option<Side>, f64)> {
    let one = |entry: &Value| {
        let movement = serde_json::from_value(entry.get("movement")?.clone()).ok()?;
        let side = entry.get("side").cloned();
        let side = side.and_then(|side| serde_json::from_value(side).ok());
        let mut numbers = entry.as_object()?.iter();
        let (_, value) = numbers.find(|(key, value)| key.ends_with("_deg") && value.is_number())?;
        Some((movement, side, value.as_f64()?))
    };
    list.as_array()
        .into_iter()
        .flatten()
        .filter_map(one)
        .collect()
}

fn beside(
    series: &[Series],
    movement: Movement,
    side: Option<Side>,
    date: Date,
) -> Option<SensorRange> {
    let apart = |other: Date| (other.duration_since(date).as_hours() / 24).abs();
    let of_hand = |series: &&Series| series.movement == Some(movement) && series.side == side;
    let mut found: Vec<(i64, HandLoad, SensorRange)> = Vec::new();
    for series in series.iter().filter(of_hand) {
        for session in &series.sessions {
            let days = apart(session.date);
            if let Some(range) = session.range.filter(|_| days <= NEAR_DAYS) {
                let sensor = SensorRange {
                    median_deg: range.median_deg,
                    reached_deg: session.reached_deg.filter(|_| session.calibrated),
                    date: session.date,
                    name: session.name.clone(),
                    session: session.session,
                    load: series.load,
                };
                found.push((days, series.load, sensor));
            }
        }
    }
    // The empty hand is what a goniometer measures.
    found.sort_by_key(|(days, load, _)| (*load, *days));
    found.into_iter().next().map(|(.., sensor)| sensor)
}

/// Everything but the goniometer, a line for each part that has words.
fn noted(visit: &Value) -> Vec<Noted> {
    let Some(parts) = visit.as_object() else {
        return Vec::new();
    };
    parts
        .iter()
        .filter(|(key, _)| *key != GONIOMETER)
        .filter_map(|(key, value)| {
            let (about, unit) = split_unit(key);
            let words = words(value);
            (!words.is_empty()).then(|| Noted {
                about,
                words: format!("{words}{unit}"),
            })
        })
        .collect()
}

/// "grip_kg" as "grip" and " kg".
fn split_unit(key: &str) -> (String, &'static str) {
    const UNITS: [(&str, &str); 4] = [
        ("_kg", " kg"),
        ("_deg", " degrees"),
        ("_s", " s"),
        ("_mean", ""),
    ];
    for (end, unit) in UNITS {
        if let Some(about) = key.strip_suffix(end).filter(|about| !about.is_empty()) {
            let mean = if end == "_mean" { " mean" } else { "" };
            return (format!("{}{mean}", about.replace(['_', '-'], " ")), unit);
        }
    }
    (key.replace(['_', '-'], " "), "")
}

fn words(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.trim().to_owned(),
        Value::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        Value::Number(number) => number.to_string(),
        Value::Array(all) => {
            let all: Vec<String> = all.iter().map(words).filter(|w| !w.is_empty()).collect();
            all.join(", ")
        }
        Value::Object(parts) => {
            let named = |(key, value): (&String, &Value)| {
                let (about, unit) = split_unit(key);
                let words = words(value);
                (!words.is_empty()).then(|| format!("{about} {words}{unit}"))
            };
            let all: Vec<String> = parts.iter().filter_map(named).collect();
            all.join("; ")
        }
    }
}
