//! `carpotempo export`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::exit::{WrongArguments, say};
use super::review::with_progress;
use super::store::StoreOption;
use crate::export::{ExportError, Totals, fhir, write_csv};
use crate::recording::{PatientCode, Store};
use crate::review::{ReviewOptions, plural};

/// Arguments.
#[derive(Debug, Args)]
pub struct ExportArguments {
    /// The patient's code
    #[arg(required_unless_present = "all", conflicts_with = "all")]
    patient: Option<PatientCode>,
    /// Every patient of the store, a folder for each; Parquet alone
    #[arg(long)]
    all: bool,
    /// Format
    #[arg(long)]
    to: Format,
    /// Folder of the CSV or Parquet files, or the FHIR file; what is there is never overwritten
    /// [default: carpotempo-export-PATIENT-FORMAT in the current folder]
    #[arg(long, value_name = "DIR|FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    store: StoreOption,
    /// Only sessions of this day and later, such as 2026-03-01
    #[arg(long, value_name = "DATE")]
    since: Option<Date>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Three files: sessions, sets, repetitions
    Csv,
    /// One FHIR R4 bundle: sets, ranges, answers, and where they come from
    Fhir,
    /// Repetitions by patient, for cohorts; in builds with the feature parquet
    Parquet,
}

/// Runs the command.
pub fn run(arguments: &ExportArguments) -> anyhow::Result<()> {
    let store = arguments.store.resolve()?;
    let (out, totals) = match (&arguments.patient, arguments.to) {
        (Some(patient), Format::Csv) => csv(arguments, &store, patient)?,
        (Some(patient), Format::Fhir) => bundle(arguments, &store, patient)?,
        (patient, Format::Parquet) => parquet(arguments, &store, patient.as_ref())?,
        (None, _) => {
            return Err(WrongArguments(
                "--all goes with --to parquet; CSV and FHIR are of one patient".to_owned(),
            )
            .into());
        }
    };
    for warning in &totals.warnings {
        eprintln!("carpotempo: {warning}");
    }
    let out = std::path::absolute(&out).unwrap_or(out);
    say(&format!(
        "{}, {}, {}: {}\n",
        plural(totals.session_count, "session"),
        plural(totals.set_count, "set"),
        plural(totals.repetition_count, "repetition"),
        out.display()
    ))
}

/// Where to: the one that is said, else a name in the current folder.
fn out(arguments: &ExportArguments, of: &str) -> PathBuf {
    let usual = || PathBuf::from(format!("carpotempo-export-{of}"));
    arguments.out.clone().unwrap_or_else(usual)
}

fn csv(
    arguments: &ExportArguments,
    store: &Store,
    patient: &PatientCode,
) -> anyhow::Result<(PathBuf, Totals)> {
    let folder = out(arguments, &format!("{patient}-csv"));
    let summaries = with_progress(store, patient)?;
    let options = ReviewOptions {
        since: arguments.since,
    };
    let totals = write_csv(&folder, patient, &summaries, &options)?;
    Ok((folder, totals))
}

fn bundle(
    arguments: &ExportArguments,
    store: &Store,
    patient: &PatientCode,
) -> Result<(PathBuf, Totals), ExportError> {
    let file = out(arguments, &format!("{patient}-fhir.json"));
    let now = jiff::ZonedDateTime::now();
    let totals = fhir::write_fhir(&file, store, patient, arguments.since, &now)?;
    Ok((file, totals))
}

#[cfg(feature = "parquet")]
fn parquet(
    arguments: &ExportArguments,
    store: &Store,
    patient: Option<&PatientCode>,
) -> anyhow::Result<(PathBuf, Totals)> {
    let (of, patients) = match patient {
        Some(patient) => (format!("{patient}-parquet"), vec![patient.clone()]),
        None => ("parquet".to_owned(), store.patients()?),
    };
    if patients.is_empty() {
        return Err(ExportError::NoPatients {
            store: store.root().to_owned(),
        }
        .into());
    }
    let folder = out(arguments, &of);
    let totals = crate::export::write_parquet(&folder, store, &patients, arguments.since)?;
    Ok((folder, totals))
}

#[cfg(not(feature = "parquet"))]
fn parquet(
    _: &ExportArguments,
    _: &Store,
    _: Option<&PatientCode>,
) -> anyhow::Result<(PathBuf, Totals)> {
    anyhow::bail!(
        "this build cannot write Parquet; build it with cargo build --release --features parquet, or export CSV"
    )
}
