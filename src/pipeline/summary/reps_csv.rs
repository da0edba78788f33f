//! reps.csv: one row for each repetition of a session, for spreadsheets; derived.

use std::fmt::Write as _;

use super::SessionSummary;
use crate::movement::{ForearmDirection, ForearmRotation, ForearmSupport, MovingPhase};
use crate::pipeline::SetResult;
use crate::reps::{Doubt, Repetition};

pub(crate) const REPS_FILE: &str = "reps.csv";

/// The columns of reps.csv. Times count from the session's start; an empty cell is unknown; doubts
/// are parted by spaces.
pub const REPS_COLUMNS: [&str; 41] = [
    "started_at",
    "set",
    "rep",
    "movement",
    "side",
    "load_kg",
    "elbow_deg",
    "forearm",
    "direction",
    "rotation",
    "target_reps",
    "tempo",
    "eccentric",
    "band_low_s",
    "band_high_s",
    "lift_start_s",
    "lift_end_s",
    "lower_start_s",
    "lower_end_s",
    "lift_s",
    "lift_error_s",
    "hold_s",
    "hold_error_s",
    "lower_s",
    "lower_error_s",
    "rest_after_s",
    "range_deg",
    "range_error_deg",
    "peak_deg",
    "start_deg",
    "peak_speed_deg_s",
    "mean_speed_deg_s",
    "lift_peak_speed_deg_s",
    "off_axis_deg",
    "lift_sparc_ratio",
    "lower_sparc_ratio",
    "lift_ldlj_ratio",
    "lower_ldlj_ratio",
    "verdict",
    "doubts",
    "zero",
];

/// The text of reps.csv.
pub fn reps_csv(summary: &SessionSummary) -> String {
    let mut text = REPS_COLUMNS.join(",");
    text.push('\n');
    let started_at = summary
        .started_at
        .timestamp()
        .display_with_offset(summary.started_at.offset())
        .to_string();
    for (set_index, set) in summary.analysis.sets.iter().enumerate() {
        let next_starts = set.reps.iter().skip(1).map(|rep| Some(rep.lift_start_s));
        let next_starts = next_starts.chain(std::iter::once(None));
        for (index, (rep, next_start_s)) in set.reps.iter().zip(next_starts).enumerate() {
            let _ = write!(text, "{started_at},{},{}", set_index + 1, index + 1);
            for cell in set_cells(set)
                .into_iter()
                .chain(rep_cells(rep, next_start_s))
                .chain([word(&set.zero)])
            {
                text.push(',');
                text.push_str(&cell);
            }
            text.push('\n');
        }
    }
    text
}

fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// The word that serde has for a unit variant; empty for none.
fn word<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

fn set_cells(set: &SetResult) -> Vec<String> {
    let posture = set.posture.as_ref();
    let forearm: Option<ForearmSupport> = posture.map(|posture| posture.forearm);
    let direction: Option<ForearmDirection> = posture.map(|posture| posture.direction);
    let rotation: Option<ForearmRotation> = posture.map(|posture| posture.rotation);
    let eccentric: Option<MovingPhase> = set.eccentric;
    vec![
        word(&set.movement),
        word(&set.side),
        number(set.load_kg),
        number(posture.and_then(|posture| posture.elbow_deg)),
        word(&forearm),
        word(&direction),
        word(&rotation),
        set.target_reps
            .map_or_else(String::new, |reps| reps.to_string()),
        set.tempo
            .map_or_else(String::new, |tempo| format!("\"{}\"", tempo.code())),
        word(&eccentric),
        number(set.tempo_band.map(|band| band.low_s)),
        number(set.tempo_band.map(|band| band.high_s)),
    ]
}

fn rep_cells(rep: &Repetition, next_start_s: Option<f64>) -> Vec<String> {
    let doubts: Vec<&str> = rep
        .doubts
        .iter()
        .map(|doubt: &Doubt| doubt.name())
        .collect();
    vec![
        number(Some(rep.lift_start_s)),
        number(Some(rep.lift_end_s)),
        number(Some(rep.lower_start_s)),
        number(Some(rep.lower_end_s)),
        number(Some(rep.lift_s())),
        number(rep.lift_error_s),
        number(Some(rep.hold_s())),
        number(rep.hold_error_s),
        number(Some(rep.lower_s())),
        number(rep.lower_error_s),
        number(next_start_s.map(|start_s| start_s - rep.lower_end_s)),
        number(Some(rep.range_deg)),
        number(rep.range_error_deg),
        number(Some(rep.peak_deg)),
        number(Some(rep.start_deg)),
        number(Some(rep.peak_speed_deg_s)),
        number(rep.mean_speed_deg_s),
        number(Some(rep.lift_peak_speed_deg_s)),
        number(Some(rep.off_axis_deg)),
        number(rep.lift_sparc_ratio),
        number(rep.lower_sparc_ratio),
        number(rep.lift_ldlj_ratio),
        number(rep.lower_ldlj_ratio),
        word(&rep.verdict),
        doubts.join(" "),
    ]
}
