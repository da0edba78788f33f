//! A text file line by line, streamed, and a line cell by cell.

use std::borrow::Cow;
use std::fs::File;
use std::io::{self, BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

use super::error::RecordingError;

/// The longest line that is read; a row of numbers takes a few hundred bytes.
pub(super) const LONGEST_LINE: usize = 1 << 20;

/// Lines are taken together until they have this many bytes.
const BATCH_BYTES: usize = 1 << 18;

/// A file's lines.
pub(super) struct Lines {
    path: PathBuf,
    reader: BufReader<File>,
    /// The line, or the lines of a batch one after the other.
    bytes: Vec<u8>,
    /// Where each line of a batch ends in `bytes`.
    ends: Vec<usize>,
    number: u64,
    ended: bool,
    size: u64,
    /// What went wrong after the lines of the latest batch.
    wrong: Option<RecordingError>,
}

/// Some lines on end.
pub(super) struct Batch<'a> {
    lines: &'a Lines,
    /// Of the first line, from 1.
    number: u64,
}

impl Batch<'_> {
    /// How many lines there are, at least one.
    pub(super) fn len(&self) -> usize {
        self.lines.ends.len()
    }

    /// The line at `index`, from 0; empty beyond the last.
    pub(super) fn line(&self, index: usize) -> Line<'_> {
        let ends = &self.lines.ends;
        let before = index.checked_sub(1).and_then(|before| ends.get(before));
        let end = ends.get(index).copied().unwrap_or_default();
        Line {
            bytes: (self.lines.bytes)
                .get(before.copied().unwrap_or_default()..end)
                .unwrap_or_default(),
            number: self.number + index as u64,
            ended: self.lines.ended || index + 1 < ends.len(),
        }
    }
}

/// One line without its line end.
pub(super) struct Line<'a> {
    pub(super) bytes: &'a [u8],
    /// From 1.
    pub(super) number: u64,
    /// Whether a line end follows; only the last line of a file may lack it.
    pub(super) ended: bool,
}

impl Lines {
    /// Opens a text file and looks at its first bytes; a byte-order mark is passed over.
    pub(super) fn open(path: &Path) -> Result<Lines, RecordingError> {
        let reading = |error| RecordingError::reading(path, error);
        let file = File::open(path).map_err(reading)?;
        let metadata = file.metadata().map_err(reading)?;
        if metadata.is_dir() {
            return Err(RecordingError::IsFolder {
                path: path.to_owned(),
            });
        }
        let mut reader = BufReader::with_capacity(1 << 16, file);
        let start = reader.fill_buf().map_err(reading)?;
        let binary = |what| {
            Err(RecordingError::Binary {
                path: path.to_owned(),
                what,
            })
        };
        let mut mark = 0;
        if start.starts_with(&[0xff, 0xfe]) || start.starts_with(&[0xfe, 0xff]) {
            return binary("it is UTF-16");
        } else if start.starts_with(&[0xef, 0xbb, 0xbf]) {
            mark = 3;
        } else if start.starts_with(&[0x1f, 0x8b]) || start.starts_with(b"PK\x03\x04") {
            return binary("it is compressed");
        }
        // Zero bytes after the text are what a power cut leaves on some file systems.
        let text = start.iter().rposition(|byte| *byte != 0);
        let text = start.get(..text.map_or(0, |last| last + 1));
        let text = text.filter(|text| !text.is_empty()).unwrap_or(start);
        let has = |wanted: fn(&u8) -> bool| text.iter().take(4096).any(wanted);
        let control = has(|byte| *byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r'));
        if has(|byte| *byte == 0) || (control && text.len() < start.len()) {
            return binary("it holds zero bytes");
        } else if control {
            return binary("it holds control characters");
        }
        reader.consume(mark);
        Ok(Lines {
            path: path.to_owned(),
            reader,
            bytes: Vec::new(),
            ends: Vec::new(),
            number: 0,
            ended: true,
            size: metadata.len(),
            wrong: None,
        })
    }

    /// The file's size in bytes when it was opened.
    pub(super) fn size(&self) -> u64 {
        self.size
    }

    /// The next line, or `None` at the end of the file.
    pub(super) fn next(&mut self) -> Result<Option<Line<'_>>, RecordingError> {
        self.bytes.clear();
        Ok(self.append(0)?.then_some(Line {
            bytes: &self.bytes,
            number: self.number,
            ended: self.ended,
        }))
    }

    /// The next lines, or `None` at the end of the file. What cannot be read is told after the
    /// lines before it.
    pub(super) fn next_batch(&mut self) -> Result<Option<Batch<'_>>, RecordingError> {
        if let Some(wrong) = self.wrong.take() {
            return Err(wrong);
        }
        self.bytes.clear();
        self.ends.clear();
        let number = self.number + 1;
        while self.bytes.len() < BATCH_BYTES {
            match self.append(self.bytes.len()) {
                Ok(true) => self.ends.push(self.bytes.len()),
                Ok(false) => break,
                Err(error) if self.ends.is_empty() => return Err(error),
                Err(error) => {
                    self.wrong = Some(error);
                    break;
                }
            }
        }
        Ok((!self.ends.is_empty()).then_some(Batch {
            lines: self,
            number,
        }))
    }

    /// The next line in which every quote is closed: several lines of the file, where a quoted
    /// cell holds line ends.
    pub(super) fn next_with_quotes(&mut self) -> Result<Option<Line<'_>>, RecordingError> {
        self.bytes.clear();
        let mut first = None;
        while self.append(0)? {
            first.get_or_insert(self.number);
            let quotes = self.bytes.iter().filter(|byte| **byte == b'"').count();
            if quotes % 2 == 0 {
                break;
            }
            if self.ended {
                self.bytes.push(b'\n');
            }
        }
        Ok(first.map(|number| Line {
            bytes: &self.bytes,
            number,
            ended: self.ended,
        }))
    }

    /// Appends what is left of a line that begins at `from` in the buffer, without its line end.
    fn append(&mut self, from: usize) -> Result<bool, RecordingError> {
        let begun = self.bytes.len() - from;
        let room = (LONGEST_LINE + 1).saturating_sub(begun);
        let read = match (&mut self.reader)
            .take(room as u64)
            .read_until(b'\n', &mut self.bytes)
        {
            Ok(read) => read,
            Err(error) => {
                self.bytes.truncate(from + begun);
                if error.kind() == io::ErrorKind::IsADirectory {
                    return Err(RecordingError::IsFolder {
                        path: self.path.clone(),
                    });
                }
                return Err(RecordingError::reading(&self.path, error));
            }
        };
        if read == 0 {
            return Ok(false);
        }
        self.number += 1;
        self.ended = self.bytes.last() == Some(&b'\n');
        if self.ended {
            self.bytes.pop();
            if self.bytes.len() > from && self.bytes.last() == Some(&b'\r') {
                self.bytes.pop();
            }
        } else if read == room {
            self.bytes.truncate(from + begun);
            return Err(RecordingError::LongLine {
                path: self.path.clone(),
                line: self.number,
                limit_count: LONGEST_LINE,
            });
        }
        Ok(true)
    }
}

/// The cells of a line; quotes around a cell are taken off, doubled quotes within it undoubled.
pub(super) fn cells(line: &[u8], delimiter: u8) -> Vec<Cow<'_, [u8]>> {
    let mut cells = Vec::new();
    let mut rest = Some(line);
    while let Some(text) = rest {
        let cell;
        (cell, rest) = take_cell(text, delimiter);
        cells.push(cell);
    }
    cells
}

/// The cell at the start of the text, without quotes, and what follows its delimiter.
pub(super) fn take_cell(text: &[u8], delimiter: u8) -> (Cow<'_, [u8]>, Option<&[u8]>) {
    match text.split_first() {
        Some((b'"', quoted)) => quoted_cell(quoted, delimiter),
        _ => {
            let end = text.iter().position(|byte| *byte == delimiter);
            let (cell, after) = split(text, end);
            (Cow::Borrowed(cell), after)
        }
    }
}

/// What stands before the delimiter at `end`, and what stands after it, if it is there.
fn split(text: &[u8], end: Option<usize>) -> (&[u8], Option<&[u8]>) {
    match end {
        Some(end) => (text.get(..end).unwrap_or_default(), text.get(end + 1..)),
        None => (text, None),
    }
}

fn quoted_cell(text: &[u8], delimiter: u8) -> (Cow<'_, [u8]>, Option<&[u8]>) {
    let mut cell = Vec::new();
    let mut bytes = text.iter().copied().enumerate().peekable();
    while let Some((at, byte)) = bytes.next() {
        if byte != b'"' {
            cell.push(byte);
        } else if bytes.peek().is_some_and(|(_, next)| *next == b'"') {
            cell.push(b'"');
            bytes.next();
        } else {
            // After the closing quote only the delimiter should follow; what else does is kept.
            let after = text.get(at + 1..).unwrap_or_default();
            let (more, rest) = split(after, after.iter().position(|byte| *byte == delimiter));
            cell.extend_from_slice(more);
            return (Cow::Owned(cell), rest);
        }
    }
    (Cow::Owned(cell), None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_those_of_the_csv_library() {
        for line in [
            "a,b,c",
            "",
            ",",
            "a,,b,",
            "\"a,b\",c",
            "\"a\"\"b\",c",
            "x,\"{\"\"k\"\": 1}\"",
            "\"\",\"\"",
        ] {
            let ours: Vec<_> = cells(line.as_bytes(), b',');
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .from_reader(line.as_bytes());
            let mut record = csv::ByteRecord::new();
            let theirs: Vec<Vec<u8>> = match reader.read_byte_record(&mut record) {
                Ok(true) => record.iter().map(<[u8]>::to_vec).collect(),
                _ => vec![Vec::new()],
            };
            assert_eq!(ours, theirs, "{line}");
        }
    }
}
