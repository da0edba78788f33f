//! events.csv: t_s, event, detail.

use std::path::Path;

use serde_json::Value;

use super::error::{RecordingError, shown};
use super::lines::{Line, Lines, cells};
use super::{Event, EventKind};

pub(super) const HEADER: &str = "t_s,event,detail";

/// Places of the three columns; more may follow.
struct Places {
    t_s: usize,
    event: usize,
    detail: usize,
}

/// What is wrong with a row: the column and what was expected.
type Fault = (&'static str, String);

/// Reads every event. A last line that is cut off is left out and named in the warnings.
pub(super) fn read(path: &Path, warnings: &mut Vec<String>) -> Result<Vec<Event>, RecordingError> {
    let mut lines = Lines::open(path)?;
    let bad = |line, (column, message): Fault| RecordingError::BadEvent {
        path: path.to_owned(),
        line,
        column,
        message,
    };
    let places = match lines.next()? {
        None => {
            warnings.push(format!("{}: is empty: no events", path.display()));
            return Ok(Vec::new());
        }
        Some(line) if !line.ended => {
            warnings.push(format!(
                "{}: line 1, the header, is cut off: no events",
                path.display()
            ));
            return Ok(Vec::new());
        }
        Some(line) => header(line.bytes).map_err(|fault| bad(1, fault))?,
    };
    let mut events = Vec::new();
    while let Some(line) = lines.next_with_quotes()? {
        if line.bytes.iter().all(u8::is_ascii_whitespace) {
            continue;
        }
        let mut misfits = Vec::new();
        match event(&line, &places, &mut misfits) {
            Ok(event) => {
                warnings.extend(misfits.iter().map(|misfit| {
                    format!(
                        "{}, line {}: a part of {} was left out, {}",
                        path.display(),
                        line.number,
                        shown(event.kind.name()),
                        shown(misfit)
                    )
                }));
                if !line.ended {
                    warnings.push(format!(
                        "{}, line {}: the last line has no line end: the event on it is whole, any after it are missing",
                        path.display(),
                        line.number
                    ));
                }
                events.push(event);
            }
            Err(_) if !line.ended => warnings.push(format!(
                "{}, line {}: the last line is cut off and was left out",
                path.display(),
                line.number
            )),
            Err(fault) => return Err(bad(line.number, fault)),
        }
    }
    Ok(events)
}

fn header(line: &[u8]) -> Result<Places, Fault> {
    let names = cells(line, b',');
    let place = |column: &'static str| {
        names
            .iter()
            .position(|name| name.trim_ascii() == column.as_bytes())
            .ok_or_else(|| {
                (
                    column,
                    format!("there is no such column; expected {HEADER}"),
                )
            })
    };
    Ok(Places {
        t_s: place("t_s")?,
        event: place("event")?,
        detail: place("detail")?,
    })
}

fn event(line: &Line<'_>, places: &Places, misfits: &mut Vec<String>) -> Result<Event, Fault> {
    let cells = cells(line.bytes, b',');
    let cell = |place: usize, column: &'static str| {
        cells
            .get(place)
            .map(|cell| cell.trim_ascii())
            .ok_or_else(|| (column, "the row ends before this column".to_owned()))
    };
    let text = |bytes: &[u8]| shown(&String::from_utf8_lossy(bytes));
    let time = cell(places.t_s, "t_s")?;
    let t_s: f64 = fast_float2::parse(time)
        .ok()
        .filter(|t_s: &f64| t_s.is_finite())
        .ok_or_else(|| {
            (
                "t_s",
                format!("\"{}\" is not a finite number of seconds", text(time)),
            )
        })?;
    let name = cell(places.event, "event")?;
    let name = std::str::from_utf8(name)
        .ok()
        .filter(|name| !name.is_empty())
        .ok_or_else(|| ("event", format!("\"{}\" is no event's word", text(name))))?;
    let detail = cell(places.detail, "detail")?;
    let detail: Value = if detail.is_empty() && line.ended {
        Value::Object(serde_json::Map::new())
    } else {
        serde_json::from_slice(detail)
            .map_err(|error| ("detail", format!("not a JSON object: {error}")))?
    };
    if !detail.is_object() {
        return Err((
            "detail",
            "expected a JSON object, such as {\"value\": 3}".to_owned(),
        ));
    }
    Ok(Event {
        t_s,
        kind: EventKind::read(name, detail, misfits),
    })
}
