//! The trace: angles and phase of every sample of the hand sensor.

use std::fmt::{Error, Write};
use std::path::Path;

use crate::joint::{AnglePoint, AngleTracker};
use crate::movement::{JointAxis, Movement};
use crate::pipeline::live::Phase;
use crate::pipeline::motion::Motion;
use crate::pipeline::{Detail, SetResult};
use crate::recording::write_derived;
use crate::reps::Repetition;

/// Writes the trace of an analysed recording.
///
/// # Errors
/// Those of writing the file.
pub fn write(file: &Path, detail: &Detail) -> std::io::Result<()> {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = write_rows(&mut text, detail);
    write_derived(file, text.as_bytes())
}

fn write_rows(out: &mut String, detail: &Detail) -> Result<(), Error> {
    // A column more where the recording has a unit on the forearm.
    let by = detail.analysis.sets.iter().any(|set| set.forearm.is_some());
    let more = if by { ",angle_by" } else { "" };
    writeln!(
        out,
        "t_s,qw,qx,qy,qz,flexion_deg,deviation_deg,rotation_deg,measured_deg,phase{more}"
    )?;
    let mut sets = detail.sets.iter().zip(&detail.analysis.sets).peekable();
    let mut tracker: Option<AngleTracker> = None;
    for (index, oriented) in detail.oriented.iter().enumerate() {
        while sets.next_if(|(set, _)| set.span.end <= index).is_some() {
            tracker = None;
        }
        let q = oriented.world_from_sensor.quaternion();
        write!(out, "{},{},{},{},{}", oriented.t_s, q.w, q.i, q.j, q.k)?;
        let own = sets.peek().filter(|(set, _)| set.span.start <= index);
        match own.and_then(|(set, result)| Some((set, set.motion.as_ref()?, result))) {
            Some((set, motion, result)) => {
                let point = tracker
                    .get_or_insert_with(|| AngleTracker::new(motion.measure))
                    .push(set.orientation(index, oriented));
                write_angles(out, &point, motion, result)?;
                if let Some(part) = &result.forearm {
                    write!(out, ",{}", part.angle_by.name())?;
                }
            }
            None => {
                let more = if by { "," } else { "" };
                write!(out, ",,,,,none{more}")?;
            }
        }
        writeln!(out)?;
    }
    Ok(())
}

fn write_angles(
    out: &mut String,
    point: &AnglePoint,
    motion: &Motion,
    result: &SetResult,
) -> Result<(), Error> {
    let measured_deg = point.measured_deg - motion.zero_deg;
    let named = |axis: JointAxis| {
        result
            .movement
            .filter(|movement| movement.joint_axis() == Some(axis))
            .map(|movement: Movement| movement.isb_sign() * measured_deg)
    };
    let angle = |axis: JointAxis| {
        point
            .isb
            .map(|angles| angles.component_deg(axis))
            .or_else(|| named(axis))
            .map_or(String::new(), |angle_deg| angle_deg.to_string())
    };
    write!(
        out,
        ",{},{},{},{},{}",
        angle(JointAxis::Flexion),
        angle(JointAxis::Deviation),
        angle(JointAxis::Rotation),
        measured_deg,
        phase(&result.reps, point.t_s).name()
    )
}

/// The phase at a time, by the refined repetitions.
fn phase(reps: &[Repetition], t_s: f64) -> Phase {
    let after = reps.partition_point(|r| r.lift_start_s <= t_s);
    let Some(repetition) = after.checked_sub(1).and_then(|last| reps.get(last)) else {
        return Phase::Rest;
    };
    if t_s < repetition.lift_end_s {
        Phase::Lift
    } else if t_s < repetition.lower_start_s {
        Phase::Hold
    } else if t_s < repetition.lower_end_s {
        Phase::Lower
    } else {
        Phase::Rest
    }
}
