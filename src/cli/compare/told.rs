//! The agreement as a person reads it.

use std::fmt::Write;

use super::looked::Looked;
use crate::review::agreement::{
    Agreement, Alone, Between, Comparison, Comparisons, InRecording, Measured, ONE_RECORDING_NOTE,
    Over, OwnRepeatability, PROGRAM, TRUTH,
};
use crate::review::plural;

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
    for own in agreement.comparisons.iter().filter(|own| !of_truth(own)) {
        write_comparisons(text, looked, own)?;
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
            (
                "middle",
                (|own| own.median_s) as fn(crate::review::agreement::Spread) -> f64,
            ),
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
        "Middle difference of each recording in seconds, {} less {} (--json has every pair)",
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

fn write_over(text: &mut String, over: &Over) -> Written {
    let counts = over.counts;
    writeln!(
        text,
        "Counts: the same in {} of {} recordings, within one in {}; {} and {} in all, {} paired.",
        counts.same_count,
        counts.recording_count,
        counts.within_one_count,
        counts.first_count,
        counts.second_count,
        counts.paired_count
    )?;
    writeln!(
        text,
        "Bias and limits of agreement for repeated measures, seconds, each with its 95 % interval:"
    )?;
    writeln!(
        text,
        "                   bias                      lower limit               upper limit"
    )?;
    for own in &over.measures {
        let Some(limits) = &own.limits else {
            writeln!(
                text,
                " {:<16}  too few recordings have it",
                own.measure.words()
            )?;
            continue;
        };
        let with = |value_s: f64, between: Between| {
            let low = signed(Some(between.low));
            let high = signed(Some(between.high));
            format!(
                "{} ({} to {})",
                signed(Some(value_s)).trim(),
                low.trim(),
                high.trim()
            )
        };
        writeln!(
            text,
            " {:<16}  {:<24}  {:<24}  {}",
            own.measure.words(),
            with(limits.bias, limits.bias_between),
            with(limits.lower, limits.lower_between),
            with(limits.upper, limits.upper_between)
        )?;
    }
    writeln!(
        text,
        "Correlation of the recordings' means, with its 95 % interval (it rises with how much the recordings differ):"
    )?;
    for own in &over.measures {
        match (&own.icc, &own.no_icc) {
            (Some(icc), _) => {
                let with = |value: f64, between: Between| {
                    format!("{value:.2} ({:.2} to {:.2})", between.low, between.high)
                };
                writeln!(
                    text,
                    " {:<16}  ICC(2,1) {:<22}  ICC(3,1) {}",
                    own.measure.words(),
                    with(icc.agreement, icc.agreement_between),
                    with(icc.consistency, icc.consistency_between)
                )?;
            }
            (None, Some(why)) => writeln!(text, " {:<16}  none: {why}", own.measure.words())?,
            (None, None) => {}
        }
    }
    Ok(())
}

fn write_repeatability(text: &mut String, own: &OwnRepeatability) -> Written {
    let whose = match own.by.as_str() {
        super::given::YOU => "Your own repeatability".to_owned(),
        other => format!("{}'s own repeatability", capital(other)),
    };
    writeln!(
        text,
        "{whose}: two markings of the same repetition differ by at most this in 95 of 100, seconds"
    )?;
    writeln!(
        text,
        "                   1.96 x root 2 x s_w     s_w   later less first  repetitions (recordings)"
    )?;
    for measure in &own.measures {
        writeln!(
            text,
            " {:<16}  {:>19.2}{:>8.2}  {:>17}  {} ({})",
            measure.measure.words(),
            measure.coefficient_s,
            measure.within_deviation_s,
            signed(Some(measure.shift_s)).trim(),
            measure.rep_count,
            measure.recording_count
        )?;
    }
    writeln!(text)
}

/// What each recording truly was.
fn write_truths(text: &mut String, looked: &[Looked]) -> Written {
    writeln!(
        text,
        "What was true (invented recordings: no person did these exercises)"
    )?;
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
            writeln!(
                text,
                "   range {true_deg:.0} deg, {} read {found_deg:.0} deg (medians)",
                PROGRAM
            )?;
        }
    }
    writeln!(text)
}
