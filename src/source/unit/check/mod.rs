//! The check of a unit: figures, limits, a verdict in plain words.
//!
//! Ours. What needs stillness is judged only where the unit was held still; what the time was too
//! short for is unknown; unknown is unknown, never good.

mod judged;
mod limits;
mod link;
mod rows;
mod still;

use serde::Serialize;

use super::profile::Description;
use super::stream::Figures;
use crate::sample::Sample;

/// A sample and when it arrived.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrived {
    /// Arrival on this computer's monotonic clock, seconds; samples of one packet share it.
    pub arrival_s: f64,
    /// The sample; its time is the unit's clock plus a constant.
    pub sample: Sample,
}

/// What was seen of a unit.
#[derive(Debug, Clone, Copy)]
pub struct Observed<'a> {
    /// Its description in force.
    pub description: &'a Description,
    /// Its samples in order.
    pub arrived: &'a [Arrived],
    /// What came and what did not.
    pub figures: Figures,
    /// Charge of its battery, 0 to 100; `None` is unknown.
    pub battery_percent: Option<u8>,
    /// Its firmware's revision; `None` is unknown.
    pub firmware: Option<&'a str>,
}

/// What a figure is judged to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// As it should be.
    Ok,
    /// Not known, or not to be judged.
    Unknown,
    /// Works, with a cost that is said.
    Look,
    /// Not to be used like this.
    Bad,
}

/// Up to `ok` a figure is good, up to `look` it works.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limit {
    /// Good up to this, in the row's unit.
    pub ok: f64,
    /// Works up to this, in the row's unit.
    pub look: f64,
}

/// One figure of a unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Name with the unit, as in `gyro_bias_deg_s`.
    pub key: &'static str,
    /// What it is, in words.
    pub name: &'static str,
    /// The figure in `unit`; `None` is unknown.
    pub figure: Option<f64>,
    /// How wrong the figure can be, where that is known, in `unit`.
    pub error: Option<f64>,
    /// Its unit for people; empty where there is none.
    pub unit: &'static str,
    /// Its limits as a sentence part; empty where there are none.
    pub limit: String,
    /// The judgement.
    pub mark: Mark,
    /// What it means and what to do, in plain words.
    pub words: String,
}

/// What the check says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Verdict {
    /// The worst of the rows; what is merely unknown does not count, unless it is what the check is
    /// for.
    pub mark: Mark,
    /// The same in words.
    pub words: String,
    /// The unit was held still for long enough.
    pub still: bool,
    /// The longest stillness, seconds; `None` where it is too short to be judged.
    pub still_s: Option<f64>,
    /// From the first sample to the last, seconds.
    pub span_s: Option<f64>,
    /// The figures.
    pub rows: Vec<Row>,
}

/// Judges what was seen of a unit. Ten seconds held still say everything but the clock, which takes
/// a minute, or some where sampling is in step with the radio.
pub fn verdict(observed: &Observed<'_>) -> Verdict {
    let link = link::measure(observed.arrived);
    let samples: Vec<Sample> = observed.arrived.iter().map(|own| own.sample).collect();
    let still = link
        .as_ref()
        .and_then(|link| still::measure(&samples, link.spacing_s));
    let mut rows = vec![rows::description(observed.description)];
    rows.extend(rows::link(observed, link.as_ref()));
    rows.extend(rows::still(still.as_ref()));
    rows.push(rows::clock(link.as_ref().and_then(|link| link.clock)));
    rows.push(rows::battery(observed.battery_percent));
    rows.push(rows::firmware(observed.firmware));
    let (mark, words) = overall(&rows, link.is_some(), still.is_some());
    Verdict {
        mark,
        words,
        still: still.is_some(),
        still_s: still.map(|still| still.still_s),
        span_s: link.map(|link| link.span_s),
        rows,
    }
}

fn overall(rows: &[Row], came: bool, still: bool) -> (Mark, String) {
    if !came {
        let words = "No samples came: check that the unit is on and near, and that its firmware \
                     notifies on the motion characteristic.";
        return (Mark::Bad, words.to_owned());
    }
    let names = |mark: Mark| {
        let names: Vec<&str> = rows
            .iter()
            .filter(|row| row.mark == mark)
            .map(|row| row.name)
            .collect();
        names.join(", ")
    };
    let worst = rows.iter().map(|row| row.mark).max();
    match worst {
        Some(Mark::Bad) => (
            Mark::Bad,
            format!("Not to be used like this: {}.", names(Mark::Bad)),
        ),
        _ if !still => (
            Mark::Unknown,
            "It was not held still, so that its sensors could not be judged: put it on a table \
             and check again."
                .to_owned(),
        ),
        Some(Mark::Look) => (
            Mark::Look,
            format!("It works; look at: {}.", names(Mark::Look)),
        ),
        _ => (Mark::Ok, "Good to use.".to_owned()),
    }
}
