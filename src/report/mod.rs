//! The report of a review: one self-contained page, and its charts as single SVG and PNG files.
//!
//! The page holds inline drawings and its own letters; it needs no script and no network. What is
//! unknown stands as "unknown".

mod cells;
mod charts;
mod days;
mod files;
mod handout;
mod history_charts;
mod last;
mod main_charts;
pub mod marks;
mod overview;
mod page;
mod range_tests;
mod series_table;
mod session_table;
mod sheet;
mod style;

use std::path::{Path, PathBuf};

use jiff::civil::Date;
use rayon::prelude::*;
use thiserror::Error;

use self::charts::{NamedChart, Seen, Setting};
use self::last::LastSet;
use crate::chart::ChartError;
use crate::review::{Person, Review};

pub use charts::CHARTS_FOLDER;
pub use files::PAGE_FILE;
pub use handout::{HandoutOptions, Paper, handout};

/// What the page is told beside the review.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReportOptions {
    /// The data are invented: the page and every chart say so. They do so too where a session's
    /// recording says that a simulator played it.
    pub invented: bool,
    /// The day on which the page is made; `None` leaves it out.
    pub made_on: Option<Date>,
    /// Who is reviewed, as far as norms need it.
    pub person: Person,
}

/// Why a report could not be written.
#[derive(Debug, Error)]
pub enum ReportError {
    /// A file in the way that no earlier report put there.
    #[error(
        "{}: the file is there already and no report of this program put it there; choose another folder with --out, or move it away",
        path.display()
    )]
    NotOurs {
        /// The file.
        path: PathBuf,
    },
    /// The report of another patient.
    #[error(
        "{}: the folder holds the report of patient {patient}; choose another folder with --out",
        path.display()
    )]
    OtherPatient {
        /// The page found.
        path: PathBuf,
        /// Whose it is.
        patient: String,
    },
    /// A file that cannot be written.
    #[error("{}: cannot be written: {source}; check the folder and its space, or choose another with --out", path.display())]
    Unwritable {
        /// The file or folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A chart that cannot be drawn.
    #[error("the chart {name} cannot be drawn: {source}")]
    Chart {
        /// Its name.
        name: String,
        /// Why.
        source: ChartError,
    },
}

/// The text of the page.
///
/// # Errors
/// [`ReportError::Chart`].
pub fn page(review: &Review, options: &ReportOptions) -> Result<String, ReportError> {
    let last = last::last_sets(review);
    let charts = charts(review, &last, options, Seen::Page);
    let drawn = drawn(&charts)?;
    Ok(page::page(review, options, &last, &charts, &drawn))
}

/// Writes report.html, charts/*.svg and charts/*.png into a folder, which is made if it is
/// missing. An earlier report of the same patient is replaced, its charts that are no more are
/// removed; nothing else is touched. Each file is whole or absent.
///
/// # Errors
/// [`ReportError::NotOurs`] and [`ReportError::OtherPatient`] before anything is written;
/// [`ReportError::Unwritable`], [`ReportError::Chart`].
pub fn write(
    folder: &Path,
    review: &Review,
    options: &ReportOptions,
) -> Result<Vec<PathBuf>, ReportError> {
    let last = last::last_sets(review);
    let charts = |seen| charts(review, &last, options, seen);
    let (charts, alone) = (charts(Seen::Page), charts(Seen::Alone));
    let names: Vec<String> = alone.iter().flat_map(NamedChart::files).collect();
    let earlier = files::check(folder, review.patient.as_str(), &names)?;
    let (drawn, single) = rayon::join(|| drawn(&charts), || singles(&alone));
    let (drawn, single) = (drawn?, single?);
    let text = page::page(review, options, &last, &charts, &drawn);
    let mut all = vec![(PAGE_FILE.to_owned(), text.into_bytes())];
    all.extend(single);
    files::write(folder, &all, &earlier)
}

fn charts(
    review: &Review,
    last: &[LastSet],
    options: &ReportOptions,
    seen: Seen,
) -> Vec<NamedChart> {
    let invented = options.invented || review.simulated();
    charts::charts(review, last, Setting { seen, invented })
}

/// The charts as they stand in the page.
fn drawn(charts: &[NamedChart]) -> Result<Vec<String>, ReportError> {
    charts.par_iter().map(NamedChart::inline).collect()
}

/// The charts as single files.
fn singles(charts: &[NamedChart]) -> Result<Vec<(String, Vec<u8>)>, ReportError> {
    let files: Result<Vec<_>, _> = charts.par_iter().map(NamedChart::singles).collect();
    Ok(files?.into_iter().flatten().collect())
}
