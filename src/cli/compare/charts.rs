//! Charts of the differences: one for each phase of each two who marked.

use std::path::{Path, PathBuf};

use crate::chart::{AgreementChart, AgreementRecording, Chart, picture};
use crate::recording::write_derived;
use crate::review::agreement::{Agreement, Comparisons, Measured, PROGRAM, TRUTH};

/// Said under a chart without limits.
const NO_LIMITS: &str =
    "From one recording: differences only, since its repetitions are not independent.";
/// Said under a chart with limits.
const LIMITS: &str = "Dark line: bias. Dashed: limits for repeated measures (Bland & Altman 2007), for 95 in 100 differences. Beds: where each lies, 95 %.";

/// Writes the charts and names the files.
///
/// # Errors
/// Those of drawing and of writing.
pub fn write(folder: &Path, agreement: &Agreement) -> anyhow::Result<Vec<PathBuf>> {
    std::fs::create_dir_all(folder)?;
    let mut written = Vec::new();
    for own in &agreement.comparisons {
        for measured in Measured::LENGTHS {
            let Some(chart) = chart(own, measured, agreement.note) else {
                continue;
            };
            let name = format!(
                "agreement-{}-{}-{}",
                slug(&own.first),
                slug(&own.second),
                measured.words()
            );
            let picture = picture(&chart, chart.size())?;
            let svg = folder.join(format!("{name}.svg"));
            write_derived(&svg, picture.svg()?.as_bytes())?;
            let png = folder.join(format!("{name}.png"));
            write_derived(&png, &picture.png()?)?;
            written.extend([svg, png]);
        }
    }
    Ok(written)
}

/// A name as part of a file's.
fn slug(name: &str) -> String {
    match name {
        PROGRAM => "program".to_owned(),
        TRUTH => "truth".to_owned(),
        // A person who is called so.
        other @ ("program" | "truth") => format!("person-{other}"),
        other => other.to_owned(),
    }
}

/// "yours", "the program's", "anna's".
fn whose(name: &str) -> String {
    match name {
        super::given::YOU => "yours".to_owned(),
        TRUTH => TRUTH.to_owned(),
        other => format!("{other}'s"),
    }
}

/// The chart of one phase; `None` without a pair that has it.
fn chart(own: &Comparisons, measured: Measured, note: &str) -> Option<AgreementChart> {
    let recordings: Vec<AgreementRecording> = own
        .recordings
        .iter()
        .zip(1_usize..)
        .map(|(recording, number)| AgreementRecording {
            label: number.to_string(),
            pairs_s: recording
                .comparison
                .values_s(measured)
                .into_iter()
                .map(|(first, second)| (0.5 * (first + second), first - second))
                .collect(),
        })
        .collect();
    let pair_count: usize = recordings.iter().map(|own| own.pairs_s.len()).sum();
    if pair_count == 0 {
        return None;
    }
    let over = own.over.iter().flat_map(|over| &over.measures);
    let limits = over
        .filter(|over| over.measure == measured)
        .find_map(|over| over.limits);
    let subtitle = match own.recordings.as_slice() {
        [only] => format!("{}, {pair_count} pairs", only.recording),
        several => {
            let names: Vec<String> = several
                .iter()
                .zip(1_usize..)
                .map(|(own, number)| format!("{number} {}", own.recording))
                .collect();
            format!("{pair_count} pairs of {}", names.join(", "))
        }
    };
    let mut notes = vec![if limits.is_some() { LIMITS } else { NO_LIMITS }.to_owned()];
    if own.second == PROGRAM || own.first == PROGRAM {
        notes.push(note.to_owned());
    }
    Some(AgreementChart {
        title: format!(
            "The {}: {} against {}",
            measured.words(),
            whose(&own.first),
            whose(&own.second)
        ),
        subtitle,
        first: whose(&own.first),
        phase: measured.words().to_owned(),
        recordings,
        limits,
        notes,
    })
}
