//! Rows of samples, of our own files and of foreign ones: streamed, checked, as f64.

use std::path::Path;

use nalgebra::Vector3;
use rayon::prelude::*;

use super::columns::{Header, NUMBERS, Slot, Wanted};
use super::error::{RecordingError, shown};
use super::lines::{Batch, Line, Lines, cells, take_cell};
use super::units::{AccelUnit, GyroUnit, TimeUnit};
use crate::sample::{Place, Sample};

/// The lowest sampling rate that is accepted, in Hz.
pub const LOWEST_RATE_HZ: f64 = 20.0;

/// The highest sampling rate that is accepted, in Hz: above it the unit of time is wrong.
pub const HIGHEST_RATE_HZ: f64 = 10_000.0;

/// Lines that one core takes at least: fewer are not worth the other's waking.
const LINES_TOGETHER: usize = 256;

/// Later and earlier times than these are absurd, in seconds: three thousand years.
const FARTHEST_TIME_S: f64 = 1e11;

/// How rows are to be read.
pub(super) struct Format<'a> {
    pub(super) wanted: Wanted<'a>,
    pub(super) accel: AccelUnit,
    pub(super) gyro: GyroUnit,
    pub(super) time: TimeUnit,
    pub(super) rate_hz: Option<f64>,
    pub(super) decimal_comma: bool,
    /// The longest gap accepted between two rows, in seconds.
    pub(super) longest_gap_s: f64,
}

/// The rows of one sensor.
#[derive(Default)]
pub(super) struct Track {
    pub(super) samples: Vec<Sample>,
    /// The line of each sample.
    pub(super) lines: Vec<u32>,
}

/// What a file of samples holds.
pub(super) struct Rows {
    pub(super) hand: Track,
    pub(super) forearm: Track,
    /// For each row of the forearm, how many of the hand stand before it.
    pub(super) forearm_after: Vec<u32>,
    pub(super) warnings: Vec<String>,
    /// The name in the file of the time column.
    pub(super) time_column: String,
    /// Whether the file has a time column that was not used.
    pub(super) time_unused: bool,
    pub(super) last_line: u64,
}

/// Reads a file of samples.
pub(super) fn read(path: &Path, format: &Format<'_>) -> Result<Rows, RecordingError> {
    let mut lines = Lines::open(path)?;
    let size = lines.size();
    let mut rows = Rows {
        hand: Track::default(),
        forearm: Track::default(),
        forearm_after: Vec::new(),
        warnings: Vec::new(),
        time_column: "t_s".to_owned(),
        time_unused: false,
        last_line: 1,
    };
    let ours = format.wanted.ours;
    let header = match lines.next()? {
        None if ours => {
            rows.warn(path, "is empty: no samples");
            return Ok(rows);
        }
        None => {
            return Err(RecordingError::Empty {
                path: path.to_owned(),
            });
        }
        Some(line) if ours && !line.ended => {
            rows.warn(path, "line 1, the header, is cut off: no samples");
            return Ok(rows);
        }
        Some(line) => Header::read(path, line.bytes, format.wanted)?,
    };
    let [time_column, ..] = &header.names;
    rows.time_column.clone_from(time_column);
    rows.time_unused = format.rate_hz.is_some() && header.has_time;
    let mut reader = Reader {
        path,
        format,
        header,
        split: None,
        hand: Clock::default(),
        forearm: Clock::default(),
        last_cells: LastCells::default(),
    };
    let mut parsed = Vec::new();
    while let Some(batch) = lines.next_batch()? {
        reader.look_at_first(&batch);
        (0..batch.len())
            .into_par_iter()
            .with_min_len(LINES_TOGETHER)
            .map(|index| reader.numbers(batch.line(index).bytes))
            .collect_into_vec(&mut parsed);
        for (index, numbers) in parsed.drain(..).enumerate() {
            let line = batch.line(index);
            if line.bytes.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            rows.last_line = line.number;
            if !line.ended {
                reader.last_line(&line, numbers, &mut rows)?;
                break;
            }
            if rows.hand.samples.is_empty() && rows.forearm.samples.is_empty() {
                let expected = size / (line.bytes.len() as u64 + 1) + 1;
                rows.hand.reserve(usize::try_from(expected).unwrap_or(0));
            }
            let (place, sample) = reader.row(numbers, line.number)?;
            rows.push(place, sample, line.number);
        }
    }
    Ok(rows)
}

impl Rows {
    fn warn(&mut self, path: &Path, what: &str) {
        self.warnings.push(format!("{}: {what}", path.display()));
    }

    fn push(&mut self, place: Place, sample: Sample, line: u64) {
        let track = match place {
            Place::Hand => &mut self.hand,
            Place::Forearm => {
                let before = u32::try_from(self.hand.samples.len());
                self.forearm_after.push(before.unwrap_or(u32::MAX));
                &mut self.forearm
            }
        };
        track.samples.push(sample);
        track.lines.push(u32::try_from(line).unwrap_or(u32::MAX));
    }
}

impl Track {
    fn reserve(&mut self, expected: usize) {
        self.samples.reserve_exact(expected);
        self.lines.reserve_exact(expected);
    }
}

struct Reader<'a> {
    path: &'a Path,
    format: &'a Format<'a>,
    header: Header,
    /// Whether the sensor column tells hand from forearm; not known before the first row.
    split: Option<bool>,
    hand: Clock,
    forearm: Clock,
    last_cells: LastCells,
}

/// The time line of one sensor.
#[derive(Default)]
struct Clock {
    before_s: Option<f64>,
    rows: u64,
}

/// A cell that could not be read.
enum Fault {
    Short(usize),
    Long(usize),
    NotANumber(usize, String),
    NotFinite(usize, String),
    Sensor(String),
}

/// The numbers of a row.
struct Numbers {
    values: [f64; 7],
    place: Option<Place>,
    /// Digits after the point of the last needed cell, if it ends the line; see [`LastCells`].
    last_digits: Option<usize>,
    last_slot: usize,
}

impl Reader<'_> {
    /// In a foreign file a column named `sensor` may be anything: the first row tells.
    fn look_at_first(&mut self, batch: &Batch<'_>) {
        let rows = (0..batch.len()).map(|index| batch.line(index).bytes);
        let first = rows
            .filter(|row| !row.iter().all(u8::is_ascii_whitespace))
            .find(|_| self.split.is_none());
        if let Some(row) = first {
            let column = self.header.slots.iter().position(|s| *s == Slot::Sensor);
            let cells = cells(row, self.header.delimiter);
            let cell = column.and_then(|column| cells.get(column));
            let named = cell.is_some_and(|cell| place_named(cell).is_some());
            self.split = Some(self.format.wanted.ours || named);
        }
    }

    fn row(
        &mut self,
        numbers: Result<Numbers, Fault>,
        line: u64,
    ) -> Result<(Place, Sample), RecordingError> {
        match numbers {
            Ok(numbers) => {
                self.last_cells.remember(&numbers);
                self.sample(&numbers, line)
            }
            Err(fault) => Err(self.error(fault, line)),
        }
    }

    /// A last line with no line end: cut off, or whole in a file of a writer that leaves it out.
    fn last_line(
        &mut self,
        line: &Line<'_>,
        numbers: Result<Numbers, Fault>,
        rows: &mut Rows,
    ) -> Result<(), RecordingError> {
        // Our own writer ends every line, so the last number may be short.
        let whole = numbers
            .ok()
            .filter(|numbers| !self.format.wanted.ours && self.last_cells.is_whole(numbers));
        match whole {
            Some(numbers) => {
                let (place, sample) = self.sample(&numbers, line.number)?;
                rows.push(place, sample, line.number);
            }
            None => rows.warnings.push(format!(
                "{}, line {}: the last line is cut off and was left out",
                self.path.display(),
                line.number
            )),
        }
        Ok(())
    }

    fn numbers(&self, line: &[u8]) -> Result<Numbers, Fault> {
        let delimiter = self.header.delimiter;
        let mut numbers = Numbers {
            values: [0.0; 7],
            place: None,
            last_digits: None,
            last_slot: 0,
        };
        let mut rest = Some(line);
        for (column, slot) in self.header.slots.iter().enumerate() {
            let Some(text) = rest else {
                return Err(Fault::Short(column));
            };
            let Slot::Number(index) = *slot else {
                let (cell, after) = take_cell(text, delimiter);
                if *slot == Slot::Sensor {
                    numbers.place = read_place(&cell, self.split == Some(true))?;
                }
                rest = after;
                continue;
            };
            let number;
            (number, rest) = match self.fast_number(text) {
                Some(found) => found,
                None => {
                    let (cell, after) = take_cell(text, delimiter);
                    let number = parse_number(&cell, self.format.decimal_comma)
                        .ok_or_else(|| Fault::NotANumber(index, lossy(&cell)))?;
                    (number, after)
                }
            };
            if !number.is_finite() {
                let (cell, _) = take_cell(text, delimiter);
                return Err(Fault::NotFinite(index, lossy(&cell)));
            }
            if let Some(place) = numbers.values.get_mut(index) {
                *place = number;
            }
            if rest.is_none() {
                let digits = text
                    .iter()
                    .rev()
                    .position(|byte| matches!(byte, b'.' | b','));
                numbers.last_digits = Some(digits.unwrap_or(0));
                numbers.last_slot = index;
            }
        }
        match rest {
            Some(more) if !more.is_empty() => self.tail(line, more).map(|()| numbers),
            _ => Ok(numbers),
        }
    }

    /// The number at the start of the text, if it reaches to a delimiter or to the end: what
    /// nearly every cell is.
    fn fast_number<'b>(&self, text: &'b [u8]) -> Option<(f64, Option<&'b [u8]>)> {
        if self.format.decimal_comma {
            return None;
        }
        let (number, length) = fast_float2::parse_partial::<f64, _>(text).ok()?;
        match text.get(length) {
            None => Some((number, None)),
            Some(byte) if *byte == self.header.delimiter => Some((number, text.get(length + 1..))),
            Some(_) => None,
        }
    }

    /// Looks at what follows the last needed cell: more cells than the header has are a sign of
    /// decimal commas.
    fn tail(&self, line: &[u8], more: &[u8]) -> Result<(), Fault> {
        let delimiters = more
            .iter()
            .filter(|byte| **byte == self.header.delimiter)
            .count();
        if self.header.slots.len() + delimiters < self.header.width {
            return Ok(());
        }
        let all = cells(line, self.header.delimiter);
        let extra = all.get(self.header.width..).unwrap_or_default();
        if extra
            .iter()
            .all(|cell| cell.iter().all(u8::is_ascii_whitespace))
        {
            Ok(())
        } else {
            Err(Fault::Long(all.len()))
        }
    }

    fn sample(&mut self, numbers: &Numbers, line: u64) -> Result<(Place, Sample), RecordingError> {
        let place = numbers.place.unwrap_or(Place::Hand);
        let clock = match place {
            Place::Hand => &mut self.hand,
            Place::Forearm => &mut self.forearm,
        };
        let [time, ax, ay, az, gx, gy, gz] = numbers.values;
        let t_s = match self.format.rate_hz {
            Some(rate_hz) => clock.rows as f64 / rate_hz,
            None => time / self.format.time.in_a_second(),
        };
        let before_s = clock.before_s.replace(t_s);
        clock.rows += 1;
        self.check_time(before_s, t_s, line)?;
        let sample = Sample {
            t_s,
            accel_m_s2: Vector3::new(ax, ay, az) * self.format.accel.factor(),
            gyro_rad_s: Vector3::new(gx, gy, gz) * self.format.gyro.factor(),
        };
        Ok((place, sample))
    }

    fn check_time(
        &self,
        before_s: Option<f64>,
        found_s: f64,
        line: u64,
    ) -> Result<(), RecordingError> {
        let path = || self.path.to_owned();
        let [column, ..] = &self.header.names;
        let column = || column.clone();
        let limit_s = self.format.longest_gap_s;
        let absurd = |what| {
            Err(RecordingError::TimeAbsurd {
                path: path(),
                line,
                column: column(),
                what,
                limit_s,
            })
        };
        if found_s.abs() > FARTHEST_TIME_S {
            return absurd(format!("is {found_s:e} s"));
        }
        let Some(before_s) = before_s else {
            return Ok(());
        };
        if found_s < before_s {
            Err(RecordingError::TimeBackwards {
                path: path(),
                line,
                column: column(),
                before_s,
                found_s,
            })
        } else if found_s == before_s && !self.format.wanted.ours {
            Err(RecordingError::TimeRepeated {
                path: path(),
                line,
                column: column(),
                found_s,
            })
        } else if found_s - before_s > limit_s {
            absurd(format!("jumps from {before_s} s to {found_s} s"))
        } else {
            Ok(())
        }
    }

    fn error(&self, fault: Fault, line: u64) -> RecordingError {
        let path = self.path.to_owned();
        let name = |index: usize| self.header.names.get(index).cloned().unwrap_or_default();
        match fault {
            Fault::Short(column) => RecordingError::ShortRow {
                path,
                line,
                column: match self
                    .header
                    .slots
                    .get(column..)
                    .unwrap_or_default()
                    .iter()
                    .find(|slot| **slot != Slot::Skip)
                {
                    Some(Slot::Number(index)) => name(*index),
                    _ => "sensor".to_owned(),
                },
                expected_count: self.header.width,
            },
            Fault::Long(found_count) => RecordingError::LongRow {
                path,
                line,
                found_count,
                expected_count: self.header.width,
            },
            Fault::NotANumber(index, found) => RecordingError::NotANumber {
                path,
                line,
                column: name(index),
                todo: self.number_hint(&found),
                found: shown(&found),
            },
            Fault::NotFinite(index, found) => RecordingError::NotFinite {
                path,
                line,
                column: name(index),
                found: shown(&found),
            },
            Fault::Sensor(found) => RecordingError::UnknownSensor {
                path,
                line,
                column: "sensor".to_owned(),
                found: shown(&found),
            },
        }
    }

    fn number_hint(&self, found: &str) -> &'static str {
        let other = if self.format.decimal_comma {
            parse_number(found.as_bytes(), false)
        } else {
            parse_number(found.as_bytes(), true)
        };
        match (other, self.format.decimal_comma) {
            _ if found.trim().is_empty() => {
                "the cell is empty, expected a decimal number such as 0.25: fill it in or delete the row"
            }
            (Some(_), false) => {
                "expected a decimal point; if the file has decimal commas, add --decimal-comma"
            }
            (Some(_), true) => {
                "expected a decimal comma, as --decimal-comma says; if the file has decimal points, leave that option out"
            }
            (None, _) => {
                "expected a decimal number such as 0.25: correct the cell or delete the row"
            }
        }
    }
}

/// How many digits the last cell of the recent rows had: a last line without line end whose number
/// is shorter than all of those was probably cut within it.
#[derive(Default)]
struct LastCells {
    digits: [usize; 32],
    rows: usize,
    before: f64,
}

impl LastCells {
    fn remember(&mut self, numbers: &Numbers) {
        if let Some(digits) = numbers.last_digits {
            let place = self.rows % self.digits.len();
            if let Some(slot) = self.digits.get_mut(place) {
                *slot = digits;
            }
            self.rows += 1;
            self.before = numbers
                .values
                .get(numbers.last_slot)
                .copied()
                .unwrap_or(0.0);
        }
    }

    fn is_whole(&self, numbers: &Numbers) -> bool {
        let Some(digits) = numbers.last_digits else {
            // A delimiter follows the last needed cell.
            return true;
        };
        let least = self
            .digits
            .iter()
            .take(self.rows)
            .copied()
            .min()
            .unwrap_or(usize::MAX);
        let value = numbers
            .values
            .get(numbers.last_slot)
            .copied()
            .unwrap_or(0.0);
        digits >= least && (digits > 0 || value == self.before)
    }
}

fn parse_number(cell: &[u8], decimal_comma: bool) -> Option<f64> {
    let cell = cell.trim_ascii();
    if !decimal_comma {
        return fast_float2::parse(cell).ok();
    }
    if cell.contains(&b'.') {
        return None;
    }
    let pointed: Vec<u8> = cell
        .iter()
        .map(|byte| if *byte == b',' { b'.' } else { *byte })
        .collect();
    fast_float2::parse(pointed).ok()
}

fn place_named(cell: &[u8]) -> Option<Place> {
    match cell.trim_ascii() {
        b"hand" => Some(Place::Hand),
        b"forearm" => Some(Place::Forearm),
        _ => None,
    }
}

fn read_place(cell: &[u8], split: bool) -> Result<Option<Place>, Fault> {
    match place_named(cell) {
        Some(place) if split => Ok(Some(place)),
        None if split => Err(Fault::Sensor(lossy(cell))),
        _ => Ok(None),
    }
}

fn lossy(cell: &[u8]) -> String {
    let start = cell.get(..256).unwrap_or(cell);
    String::from_utf8_lossy(start).into_owned()
}

const _: () = assert!(NUMBERS.len() == 7, "a row has seven numbers");
