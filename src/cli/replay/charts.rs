//! Charts of one recording: the angle of each set, and the tempo of all sets.

use std::path::{Path, PathBuf};

use crate::chart::{AngleChart, Chart, TempoChart, TempoSet, picture};
use crate::movement::{Movement, MovingPhase};
use crate::pipeline::{Detail, SetDetail, SetResult};
use crate::recording::{Recording, write_derived};
use crate::report::marks::{
    goes_round, repetition_marks, set_note, tempo_band, tempo_marks, timed_phase, trace_and_gaps,
};

/// Writes the charts and names the files.
///
/// # Errors
/// Those of drawing and of writing.
pub fn write(
    folder: &Path,
    recording: &Recording,
    detail: &Detail,
) -> anyhow::Result<Vec<PathBuf>> {
    std::fs::create_dir_all(folder)?;
    let mut written = Vec::new();
    let sets = detail.analysis.sets.iter().zip(&detail.sets);
    for (index, (set, own)) in sets.enumerate() {
        let chart = angle_chart(&recording.name, index + 1, set, own);
        let name = format!("set-{}-angle", index + 1);
        written.extend(both(folder, &name, &chart)?);
    }
    // Whole turns have no phases, so no tempo.
    let timed: Vec<(usize, &SetResult)> = detail
        .analysis
        .sets
        .iter()
        .enumerate()
        .zip(&detail.sets)
        .filter(|(_, own)| !goes_round(own))
        .map(|((index, set), _)| (index + 1, set))
        .collect();
    for (phase, name) in [
        (MovingPhase::Lower, "tempo"),
        (MovingPhase::Lift, "tempo-lift"),
    ] {
        let of_phase = |(_, set): &&(usize, &SetResult)| timed_phase(set) == phase;
        let sets: Vec<(usize, &SetResult)> = timed.iter().filter(of_phase).copied().collect();
        if sets.iter().any(|(_, set)| !set.reps.is_empty()) {
            let chart = tempo_chart(&recording.name, phase, &sets);
            written.extend(both(folder, name, &chart)?);
        }
    }
    Ok(written)
}

fn both(folder: &Path, name: &str, chart: &impl Chart) -> anyhow::Result<[PathBuf; 2]> {
    let picture = picture(chart, chart.size())?;
    let svg = folder.join(format!("{name}.svg"));
    write_derived(&svg, picture.svg()?.as_bytes())?;
    let png = folder.join(format!("{name}.png"));
    write_derived(&png, &picture.png()?)?;
    Ok([svg, png])
}

/// The angle of one set against time.
pub fn angle_chart(name: &str, number: usize, set: &SetResult, own: &SetDetail) -> AngleChart {
    let what = set
        .movement
        .map_or("Angle about the main axis", Movement::title);
    let title = match set.side {
        Some(side) => format!("{what}, {}", side.name()),
        None => what.to_owned(),
    };
    let asked = set
        .target_reps
        .map_or(String::new(), |asked| format!(" of {asked} asked"));
    let unfinished = match set.incomplete_count {
        0 => String::new(),
        count => format!(", {count} begun and not finished"),
    };
    let subtitle = format!(
        "{name}, set {number}: {} {}{asked}{unfinished}",
        set.reps.len(),
        if goes_round(own) {
            "whole turns"
        } else {
            "repetitions"
        }
    );
    let (trace, gaps) = trace_and_gaps(own);
    AngleChart {
        title,
        subtitle,
        movement: set.movement,
        zero: set.zero,
        timed: (!goes_round(own)).then(|| timed_phase(set)),
        trace,
        repetitions: repetition_marks(set),
        gaps,
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: vec![set_note(set)],
    }
}

/// The timed phase of every repetition against its band; sets with their numbers.
pub fn tempo_chart(name: &str, phase: MovingPhase, sets: &[(usize, &SetResult)]) -> TempoChart {
    let sets = sets
        .iter()
        .map(|(number, set)| tempo_set(*number, set, phase))
        .collect();
    let word = match phase {
        MovingPhase::Lift => "lift",
        MovingPhase::Lower => "lowering",
    };
    TempoChart {
        title: format!("Time of each {word}"),
        subtitle: name.to_owned(),
        phase,
        sets,
        notes: Vec::new(),
    }
}

fn tempo_set(number: usize, set: &SetResult, phase: MovingPhase) -> TempoSet {
    let movement = set.movement.map_or("movement not named", Movement::title);
    TempoSet {
        label: format!("Set {number}: {movement}"),
        band: set.tempo_band.map(tempo_band),
        repetitions: tempo_marks(set, phase),
    }
}
