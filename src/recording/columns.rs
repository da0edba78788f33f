//! The header of a file of samples: which column holds what.

use std::fmt;
use std::path::Path;
use std::str::FromStr;

use super::error::{RecordingError, shown};
use super::lines::cells;
use crate::routine::nearest::nearest;

/// The columns of a file of samples, in the order in which they are written; the first, which
/// sensor the row is of, is not needed in a foreign file.
pub const COLUMNS: [&str; 8] = [
    "sensor", "t_s", "ax_m_s2", "ay_m_s2", "az_m_s2", "gx_rad_s", "gy_rad_s", "gz_rad_s",
];

/// The seven columns of numbers.
pub(super) const NUMBERS: [&str; 7] = [
    "t_s", "ax_m_s2", "ay_m_s2", "az_m_s2", "gx_rad_s", "gy_rad_s", "gz_rad_s",
];

/// A column of ours that has another name in a foreign file; read from `t_s=time`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnName {
    /// One of [`COLUMNS`].
    ours: &'static str,
    /// The name in the file.
    theirs: String,
}

impl FromStr for ColumnName {
    type Err = RecordingError;

    fn from_str(text: &str) -> Result<ColumnName, RecordingError> {
        let refused = || RecordingError::ColumnOption { text: shown(text) };
        let (ours, theirs) = text.split_once('=').ok_or_else(refused)?;
        let ours = COLUMNS
            .into_iter()
            .find(|name| *name == ours.trim())
            .ok_or_else(refused)?;
        if theirs.is_empty() {
            return Err(refused());
        }
        Ok(ColumnName {
            ours,
            theirs: theirs.to_owned(),
        })
    }
}

impl fmt::Display for ColumnName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}={}", self.ours, self.theirs)
    }
}

/// What a cell is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slot {
    /// Not ours.
    Skip,
    /// Which sensor.
    Sensor,
    /// The number of this place in [`NUMBERS`].
    Number(usize),
}

/// A header that has what is needed.
#[derive(Debug)]
pub(super) struct Header {
    pub(super) delimiter: u8,
    /// One for each column up to the last that is needed.
    pub(super) slots: Vec<Slot>,
    /// The names in the file of [`NUMBERS`]; the name of ours where the file has none.
    pub(super) names: [String; 7],
    pub(super) has_time: bool,
    /// Cells of the header.
    pub(super) width: usize,
}

/// How the header is to be read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted<'a> {
    pub(super) names: &'a [ColumnName],
    /// Whether the time column is looked for at all.
    pub(super) time: bool,
    /// Whether the file is one of ours: comma, a sensor column, no options.
    pub(super) ours: bool,
}

impl Header {
    /// Reads a header line. Of comma, semicolon and tab the delimiter is the one that finds most
    /// of the columns, and among those the one that gives most cells.
    pub(super) fn read(
        path: &Path,
        line: &[u8],
        wanted: Wanted<'_>,
    ) -> Result<Header, RecordingError> {
        let delimiters: &[u8] = if wanted.ours { b"," } else { b",;\t" };
        let mut best: Option<(usize, u8, Vec<String>)> = None;
        for delimiter in delimiters.iter().copied() {
            let found: Vec<String> = cells(line, delimiter)
                .iter()
                .map(|cell| String::from_utf8_lossy(cell).trim().to_owned())
                .collect();
            let hits = COLUMNS
                .iter()
                .filter(|ours| found.iter().any(|name| name == wanted.name(ours)))
                .count();
            if best
                .as_ref()
                .is_none_or(|(most, _, names)| (hits, found.len()) > (*most, names.len()))
            {
                best = Some((hits, delimiter, found));
            }
        }
        let (_, delimiter, found) = best.unwrap_or_default();
        wanted.header(path, delimiter, found)
    }
}

impl Wanted<'_> {
    /// The name in the file of a column of ours.
    fn name<'b>(&'b self, ours: &'b str) -> &'b str {
        self.names
            .iter()
            .rev()
            .find(|name| name.ours == ours)
            .map_or(ours, |name| name.theirs.trim())
    }

    fn header(
        &self,
        path: &Path,
        delimiter: u8,
        found: Vec<String>,
    ) -> Result<Header, RecordingError> {
        let position = |ours: &str, needed: bool| {
            let name = self.name(ours);
            let mut places = found.iter().enumerate().filter(|(_, found)| *found == name);
            match (places.next(), places.count()) {
                (Some((place, _)), 0) => Ok(Some(place)),
                (Some(_), more) => Err(RecordingError::RepeatedColumn {
                    path: path.to_owned(),
                    column: shown(name),
                    found_count: more + 1,
                }),
                (None, _) if needed => Err(self.missing(path, ours, &found)),
                (None, _) => Ok(None),
            }
        };
        let sensor_named = self.names.iter().any(|name| name.ours == "sensor");
        let sensor = position("sensor", self.ours || sensor_named)?;
        let mut slots = vec![Slot::Skip; found.len()];
        let mut put = |place: Option<usize>, slot| {
            if let Some(place) = place.and_then(|place| slots.get_mut(place)) {
                *place = slot;
            }
        };
        put(sensor, Slot::Sensor);
        let mut has_time = false;
        for (index, ours) in NUMBERS.iter().enumerate() {
            if index == 0 {
                let place = position(ours, self.time)?;
                has_time = place.is_some();
                if self.time {
                    put(place, Slot::Number(index));
                }
            } else {
                put(position(ours, true)?, Slot::Number(index));
            }
        }
        let last = slots.iter().rposition(|slot| *slot != Slot::Skip);
        slots.truncate(last.map_or(0, |last| last + 1));
        Ok(Header {
            delimiter,
            slots,
            names: NUMBERS.map(|ours| shown(self.name(ours))),
            has_time,
            width: found.len(),
        })
    }

    fn missing(&self, path: &Path, ours: &str, found: &[String]) -> RecordingError {
        let name = self.name(ours);
        let looks_like_number = |cell: &String| cell.replace(',', ".").parse::<f64>().is_ok();
        let column = if name == ours {
            ours.to_owned()
        } else {
            format!("{} (for {ours})", shown(name))
        };
        let todo = if !found.is_empty() && found.iter().all(looks_like_number) {
            "the first line looks like numbers: put a header line with the column names first"
                .to_owned()
        } else if self.ours {
            "a samples.csv has sensor, t_s, ax_m_s2 to az_m_s2 and gx_rad_s to gz_rad_s; for another file give the file itself".to_owned()
        } else {
            let rate = if ours == "t_s" {
                ", or give the sampling rate with --rate HZ"
            } else {
                ""
            };
            match guess(ours, found) {
                Some(guess) => {
                    let guess = shown(guess);
                    let quote = if guess.contains(' ') { "'" } else { "" };
                    format!(
                        "name it with --column {quote}{ours}={guess}{quote} if that is it{rate}"
                    )
                }
                None => format!("name it with --column {ours}=NAME{rate}"),
            }
        };
        const SHOWN_COLUMNS: usize = 30;
        let mut list: Vec<String> = found
            .iter()
            .take(SHOWN_COLUMNS)
            .map(|name| shown(name))
            .collect();
        if found.len() > SHOWN_COLUMNS {
            list.push(format!("and {} more", found.len() - SHOWN_COLUMNS));
        }
        RecordingError::MissingColumn {
            path: path.to_owned(),
            column,
            found: list.join(", "),
            todo,
        }
    }
}

/// A column that may be the one meant; only ever shown, never used.
fn guess<'a>(ours: &str, found: &'a [String]) -> Option<&'a str> {
    let mut names = found
        .iter()
        .map(String::as_str)
        .filter(|name| !COLUMNS.contains(name));
    if ours == "t_s" {
        let times = ["time", "t", "timestamp"];
        return names
            .clone()
            .find(|name| times.contains(&name.to_lowercase().as_str()))
            .or_else(|| names.find(|name| name.to_lowercase().contains("time")));
    }
    if let Some(slip) = nearest(ours, names.clone())
        && slip.len() + 2 >= ours.len()
    {
        return Some(slip);
    }
    let (sensor, axis) = (ours.get(..1)?, ours.get(1..2)?);
    let stems: &[&str] = if sensor == "a" {
        &["acc", "a"]
    } else {
        &["gyr", "rot", "g", "w"]
    };
    // The axis is the last letter of a word of the name: acc_x, AccX, ax, gyro.x (deg/s).
    let has_axis = |name: &str| {
        name.to_lowercase()
            .split(|c: char| !c.is_ascii_alphanumeric())
            .any(|word| word.ends_with(axis))
    };
    stems.iter().find_map(|stem| {
        names
            .clone()
            .find(|name| name.to_lowercase().starts_with(stem) && has_axis(name))
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]
    use super::*;

    #[test]
    fn a_likely_column_is_suggested() {
        let found: Vec<String> = ["Time (s)", "acc_x", "AccY", "a.z", "gyr x (deg/s)", "gz"]
            .map(String::from)
            .to_vec();
        assert_eq!(guess("t_s", &found), Some("Time (s)"));
        assert_eq!(guess("ax_m_s2", &found), Some("acc_x"));
        assert_eq!(guess("ay_m_s2", &found), Some("AccY"));
        assert_eq!(guess("az_m_s2", &found), Some("a.z"));
        assert_eq!(guess("gx_rad_s", &found), Some("gyr x (deg/s)"));
        assert_eq!(guess("gz_rad_s", &found), Some("gz"));
        assert_eq!(guess("gy_rad_s", &found), None);
    }

    #[test]
    fn the_delimiter_is_found_by_itself() {
        for delimiter in [",", ";", "\t"] {
            let line = NUMBERS.join(delimiter);
            let wanted = Wanted {
                names: &[],
                time: true,
                ours: false,
            };
            let header = Header::read(Path::new("f.csv"), line.as_bytes(), wanted).unwrap();
            assert_eq!([header.delimiter], delimiter.as_bytes());
            assert_eq!(header.slots, (0..7).map(Slot::Number).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_column_option_names_one_of_ours() {
        let name: ColumnName = "t_s=Time = now".parse().unwrap();
        assert_eq!((name.ours, name.theirs.as_str()), ("t_s", "Time = now"));
        for bad in ["t_s", "time=t_s", "t_s=", "=x", ""] {
            assert!(bad.parse::<ColumnName>().is_err(), "{bad}");
        }
    }
}
