//! Reads a file of marks, whoever wrote it.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::super::error::{RecordingError, shown};
use super::{MARKS_COLUMNS, Mark, Marks, MarksError};

/// The most that is read, bytes: ten thousand repetitions with remarks.
const MOST_BYTES: usize = 4 << 20;

/// How the fractions of a file are written; unknown until the first that has one.
type Decimals = Option<u8>;

/// See [`Marks::read`].
pub(super) fn read(path: &Path) -> Result<Marks, MarksError> {
    let reading = |error| MarksError::Reading(RecordingError::reading(path, error));
    let file = File::open(path).map_err(reading)?;
    if file.metadata().map_err(reading)?.is_dir() {
        let path = path.to_owned();
        return Err(MarksError::Reading(RecordingError::IsFolder { path }));
    }
    let mut text = Vec::new();
    file.take(MOST_BYTES as u64 + 1)
        .read_to_end(&mut text)
        .map_err(reading)?;
    parse(path, &text)
}

/// See [`Marks::looks_like`].
pub(super) fn looks_like(path: &Path) -> bool {
    let mut start = Vec::new();
    let opened = File::open(path).and_then(|file| file.take(1 << 16).read_to_end(&mut start));
    let line = start.split(|byte| matches!(byte, b'\n' | b'\r')).next();
    let (_, names) = header(without_mark(line.unwrap_or_default()));
    opened.is_ok() && hits(&names) >= 2
}

/// See [`Marks::parse`].
pub(super) fn parse(path: &Path, text: &[u8]) -> Result<Marks, MarksError> {
    let path_ = || path.to_owned();
    if text.len() > MOST_BYTES {
        return Err(MarksError::TooLarge {
            path: path_(),
            limit_count: MOST_BYTES,
        });
    }
    if let Some(what) = not_text(text) {
        let path = path_();
        return Err(MarksError::Reading(RecordingError::Binary { path, what }));
    }
    let text = without_mark(text);
    if text.iter().all(u8::is_ascii_whitespace) {
        let path = path_();
        return Err(MarksError::Reading(RecordingError::Empty { path }));
    }
    let line = text.split(|byte| matches!(byte, b'\n' | b'\r')).next();
    let (delimiter, names) = header(line.unwrap_or_default());
    let columns = columns(path, &names)?;
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .from_reader(text);
    let mut rows = Rows {
        path,
        columns,
        width: names.len(),
        decimals: None,
    };
    let mut counted = Counted::default();
    let mut lines = Vec::new();
    let mut marks = Vec::new();
    for record in reader.byte_records() {
        // From memory, and bytes need not be UTF-8: nothing is left that could fail.
        let Ok(record) = record else { break };
        let line = counted.line_of(text, record.position().map_or(0, csv::Position::byte));
        if let Some(mark) = rows.mark(&record, line, marks.len())? {
            lines.push(line);
            marks.push(mark);
        }
    }
    Marks::new(marks).map_err(|(place, fault)| MarksError::Fault {
        path: path_(),
        line: lines.get(place).copied().unwrap_or_default(),
        fault,
    })
}

/// Lines counted on the way, from 1: the library's own count leaves out empty ones.
#[derive(Default)]
struct Counted {
    bytes: usize,
    ends: u64,
}

impl Counted {
    /// The line of the row whose line ends, those of empty lines before it, begin at this byte.
    fn line_of(&mut self, text: &[u8], byte: u64) -> u64 {
        let at = usize::try_from(byte).unwrap_or(usize::MAX);
        let is_end = |byte: &&u8| matches!(byte, b'\n' | b'\r');
        let empty = text.iter().skip(at).take_while(is_end).count();
        let to = (at + empty).min(text.len());
        let between = text.get(self.bytes..to).unwrap_or_default();
        // A return that a line feed follows is half an end.
        let lone = between.windows(2).filter(|two| two == b"\r\n").count();
        self.ends += (between.iter().filter(is_end).count() - lone) as u64;
        self.bytes = to;
        self.ends + 1
    }
}

fn without_mark(text: &[u8]) -> &[u8] {
    text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text)
}

fn not_text(text: &[u8]) -> Option<&'static str> {
    if text.starts_with(&[0xff, 0xfe]) || text.starts_with(&[0xfe, 0xff]) {
        Some("it is UTF-16")
    } else if text.starts_with(b"PK\x03\x04") {
        Some("it is a spreadsheet's own format or compressed")
    } else if text.starts_with(&[0x1f, 0x8b]) {
        Some("it is compressed")
    } else {
        text.contains(&0).then_some("it holds zero bytes")
    }
}

/// The delimiter that finds most of our columns, and the names it gives, in small letters.
fn header(line: &[u8]) -> (u8, Vec<String>) {
    let split = |delimiter: u8| -> Vec<String> {
        super::super::lines::cells(line, delimiter)
            .iter()
            .map(|cell| String::from_utf8_lossy(cell).trim().to_ascii_lowercase())
            .collect()
    };
    let mut best = (b',', split(b','));
    for delimiter in [b';', b'\t'] {
        let names = split(delimiter);
        if (hits(&names), names.len()) > (hits(&best.1), best.1.len()) {
            best = (delimiter, names);
        }
    }
    best
}

fn hits(names: &[String]) -> usize {
    let there = |ours: &&&str| names.iter().any(|name| name == *ours);
    MARKS_COLUMNS.iter().filter(there).count()
}

/// Where our columns are; the number of the repetition may be missing.
fn columns(path: &Path, names: &[String]) -> Result<[Option<usize>; 5], MarksError> {
    let mut columns = [None; 5];
    for (slot, (index, column)) in columns.iter_mut().zip(MARKS_COLUMNS.iter().enumerate()) {
        let mut places = names
            .iter()
            .enumerate()
            .filter(|(_, name)| name.as_str() == *column);
        *slot = places.next().map(|(place, _)| place);
        let more = places.count();
        if more > 0 {
            return Err(MarksError::RepeatedColumn {
                path: path.to_owned(),
                column,
                found_count: more + 1,
            });
        }
        if slot.is_none() && index > 0 {
            let found: Vec<String> = names.iter().take(20).map(|name| shown(name)).collect();
            return Err(MarksError::MissingColumn {
                path: path.to_owned(),
                column,
                found: found.join(", "),
            });
        }
    }
    Ok(columns)
}

/// Reads one row after the other.
struct Rows<'a> {
    path: &'a Path,
    columns: [Option<usize>; 5],
    width: usize,
    decimals: Decimals,
}

impl Rows<'_> {
    /// The mark of a row; `None` where nothing is marked.
    fn mark(
        &mut self,
        record: &csv::ByteRecord,
        line: u64,
        before: usize,
    ) -> Result<Option<Mark>, MarksError> {
        let beyond = record.iter().skip(self.width);
        if beyond.into_iter().any(|cell| !cell.trim_ascii().is_empty()) {
            return Err(MarksError::LongRow {
                path: self.path.to_owned(),
                line,
                found_count: record.len(),
                expected_count: self.width,
            });
        }
        let cell = |place: Option<usize>| {
            let cell = record.get(place?)?;
            // A space that does not break is what some spreadsheets put into numbers.
            let text = String::from_utf8_lossy(cell).trim().to_owned();
            (!text.is_empty()).then_some(text)
        };
        let [rep, times @ ..] = self.columns.map(cell);
        let mut known_s = [None; 4];
        let columns = MARKS_COLUMNS.iter().skip(1);
        for ((slot, text), column) in known_s.iter_mut().zip(times).zip(columns) {
            if let Some(text) = text {
                *slot = Some(self.time_s(&text, line, column)?);
            }
        }
        if known_s == [None; 4] {
            return Ok(None);
        }
        let rep = match rep {
            None => u32::try_from(before + 1).unwrap_or(u32::MAX),
            Some(text) => number_of(&text).ok_or_else(|| MarksError::NotARep {
                path: self.path.to_owned(),
                line,
                found: shown(&text),
            })?,
        };
        let [lift_start_s, lift_end_s, lower_start_s, lower_end_s] = known_s;
        Ok(Some(Mark {
            rep,
            lift_start_s,
            lift_end_s,
            lower_start_s,
            lower_end_s,
        }))
    }

    fn time_s(&mut self, text: &str, line: u64, column: &'static str) -> Result<f64, MarksError> {
        let no_number = || MarksError::NotANumber {
            path: self.path.to_owned(),
            line,
            column,
            found: shown(text),
        };
        let mut signs = text.bytes().filter(|byte| matches!(byte, b'.' | b','));
        let (sign, more) = (signs.next(), signs.next());
        let time_s: f64 = text
            .replace(',', ".")
            .parse()
            .ok()
            .filter(|time_s: &f64| time_s.is_finite() && more.is_none())
            .ok_or_else(no_number)?;
        if let Some(sign) = sign
            && *self.decimals.get_or_insert(sign) != sign
        {
            return Err(MarksError::MixedDecimals {
                path: self.path.to_owned(),
                line,
                column,
                found: shown(text),
            });
        }
        Ok(time_s)
    }
}

/// A whole number from 1, as a spreadsheet may write it.
fn number_of(text: &str) -> Option<u32> {
    let whole = text
        .split_once(['.', ','])
        .map_or(Some(text), |(whole, rest)| {
            rest.bytes().all(|byte| byte == b'0').then_some(whole)
        })?;
    whole.parse().ok().filter(|number| *number > 0)
}
