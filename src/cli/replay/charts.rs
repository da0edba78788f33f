//! Charts of one recording: the angle of each set, and the tempo of all sets.

use std::path::{Path, PathBuf};

use crate::chart::{
    AngleChart, Chart, RepetitionMark, Stretch, TempoBand, TempoChart, TempoRepetition, TempoSet,
    TempoVerdict, TracePoint, picture,
};
use crate::movement::{Movement, MovingPhase};
use crate::orientation::GAP_S;
use crate::pipeline::{Detail, ONE_SENSOR_NOTE, SetDetail, SetResult};
use crate::recording::{Recording, write_whole};
use crate::reps::Doubt;
use crate::routine::Verdict;

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
    if detail.analysis.sets.iter().any(|set| !set.reps.is_empty()) {
        let chart = tempo_chart(&recording.name, &detail.analysis.sets);
        written.extend(both(folder, "tempo", &chart)?);
    }
    Ok(written)
}

fn both(folder: &Path, name: &str, chart: &impl Chart) -> anyhow::Result<[PathBuf; 2]> {
    let picture = picture(chart, chart.size())?;
    let svg = folder.join(format!("{name}.svg"));
    write_whole(&svg, picture.svg()?.as_bytes())?;
    let png = folder.join(format!("{name}.png"));
    write_whole(&png, &picture.png()?)?;
    Ok([svg, png])
}

/// The angle of one set against time.
pub fn angle_chart(name: &str, number: usize, set: &SetResult, own: &SetDetail) -> AngleChart {
    let movement = set.movement.unwrap_or(Movement::WristExtension);
    let title = format!(
        "{}, {}",
        set.movement
            .map_or("Angle about the main axis", Movement::title),
        set.side.map_or("side unknown", |side| side.name())
    );
    let asked = set
        .target_reps
        .map_or(String::new(), |asked| format!(" of {asked} asked"));
    let subtitle = format!(
        "{name}, set {number}: {} repetitions{asked}",
        set.reps.len()
    );
    let zero_deg = own.motion.as_ref().map_or(0.0, |motion| motion.zero_deg);
    let points = own.motion.as_ref().map_or(&[][..], |motion| &motion.points);
    let trace = points
        .iter()
        .map(|point| TracePoint {
            t_s: point.t_s,
            angle_deg: point.measured_deg - zero_deg,
            uncertainty_deg: None,
        })
        .collect();
    let gaps = points
        .iter()
        .zip(points.iter().skip(1))
        .filter(|(before, after)| after.t_s - before.t_s > GAP_S)
        .map(|(before, after)| Stretch {
            start_s: before.t_s,
            end_s: after.t_s,
        })
        .collect();
    let repetitions = set
        .reps
        .iter()
        .map(|r| RepetitionMark {
            lift_start_s: r.lift_start_s,
            lift_end_s: r.lift_end_s,
            lower_start_s: r.lower_start_s,
            lower_end_s: r.lower_end_s,
            doubts: r.doubts.iter().map(|d| d.name().to_owned()).collect(),
        })
        .collect();
    AngleChart {
        title,
        subtitle,
        movement,
        timed: set.eccentric.unwrap_or(MovingPhase::Lower),
        trace,
        repetitions,
        gaps,
        band: None,
        ceiling_deg: None,
        uncertainty_note: None,
        notes: vec![ONE_SENSOR_NOTE.to_owned()],
    }
}

/// The eccentric phase of every repetition against its band.
pub fn tempo_chart(name: &str, sets: &[SetResult]) -> TempoChart {
    let phase = sets
        .iter()
        .find_map(|set| set.eccentric)
        .unwrap_or(MovingPhase::Lower);
    let sets = sets
        .iter()
        .enumerate()
        .map(|(index, set)| tempo_set(index + 1, set, phase))
        .collect();
    TempoChart {
        title: "Time of each lowering".to_owned(),
        subtitle: name.to_owned(),
        phase,
        sets,
        notes: Vec::new(),
    }
}

fn tempo_set(number: usize, set: &SetResult, usual: MovingPhase) -> TempoSet {
    let phase = set.eccentric.unwrap_or(usual);
    let movement = set.movement.map_or("movement not named", Movement::title);
    let repetitions = set
        .reps
        .iter()
        .map(|r| {
            let (duration_s, cut) = match phase {
                MovingPhase::Lift => (r.lift_s(), Doubt::StartCut),
                MovingPhase::Lower => (r.lower_s(), Doubt::EndCut),
            };
            TempoRepetition {
                duration_s: (!r.doubts.contains(&cut)).then_some(duration_s),
                verdict: r.verdict.map(|verdict| match verdict {
                    Verdict::InBand => TempoVerdict::InBand,
                    Verdict::Hurried => TempoVerdict::Hurried,
                    Verdict::Slower => TempoVerdict::Slower,
                }),
                doubtful: !r.doubts.is_empty(),
            }
        })
        .collect();
    TempoSet {
        label: format!("Set {number}: {movement}"),
        band: set.tempo_band.map(|band| TempoBand {
            low_s: band.low_s,
            high_s: band.high_s,
            prescribed_s: band.prescribed_s,
        }),
        repetitions,
    }
}
