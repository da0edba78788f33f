//! The table of repetitions that a person reads.

use std::fmt::Write;

use crate::movement::{ForearmSupport, MovingPhase};
use crate::pipeline::motion::Zero;
use crate::pipeline::{Analysis, SetResult, own_and_wrist};
use crate::recording::Recording;
use crate::report::marks::set_note;
use crate::reps::elbow::ElbowShare;
use crate::reps::excursion::median;
use crate::reps::measure::with_error;
use crate::reps::{Doubt, Repetition};
use crate::routine::Verdict;

/// The analysis as text.
pub fn table(recording: &Recording, analysis: &Analysis) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = write_all(&mut text, recording, analysis);
    text
}

fn write_all(
    text: &mut String,
    recording: &Recording,
    analysis: &Analysis,
) -> Result<(), std::fmt::Error> {
    let lasting_s = match (recording.hand.first(), recording.hand.last()) {
        (Some(first), Some(last)) => last.t_s - first.t_s,
        _ => 0.0,
    };
    writeln!(
        text,
        "{}: {} samples over {:.1} s",
        recording.name,
        recording.hand.len(),
        lasting_s
    )?;
    if analysis.sets.is_empty() {
        writeln!(
            text,
            "No sets: the recording holds no samples of the hand sensor."
        )?;
    }
    for (index, set) in analysis.sets.iter().enumerate() {
        writeln!(text)?;
        write_set(text, index + 1, set)?;
    }
    let mut notes: Vec<String> = analysis.sets.iter().map(set_note).collect();
    notes.dedup();
    if !notes.is_empty() {
        writeln!(text, "\n{}", notes.join("\n"))?;
    }
    for warning in &analysis.warnings {
        writeln!(text, "Note: {warning}")?;
    }
    Ok(())
}

fn write_set(text: &mut String, number: usize, set: &SetResult) -> Result<(), std::fmt::Error> {
    writeln!(text, "Set {number}: {}", heading(set))?;
    if let (Some(tempo), Some(words)) = (&set.tempo, &set.tempo_words) {
        writeln!(text, "Tempo {}: {words}", tempo.code())?;
    }
    if let (Some(band), Some(phase)) = (set.tempo_band, set.eccentric) {
        writeln!(
            text,
            "In tempo: a {} of {:.2} to {:.2} s; shorter is hurried, longer slower than asked.",
            noun(phase),
            band.low_s,
            band.high_s
        )?;
    }
    if set.reps.is_empty() {
        writeln!(text, "No repetitions.")?;
    } else {
        write_repetitions(text, set)?;
        if set.reps.iter().any(|rep| rep.lift_error_s.is_some()) {
            writeln!(
                text,
                "\u{b1}: in 95 of 100 repetitions the true value lies within it; without it the error is unknown."
            )?;
        }
        write_summary(text, set)?;
    }
    for finding in &set.wear {
        writeln!(text, "Worn strangely: {}.", finding.words())?;
    }
    if let Some(part) = &set.forearm {
        writeln!(text, "{}", part.words())?;
    }
    if set.incomplete_count > 0 {
        writeln!(
            text,
            "{} begun and not finished when the record ended; not counted.",
            set.incomplete_count
        )?;
    }
    Ok(())
}

fn noun(phase: MovingPhase) -> &'static str {
    match phase {
        MovingPhase::Lift => "way out",
        MovingPhase::Lower => "lowering",
    }
}

fn heading(set: &SetResult) -> String {
    let movement = set.movement.map_or("movement not named", |m| m.title());
    let side = set.side.map_or("side unknown", |s| s.name());
    let load = match set.load_kg {
        Some(0.0) if set.range_test => "range test, empty hand".to_owned(),
        Some(0.0) => "empty hand".to_owned(),
        Some(kg) => format!("{kg} kg"),
        None => "load unknown".to_owned(),
    };
    format!(
        "{movement}, {side}, {load}, {:.1} to {:.1} s",
        set.start_s, set.end_s
    )
}

fn write_repetitions(text: &mut String, set: &SetResult) -> Result<(), std::fmt::Error> {
    writeln!(
        text,
        " rep   start   range        lift         hold        lower     rest  lower peak  tempo     doubts"
    )?;
    writeln!(
        text,
        "         (s)   (deg)         (s)          (s)          (s)      (s)     (deg/s)"
    )?;
    let next = set.reps.iter().skip(1).map(Some).chain([None]);
    for (index, (repetition, next)) in set.reps.iter().zip(next).enumerate() {
        let rest = next.map_or("-".to_owned(), |next: &Repetition| {
            format!("{:.2}", next.lift_start_s - repetition.lower_end_s)
        });
        let line = format!(
            "{:4} {:7.2} {:>7} {:>11} {:>12} {:>12} {:>8} {:11.0}  {:<8}  {}",
            index + 1,
            repetition.lift_start_s,
            repetition.range_words(),
            with_error(repetition.lift_s(), repetition.lift_error_s, 2),
            with_error(repetition.hold_s(), repetition.hold_error_s, 2),
            with_error(repetition.lower_s(), repetition.lower_error_s, 2),
            rest,
            repetition.peak_speed_deg_s,
            repetition.verdict.map_or("-", Verdict::name),
            doubts(repetition)
        );
        writeln!(text, "{}", line.trim_end())?;
    }
    Ok(())
}

/// The forearm's share in words: a fault where it was to lie still.
fn elbow_words(elbow: &ElbowShare, set: &SetResult) -> String {
    let rests = set
        .posture
        .is_some_and(|posture| posture.forearm == ForearmSupport::Rested);
    let moved = set.reps.iter().filter(|r| r.forearm_moved()).count();
    let told = match (moved, rests) {
        (0, _) => String::new(),
        (moved, true) => format!("; the forearm moved in {moved}, though it was to lie still"),
        (moved, false) => format!("; the forearm helped in {moved}"),
    };
    format!("Forearm's share of the movement: {}{told}.", elbow.words())
}

/// "54 deg", of those alone whose range is the wrist's where they are not all.
fn range_words(median_deg: Option<f64>, left_out: usize) -> String {
    match (median_deg, left_out) {
        (None, _) => "of the wrist unknown".to_owned(),
        (Some(deg), 0) => format!("{deg:.0} deg"),
        (Some(deg), left_out) => {
            format!("{deg:.0} deg without {left_out} in which the forearm moved or was not heard")
        }
    }
}

/// "0.4 deg less", "the same" where that is how it would be written.
fn step_words(step: f64, decimals: usize, unit: &str, [more, less]: [&str; 2]) -> String {
    let written = format!("{:.decimals$}", step.abs());
    if written.parse() == Ok(0.0) {
        return "the same".to_owned();
    }
    let word = if step < 0.0 { less } else { more };
    format!("{written} {unit} {word}")
}

fn doubts(repetition: &Repetition) -> String {
    let names: Vec<&str> = repetition.doubts.iter().copied().map(Doubt::name).collect();
    names.join(", ")
}

fn write_summary(text: &mut String, set: &SetResult) -> Result<(), std::fmt::Error> {
    let count = set.reps.len();
    let asked = set
        .target_reps
        .map_or(String::new(), |asked| format!(" of {asked} asked"));
    let [_, wrist] = own_and_wrist(&[set]);
    let of_the_wrist = |value: fn(&Repetition) -> f64| {
        median(&wrist.iter().map(|r| value(r)).collect::<Vec<f64>>())
    };
    let lowers_s: Vec<f64> = set.reps.iter().map(Repetition::lower_s).collect();
    writeln!(
        text,
        "{count} repetition{}{asked}: range {}, lowering {:.2} s (medians)",
        if count == 1 { "" } else { "s" },
        range_words(of_the_wrist(|r| r.range_deg), count - wrist.len()),
        median(&lowers_s).unwrap_or(0.0),
    )?;
    let judged = set.reps.iter().filter(|r| r.verdict.is_some()).count();
    if judged > 0 {
        let with = |verdict| {
            let is = |r: &&Repetition| r.verdict == Some(verdict);
            set.reps.iter().filter(is).count()
        };
        writeln!(
            text,
            "In tempo {}, hurried {}, slower than asked {}, of {judged} judged.",
            with(Verdict::InBand),
            with(Verdict::Hurried),
            with(Verdict::Slower)
        )?;
    }
    writeln!(
        text,
        "Time under tension {:.1} s, with pauses {:.1} s.",
        set.time_under_tension_s, set.time_under_tension_with_pauses_s
    )?;
    if let Some(elbow) = &set.elbow {
        writeln!(text, "{}", elbow_words(elbow, set))?;
    }
    if let Some(trend) = set.trend {
        writeln!(
            text,
            "From one repetition to the next: range {}, lowering {} (slopes; their error is unknown).",
            step_words(trend.range_deg_per_rep, 1, "deg", ["more", "less"]),
            step_words(trend.lower_s_per_rep, 2, "s", ["longer", "shorter"]),
        )?;
    }
    let zero = match set.zero {
        Some(Zero::Calibration) => "the neutral pose of the calibration",
        Some(Zero::StillStart) => "the pose of the still start",
        Some(Zero::UsualStart) => "the usual start level (the record does not begin still)",
        None => "unknown",
    };
    let movement = set.movement.filter(|_| set.zero == Some(Zero::Calibration));
    match movement.zip(of_the_wrist(|r| r.peak_deg)) {
        Some((movement, highest)) => {
            let word = if highest >= 0.0 {
                movement.direction_word()
            } else {
                movement.opposite_word()
            };
            writeln!(
                text,
                "Farthest: {word} {:.0} deg (median), against {zero}.",
                highest.abs()
            )
        }
        None => writeln!(text, "Angle zero: {zero}."),
    }
}
