//! A foreign CSV file: no folder, no calibration, units by declaration.

use std::path::Path;

use super::columns::{ColumnName, Wanted};
use super::error::{RecordingError, shown};
use super::plausible::{self, Declared};
use super::rows::{self, Format, HIGHEST_RATE_HZ, LOWEST_RATE_HZ, Track};
use super::units::{AccelUnit, GyroUnit, TimeUnit};
use super::{Recording, folder};

/// The fewest rows that a plain CSV may have: a second at the lowest rate.
const LEAST_ROWS: usize = 20;

/// The longest gap in a plain CSV that is no mistake in the time column, in seconds.
const LONGEST_GAP_S: f64 = 3600.0;

/// How a foreign file is to be read; the default is a file in our own columns and units.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ForeignOptions {
    /// Columns that have other names.
    pub columns: Vec<ColumnName>,
    /// Unit of the accelerometer.
    pub accel_unit: AccelUnit,
    /// Unit of the gyroscope.
    pub gyro_unit: GyroUnit,
    /// Unit of the time column.
    pub time_unit: TimeUnit,
    /// Sampling rate in Hz, 20 to 10000: row n is at n / rate, and a time column is not used.
    pub rate_hz: Option<f64>,
    /// Numbers are written with a decimal comma.
    pub decimal_comma: bool,
}

/// Reads a recording: a session folder, or any CSV file by the options.
///
/// # Errors
/// Those of [`super::open`] and [`open_foreign`].
pub fn open_any(path: &Path, options: &ForeignOptions) -> Result<Recording, RecordingError> {
    match std::fs::metadata(path) {
        Ok(metadata) if metadata.is_dir() => folder::open(path),
        Ok(_) => open_foreign(path, options),
        Err(error) => Err(RecordingError::reading(path, error)),
    }
}

/// Reads a CSV file with the columns t_s, ax_m_s2 to az_m_s2 and gx_rad_s to gz_rad_s in any
/// order, others ignored. By itself it finds the delimiter (comma, semicolon, tab) and passes over
/// a byte-order mark and Windows line ends. A `sensor` column of hand and forearm, as in a
/// samples.csv, tells the sensors apart.
///
/// # Errors
/// Every variant of [`RecordingError`] about files, columns, cells, times, rate and units: each
/// names the file and the place and says what to do. Nothing is written.
pub fn open_foreign(path: &Path, options: &ForeignOptions) -> Result<Recording, RecordingError> {
    if let Some(rate_hz) = options.rate_hz
        && !(LOWEST_RATE_HZ..=HIGHEST_RATE_HZ).contains(&rate_hz)
    {
        return Err(RecordingError::RateOption {
            text: shown(&rate_hz.to_string()),
        });
    }
    let format = Format {
        wanted: Wanted {
            names: &options.columns,
            time: options.rate_hz.is_none(),
            ours: false,
        },
        accel: options.accel_unit,
        gyro: options.gyro_unit,
        time: options.time_unit,
        rate_hz: options.rate_hz,
        decimal_comma: options.decimal_comma,
        longest_gap_s: LONGEST_GAP_S,
    };
    let mut rows = rows::read(path, &format)?;
    let mut warnings = std::mem::take(&mut rows.warnings);
    if rows.time_unused {
        warnings.push(format!(
            "{}: the column {} was not used, because --rate gives the times",
            path.display(),
            rows.time_column
        ));
    }
    let (hand, forearm, forearm_after) = if rows.hand.samples.is_empty() {
        (rows.forearm, Track::default(), Vec::new())
    } else {
        (rows.hand, rows.forearm, rows.forearm_after)
    };
    if hand.samples.len() < LEAST_ROWS {
        return Err(RecordingError::TooFewSamples {
            path: path.to_owned(),
            line: rows.last_line,
            found_count: hand.samples.len(),
            least_count: LEAST_ROWS,
        });
    }
    let declared = Declared {
        path,
        ours: false,
        accel: options.accel_unit,
        gyro: options.gyro_unit,
        time: options.time_unit,
        time_column: &rows.time_column,
        rate_given: options.rate_hz.is_some(),
    };
    for track in [&hand, &forearm] {
        if track.samples.len() >= LEAST_ROWS {
            warnings.extend(plausible::check(track, &declared)?);
        }
    }
    let name = path.file_stem().or(path.file_name()).unwrap_or_default();
    Ok(Recording {
        name: name.to_string_lossy().into_owned(),
        head: None,
        hand: hand.samples,
        forearm: forearm.samples,
        forearm_after,
        events: Vec::new(),
        warnings,
    })
}
