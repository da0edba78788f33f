//! `carpotempo replay`: a recording, counted and timed.

mod charts;
mod page;
pub(super) mod table;
mod trace;
mod watch;

use std::path::PathBuf;

use anyhow::Context;
use clap::Args;

use super::exit::WrongArguments;
use crate::movement::{Movement, Side};
use crate::orientation::FilterKind;
use crate::pipeline::live::{Live, LiveParams};
use crate::pipeline::{Analysis, Detail, Expectation, analyse_in_detail};
use crate::recording::{
    AccelUnit, ColumnName, ForeignOptions, GyroUnit, Recording, TimeUnit, open_any,
};
use crate::routine::Tempo;
use crate::sample::Place;
use page::PageArguments;

/// Arguments of `replay`.
#[derive(Debug, Args)]
pub struct ReplayArguments {
    /// A session folder, or a CSV file with the columns t_s, ax_m_s2, ay_m_s2, az_m_s2, gx_rad_s,
    /// gy_rad_s, gz_rad_s in any order
    #[arg(required_unless_present = "drill")]
    recording: Option<PathBuf>,

    /// The movement, if the recording does not name it: wrist-extension, wrist-flexion,
    /// radial-deviation, ulnar-deviation, supination, pronation, arm-circles
    #[arg(long, value_name = "M", value_parser = movement)]
    exercise: Option<Movement>,
    /// Which hand: left or right
    #[arg(long, value_name = "SIDE", value_parser = side)]
    side: Option<Side>,
    /// Prescribed tempo: lower - pause at the bottom - lift - pause at the top, in seconds
    #[arg(long, value_name = "4-0-2-1")]
    tempo: Option<Tempo>,

    /// Print one JSON object and nothing else
    #[arg(long)]
    json: bool,
    /// Write angles and phases to FILE, one row for each sample
    #[arg(long, value_name = "FILE")]
    trace: Option<PathBuf>,
    /// Write charts to DIR, as SVG and PNG
    #[arg(long, value_name = "DIR")]
    charts: Option<PathBuf>,
    /// Use the real-time filter and segmenter alone, as in live use
    #[arg(long)]
    online: bool,
    /// Which real-time filter follows the sensor: vqf, or madgwick to compare (with --online or
    /// --speed)
    #[arg(long, value_name = "FILTER", value_parser = filter, default_value = "vqf")]
    filter: FilterKind,
    /// Watch it pass at X times the speed it was recorded at
    #[arg(long, value_name = "X", value_parser = speed)]
    speed: Option<f64>,

    #[command(flatten)]
    page: PageArguments,
    #[command(flatten)]
    foreign: ForeignArguments,
}

/// How a CSV file that is not ours is to be read.
#[derive(Debug, Args)]
#[command(next_help_heading = "For CSV files in other columns or units")]
pub(super) struct ForeignArguments {
    /// A column that has another name, such as t_s=Time (may be repeated)
    #[arg(long = "column", value_name = "OURS=NAME")]
    columns: Vec<ColumnName>,
    /// Unit of the accelerometer: m_s2 or g
    #[arg(long, value_name = "UNIT")]
    accel_unit: Option<AccelUnit>,
    /// Unit of the gyroscope: rad_s or deg_s
    #[arg(long, value_name = "UNIT")]
    gyro_unit: Option<GyroUnit>,
    /// Unit of the times: s, ms or us
    #[arg(long, value_name = "UNIT")]
    time_unit: Option<TimeUnit>,
    /// Samples a second, where the file has no times
    #[arg(long, value_name = "HZ")]
    rate: Option<f64>,
    /// Numbers are written with a decimal comma
    #[arg(long)]
    decimal_comma: bool,
}

impl ForeignArguments {
    pub(super) fn given(&self) -> bool {
        !self.columns.is_empty()
            || self.accel_unit.is_some()
            || self.gyro_unit.is_some()
            || self.time_unit.is_some()
            || self.rate.is_some()
            || self.decimal_comma
    }

    pub(super) fn options(&self) -> ForeignOptions {
        ForeignOptions {
            columns: self.columns.clone(),
            accel_unit: self.accel_unit.unwrap_or_default(),
            gyro_unit: self.gyro_unit.unwrap_or_default(),
            time_unit: self.time_unit.unwrap_or_default(),
            rate_hz: self.rate,
            decimal_comma: self.decimal_comma,
        }
    }
}

pub(super) fn movement(text: &str) -> Result<Movement, String> {
    Movement::from_name(text).ok_or_else(|| {
        let names = Movement::ALL.map(Movement::name);
        format!("expected one of {}", names.join(", "))
    })
}

pub(super) fn side(text: &str) -> Result<Side, String> {
    Side::from_name(text).ok_or_else(|| "expected left or right".to_owned())
}

fn filter(text: &str) -> Result<FilterKind, String> {
    match text {
        "vqf" => Ok(FilterKind::Vqf),
        "madgwick" => Ok(FilterKind::Madgwick),
        _ => Err("expected vqf or madgwick".to_owned()),
    }
}

fn speed(text: &str) -> Result<f64, String> {
    text.parse()
        .ok()
        .filter(|speed| (0.01..=1000.0).contains(speed))
        .ok_or_else(|| "expected a number from 0.01 to 1000".to_owned())
}

/// Runs the command.
pub fn run(arguments: &ReplayArguments) -> anyhow::Result<()> {
    // Only without a recording it may be missing.
    let Some(path) = &arguments.recording else {
        return page::drill(&arguments.page);
    };
    if arguments.foreign.given() && path.is_dir() {
        return Err(WrongArguments(format!(
            "{} is a session folder, which is always in its own columns and units: leave --column, --accel-unit, --gyro-unit, --time-unit, --rate and --decimal-comma out",
            path.display()
        ))
        .into());
    }
    if arguments.online && (arguments.trace.is_some() || arguments.charts.is_some()) {
        return Err(WrongArguments(
            "--trace and --charts show the smoothed analysis: leave --online out".to_owned(),
        )
        .into());
    }
    let recording = open_any(path, &arguments.foreign.options())?;
    let expected = Expectation {
        movement: arguments.exercise,
        side: arguments.side,
        tempo: arguments.tempo,
    };
    let contradiction =
        |error: crate::pipeline::ExpectationError| WrongArguments(error.to_string());
    if let Some(speed) = arguments.speed {
        let live = live(&recording, &expected, arguments.filter).map_err(contradiction)?;
        watch::watch(&recording, live, speed, arguments.json)?;
    }
    let analysis = if arguments.online {
        online(&recording, &expected, arguments.filter).map_err(contradiction)?
    } else {
        let detail = analyse_in_detail(&recording, &expected).map_err(contradiction)?;
        write_files(arguments, &recording, &detail)?;
        if arguments.page.mark {
            return page::mark(&arguments.page, path, recording, detail);
        }
        if arguments.page.page {
            let table = table::table(&recording, &detail.analysis);
            return page::show(&arguments.page, recording, detail, &table);
        }
        detail.analysis
    };
    if arguments.json {
        let text = serde_json::to_string(&analysis).context("writing the analysis as JSON")?;
        super::exit::say(&format!("{text}\n"))
    } else {
        super::exit::say(&table::table(&recording, &analysis))
    }
}

fn write_files(
    arguments: &ReplayArguments,
    recording: &Recording,
    detail: &Detail,
) -> anyhow::Result<()> {
    if let Some(file) = &arguments.trace {
        trace::write(file, detail)
            .with_context(|| format!("writing the trace {}", file.display()))?;
    }
    if let Some(folder) = &arguments.charts {
        let written = charts::write(folder, recording, detail)
            .with_context(|| format!("writing charts into {}", folder.display()))?;
        for path in written {
            eprintln!("wrote {}", path.display());
        }
    }
    Ok(())
}

/// The live pipeline as a recording asks for it.
fn live(
    recording: &Recording,
    expected: &Expectation,
    kind: FilterKind,
) -> Result<Live, crate::pipeline::ExpectationError> {
    LiveParams::of_recording(recording, expected, kind).map(Live::new)
}

fn online(
    recording: &Recording,
    expected: &Expectation,
    kind: FilterKind,
) -> Result<Analysis, crate::pipeline::ExpectationError> {
    let mut live = live(recording, expected, kind)?;
    for event in &recording.events {
        live.event(event.clone());
    }
    for (place, sample) in recording.in_order() {
        match place {
            Place::Forearm => live.forearm_sample(sample),
            Place::Hand => {
                live.sample(sample);
            }
        }
    }
    let mut analysis = live.finish();
    let mut warnings = recording.warnings.clone();
    warnings.append(&mut analysis.warnings);
    analysis.warnings = warnings;
    Ok(analysis)
}
