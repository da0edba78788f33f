//! The agreement as a person reads it.

mod figures;

use std::fmt::Write;

use super::looked::Looked;
use crate::review::agreement::{
    Agreement, Alone, Comparison, Comparisons, InRecording, Measured, ONE_RECORDING_NOTE, PROGRAM,
    Spread, TRUTH,
};
use crate::review::plural;
use figures::{write_over, write_repeatability, write_together};

/// The whole text.
pub fn text(looked: &[Looked], agreement: &Agreement, warnings: &[&str]) -> String {
    let mut text = String::new();
    // Writing to a String cannot fail.
    let _ = write_all(&mut text, looked, agreement, warnings);
    text
}

type Written = Result<(), std::fmt::Error>;

fn write_all(
    text: &mut String,
    looked: &[Looked],
    agreement: &Agreement,
    warnings: &[&str],
) -> Written {
    let with_program = |own: &&Comparisons| own.second == PROGRAM;
    for own in agreement.comparisons.iter().filter(with_program) {
        write_comparisons(text, looked, own)?;
    }
    let between: Vec<&Comparisons> = agreement
        .comparisons
        .iter()
        .filter(|own| !with_program(own) && !of_truth(own))
        .collect();
    if between.len() <= MOST_BETWEEN {
        for own in between {
            write_comparisons(text, looked, own)?;
        }
    } else {
        let count = between.len();
        writeln!(
            text,
            "The {count} comparisons of two people each are in --json.\n"
        )?;
    }
    if let Some(together) = &agreement.together {
        write_together(text, together)?;
    }
    for own in &agreement.repeatability {
        write_repeatability(text, own)?;
    }
    let mut of_truths = agreement.comparisons.iter().filter(|own| of_truth(own));
    if let Some(first) = of_truths.next() {
        write_truths(text, looked)?;
        write_comparisons(text, looked, first)?;
        for own in of_truths {
            write_comparisons(text, looked, own)?;
        }
    }
    for warning in warnings {
        writeln!(text, "Note: {warning}")?;
    }
    writeln!(text, "{}", agreement.note)
}

/// Comparisons of two people that are still read: those of three people.
const MOST_BETWEEN: usize = 3;

fn of_truth(own: &Comparisons) -> bool {
    own.second == TRUTH
}

fn write_comparisons(text: &mut String, looked: &[Looked], own: &Comparisons) -> Written {
    writeln!(text, "{}, against {}", capital(&own.first), own.second)?;
    match own.recordings.as_slice() {
        [only] => write_one(text, looked, own, only)?,
        several => write_several(text, looked, own, several)?,
    }
    match &own.over {
        Some(over) => write_over(text, over)?,
        None => writeln!(text, "{ONE_RECORDING_NOTE}")?,
    }
    writeln!(text)
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Seconds with a sign, in eight columns; nothing is a dash.
fn signed(value_s: Option<f64>) -> String {
    let Some(value_s) = value_s else {
        return format!("{:>8}", "-");
    };
    let text = format!("{value_s:+.2}");
    let text = match text.as_str() {
        "+0.00" | "-0.00" => "0.00".to_owned(),
        _ => text,
    };
    format!("{text:>8}")
}

fn cells(of: impl Fn(Measured) -> Option<f64>) -> String {
    Measured::ALL.map(|measured| signed(of(measured))).concat()
}

const HEADS: [&str; 2] = [
    "    lift    hold lowering  lift           lowering",
    "  length  length  length  starts    ends  starts    ends",
];

/// One recording, pair by pair.
fn write_one(
    text: &mut String,
    looked: &[Looked],
    own: &Comparisons,
    only: &InRecording,
) -> Written {
    let comparison = &only.comparison;
    writeln!(
        text,
        "{}: {} by {}, {} by {}, {}. Differences in seconds, {} less {}.",
        only.recording,
        plural(comparison.first_count, "repetition"),
        own.first,
        comparison.second_count,
        own.second,
        plural(comparison.pairs.len(), "pair"),
        own.first,
        own.second
    )?;
    if !comparison.pairs.is_empty() {
        let [above, below] = HEADS;
        writeln!(text, "                   {above}")?;
        writeln!(text, " pair        at (s){below}")?;
    }
    for pair in &comparison.pairs {
        let numbers = format!("{}/{}", pair.first.rep, pair.second.rep);
        let (start_s, _) = pair.first.span_s().unwrap_or_default();
        let row = cells(|measured| pair.differences.get(measured));
        writeln!(text, " {numbers:<9} {start_s:>8.2}{row}")?;
    }
    if comparison.pairs.len() > 1 {
        for (word, of) in [
            ("median", (|own| own.median_s) as fn(Spread) -> f64),
            ("lowest", |own| own.lowest_s),
            ("highest", |own| own.highest_s),
        ] {
            let row = cells(|measured| comparison.spread(measured).map(of));
            writeln!(text, " {word:<18}{row}")?;
        }
    }
    write_alone(text, looked, own, only, "")
}

/// Several recordings, a line each.
fn write_several(
    text: &mut String,
    looked: &[Looked],
    own: &Comparisons,
    several: &[InRecording],
) -> Written {
    writeln!(
        text,
        "Median difference of each recording in seconds, {} less {} (--json has every pair)",
        own.first, own.second
    )?;
    let widest = several.iter().map(|own| own.recording.chars().count());
    let width = widest.max().unwrap_or(0).max(9);
    let of = format!("pairs/{}/{}", own.first, own.second);
    let counted = of.chars().count().max(9);
    let [above, below] = HEADS;
    writeln!(text, " {:<width$}  {:>counted$}{above}", "", "")?;
    writeln!(text, " {:<width$}  {of:>counted$}{below}", "recording")?;
    for recording in several {
        let comparison = &recording.comparison;
        let counts = format!(
            "{}/{}/{}",
            comparison.pairs.len(),
            comparison.first_count,
            comparison.second_count
        );
        let row = cells(|measured| comparison.spread(measured).map(|own| own.median_s));
        writeln!(
            text,
            " {:<width$}  {counts:>counted$}{row}",
            recording.recording
        )?;
    }
    for recording in several {
        let name = format!("{}: ", recording.recording);
        write_alone(text, looked, own, recording, &name)?;
    }
    Ok(())
}

/// What one of the two alone has.
fn write_alone(
    text: &mut String,
    looked: &[Looked],
    own: &Comparisons,
    recording: &InRecording,
    before: &str,
) -> Written {
    let sets_s = looked
        .iter()
        .find(|other| other.name == recording.recording)
        .map_or(&[] as &[(f64, f64)], |other| other.sets_s.as_slice());
    let Comparison {
        only_first,
        only_second,
        ..
    } = &recording.comparison;
    for (name, alone) in [(&own.first, only_first), (&own.second, only_second)] {
        if alone.is_empty() {
            continue;
        }
        let words: Vec<String> = alone.iter().map(|own| alone_words(own, sets_s)).collect();
        writeln!(text, " {before}only {name}: {}", words.join("; "))?;
    }
    Ok(())
}

fn alone_words(alone: &Alone, sets_s: &[(f64, f64)]) -> String {
    let middle_s = 0.5 * (alone.start_s + alone.end_s);
    let inside = |set: &(f64, f64)| set.0 <= middle_s && middle_s <= set.1;
    let outside = if sets_s.is_empty() || sets_s.iter().any(inside) {
        ""
    } else {
        " (outside of the set)"
    };
    format!(
        "number {} at {:.1} to {:.1} s{outside}",
        alone.rep, alone.start_s, alone.end_s
    )
}

/// What each recording truly was.
fn write_truths(text: &mut String, looked: &[Looked]) -> Written {
    let of_truth = || looked.iter().filter(|own| own.truth.is_some());
    let invented = if of_truth().all(|own| own.invented) {
        " (invented recordings: no person did these exercises)"
    } else {
        ", by the files in the folder \u{201c}truth\u{201d}"
    };
    writeln!(text, "What was true{invented}")?;
    for own in looked {
        let Some(truth) = &own.truth else { continue };
        let words = truth.words.or(truth.case.as_deref()).unwrap_or("unnamed");
        writeln!(
            text,
            " {}: {words}; {}",
            own.name,
            plural(truth.true_count, "repetition")
        )?;
        if let (Some(true_deg), Some(found_deg)) = (truth.range_deg, own.program_range_deg) {
            let moved = match own.forearm_moved_count {
                0 => String::new(),
                moved => format!(", and said of {moved} that the forearm moved"),
            };
            writeln!(
                text,
                "   range {true_deg:.0} deg, {} read {found_deg:.0} deg (medians){moved}",
                PROGRAM
            )?;
        }
    }
    writeln!(text)
}
