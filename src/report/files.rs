//! The files of a report: what may be replaced, and writing them whole.

use std::io;
use std::path::{Path, PathBuf};

use super::ReportError;
use super::charts::CHARTS_FOLDER;
use crate::recording::write_derived;

/// The page within a report's folder.
pub const PAGE_FILE: &str = "report.html";

/// How a page marks itself as a report of this program.
const MARK: &str = "<meta name=\"generator\" content=\"carpotempo report 1\">";
const PATIENT_START: &str = "<meta name=\"patient\" content=\"";
const FILE_START: &str = "<meta name=\"chart-file\" content=\"";

/// The marks that [`check`] reads back: program, patient, chart files.
pub(super) fn marks(patient: &str, files: &[String]) -> String {
    let mut text = format!("{MARK}\n{PATIENT_START}{patient}\">\n");
    for file in files {
        text += &format!("{FILE_START}{file}\">\n");
    }
    text
}

/// Whether a report may be written here. Gives the chart files of the earlier report that it
/// replaces.
pub(super) fn check(
    folder: &Path,
    patient: &str,
    names: &[String],
) -> Result<Vec<String>, ReportError> {
    let page = folder.join(PAGE_FILE);
    let earlier = match std::fs::read(&page) {
        Ok(bytes) => read_marks(&page, &String::from_utf8_lossy(&bytes), patient)?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
        Err(source) => return Err(ReportError::Unwritable { path: page, source }),
    };
    for name in names {
        let path = folder.join(name);
        if !earlier.contains(name) && path.symlink_metadata().is_ok() {
            return Err(ReportError::NotOurs { path });
        }
    }
    Ok(earlier)
}

fn read_marks(page: &Path, text: &str, patient: &str) -> Result<Vec<String>, ReportError> {
    let head = text.split("</head>").next().unwrap_or_default();
    if !head.contains(MARK) {
        return Err(ReportError::NotOurs {
            path: page.to_owned(),
        });
    }
    let after = |start: &'static str| {
        head.split(start)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
    };
    match after(PATIENT_START).next() {
        Some(found) if found == patient => {}
        found => {
            return Err(ReportError::OtherPatient {
                path: page.to_owned(),
                patient: found.unwrap_or("unknown").to_owned(),
            });
        }
    }
    // A page may have been edited: only plain names within the charts' folder are believed.
    let plain = |name: &&str| {
        name.strip_prefix(CHARTS_FOLDER)
            .and_then(|rest| rest.strip_prefix('/'))
            .is_some_and(|rest| {
                !rest.starts_with('.')
                    && rest
                        .chars()
                        .all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '.')
            })
    };
    Ok(after(FILE_START).filter(plain).map(str::to_owned).collect())
}

/// Writes the files, the page first, and removes the earlier ones that are no more.
pub(super) fn write(
    folder: &Path,
    files: &[(String, Vec<u8>)],
    earlier: &[String],
) -> Result<Vec<PathBuf>, ReportError> {
    let unwritable = |path: &Path| {
        let path = path.to_owned();
        move |source| ReportError::Unwritable { path, source }
    };
    let charts = folder.join(CHARTS_FOLDER);
    let made = if files.len() > 1 { &charts } else { folder };
    create_folder(made).map_err(unwritable(made))?;
    let mut paths = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        write_derived(&path, bytes).map_err(unwritable(&path))?;
        paths.push(path);
    }
    for name in earlier {
        if !files.iter().any(|(file, _)| file == name) {
            let path = folder.join(name);
            match std::fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    return Err(unwritable(&path)(error));
                }
                _ => {}
            }
        }
    }
    Ok(paths)
}

/// Makes a folder and those above it, open to the user alone.
fn create_folder(path: &Path) -> io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}
